"""The owner's page on erasing: the last day, the day of grace, the way back; others only read."""

from datetime import timedelta

import pytest
from playwright.sync_api import Page, expect

from server.accounts.credentials import hash_passphrase
from server.accounts.members import add_coach
from server.accounts.retention import day_of
from server.database.tables import AccountRole
from tests.browser.pages import sign_in_coach
from tests.browser.site import PASSPHRASE, Site, now

pytestmark = pytest.mark.browser


def test_the_last_day_is_set_and_never_in_the_past(site: Site, laptop: Page) -> None:
    today = day_of(site.team, now())
    sign_in_coach(laptop, site)
    laptop.goto(f"{site.address}/coach/erasing")
    field, button = laptop.get_by_label("The season's last day"), laptop.get_by_role("button", name="Keep this day")
    for wrong in (today - timedelta(days=1), today.replace(year=today.year - 1), today + timedelta(days=800)):
        field.fill(wrong.isoformat())
        button.click()
        expect(laptop.get_by_role("alert")).to_contain_text("last day: expected a day from")
        with site.store.read(site.team.id) as t:
            assert t.team().season_end != wrong.isoformat()
    last = today + timedelta(days=20)
    field.fill(last.isoformat())
    button.click()
    expect(laptop.locator("main")).to_contain_text(f"On {last.isoformat()}.")
    with site.store.read(site.team.id) as t:
        assert t.team().season_end == last.isoformat()
    field.fill("")
    button.click()
    expect(laptop.locator("main")).to_contain_text("No last day is set, so nothing is erased.")


def test_erasing_takes_the_name_and_leaves_a_day_to_take_it_back(site: Site, laptop: Page) -> None:
    sign_in_coach(laptop, site)
    laptop.goto(f"{site.address}/coach/erasing")
    laptop.get_by_label("Type its name").fill("another name")
    laptop.get_by_role("button", name="Erase the results after a day").click()
    expect(laptop.get_by_role("alert")).to_contain_text(site.team.name)
    laptop.get_by_label("Type its name").fill(site.team.name)
    laptop.get_by_role("button", name="Erase the results after a day").click()
    expect(laptop.get_by_role("heading", name="The results are being erased")).to_be_visible()
    laptop.get_by_role("button", name="Keep the results").click()
    expect(laptop.get_by_role("heading", name="Erasing waits for the owner")).to_be_visible()


def test_another_coach_reads_who_the_owner_is(site: Site, laptop: Page) -> None:
    with site.store.write(site.team.id) as t:
        add_coach(t, "reader", AccountRole.COACH, hash_passphrase(PASSPHRASE), now())
    sign_in_coach(laptop, site, "reader")
    for width in (390, 768, 1366):
        laptop.set_viewport_size({"width": width, "height": 800})
        laptop.goto(f"{site.address}/coach/erasing")
        expect(laptop.get_by_text("Only the owner can change this.")).to_be_visible()
        expect(laptop.get_by_text("Owner: coach")).to_be_visible()
        expect(laptop.locator("main form")).to_have_count(0)
        assert laptop.evaluate("document.documentElement.scrollWidth") <= width
