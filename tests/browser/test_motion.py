"""The snap in motion: play, step, scrub; stills with reduced motion."""

import pytest
from playwright.sync_api import Page, expect

from tests.browser.pages import answer, sign_in, start_set
from tests.browser.site import Site

pytestmark = pytest.mark.browser

PLACES = "all => all.map(one => one.getAttribute('transform')).join()"


def after_an_answer(page: Page, site: Site) -> None:
    player = site.next_player()
    rep = site.some(1, kinds=["moved-gap"])[0]
    set_id = site.lay_out(player, [rep])
    sign_in(page, site, player)
    start_set(page, set_id)
    answer(page, site.parts(rep.id))
    page.locator(".verdict").wait_for()


def test_it_autoplays_and_can_be_stepped_and_scrubbed(phone: Page, site: Site) -> None:
    after_an_answer(phone, site)
    men = phone.locator(".moves [data-k]")
    expect(phone.get_by_role("button", name="One step back")).to_be_hidden()
    phone.get_by_role("button", name="Replay").tap()
    time, end = phone.get_by_label("Time after the snap"), phone.locator(".moves svg.gs").get_attribute("data-end")
    expect(time).to_have_value(str(float(end)).removesuffix(".0"), timeout=15_000)
    last = men.evaluate_all(PLACES)
    phone.get_by_role("button", name="One step back").tap()
    assert men.evaluate_all(PLACES) != last
    phone.get_by_role("button", name="One step on").tap()
    assert men.evaluate_all(PLACES) == last
    time.fill("0")
    assert men.evaluate_all(PLACES) != last
    phone.get_by_role("button", name="Play", exact=True).tap()
    expect(phone.get_by_role("button", name="Pause")).to_be_visible()
    phone.get_by_role("button", name="Pause").tap()
    expect(phone.get_by_role("button", name="Play", exact=True)).to_be_visible()


def test_without_script_the_snap_is_shown_at_its_end(device, site: Site) -> None:
    player = site.next_player()
    reps = site.some(2, kinds=["moved-gap"])
    set_id = site.lay_out(player, reps)
    page = device(viewport={"width": 390, "height": 844}, java_script_enabled=False).new_page()
    sign_in(page, site, player)
    page.locator(f'form[action="/sets/{set_id}/open"] button').click()
    for is_right in (True, False):
        part = site.parts(reps[0 if is_right else 1].id)[0]
        label = next(c["label"] for c in part["choices"] if (c["id"] in part["right"]) is is_right)
        page.get_by_label(label, exact=True).check()
        page.get_by_role("button", name="Answer").click()
        men = page.locator(".moves [data-k]").evaluate_all(
            "all => all.map(one => [one.dataset.k.split(';').at(-1).split(' ').slice(1).map(Number),"
            " one.getAttribute('transform').match(/[-\\d.]+/g).map(Number)])"
        )
        assert men
        assert all(place == last for last, place in men)
        assert page.locator('.moves svg.gs [visibility="hidden"]:not([data-to])').count() == 0
        page.locator(".bar a").click()


def test_reduced_motion_gives_stills(device, site: Site) -> None:
    page = device(
        viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True, reduced_motion="reduce"
    ).new_page()
    after_an_answer(page, site)
    men = page.locator(".moves [data-k]")
    last = men.evaluate_all(PLACES)
    page.wait_for_timeout(900)
    assert men.evaluate_all(PLACES) == last  # nothing moves until he asks for it
    page.get_by_role("button", name="Replay").tap()
    page.get_by_role("button", name="Pause").tap()
    page.get_by_label("Time after the snap").fill("0")
    seen = {men.evaluate_all(PLACES)}
    for _ in range(3):
        page.get_by_role("button", name="One step on").tap()
        seen.add(men.evaluate_all(PLACES))
    assert len(seen) == 4
    assert last in seen


def test_it_waits_until_it_is_in_view(device, site: Site) -> None:
    player = site.next_player()
    reps = site.one_of_each(["count"])
    set_id = site.lay_out(player, reps)
    page = device(viewport={"width": 320, "height": 300}, has_touch=True, is_mobile=True).new_page()
    sign_in(page, site, player)
    start_set(page, set_id)
    answer(page, site.parts(reps[0].id), right=False)
    page.locator(".verdict").wait_for()
    page.wait_for_timeout(1500)
    time = page.get_by_label("Time after the snap")
    expect(time).to_have_value("0")
    page.locator(".picture svg.gs").scroll_into_view_if_needed()
    expect(time).not_to_have_value("0", timeout=15_000)


@pytest.mark.parametrize("kind", ["count", "option-man", "after-release"])
def test_on_an_old_phone_choices_are_visible(device, site: Site, kind: str) -> None:
    player = site.next_player()
    [rep] = site.one_of_each([kind])
    set_id = site.lay_out(player, [rep])
    page = device(viewport={"width": 320, "height": 640}, has_touch=True, is_mobile=True).new_page()
    sign_in(page, site, player)
    start_set(page, set_id)
    pick, bar = page.locator(".choices .pick").first.bounding_box(), page.locator(".bar").bounding_box()
    assert pick["y"] + pick["height"] <= bar["y"] + 1


def test_no_one_is_in_reach_on_a_small_phone(device, site: Site) -> None:
    player = site.next_player()
    set_id = site.lay_out(player, site.one_of_each(["matchup"]))
    page = device(viewport={"width": 320, "height": 640}, has_touch=True, is_mobile=True).new_page()
    sign_in(page, site, player)
    start_set(page, set_id)
    pick, bar = (
        page.locator(".choices.is-asked .pick:not(.is-tapped)").bounding_box(),
        page.locator(".bar").bounding_box(),
    )
    assert pick["height"] >= 44
    assert pick["y"] + pick["height"] <= bar["y"] + 1
