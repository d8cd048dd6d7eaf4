"""The snap in motion: play, step, scrub; stills where less motion is wanted."""

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


def test_it_plays_by_itself_and_is_stepped_and_scrubbed(phone: Page, site: Site) -> None:
    after_an_answer(phone, site)
    men = phone.locator(".moves [data-k]")
    time, end = phone.get_by_label("Time after the snap"), phone.locator(".moves svg.gs").get_attribute("data-end")
    start = men.evaluate_all(PLACES)
    expect(time).to_have_value(str(float(end)).removesuffix(".0"), timeout=15_000)
    last = men.evaluate_all(PLACES)
    assert last != start
    phone.get_by_role("button", name="One step back").tap()
    assert men.evaluate_all(PLACES) != last
    phone.get_by_role("button", name="One step on").tap()
    assert men.evaluate_all(PLACES) == last
    time.fill("0")
    assert men.evaluate_all(PLACES) == start
    phone.get_by_role("button", name="Play", exact=True).tap()
    expect(phone.get_by_role("button", name="Pause")).to_be_visible()
    phone.get_by_role("button", name="Pause").tap()
    expect(phone.get_by_role("button", name="Play", exact=True)).to_be_visible()


def test_reduced_motion_gives_stills(device, site: Site) -> None:
    page = device(
        viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True, reduced_motion="reduce"
    ).new_page()
    after_an_answer(page, site)
    men = page.locator(".moves [data-k]")
    last = men.evaluate_all(PLACES)
    page.wait_for_timeout(900)
    assert men.evaluate_all(PLACES) == last  # nothing moves unless he asks
    seen = {last}
    for _ in range(3):
        page.get_by_role("button", name="One step back").tap()
        seen.add(men.evaluate_all(PLACES))
    assert len(seen) == 4
    expect(page.get_by_label("Time after the snap")).to_have_value("0")
