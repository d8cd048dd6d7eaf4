"""A coach imports a play list with odd headings, and types in what an opponent runs, by keyboard alone."""

from pathlib import Path

import pytest
from playwright.sync_api import Page, expect
from sqlmodel import col

from server.database.tables import Opponent
from tests.browser.pages import sign_in_coach
from tests.browser.site import Site

pytestmark = pytest.mark.browser
PLAY_LIST = Path(__file__).parent / "pine_hollow.csv"


def add_opponent(page: Page, site: Site, name: str) -> None:
    """From any page to the page of a new opponent."""
    page.goto(f"{site.address}/coach/opponents")
    page.get_by_label("Add an opponent").fill(name)
    page.get_by_role("button", name="Add", exact=True).click()
    page.get_by_role("heading", name=name).wait_for()


def stored(site: Site, name: str) -> Opponent:
    with site.store.read(site.team.id) as t:
        found = t.first(Opponent, col(Opponent.name) == name)
        assert found is not None
        return found


def test_a_play_list_with_odd_headings_becomes_what_they_run(site: Site, laptop: Page) -> None:
    sign_in_coach(laptop, site)
    add_opponent(laptop, site, "Otter Creek")
    laptop.get_by_role("link", name="Import a play list").click()
    laptop.get_by_label("Play list as CSV").set_input_files(PLAY_LIST)
    laptop.get_by_role("button", name="Look at it").click()
    assert laptop.get_by_label("Play", exact=True).evaluate("one => one.selectedOptions[0].text") == "O-Play (theirs)"
    expect(laptop.get_by_label("IZ", exact=True)).to_have_value("inside-zone")
    expect(laptop.get_by_label("Power O Lt", exact=True)).to_have_value("power")
    laptop.get_by_label("Gun Tear", exact=True).select_option("Zone read")
    laptop.get_by_label("PUNT", exact=True).select_option(label="leave it out")
    laptop.get_by_role("button", name="See what would be stored").click()
    told = laptop.locator("main").inner_text()
    assert "PUNT: left out by you" in told
    assert "no play in the line" in told
    assert stored(site, "Otter Creek").play_counts == {}
    laptop.get_by_role("button", name="Store these numbers").click()
    laptop.get_by_role("button", name="Make them next").click()
    expect(laptop.get_by_text("Next: Otter Creek.")).to_be_visible()
    row = stored(site, "Otter Creek")
    assert row.is_next
    assert row.play_counts == {
        "inside-zone": 3,
        "power": 2,
        "zone-read": 1,
        "half-slide": 1,
        "Any pass": 1,
        "jet-sweep": 1,
        '=HYPERLINK("x")': 1,
    }
    # the meaning of a word is proposed the next time
    add_opponent(laptop, site, "Ash Creek")
    laptop.get_by_role("link", name="Import a play list").click()
    laptop.get_by_label("Play list as CSV").set_input_files(PLAY_LIST)
    laptop.get_by_role("button", name="Look at it").click()
    expect(laptop.get_by_label("Gun Tear", exact=True)).to_have_value("zone-read")
    expect(laptop.get_by_label("PUNT", exact=True)).to_have_value("")


def test_typed_in_by_keyboard_alone(site: Site, laptop: Page) -> None:
    sign_in_coach(laptop, site)
    add_opponent(laptop, site, "Birch Hill")
    laptop.get_by_label("Inside zone", exact=True).focus()
    laptop.keyboard.type("12")
    laptop.keyboard.press("Tab")
    expect(laptop.get_by_label("Split zone", exact=True)).to_be_focused()
    laptop.keyboard.type("many")
    laptop.keyboard.press("Enter")
    expect(laptop.get_by_role("alert")).to_contain_text("Split zone: expected a number")
    expect(laptop.get_by_label("Inside zone", exact=True)).to_have_value("12")
    laptop.get_by_label("Split zone", exact=True).focus()
    laptop.keyboard.press("Control+A")
    laptop.keyboard.type("4")
    laptop.keyboard.press("Enter")
    laptop.get_by_text("16 snaps").wait_for()
    assert stored(site, "Birch Hill").play_counts == {"inside-zone": 12, "split-zone": 4}


@pytest.mark.parametrize("width", [320, 390, 820, 1280])
def test_no_page_of_it_is_wider_than_the_screen(site: Site, laptop: Page, width: int) -> None:
    laptop.set_viewport_size({"width": width, "height": 800})
    sign_in_coach(laptop, site)
    add_opponent(laptop, site, f"Team {width}")
    laptop.get_by_role("link", name="Import a play list").click()
    laptop.get_by_label("Play list as CSV").set_input_files(PLAY_LIST)
    wide = "document.documentElement.scrollWidth - innerWidth"
    for button in ("Look at it", "See what would be stored", "Store these numbers"):
        laptop.wait_for_load_state()  # without its style sheet a page has the browser's default margin
        assert laptop.evaluate(wide) <= 0
        laptop.get_by_role("button", name=button).click()
    laptop.get_by_text("What they ask of your defense").wait_for()
    assert laptop.evaluate(wide) <= 0
    small = laptop.locator("main button, main select, main a.button, main input:not([type=hidden])").evaluate_all(
        "all => all.filter(one => one.getClientRects().length && one.getBoundingClientRect().height < 44"
        " && !['radio', 'checkbox'].includes(one.type)).map(one => one.outerHTML)"
    )
    assert small == []
