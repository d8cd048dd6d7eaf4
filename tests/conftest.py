"""Shared fixtures: a browser, PostgreSQL, a server; and one line about what was skipped without the first two.

A test that needs one has the mark `browser` or `postgres`, or asks for the fixture `chromium_path` or `postgres_url`.
Where it is missing the test is skipped; in CI (CI=true) that is a failure, since a suite that quietly leaves out its
browser tests looks like one that passed. Rejected: relying on the reader of `-rs`.
"""

import os
import signal
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
import structlog
from hypothesis import settings
from playwright.sync_api import Browser

from server.database import write_queue
from tests.harness.chromium import close_browser, find_chromium, running_browser
from tests.harness.costs import Costs
from tests.harness.house import House, make_house
from tests.harness.postgres import GIVEN, find_postgres_programs, fresh_database, stop_shared_server
from tests.harness.run_folder import make_run_folder, remove_run_folder
from tests.harness.seed import NAME as SEED
from tests.harness.seed import choose_seed

# No deadline: the machine may be slow. A failing example is printed in a form that repeats it.
settings.register_profile("gapsound", deadline=None, print_blob=True)
settings.load_profile("gapsound")
write_queue.WRITE_WAIT_S = 60.0  # for the same reason


@dataclass(frozen=True, slots=True)
class Need:
    """Something outside Python that marked tests need, and how to get it."""

    mark: str
    fixtures: tuple[str, ...]
    how_to_enable: str


NEEDS = (
    Need(
        "browser",
        ("chromium_path",),
        "no Chromium found: install it (Debian: apt-get install chromium-headless-shell libatomic1) or set "
        "GAPSOUND_TEST_CHROMIUM to its path",
    ),
    Need(
        "postgres",
        ("postgres_url", "empty_postgres_url"),
        "no PostgreSQL server found: install one (Debian: apt-get install postgresql) or set "
        "GAPSOUND_TEST_POSTGRES_URL to a server whose user may create databases",
    ),
)


def is_met(need: Need) -> bool:
    """Whether this machine has it."""
    if need.mark == "browser":
        return find_chromium() is not None
    return bool(os.environ.get(GIVEN)) or find_postgres_programs() is not None


def is_worker(config: pytest.Config) -> bool:
    """Whether this process was started by pytest-xdist."""
    return hasattr(config, "workerinput")


def pytest_configure(config: pytest.Config) -> None:
    """Begin a run."""
    config.pluginmanager.register(Costs())
    choose_seed()
    if not is_worker(config):
        signal.signal(signal.SIGTERM, signal.default_int_handler)  # so that an aborted run leaves no database server
        make_run_folder()


def pytest_unconfigure(config: pytest.Config) -> None:
    """End a run; the last worker removes what all of them share."""
    close_browser()
    if not is_worker(config):
        stop_shared_server()
        remove_run_folder()


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark every test that uses a need's fixture, so that mark and fixture can't disagree. The browser tests of a file
    form a group: with `--dist loadgroup` groups run first, and each worker starts Chromium once."""
    for item in items:
        for need in NEEDS:
            if set(need.fixtures) & set(getattr(item, "fixturenames", ())):
                item.add_marker(need.mark)
        if item.get_closest_marker("browser"):
            item.add_marker(pytest.mark.xdist_group(f"browser {item.path.stem}"))
    items.sort(key=wants_browser, reverse=True)


def wants_browser(item: pytest.Item | None) -> bool:
    """Whether a test uses the running browser."""
    return "browser" in getattr(item, "fixturenames", ())


@pytest.hookimpl(trylast=True)  # after the fixtures, which close what they opened in it
def pytest_runtest_teardown(nextitem: pytest.Item | None) -> None:
    """Close the browser before a test that doesn't use it."""
    if not wants_browser(nextitem):
        close_browser()


def pytest_runtest_setup(item: pytest.Item) -> None:
    """Skip a test whose need is missing; fail it in CI, where everything is installed."""
    for need in NEEDS:
        if item.get_closest_marker(need.mark) and not is_met(need):
            if os.environ.get("CI") == "true":
                pytest.fail(f"CI must not skip {need.mark} tests: {need.how_to_enable}", pytrace=False)
            pytest.skip(need.how_to_enable)


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Print the seed, what was skipped and how to enable it, one line per reason."""
    terminalreporter.write_line(f"seed of this run: {os.environ[SEED]} ({SEED}={os.environ[SEED]} repeats it)")
    reasons = Counter(
        str(report.longrepr[2] if isinstance(report.longrepr, tuple) else report.longrepr).removeprefix("Skipped: ")
        for report in terminalreporter.stats.get("skipped", [])
    )
    marks = {need.how_to_enable: f"{need.mark} " for need in NEEDS}
    for reason in dict.fromkeys((*marks, *reasons)):
        if count := reasons[reason]:
            terminalreporter.write_line(f"skipped: {count} {marks.get(reason, '')}test(s): {reason}", yellow=True)


@pytest.fixture(scope="session")
def chromium_path() -> str:
    """The browser's executable."""
    path = find_chromium()
    assert path is not None, "the mark `browser` should have skipped this test"
    return path


@pytest.fixture
def browser(chromium_path: str) -> Browser:
    """A running browser; tests close the contexts that they open."""
    return running_browser()


@pytest.fixture
def postgres_url() -> Iterator[str]:
    """The address of this test's own migrated database, dropped afterwards."""
    with fresh_database(is_migrated=True) as url:
        yield url


@pytest.fixture
def empty_postgres_url() -> Iterator[str]:
    """The same without tables."""
    with fresh_database(is_migrated=False) as url:
        yield url


@pytest.fixture(autouse=True, scope="session")
def plain_logs() -> None:
    """Log lines without formatted tracebacks, which take seconds to render."""
    structlog.configure(processors=[structlog.processors.KeyValueRenderer()])


@pytest.fixture
def house(tmp_path: Path) -> Iterator[House]:
    """A server on SQLite."""
    yield from make_house(tmp_path)


@pytest.fixture
def postgres_house(tmp_path: Path, postgres_url: str) -> Iterator[House]:
    """A server on PostgreSQL."""
    yield from make_house(tmp_path, database_url=postgres_url)
