"""The next season on the owner's page, by thumb: play-offs, who leaves, the code sheet."""

from datetime import timedelta

import pytest
from playwright.sync_api import Page, expect
from sqlmodel import col

from server.accounts.retention import day_of
from server.database.tables import Member
from tests.browser.pages import sign_in_coach
from tests.browser.site import Site, now

pytestmark = pytest.mark.browser


def test_play_offs_move_the_last_day_a_week_on(site: Site, phone: Page) -> None:
    sign_in_coach(phone, site)
    phone.goto(f"{site.address}/coach/erasing")
    last = day_of(site.team, now()) + timedelta(days=3)
    phone.get_by_label("The season's last day").fill(last.isoformat())
    phone.get_by_role("button", name="Keep this day").tap()
    expect(phone.locator("main")).to_contain_text(f"On {last.isoformat()}.")
    phone.goto(f"{site.address}/coach/season")
    for weeks in (1, 2):
        phone.get_by_role("button", name="A week longer").tap()
        later = last + timedelta(days=7 * weeks)
        expect(phone.get_by_text(f"This one ends on {later.isoformat()}.")).to_be_visible()
    with site.store.read(site.team.id) as t:
        assert t.team().season_end == later.isoformat()


def test_the_next_season_begins_on_one_page(site: Site, phone: Page) -> None:
    leaver, last = site.next_player(), day_of(site.team, now()) + timedelta(days=90)
    sign_in_coach(phone, site)
    phone.get_by_role("link", name="Roster").tap()
    phone.get_by_role("link", name="Next season").tap()
    phone.get_by_label("The next season's last day").fill(last.isoformat())
    phone.get_by_label("New PINs for all who stay").check()
    phone.get_by_role("checkbox", name=f"#{leaver.number} {leaver.name}").check()
    phone.get_by_role("button", name="Look at what it means").tap()
    expect(phone.get_by_text("1 player leaves")).to_be_visible()
    expect(phone.get_by_text(f"The next season's last day is {last.isoformat()}.")).to_be_visible()
    with site.store.read(site.team.id) as t:
        assert t.get(Member, leaver.id).removed_at is None  # looked at, not done
        staying = t.count(Member, col(Member.number).is_not(None), col(Member.removed_at).is_(None)) - 1
    phone.get_by_role("button", name="Begin the next season").tap()
    expect(phone.locator(".slip")).to_have_count(staying)
    with site.store.read(site.team.id) as t:
        assert t.team().season_end == last.isoformat()
        assert t.get(Member, leaver.id).erase_at is not None
    phone.goto(f"{site.address}/coach/roster")
    expect(phone.get_by_text("Erased after")).to_be_visible()
