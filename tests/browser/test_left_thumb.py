"""The bar of a rep under the left thumb: a setting of this phone."""

import pytest
from playwright.sync_api import Page, expect

from tests.browser.pages import answer, sign_in, start_set, wait_for_rep
from tests.browser.site import Site

pytestmark = pytest.mark.browser
LEFT_OF = """() => document.querySelector('.bar .button').getBoundingClientRect().x
    < document.querySelector('.bar .side').getBoundingClientRect().x"""


def test_the_bar_moves_to_the_left_thumb_and_stays_there(phone: Page, site: Site) -> None:
    player = site.next_player()
    reps = site.some(2, kinds=["track"])
    set_id = site.lay_out(player, reps)
    sign_in(phone, site, player)
    switch = phone.get_by_role("button", name="Buttons under the left thumb")
    expect(switch).to_have_attribute("aria-pressed", "false")
    switch.tap()
    expect(switch).to_have_attribute("aria-pressed", "true")
    start_set(phone, set_id)
    assert phone.evaluate(LEFT_OF)
    answer(phone, site.parts(reps[0].id), right=False)
    phone.locator(".verdict").wait_for()
    expect(phone.locator(".bar .side")).to_be_visible()
    assert phone.evaluate(LEFT_OF)
    phone.set_viewport_size({"width": 667, "height": 375})
    bar, picture = (phone.locator(one).first.bounding_box() for one in (".bar", ".picture"))
    assert bar
    assert picture
    assert bar["x"] + bar["width"] <= picture["x"] + 1
    phone.goto(f"{site.address}/home")
    switch.tap()
    start_set(phone, set_id)
    wait_for_rep(phone)
    assert not phone.evaluate(LEFT_OF)
