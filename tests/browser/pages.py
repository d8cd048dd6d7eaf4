"""Actions in a browser: sign in, tap, answer."""

from typing import Any

from playwright.sync_api import Page

from server.database.tables import Member
from tests.browser.site import PASSPHRASE, PIN, Site

WAIT_MS = 20_000


def sign_in(page: Page, site: Site, player: Member, address: str = "") -> None:
    """Sign in by typing the team's code, then number and PIN."""
    page.goto(f"{address or site.address}/team")
    page.get_by_label("Team code").fill(f"{site.team.join_code[:4]} {site.team.join_code[4:].lower()}")
    page.get_by_role("button", name="Next").click()
    page.get_by_label("Your number").fill(str(player.number))
    page.get_by_label("PIN").fill(PIN)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url("**/home")


def sign_out(page: Page) -> None:
    """Sign out, and wait for the team's page."""
    page.get_by_role("button", name="Sign out").click()
    page.wait_for_url("**/team/**")


def sign_in_coach(page: Page, site: Site, name: str = "coach") -> None:
    """Sign in as the coach, or another one, and wait for the board."""
    page.goto(f"{site.address}/coach/sign-in")
    page.get_by_label("Sign-in name").fill(name)
    page.get_by_label("Passphrase").fill(PASSPHRASE)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url("**/coach/board")


def start_set(page: Page, set_id: str) -> None:
    """Open the set from home, and wait until all of it has loaded."""
    page.locator(f'form[action="/sets/{set_id}/open"] button').click()
    wait_for_rep(page)
    poll(page, "document.documentElement.dataset.set === 'loaded'")


def wait_for_rep(page: Page) -> None:
    """Wait until a rep can be answered by tapping."""
    page.locator("form.rep button[aria-disabled]").wait_for()


def poll(page: Page, condition: str) -> None:
    """Wait until the condition holds in the page (its content policy blocks wait_for_function)."""
    for _ in range(WAIT_MS // 50):
        if page.evaluate(f"Boolean({condition})"):
            return
        page.wait_for_timeout(50)
    raise AssertionError(f"in vain waited for: {condition}")


def tap(page: Page, choice: str, part: int = 1) -> None:
    """Tap the choice in the picture, or in the list when the picture doesn't have it."""
    of_part = f'[data-part="{part}"]' if part > 1 else ":not([data-part])"
    target = page.locator(f'.picture .tap[data-choice="{choice}"]{of_part} .gs-hit')
    if target.count():
        target.scroll_into_view_if_needed()
        box = target.bounding_box()
        assert box is not None
        page.touchscreen.tap(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    else:
        page.locator(f'.choices[data-part="{part}"] label', has=page.locator(f'input[value="{choice}"]')).tap()


def answer(page: Page, parts: list[dict[str, Any]], *, right: bool = True) -> list[str]:
    """Tap and send an answer, right or (in the first part) wrong; return the tapped ids."""
    chosen = [part["right"][0] for part in parts]
    if not right:
        chosen[0] = next(c["id"] for c in parts[0]["choices"] if c["id"] not in parts[0]["right"])
    for number, choice in enumerate(chosen, start=1):
        tap(page, choice, number)
    assert page.locator(".choices input:checked").evaluate_all("all => all.map(one => one.value)") == chosen
    page.locator("form.rep button[type=submit][aria-disabled=false]").tap()
    return chosen


def shown_rep(page: Page) -> str:
    """The id of the rep on the screen."""
    found = page.locator("form.rep").get_attribute("data-rep")
    assert found
    return found
