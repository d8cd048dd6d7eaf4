"""Accessibility of every page: axe finds nothing, nothing is wider than the screen, targets are large; light and dark,
on a small phone, a phone and a laptop, in each language. The pages are listed in `every_page`.

Of the two phones axe looks at the narrower one (between them only a table's padding differs), and at dark colours in
the first language. All of it in each: GAPSOUND_TEST_LONG=1 .venv/bin/pytest tests/browser/test_access.py
"""

import re
from dataclasses import dataclass

import pytest
from axe_playwright_python.base import AXE_SCRIPT
from playwright.sync_api import BrowserContext, Page, expect
from sqlmodel import col

from server.commands.demo import demo_files
from server.database.tables import Opponent
from server.i18n.languages import COOKIE, LANGUAGES
from server.routes import ROUTERS
from server.team.beginning import make_invite
from tests.browser.every_page import COACH_PAGES, NO_PAGES, OPEN_PAGES, PLAYER_PAGES
from tests.browser.pages import answer, poll, sign_in, sign_in_coach, start_set
from tests.browser.site import Site, now
from tests.harness.long_form import IS_LONG

WIDTHS = (320, 390, 1024)
LOOKED_AT = WIDTHS if IS_LONG else (WIDTHS[0], WIDTHS[-1])
SCHEMES = ("light", "dark")
RULES = {
    "runOnly": ["wcag2a", "wcag2aa", "wcag2aaa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
    "rules": {"color-contrast-enhanced": {"enabled": True}, "target-size": {"enabled": True}},
    "resultTypes": ["violations"],
}
#: Rules that depend on colours; all others give the same result in light and dark.
COLOUR_RULES = {
    "runOnly": {"type": "rule", "values": ["color-contrast", "color-contrast-enhanced", "link-in-text-block"]},
    "resultTypes": ["violations"],
}
TOO_WIDE = """() => {
  const page = document.documentElement;
  if (page.scrollWidth <= page.clientWidth) return [];
  const wide = [...document.querySelectorAll('body *')].filter(one => one.scrollWidth > one.clientWidth + 1);
  return [`${page.scrollWidth} px`, ...wide.map(one => one.outerHTML.slice(0, 60))];
}"""
SMALL = """() => [...document.querySelectorAll('button, input, select, .button, .pick, summary, .top a, .cell[href]')]
  .filter(one => one.checkVisibility({visibilityProperty: true}))
  .filter(one => !one.closest('.unseen, .is-tapped, .is-later, .is-done .picks, .skip'))
  .map(one => one.closest('label') ?? one)
  .map(one => [one.outerHTML.slice(0, 80), one.getBoundingClientRect()])
  .filter(([, box]) => box.width > 1 && (box.height < 43.5 || box.width < 24))
  .map(([html, box]) => `${html} ${box.width}x${box.height}`)"""
AXE = """async (rules) => (await axe.run(rules)).violations.map(one =>
  [one.id, ...one.nodes.slice(0, 3).map(node => `${node.html.slice(0, 120)} ${node.any[0]?.message}`)].join(' | '))"""

in_browser = pytest.mark.browser
slow = pytest.mark.slow


def check(page: Page, name: str) -> list[str]:
    """Problems of the current page, light and dark, at each width."""
    found = []
    page.evaluate(f"() => {{ window.axe || (() => {{ {AXE_SCRIPT} }})() }}")
    is_first = page.locator("html").get_attribute("lang") == next(iter(LANGUAGES))
    schemes = SCHEMES if is_first or IS_LONG else SCHEMES[:1]
    for width in WIDTHS:
        page.emulate_media(color_scheme=SCHEMES[0])  # type: ignore[arg-type]
        page.set_viewport_size({"width": width, "height": 800})
        poll(page, f"innerWidth === {width}")
        found += [f"{name} at {width}: too wide: {wide}" for wide in page.evaluate(TOO_WIDE)]
        found += [f"{name} at {width}: too small a target: {small}" for small in page.evaluate(SMALL)]
        for scheme in schemes if width in LOOKED_AT else ():
            page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
            rules = RULES if scheme == SCHEMES[0] else COLOUR_RULES
            found += [f"{name} at {width}, {scheme}: {one}" for one in page.evaluate(AXE, rules)]
    return found


def translate_reps(context: BrowserContext, site: Site, language: str) -> None:
    """Switch this device to that language."""
    context.add_cookies([{"name": COOKIE, "value": language, "url": site.address}])


@dataclass
class Played:
    """Values for the addresses of pages; ``set`` has three answered reps and two open ones."""

    words: dict[str, str]
    begun: str
    finished: str


@pytest.fixture
def device_of(device):
    """A device with reduced motion, and its page."""

    def make(**settings: object) -> Page:
        return device(reduced_motion="reduce", **settings).new_page()

    return make


def play(site: Site, page: Page) -> Played:
    """Sign a player in, answer part of one set (right, wrong, one part wrong) and lay out another."""
    player = site.next_player()
    reps = [*site.some(2, kinds=["track", "pull-read"]), *site.one_of_each(["hooked", "matchup", "option-man"])]
    begun, finished = site.lay_out(player, reps), site.lay_out(player, reps[:1])
    sign_in(page, site, player)
    start_set(page, begun)
    for number, rep in enumerate(reps[:3]):
        answer(page, site.parts(rep.id), right=number == 0)
        page.locator(".verdict").wait_for()
        page.locator(".bar a.button").tap()
    page.goto(f"{site.address}/home")
    words = {"call": reps[0].call, "player": player.id, "set": begun, "file": sorted(demo_files())[0]}
    return Played(words, begun, finished)


@slow
@in_browser
@pytest.mark.parametrize("language", LANGUAGES)
def test_public_pages_and_pages_of_players(device_of, site: Site, language: str) -> None:
    page = device_of(has_touch=True)
    translate_reps(page.context, site, language)
    found = []
    invite = make_invite(site.store, now())
    for name, path in OPEN_PAGES:
        page.goto(site.address + path.format(team=site.team.join_code, invite=invite))
        found += check(page, name)
    page.context.clear_cookies()
    played = play(site, page)
    translate_reps(page.context, site, language)
    page.reload()
    assert page.locator("html").get_attribute("lang") == language
    for name, path in PLAYER_PAGES:
        page.goto(site.address + path.format(**played.words))
        found += check(page, name)
        if page.locator(".list-toggle:visible").count():
            page.locator(".list-toggle").click()
            found += check(page, f"{name} with its list")
    assert not found, "\n".join(found)


@slow
@in_browser
@pytest.mark.parametrize("language", LANGUAGES)
def test_pages_made_by_script(device_of, site: Site, language: str) -> None:
    page = device_of(has_touch=True)
    player = site.next_player()
    reps = [*site.some(2, kinds=["track"]), *site.one_of_each(["hooked", "support"])]
    set_id = site.lay_out(player, reps)
    sign_in(page, site, player)
    translate_reps(page.context, site, language)
    page.reload()
    start_set(page, set_id)
    found = check(page, "rep")
    for number, rep in enumerate(reps):
        if number == len(reps) - 1:
            page.context.set_offline(True)
        answer(page, site.parts(rep.id), right=number == 0)
        if number < len(reps) - 1:
            page.locator(".verdict").wait_for()
            found += check(page, f"after rep {number + 1}")
            page.locator(".bar a.button").tap()
        else:
            page.locator(".wait:visible").first.wait_for()
            found += check(page, "on this phone")
    page.context.set_offline(False)
    page.evaluate("dispatchEvent(new Event('online'))")
    page.locator(".verdict").wait_for()
    page.goto(f"{site.address}/sets/{set_id}")
    for summary in page.locator("summary").all():
        summary.click()
    found += check(page, "summary")
    assert not found, "\n".join(found)


@slow
@in_browser
@pytest.mark.parametrize("language", LANGUAGES)
def test_the_coachs_pages(device_of, site: Site, language: str) -> None:
    played = play(site, device_of(has_touch=True))
    page = device_of()
    sign_in_coach(page, site)
    page.goto(f"{site.address}/coach/opponents")
    page.locator("form[action='/coach/opponents'] input[name=name]").fill(f"Alder Creek {language}")
    page.locator("form[action='/coach/opponents'] button").click()
    with site.store.read(site.team.id) as t:
        opponent = t.first(Opponent, col(Opponent.name) == f"Alder Creek {language}")
        assert opponent is not None
        played.words["opponent"] = opponent.id
    page.goto(f"{site.address}/coach/room")
    page.get_by_role("button", name="Put it on the wall").click()
    page.wait_for_url("**/coach/room/*")
    played.words["room"] = page.url.rsplit("/", 1)[1]
    translate_reps(page.context, site, language)
    found = []
    for name, path in COACH_PAGES:
        page.goto(site.address + path.format(**played.words))
        expect(page.get_by_role("heading", level=1)).to_be_visible()
        found += check(page, name)
    assert page.locator("html").get_attribute("lang") == language
    page.goto(f"{site.address}/coach/roster")
    page.locator("input[name=players]").last.check()
    page.locator("form[action='/coach/roster/codes'] button[type=submit]").last.click()
    page.wait_for_url("**/codes")
    found += check(page, "code sheet")
    assert not found, "\n".join(found)


def test_every_page_is_listed() -> None:
    """Every address that answers GET is listed as a page or as not a page."""
    listed = [path.split("?")[0] for _, path in (*OPEN_PAGES, *PLAYER_PAGES, *COACH_PAGES)]
    for router in ROUTERS:
        for route in router.routes:
            if "GET" not in route.methods or route.path in NO_PAGES:
                continue
            like = re.compile(re.sub(r"\{\w+\}", r"[^/]+", route.path))
            assert any(like.fullmatch(path) for path in listed), f"{route.path}: add a line to every_page"
