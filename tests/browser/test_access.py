"""Everybody can use every page: axe finds nothing, nothing runs off the screen, targets are large; light and dark."""

import re

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from tests.browser.pages import answer, poll, sign_in, sign_in_coach, start_set
from tests.browser.site import Site

pytestmark = [pytest.mark.browser, pytest.mark.slow]

WIDTHS = (320, 390, 1024)
RULES = {
    "runOnly": ["wcag2a", "wcag2aa", "wcag2aaa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
    "rules": {"color-contrast-enhanced": {"enabled": True}, "target-size": {"enabled": True}},
}
TOO_WIDE = """() => {
  const page = document.documentElement;
  if (page.scrollWidth <= page.clientWidth) return [];
  const wide = [...document.querySelectorAll('body *')].filter(one => one.scrollWidth > one.clientWidth + 1);
  return [`${page.scrollWidth} px`, ...wide.map(one => one.outerHTML.slice(0, 60))];
}"""
SMALL = """() => [...document.querySelectorAll('button, input, select, .button, .pick, summary, .top a, .cell[href]')]
  .filter(one => one.checkVisibility({visibilityProperty: true}) && !one.closest('.unseen, .is-tapped, .skip'))
  .map(one => one.closest('label') ?? one)
  .map(one => [one.outerHTML.slice(0, 80), one.getBoundingClientRect()])
  .filter(([, box]) => box.width > 1 && (box.height < 47.5 || box.width < 24))
  .map(([html, box]) => `${html} ${box.width}x${box.height}`)"""


@pytest.fixture(scope="module")
def played(site: Site):
    """A player with a set begun (one right, one wrong) and one finished, so that every page has something on it."""
    player = site.next_player()
    reps = site.some(3, kinds=["track", "pull-read"])
    return player, reps, site.lay_out(player, reps), site.lay_out(player, reps[:1])


def check(page: Page, name: str) -> list[str]:
    """What is wrong with the page on the screen, at each width."""
    found = []
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": 800})
        poll(page, f"innerWidth === {width}")
        found += [f"{name} at {width}: too wide: {wide}" for wide in page.evaluate(TOO_WIDE)]
        found += [f"{name} at {width}: too small a target: {small}" for small in page.evaluate(SMALL)]
        for one in Axe().run(page, options=RULES).response["violations"]:
            nodes = [node["html"][:120] + " ".join(why["message"] for why in node["any"][:1]) for node in one["nodes"]]
            found.append(f"{name} at {width}: {one['id']}: {nodes[:3]}")
    return found


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_players_pages(device, site: Site, played, scheme: str) -> None:
    player, reps, begun, finished = played
    page = device(color_scheme=scheme, has_touch=True, reduced_motion="reduce").new_page()
    page.goto(f"{site.address}/join")
    found = check(page, "join")
    page.goto(f"{site.address}/join?code=no")
    found += check(page, "join, wrong code")
    page.goto(f"{site.address}/join/{site.team.join_code}")
    found += check(page, "sign in")
    sign_in(page, site, player)
    found += check(page, "home")
    page.goto(f"{site.address}/sets/{begun}")
    found += check(page, "set")
    if scheme == "light":
        page.goto(f"{site.address}/home")
        start_set(page, begun)
        found += check(page, "rep")
        answer(page, site.parts(reps[0].id))
        page.locator(".verdict").wait_for()
        found += check(page, "right")
        page.locator(".bar a.button").tap()
        answer(page, site.parts(reps[1].id), right=False)
        page.locator(".verdict").wait_for()
        found += check(page, "wrong")
        page.goto(f"{site.address}/home")
        start_set(page, finished)
        page.context.set_offline(True)
        answer(page, site.parts(reps[0].id))
        page.get_by_role("heading", name="On this phone").wait_for()
        found += check(page, "on this phone")
        page.context.set_offline(False)
        page.locator(".verdict").wait_for()
    for place, name in ((1, "right, anew"), (2, "wrong, anew"), (3, "rep, anew")):
        page.goto(f"{site.address}/sets/{begun}/reps/{place}")
        found += check(page, name)
    page.get_by_role("button", name="Pick from a list").click()
    found += check(page, "rep with its list")
    page.goto(f"{site.address}/sets/{finished}")
    page.locator("summary").first.click()
    found += check(page, "summary")
    page.goto(f"{site.address}/sets/nothing-here")
    found += check(page, "problem")
    assert found == []


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_coachs_pages(device, site: Site, played, scheme: str) -> None:
    player, reps, begun, _ = played
    page = device(color_scheme=scheme).new_page()
    page.goto(f"{site.address}/coach/sign-in")
    found = check(page, "coach signs in")
    sign_in_coach(page, site)
    call, group = reps[0].call, site.catalogue.team.position(player.positions[0]).group
    for path, name in (
        (f"/coach/board?call={call}&group={group}", "board"),
        (f"/coach/board?call={call}&group={group}&stage=1", "board of a stage"),
        (f"/coach/call?name={call}", "call"),
        (f"/coach/players/{player.id}?call={call}", "player"),
        (f"/coach/assign?call={call}", "assign"),
        (f"/coach/sheets/walk-through?call={call}", "walk-through sheet"),
        (f"/coach/sheets/scout-cards?call={call}", "scout cards"),
        (f"/coach/assign?call={call}&pick=behind", "assign to some"),
        ("/coach/days", "days of practice"),
        ("/coach/sets", "sets"),
        (f"/coach/sets/{begun}", "set"),
        ("/coach/roster", "roster"),
    ):
        page.goto(site.address + path)
        expect(page.get_by_role("heading", level=1)).to_be_visible()
        found += check(page, name)
    unused = site.next_player()
    page.get_by_label(re.compile(rf"New PIN for #{unused.number} ")).check()
    page.get_by_role("button", name="Make the code sheet").click()
    found += check(page, "code sheet")
    assert found == []
