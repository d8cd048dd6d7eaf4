"""The verdict is one screen: what was right, the lesson and the whole picture above the button, on every phone."""

from typing import Any

import pytest
from playwright.sync_api import Page, expect

from quizgen.reps.kinds import KINDS
from tests.browser.pages import answer, shown_rep, sign_in, start_set, tap, wait_for_rep
from tests.browser.site import Site

pytestmark = pytest.mark.browser

SIZES = ((320, 568), (360, 640), (390, 844), (667, 375))
LEAST_PICTURE_PX = 140
AT = {"word": ".verdict-word", "result": ".result-parts", "why": ".why", "picture": ".picture svg.gs", "bar": ".bar"}
RECTANGLES = """(at) => Object.fromEntries(Object.entries(at).map(([name, one]) =>
    [name, document.querySelector(one).getBoundingClientRect().toJSON()]))"""


def is_on_screen(found: dict[str, Any], width: int, height: int) -> bool:
    """Whether words and picture are whole: inside the screen, and none of them under the bar."""
    bar, picture = found["bar"], found["picture"]
    is_beside = picture["right"] <= bar["left"] + 1
    return (
        all(found[name]["top"] >= 0 and found[name]["bottom"] <= bar["top"] + 1 for name in ("word", "result", "why"))
        and picture["left"] >= 0
        and picture["right"] <= width + 1
        and picture["bottom"] <= (height if is_beside else bar["top"]) + 1
        and min(picture["width"], picture["height"]) >= LEAST_PICTURE_PX
    )


@pytest.mark.parametrize("language", ["English", "Español"])
def test_a_miss_of_every_kind_is_explained_on_one_screen(device, site: Site, language: str) -> None:
    player = site.next_player()
    reps = site.one_of_each(list(KINDS))
    set_id = site.lay_out(player, reps)
    page = device(viewport={"width": 360, "height": 640}, has_touch=True, reduced_motion="reduce").new_page()
    sign_in(page, site, player)
    if language != "English":
        page.get_by_role("button", name=language).tap()
        page.locator('html[lang="es"]').wait_for()
    start_set(page, set_id)
    hidden: list[tuple[str, tuple[int, int]]] = []
    for rep in reps:
        page.set_viewport_size({"width": 360, "height": 640})
        answer(page, site.parts(shown_rep(page)), right=False)
        page.locator(".verdict").wait_for()
        for width, height in SIZES:
            page.set_viewport_size({"width": width, "height": height})
            page.evaluate("scrollTo(0, 0)")
            if not is_on_screen(page.evaluate(RECTANGLES, AT), width, height):
                hidden.append((rep.kind, (width, height)))
        page.locator(".bar a.button").tap()
        if rep is not reps[-1]:
            wait_for_rep(page)
    assert hidden == []


def test_a_second_tap_at_once_does_not_leave_the_verdict(phone: Page, site: Site) -> None:
    player = site.next_player()
    reps = site.some(2, kinds=["track"])
    set_id = site.lay_out(player, reps)
    sign_in(phone, site, player)
    start_set(phone, set_id)
    [part] = site.parts(shown_rep(phone))
    tap(phone, part["right"][0])
    # Two taps on one spot: the first answers, and by the second the button there says "Next rep".
    phone.evaluate(
        """() => { const watch = new MutationObserver(() => {
            const next = document.querySelector('.verdict') && document.querySelector('.bar a.button');
            if (next) { watch.disconnect(); next.click(); document.documentElement.dataset.tapped = 'yes'; }
        }); watch.observe(document.querySelector('main'), {childList: true, subtree: true}); }"""
    )
    phone.locator("form.rep button[type=submit]").tap()
    phone.locator('html[data-tapped="yes"]').wait_for()
    expect(phone.locator(".verdict h2")).to_have_text("That is it")
    phone.locator(".bar a.button").tap()
    wait_for_rep(phone)


def test_back_shows_the_verdict_again(phone: Page, site: Site) -> None:
    player = site.next_player()
    reps = site.some(2, kinds=["track"])
    set_id = site.lay_out(player, reps)
    sign_in(phone, site, player)
    start_set(phone, set_id)
    answer(phone, site.parts(reps[0].id), right=False)
    why = phone.locator(".why").inner_text()
    phone.locator(".bar a.button").tap()
    wait_for_rep(phone)
    phone.go_back()
    expect(phone.locator(".why")).to_have_text(why)
    phone.go_forward()
    wait_for_rep(phone)
    assert shown_rep(phone) == reps[1].id
    answer(phone, site.parts(reps[1].id))
    expect(phone.locator(".verdict h2")).to_have_text("That is it")
    assert site.answers(player) == [(1, False), (2, True)]
