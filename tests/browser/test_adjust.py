"""A rep about the side of the call and what becomes of it: by touch and by keyboard, on the smallest phone too."""

import pytest
from playwright.sync_api import expect

from tests.browser.pages import answer, shown_rep, sign_in, start_set, wait_for_rep
from tests.browser.site import Site

pytestmark = pytest.mark.browser

SIZES = ((320, 568), (390, 844))


@pytest.mark.parametrize(("width", "height"), SIZES)
def test_by_touch(device, site: Site, width: int, height: int) -> None:
    player = site.next_player()
    reps = site.some(2, kinds=["adjust"])
    set_id = site.lay_out(player, reps)
    page = device(viewport={"width": width, "height": height}, has_touch=True, reduced_motion="reduce").new_page()
    sign_in(page, site, player)
    start_set(page, set_id)
    first = site.parts(shown_rep(page))
    expect(page.locator(".picture .tap")).to_have_count(2)
    for half in page.locator(".picture .tap .gs-hit").all():
        box = half.bounding_box()
        assert box is not None
        assert min(box["width"], box["height"]) >= 44
    answer(page, first)
    expect(page.locator(".verdict h2")).to_have_text("That is it")
    page.locator(".bar a.button").tap()
    wait_for_rep(page)
    answer(page, site.parts(shown_rep(page)), right=False)
    expect(page.locator(".verdict h2")).to_have_text("One of two")
    assert site.answers(player) == [(1, True), (2, False)]


def test_by_keyboard(device, site: Site) -> None:
    player = site.next_player()
    [rep] = site.some(1, kinds=["adjust"])
    set_id = site.lay_out(player, [rep])
    page = device(viewport={"width": 1366, "height": 768}, reduced_motion="reduce").new_page()
    sign_in(page, site, player)
    start_set(page, set_id)
    for number, part in enumerate(site.parts(shown_rep(page)), start=1):
        ids = [choice["id"] for choice in part["choices"]]
        page.locator(f'.choices[data-part="{number}"] input[value="{ids[0]}"]').focus()
        page.keyboard.press("Space")
        for _ in range(ids.index(part["right"][0])):
            page.keyboard.press("ArrowDown")
    page.locator("form.rep button[type=submit]").focus()
    page.keyboard.press("Enter")
    expect(page.locator(".verdict h2")).to_have_text("That is it")
    assert site.answers(player) == [(1, True)]
