"""How the player's pages load on a slow phone, in a real browser: `python -m tests.bench.phone_report`.

Prints figures, tests nothing: bytes on the wire, largest contentful paint, and the delay from a tap to the next paint
(event timing), on a throttled profile (processor four times slower, 1.6 Mbit/s down, 0.75 up, 150 ms round trip),
median and worst of some runs. The machine is shared: compare within one run. Without Chromium it says so.
"""

from __future__ import annotations

import argparse
import logging
import os
import re
import shutil
import statistics
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import structlog
from playwright.sync_api import Browser, CDPSession, Page, sync_playwright

from tests.browser.pages import answer, poll, sign_in, start_set, tap, wait_for_rep
from tests.browser.site import Site, open_site

SLOWER = 4
DOWN_BITS_S = 1_600_000
UP_BITS_S = 750_000
LATENCY_MS = 150
ARGUMENTS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--no-first-run"]
KINDS = ["pull-read", "moved-gap", "hooked", "matchup", "support"]
#: Records the largest contentful paint, and for each event of a tap the time to the next paint.
WATCH = """(() => {
  window.seen = {paint: 0, delays: []};
  new PerformanceObserver(list => { for (const one of list.getEntries()) seen.paint = one.startTime; })
    .observe({type: 'largest-contentful-paint', buffered: true});
  new PerformanceObserver(list => {
    for (const one of list.getEntries()) if (one.interactionId) seen.delays.push(one.duration);
  }).observe({type: 'event', durationThreshold: 16, buffered: true});
})()"""
CHOOSE = "one => { one.checked = true; one.dispatchEvent(new Event('change', {bubbles: true})); }"


class Wire:
    """What a page loads over the wire, by address."""

    def __init__(self, session: CDPSession, address: str) -> None:
        self.by_path: dict[str, int] = {}
        names: dict[str, str] = {}
        session.send("Network.enable")
        session.send("Network.setCacheDisabled", {"cacheDisabled": True})
        session.send("Network.setBypassServiceWorker", {"bypass": True})
        session.on("Network.requestWillBeSent", lambda e: names.update({e["requestId"]: e["request"]["url"]}))

        def finished(event: dict[str, Any]) -> None:
            path = names.get(event["requestId"], "?").removeprefix(address)
            # The worker fetches the page's files once more, to store them, when it has time: each file counts once.
            self.by_path[path] = max(self.by_path.get(path, 0), int(event["encodedDataLength"]))

        session.on("Network.loadingFinished", finished)

    def total(self, pattern: str) -> int:
        """Bytes of all addresses that match."""
        return sum(size for path, size in self.by_path.items() if re.search(pattern, path))

    def most(self, pattern: str) -> int:
        """Bytes of the largest address that matches."""
        return max((size for path, size in self.by_path.items() if re.search(pattern, path)), default=0)


def throttle(page: Page) -> None:
    """Throttle the page to the slow phone from now on."""
    session = page.context.new_cdp_session(page)
    session.send("Network.enable")
    session.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
    session.send(
        "Network.emulateNetworkConditions",
        {
            "offline": False,
            "latency": LATENCY_MS,
            "downloadThroughput": DOWN_BITS_S / 8,
            "uploadThroughput": UP_BITS_S / 8,
        },
    )


def phone(browser: Browser) -> Page:
    """A page on a phone: 390 by 844, touch."""
    return browser.new_context(viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True).new_page()


def weights(browser: Browser, site: Site) -> dict[str, int]:
    """Bytes of a rep page's first load with an empty cache, and of the questions and answers after it."""
    page = phone(browser)
    player = site.next_player()
    reps = site.one_of_each(KINDS)
    set_id = site.lay_out(player, reps)
    sign_in(page, site, player)
    wire = Wire(page.context.new_cdp_session(page), site.address)
    start_set(page, set_id)
    for rep in reps:
        answer(page, site.parts(rep.id), right=False)
        page.locator(".verdict").wait_for()
        page.locator(".bar a.button").tap()
    page.wait_for_timeout(300)
    summary = wire.by_path.get(f"/sets/{set_id}", 0)
    page.context.close()
    return {
        "first load of a rep's page": wire.total(r"^/(static/|sw\.js|sets/[^/]+/reps/1$)"),
        "its script": wire.total(r"\.js$"),
        "heaviest question": wire.most(r"^/api/.*/reps/"),
        "heaviest answer, missed": wire.most(r"^/api/.*/answers/"),
        "summary of five reps": summary,
    }


def paints(browser: Browser, site: Site) -> dict[str, float]:
    """Largest contentful paint of home and of a rep's page with an empty cache, in milliseconds."""
    player = site.next_player()
    set_id = site.lay_out(player, site.one_of_each(KINDS[:2]))
    page = phone(browser)
    page.context.add_init_script(WATCH)
    sign_in(page, site, player)
    page.locator(f'form[action="/sets/{set_id}/open"] button').click()
    wait_for_rep(page)
    session = page.context.new_cdp_session(page)
    session.send("Network.enable")
    session.send("Network.setCacheDisabled", {"cacheDisabled": True})
    session.send("Network.setBypassServiceWorker", {"bypass": True})
    throttle(page)
    found = {}
    for name, path in (("home", "/home"), ("rep", f"/sets/{set_id}/reps/1")):
        page.goto(site.address + path)
        page.wait_for_load_state("networkidle")
        page.wait_for_timeout(500)
        found[name] = float(page.evaluate("seen.paint"))
    page.context.close()
    return found


def delays(browser: Browser, site: Site) -> dict[str, list[float]]:
    """From a tap to the next paint, in milliseconds: on a choice, on Answer, on Next rep (16: no entry, so less)."""
    player = site.next_player()
    reps = site.one_of_each(KINDS)
    set_id = site.lay_out(player, reps)
    page = phone(browser)
    page.context.add_init_script(WATCH)
    sign_in(page, site, player)
    start_set(page, set_id)
    throttle(page)
    found: dict[str, list[float]] = {"tap on a choice": [], "Answer": [], "Next rep": []}

    def last(name: str) -> None:
        page.wait_for_timeout(400)
        found[name].append(max(page.evaluate("seen.delays.splice(0)"), default=16.0))

    for number in range(len(reps)):
        page.evaluate("seen.delays.splice(0)")
        taps = page.locator(".picture .tap")
        if taps.count():
            tap(page, taps.first.get_attribute("data-choice") or "")
        else:
            page.locator(".pick").first.tap()
        last("tap on a choice")
        for part in page.locator(".choices").all():
            part.locator("input").first.evaluate(CHOOSE)
        poll(page, "document.querySelector('button[type=submit]').getAttribute('aria-disabled') === 'false'")
        page.evaluate("seen.delays.splice(0)")
        page.locator("form.rep button[type=submit]").tap()
        page.locator(".verdict").wait_for()
        last("Answer")
        if number < len(reps) - 1:
            page.locator(".bar a.button").tap()
            page.locator("form.rep").wait_for()
            last("Next rep")
    page.context.close()
    return found


def spread(values: Sequence[float]) -> str:
    """Median and worst."""
    return f"median {statistics.median(values):.0f} ms, worst {max(values):.0f} ms ({len(values)} measured)"


def main() -> int:
    """Measure and print."""
    parser = argparse.ArgumentParser(description="the player's pages on a slow phone")
    parser.add_argument("--runs", type=int, default=5)
    runs = parser.parse_args().runs
    chromium = os.environ.get("GAPSOUND_TEST_CHROMIUM") or shutil.which("chromium") or shutil.which("google-chrome")
    if chromium is None:
        print("no Chromium found: install it or set GAPSOUND_TEST_CHROMIUM to its path")
        return 1
    structlog.configure(wrapper_class=structlog.make_filtering_bound_logger(logging.ERROR))
    with (
        tempfile.TemporaryDirectory() as folder,
        open_site(Path(folder)) as site,
        sync_playwright() as playwright,
    ):
        browser = playwright.chromium.launch(executable_path=chromium, args=ARGUMENTS)
        print("Bytes on the wire, compressed, headers included")
        for name, size in weights(browser, site).items():
            print(f"  {name}: {size}")
        print(
            f"Slow phone: processor {SLOWER} times slower, {DOWN_BITS_S / 1e6:g} Mbit/s, {LATENCY_MS} ms a round trip"
        )
        painted = [paints(browser, site) for _ in range(runs)]
        for name in painted[0]:
            print(f"  largest contentful paint, {name}, nothing kept: {spread([one[name] for one in painted])}")
        tapped = [delays(browser, site) for _ in range(runs)]
        for name in tapped[0]:
            print(f"  {name}, tap to next paint: {spread([delay for one in tapped for delay in one[name]])}")
        browser.close()
    return 0


if __name__ == "__main__":
    sys.exit(main())
