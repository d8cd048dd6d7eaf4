"""A set on what each needs, from the form to the reasons of the picks: by mouse, and on a player's phone."""

import pytest
from playwright.sync_api import Page, expect

from tests.browser.pages import sign_in, sign_in_coach, start_set, wait_for_rep
from tests.browser.site import Site

pytestmark = pytest.mark.browser


def test_what_each_needs_is_sent_in_a_few_clicks(site: Site, laptop: Page, phone: Page) -> None:
    player = site.next_player()
    site.lay_out(player, site.some(2, positions=[player.positions[0]]))  # so one call is open to him
    sign_in_coach(laptop, site)
    laptop.get_by_role("link", name="Assign", exact=True).click()
    laptop.get_by_role("radio", name="What each needs").check()
    expect(laptop.get_by_role("heading", name="Calls and stages")).to_be_visible()
    expect(laptop.locator("#stages input")).to_have_count(0)
    expect(laptop.get_by_role("radio", name="Check session")).to_be_disabled()
    laptop.get_by_role("button", name="Send to").click()
    expect(laptop.get_by_role("heading", name="What each needs, 8 reps")).to_be_visible()
    set_id = laptop.url.rsplit("/", 1)[1]

    sign_in(phone, site, player)
    expect(phone.locator(f'form[action="/sets/{set_id}/open"]')).to_be_visible()
    start_set(phone, set_id)
    wait_for_rep(phone)
    expect(phone.get_by_role("heading", level=1)).to_have_text("What you need")

    laptop.reload()
    laptop.get_by_role("link", name="Why each got these reps").click()
    own = laptop.locator(".picked").filter(has_text=f"#{player.number} {player.name}")
    expect(own.locator("li").first).to_be_visible()


def test_back_to_one_call_brings_the_stages_back(site: Site, laptop: Page) -> None:
    sign_in_coach(laptop, site)
    laptop.goto(f"{site.address}/coach/assign?mix=1")
    laptop.get_by_label("Call", exact=True).select_option(index=1)
    expect(laptop.get_by_role("radio", name="One call", exact=True)).to_be_checked()
    expect(laptop.locator("#stages input:checked").first).to_be_visible()
    expect(laptop.get_by_role("radio", name="Check session")).to_be_enabled()
