"""The first rep: how to tap, before anything counts."""

import pytest
from playwright.sync_api import Page, expect

from server.database.tables import Answer
from tests.browser.pages import sign_in
from tests.browser.site import Site

pytestmark = pytest.mark.browser


def answers_of(site: Site, player_id: str) -> int:
    with site.store.read(site.team.id) as t:
        return sum(row.member_id == player_id for row in t.rows(Answer))


def test_a_first_rep_shows_how_to_tap_and_stores_nothing(phone: Page, site: Site) -> None:
    player = site.next_player()
    site.lay_out(player, site.some(2, kinds=["track"]))
    sign_in(phone, site, player)
    phone.get_by_role("link", name="First time?").tap()
    expect(phone.get_by_role("heading", name="Tap the lane in front of you.")).to_be_visible()
    button = phone.locator("button[type=submit]")
    expect(button).to_have_attribute("aria-disabled", "true")
    lanes = phone.locator(".gs .tap")
    assert lanes.count() == 4
    lanes.nth(0).tap()
    expect(button).to_contain_text("Answer: Left")
    button.tap()
    expect(phone.locator(".verdict h2")).to_have_text("Not that one")
    phone.get_by_role("link", name="Try it again").tap()
    expect(button).to_have_attribute("aria-disabled", "true")  # the script has the new page
    lanes.nth(3).tap()
    button.tap()
    expect(phone.locator(".verdict h2")).to_have_text("That is it")
    phone.get_by_role("link", name="Now a real one").tap()
    expect(phone.get_by_role("button", name="Start").first).to_be_visible()
    assert answers_of(site, player.id) == 0


def test_the_verdict_stands_on_one_screen(phone: Page, site: Site) -> None:
    sign_in(phone, site, site.next_player())
    for width, height in ((320, 568), (360, 640), (667, 375)):
        phone.set_viewport_size({"width": width, "height": height})
        for choice in "bd":
            phone.goto(f"{site.address}/first-rep?choice_1={choice}")
            bottom = phone.evaluate("() => document.querySelector('.bar').getBoundingClientRect().top")
            on_side = width > height
            for part in (".verdict", ".picture"):
                box = phone.locator(part).first.bounding_box()
                assert box
                limit = height if on_side and part == ".picture" else bottom
                assert box["y"] + box["height"] <= limit + 1, (width, choice, part)


def test_by_keyboard_alone(phone: Page, site: Site) -> None:
    sign_in(phone, site, site.next_player())
    phone.goto(f"{site.address}/first-rep")
    first = phone.locator("input[name=choice_1]").first
    first.focus()
    for _ in range(3):
        phone.keyboard.press("ArrowDown")
    phone.keyboard.press("Enter")
    expect(phone.locator(".verdict h2")).to_have_text("That is it")
