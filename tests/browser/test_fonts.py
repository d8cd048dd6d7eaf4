"""Pages and drawings use the bundled fonts, and for a missing letter a font that has it.

source: CSS Fonts Module Level 4, 5.3 Cluster matching: a letter that a face lacks comes from the next in the list
"""

from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Page

from server.commands.main import run
from tests.browser.pages import poll, sign_in, start_set
from tests.browser.site import Site

pytestmark = pytest.mark.browser
OURS, OTHER = "Gapsound", "a face of the machine"
LOADED = "() => [...document.fonts].filter(one => one.status === 'loaded').map(one => `${one.family} ${one.weight}`)"
BOTH_CUTS = ["Gapsound 400 599", "Gapsound 600 900"]
WRITE = "words => { document.querySelector('.stem').textContent = words; }"


def faces_of(page: Page, selector: str) -> dict[str, int]:
    """The number of letters of the first matching element that each font draws."""
    session = page.context.new_cdp_session(page)
    for domain in ("DOM", "CSS"):
        session.send(f"{domain}.enable")
    root = session.send("DOM.getDocument")["root"]["nodeId"]
    node = session.send("DOM.querySelector", {"nodeId": root, "selector": selector})["nodeId"]
    found: dict[str, int] = {}
    for font in session.send("CSS.getPlatformFontsForNode", {"nodeId": node})["fonts"]:
        face = font["familyName"] if font["isCustomFont"] else OTHER
        found[face] = found.get(face, 0) + int(font["glyphCount"])
    return found


def test_a_rep_is_set_in_our_faces_with_signal_and_without(phone: Page, site: Site) -> None:
    player = site.next_player()
    set_id = site.lay_out(player, site.one_of_each(["pull-read"]))
    sign_in(phone, site, player)
    start_set(phone, set_id)
    poll(phone, "navigator.serviceWorker.controller")
    for is_offline in (False, True):
        phone.context.set_offline(is_offline)
        phone.reload()
        phone.locator(".picture svg text").first.wait_for()
        phone.evaluate("document.fonts.ready")
        assert phone.evaluate(LOADED) == BOTH_CUTS
        for selector in (".stem", ".picture svg text", "legend"):
            assert faces_of(phone, selector).keys() == {OURS}, selector


@pytest.mark.parametrize(("name", "ours"), [("Nuñez", 5), ("Łukasz", 5), ("Đức", 1), ("Ольга", 0)])
def test_a_letter_that_our_faces_lack_comes_from_the_machine(phone: Page, site: Site, name: str, ours: int) -> None:
    player = site.next_player()
    set_id = site.lay_out(player, site.one_of_each(["pull-read"]))
    sign_in(phone, site, player)
    start_set(phone, set_id)
    phone.evaluate(WRITE, name)
    phone.evaluate("document.fonts.ready")
    faces = faces_of(phone, ".stem")
    assert faces.get(OURS, 0) == ours
    assert sum(faces.values()) == len(name)


def test_the_page_in_a_file_brings_its_faces(device: Callable[..., BrowserContext], tmp_path: Path) -> None:
    assert run(["reps", "--limit", "1", "--html", str(tmp_path / "reps.html")]) == 0
    page = device(offline=True).new_page()
    page.goto((tmp_path / "reps.html").as_uri())
    page.evaluate("document.fonts.ready")
    assert page.evaluate(LOADED) == BOTH_CUTS
    for selector in (".leaf .stem", ".leaf svg text"):
        assert faces_of(page, selector).keys() == {OURS}, selector
