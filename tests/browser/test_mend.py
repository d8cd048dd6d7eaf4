"""A coach asks what would mend a call: the rows arrive by themselves, and without a script by looking again."""

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from server.database.tables import Opponent
from tests.browser.pages import sign_in_coach
from tests.browser.site import Site

pytestmark = pytest.mark.browser
CALLS = ("Esker", "Scree", "Kame", "Tarn", "Kettle", "Moraine")


def ask(page: Page, site: Site, call: str) -> None:
    """From a call against the first opponent to what would mend it."""
    with site.store.read(site.team.id) as t:
        foe = t.rows(Opponent)[0].id
    page.goto(f"{site.address}/coach/defense/sound?call={call}&against={foe}")
    page.get_by_role("link", name="What would mend it").click()
    page.get_by_role("heading", name=f"What would mend {call}").wait_for()


def test_rows_arrive_by_themselves(site: Site, laptop: Page) -> None:
    sign_in_coach(laptop, site)
    found = 0
    for call in CALLS:  # which of them can be mended is the demo's affair
        ask(laptop, site, call)
        expect(laptop.locator("#mend-sum")).to_contain_text(re.compile(r"single changes and \d+ pairs tried; \d+ gain"))
        expect(laptop.get_by_role("link", name="Look again")).to_have_count(0)
        found = int(re.findall(r"(\d+) gain", laptop.locator("#mend-sum").inner_text())[0])
        if found:
            break
        expect(laptop.get_by_role("heading", name="Nothing of one or two changes mends it")).to_be_visible()
    rows = laptop.locator("table.mends tbody tr")
    expect(rows).to_have_count(min(found, 20))
    expect(rows.first.locator("td").nth(1)).to_contain_text(re.compile(r"^\+[\d.]+ .*(costs nothing|−)"))
    laptop.get_by_role("link", name=re.compile("^one change")).click()
    expect(laptop.get_by_role("link", name=re.compile("^one change"))).to_have_attribute("aria-current", "true")
    expect(laptop.locator("#mend-sum")).to_contain_text("Done in")


def test_without_script_by_looking_again(site: Site, device: Callable[..., BrowserContext]) -> None:
    page = device(viewport={"width": 390, "height": 844}, java_script_enabled=False).new_page()
    sign_in_coach(page, site)
    ask(page, site, CALLS[1])
    again = page.get_by_role("link", name="Look again")
    for _ in range(60):
        if not again.count():
            break
        again.click()
        page.wait_for_timeout(500)
    expect(page.locator("#mend-sum")).to_contain_text("pairs tried")
