"""What a phone has to load, and that all of it comes from this server."""

import gzip
import re
from pathlib import Path

import pytest
from playwright.sync_api import Page

from quizgen.drawing.palette import stylesheet
from server.paths import STATIC, TEMPLATES
from tests.browser.pages import answer, sign_in, start_set
from tests.browser.site import Site

FIRST_LOAD_BYTES = 100_000
SCRIPT_BYTES = 22_000  # 20,000 before a set could be kept ahead
ALL_SCRIPT_BYTES = 26_000  # with the coach's: the board's reasons, changing a set, the wall
REP_BYTES = 12_000
HANDLER = (
    r"\sstyle\s*=|<style|javascript:|"
    r"\son(click|load|error|change|input|submit|focus|blur|(key|mouse|pointer|touch)\w+)\s*="
)


@pytest.mark.browser
def test_first_load_a_rep_and_an_answer(phone: Page, site: Site) -> None:
    player = site.next_player()
    reps = site.one_of_each(["pull-read", "track"])
    set_id = site.lay_out(player, reps)
    sign_in(phone, site, player)
    hosts: set[str] = set()
    sizes: dict[str, int] = {}
    paths: dict[str, str] = {}
    watch = phone.context.new_cdp_session(phone)
    watch.send("Network.enable")
    watch.send("Network.setCacheDisabled", {"cacheDisabled": True})
    watch.send("Network.setBypassServiceWorker", {"bypass": True})

    def sent(event) -> None:
        url = event["request"]["url"]
        paths[event["requestId"]] = url
        hosts.add(re.sub(r"^(\w+://[^/]+).*", r"\1", url))

    watch.on("Network.requestWillBeSent", sent)
    watch.on("Network.loadingFinished", lambda e: sizes.update({e["requestId"]: int(e["encodedDataLength"])}))
    start_set(phone, set_id)
    answer(phone, site.parts(reps[0].id))
    phone.locator(".verdict").wait_for()
    phone.wait_for_timeout(200)
    # Requests from before the watch began have no address here and don't belong to this page.
    by_path = {paths[one].removeprefix(site.address): size for one, size in sizes.items() if one in paths}
    page = {path: size for path, size in by_path.items() if not path.startswith("/api/")}
    scripts = {path: size for path, size in page.items() if path.endswith(".js")}
    questions = {path: size for path, size in by_path.items() if "/reps/" in path}
    answers = {path: size for path, size in by_path.items() if "/answers/" in path}
    assert hosts == {site.address}
    assert len(scripts) >= 3
    assert len(questions) >= 2
    assert len(answers) == 1
    assert sum(page.values()) <= FIRST_LOAD_BYTES, page
    assert sum(scripts.values()) <= SCRIPT_BYTES, scripts
    assert max(questions.values()) <= REP_BYTES, questions
    assert max(answers.values()) <= REP_BYTES, answers
    print({"first load": sum(page.values()), "script": sum(scripts.values()), "rep": max(questions.values())})


def test_all_script_is_small_compressed() -> None:
    sizes = {path.name: len(gzip.compress(path.read_bytes())) for path in STATIC.glob("*.js")}
    assert sum(sizes.values()) <= ALL_SCRIPT_BYTES, sizes


def test_diagrams_have_the_palettes_colours() -> None:
    text = (STATIC / "field.css").read_text(encoding="utf-8")
    assert text.split("*/\n", 1)[1] == stylesheet(), "write quizgen.drawing.palette.stylesheet() to field.css"


@pytest.mark.parametrize(
    "path",
    sorted([*TEMPLATES.rglob("*.html"), *(one for one in STATIC.glob("*.*") if one.suffix != ".png")]),
    ids=lambda path: path.name,
)
def test_nothing_violates_the_content_policy(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    if path.suffix == ".html":
        assert not re.search(HANDLER, text)
        assert not re.search(r"<script(?![^>]*\ssrc=\"/static/)", text)
    outside = [url for url in re.findall(r"https?://[^\s\"'<>)]+", text) if url != "http://www.w3.org/2000/svg"]
    assert outside == []
