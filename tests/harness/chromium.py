"""Chromium for tests: finding it, starting it, one running browser per process.

While Playwright's browser runs, its event loop occupies the main thread: neither asyncio nor a second Playwright can
run beside it. So the first test that needs it starts it, and the next test that doesn't closes it; pytest's scopes
can't do that, because a pytest-xdist worker gets tests in any order.
"""

import os
import shutil
from functools import cache
from pathlib import Path

from playwright.sync_api import Browser, Playwright, sync_playwright

#: The same engine without the windows of a desktop comes first: it needs two thirds of the processor time.
NAMES = (
    "chromium-headless-shell",
    "chromium",
    "chromium-browser",
    "google-chrome-stable",
    "google-chrome",
    "chrome",
)
#: A name for this machine that browsers don't trust as they trust `localhost`.
INSECURE_HOST = "field-house.test"
#: It contacts nothing outside this machine.
ARGUMENTS = (
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    *(["--no-sandbox"] if os.geteuid() == 0 else []),
)


def find_chromium() -> str | None:
    """The path of a Chromium or Chrome; None when there is none."""
    given = os.environ.get("GAPSOUND_TEST_CHROMIUM")
    if given:
        return given if Path(given).exists() else None
    return next((path for name in NAMES if (path := shutil.which(name))), None)


@cache
def _running() -> tuple[Playwright, Browser]:
    playwright = sync_playwright().start()
    here = f"--host-resolver-rules=MAP {INSECURE_HOST} 127.0.0.1"
    return playwright, playwright.chromium.launch(executable_path=find_chromium(), args=[*ARGUMENTS, here])


def running_browser() -> Browser:
    """This process's browser, started if needed."""
    return _running()[1]


def close_browser() -> None:
    """Close this process's browser if it runs."""
    if _running.cache_info().currsize:
        playwright, browser = _running()
        _running.cache_clear()
        browser.close()
        playwright.stop()
