"""From an empty server to a working board, in the browser alone: a team begins, gets its words, its rules, its players,
and one of them answers a rep."""

import re
from collections import Counter
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from server.settings import load_settings
from server.team.beginning import VALID_FOR, make_invite
from tests.browser.site import PASSPHRASE, serving
from tests.harness.databases import open_migrated

pytestmark = pytest.mark.browser
PLAYERS = 40
#: A coach's pace: seconds for a click, for a key.
CLICK_S, KEY_S = 2.5, 0.3


class Hands:
    """A coach who clicks and types, and counts both."""

    def __init__(self, page: Page) -> None:
        self.page, self.did = page, Counter[str]()

    def click(self, role: str, name: str | re.Pattern[str]) -> None:
        self.did["clicks"] += 1
        self.page.get_by_role(role, name=name).click()  # type: ignore[arg-type]

    def type(self, label: str | re.Pattern[str], words: str, *, pasted: bool = False) -> None:
        self.did["clicks"] += 1
        self.did["keys"] += 2 if pasted else len(words)
        self.page.get_by_label(label).fill(words)

    @property
    def minutes(self) -> float:
        return (self.did["clicks"] * CLICK_S + self.did["keys"] * KEY_S) / 60


def roster(men: list[str]) -> str:
    return "\n".join(f"{number} P{number} {men[number % len(men)]}" for number in range(1, PLAYERS + 1))


def test_from_an_empty_server_to_a_rep(tmp_path: Path, device: Callable[..., BrowserContext]) -> None:
    settings = load_settings(data_dir=tmp_path, database_url="", public_url="")
    store = open_migrated(settings)
    token = make_invite(store, datetime.now(UTC), is_first=True)
    with serving(settings, store) as address:
        page = device(viewport={"width": 1366, "height": 768}).new_page()
        page.goto(f"{address}/begin/{token}")
        coach = Hands(page)
        coach.type("The team's name", "Granite Bay JV")
        coach.click("radio", "4-2-5")
        coach.type("Your sign-in name", "pat")
        coach.type("A passphrase", "short")
        page.locator("form").first.evaluate("form => form.noValidate = true")
        coach.click("button", "Begin")
        expect(page.get_by_role("alert")).to_contain_text("15")
        expect(page.get_by_label("The team's name")).to_have_value("Granite Bay JV")  # nothing typed is lost
        coach.type("A passphrase", PASSPHRASE)
        coach.click("button", "Begin")
        expect(page.get_by_role("heading", name="Your words")).to_be_visible()
        coach.type("Name of Will", "Whip")
        coach.type("Letters of Will", "Wh")
        coach.type(re.compile("^A$"), "Ant")
        coach.click("button", "Keep and go on")
        expect(page.get_by_role("heading", name="Where staffs differ")).to_be_visible()
        assert page.locator(".ask-answer svg").count() >= 4
        coach.click("radio", re.compile("^Spill it"))
        coach.click("button", "Keep and go on")
        with store.read(store.teams()[0].id) as t:
            assert t.team().name == "Granite Bay JV"
        men = ["Whip", "Mike", "Nose", "Strong end"]
        coach.type("Type or paste", roster(men), pasted=True)
        coach.click("button", "Look at it")
        expect(page.locator(".tile").first).to_contain_text(str(PLAYERS))
        coach.click("button", re.compile(rf"{PLAYERS}|Take|Bring"))
        slip = page.locator(".slip").filter(has=page.get_by_text("#4 P4", exact=True))
        pin = (slip.locator(".pin").text_content() or "").replace(" ", "")
        assert len(pin) == 6, pin
        page.goto(f"{address}/coach/board")
        expect(page.get_by_role("heading", level=1).first).to_be_visible()
        page.goto(f"{address}/coach/defense/calls/base?man=will")
        expect(page.locator("#panel h2")).to_have_text("Whip")
        expect(page.locator(".told-line")).to_contain_text(re.compile("Whip is told"))
        page.goto(f"{address}/coach/assign?call=backers-cross")
        coach.click("button", re.compile("^Send"))
        code = store.teams()[0].join_code
        phone = device(viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True).new_page()
        phone.goto(f"{address}/team/{code}")
        phone.get_by_label("Your number").fill("4")
        phone.get_by_label("PIN").fill(pin)
        phone.get_by_role("button", name="Sign in").click()
        phone.get_by_role("button", name="Start").first.tap()
        phone.locator("form.rep .tap, form.rep .pick").first.wait_for()
        phone.goto(f"{address}/begin/{token}")
        expect(phone.get_by_text("A team was begun with this address before.")).to_be_visible()
        print(f"{coach.did['clicks']} clicks, {coach.did['keys']} keys: {coach.minutes:.1f} minutes at a coach's pace")
        assert coach.minutes < 15
    store.close()


def test_an_address_that_is_too_old_or_made_up_begins_nothing(
    tmp_path: Path, device: Callable[..., BrowserContext]
) -> None:
    settings = load_settings(data_dir=tmp_path, database_url="", public_url="")
    store = open_migrated(settings)
    old = make_invite(store, datetime.now(UTC) - VALID_FOR - timedelta(days=1))
    earlier = make_invite(store, datetime.now(UTC))
    make_invite(store, datetime.now(UTC), is_first=True)  # a start takes back those that nobody used
    with serving(settings, store) as address:
        page = device(viewport={"width": 1366, "height": 768}).new_page()
        for token in (old, earlier, f"{'a' * 16}.{'b' * 43}", "no-token"):
            reply = page.goto(f"{address}/begin/{token}")
            assert reply
            assert reply.status == 404
    assert store.teams() == []
    store.close()
