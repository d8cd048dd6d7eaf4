"""The help pages: reached from where people look, drawn anew for each, printable."""

import re

import pytest
from playwright.sync_api import Page, expect

from tests.browser.pages import sign_in, sign_in_coach
from tests.browser.site import Site

pytestmark = pytest.mark.browser


def test_a_player_finds_help_on_his_home_with_himself_in_the_pictures(phone: Page, site: Site) -> None:
    player = site.next_player()
    sign_in(phone, site, player)
    phone.get_by_role("link", name="How it works").tap()
    expect(phone.get_by_role("heading", name="How it works")).to_be_visible()
    expect(phone.locator("figure.picture svg.gs")).to_have_count(3)
    phone.get_by_role("link", name="Try it").tap()
    expect(phone.get_by_role("heading", name="First rep")).to_be_visible()


def test_a_coach_finds_help_at_the_foot_of_every_page_with_a_rep_of_his_own(laptop: Page, site: Site) -> None:
    sign_in_coach(laptop, site)
    laptop.get_by_role("link", name="How to use it").click()
    expect(laptop.get_by_role("heading", name="The board's four words")).to_be_visible()
    pictures = laptop.locator("figure.picture svg.gs")
    expect(pictures).to_have_count(2)
    expect(laptop.locator(".help-two p").first).to_have_text(re.compile("(left|right)"))


@pytest.mark.parametrize("who", ["player", "coach"])
def test_help_prints_without_what_only_a_screen_needs(laptop: Page, site: Site, who: str) -> None:
    if who == "coach":
        sign_in_coach(laptop, site)
        laptop.goto(f"{site.address}/coach/help")
    else:
        sign_in(laptop, site, site.next_player())
        laptop.goto(f"{site.address}/help")
    expect(laptop.locator("figure.picture").first).to_be_visible()
    laptop.emulate_media(media="print")
    expect(laptop.locator("header.top")).to_be_hidden()
    expect(laptop.locator("form.language")).to_be_hidden()
    expect(laptop.locator("figure.picture").first).to_be_visible()
    assert laptop.pdf(format="Letter").startswith(b"%PDF")
