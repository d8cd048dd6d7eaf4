"""Chromium for tests: where it is, how it is started, and one running browser a process.

While Playwright's browser lives, its event loop holds the main thread: neither asyncio nor a second Playwright runs
beside it. So it is started by the first test that asks and closed when a test comes that wants none; pytest's own
scopes can't say that, because with pytest-xdist a worker gets tests in any order.
"""

import os
import shutil
from functools import cache
from pathlib import Path

from playwright.sync_api import Browser, Playwright, sync_playwright

NAMES = ("chromium", "chromium-browser", "google-chrome-stable", "google-chrome", "chrome")
#: A name that leads to this machine and that browsers don't trust as they trust `localhost`.
INSECURE_HOST = "field-house.test"
#: It looks for nothing outside this machine.
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
    """Return the path of a Chromium or Chrome, None where there is none."""
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
    """This process's browser, started when none is running."""
    return _running()[1]


def close_browser() -> None:
    """Close this process's browser when one is running."""
    if _running.cache_info().currsize:
        playwright, browser = _running()
        _running.cache_clear()
        browser.close()
        playwright.stop()
