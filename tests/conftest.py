"""What tests share: a browser, PostgreSQL, a server, and saying in one line what was skipped without the first two.

A test that needs one carries the mark `browser` or `postgres`, or simply asks for the fixture `chromium_path` or
`postgres_url`. Where the thing is not to be had the test is skipped; in CI (CI=true) that is a failure.
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

# No deadline: the machine that runs the suite may be slow. What failed is printed in a form that repeats it.
settings.register_profile("gapsound", deadline=None, print_blob=True)
settings.load_profile("gapsound")
write_queue.WRITE_WAIT_S = 60.0  # for the same reason


@dataclass(frozen=True, slots=True)
class Need:
    """Something outside Python that marked tests need, and what to tell a person who hasn't got it."""

    mark: str
    fixtures: tuple[str, ...]
    how_to_enable: str


NEEDS = (
    Need(
        "browser",
        ("chromium_path",),
        "no Chromium found: install it (Debian: apt-get install chromium libatomic1) or set "
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
    """Say whether this machine has what such a test needs."""
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
        signal.signal(signal.SIGTERM, signal.default_int_handler)  # a run that is ended leaves no database server
        make_run_folder()


def pytest_unconfigure(config: pytest.Config) -> None:
    """End a run: what its workers share goes when the last of them has ended."""
    close_browser()
    if not is_worker(config):
        stop_shared_server()
        remove_run_folder()


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark each test that asks for a fixture of a need, so that the two can't disagree. Browser tests of a file are a
    group of their own: with `--dist loadgroup` the groups come first, and each worker starts Chromium once."""
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
    """Close the browser before a test that has no use for it."""
    if not wants_browser(nextitem):
        close_browser()


def pytest_runtest_setup(item: pytest.Item) -> None:
    """Skip a test whose need is not met, or fail it in CI, where everything is installed."""
    for need in NEEDS:
        if item.get_closest_marker(need.mark) and not is_met(need):
            if os.environ.get("CI") == "true":
                pytest.fail(f"CI must not skip {need.mark} tests: {need.how_to_enable}", pytrace=False)
            pytest.skip(need.how_to_enable)


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Say the seed, and what was skipped and how to enable it, one line a reason."""
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
    """A running browser; contexts that a test opens in it are its own to close."""
    return running_browser()


@pytest.fixture
def postgres_url() -> Iterator[str]:
    """The address of a database of this test's own, migrated; gone after the test."""
    with fresh_database(is_migrated=True) as url:
        yield url


@pytest.fixture
def empty_postgres_url() -> Iterator[str]:
    """The same without a table in it."""
    with fresh_database(is_migrated=False) as url:
        yield url


@pytest.fixture(autouse=True, scope="session")
def plain_logs() -> None:
    """Log lines without pictures of the stack, which take seconds to draw."""
    structlog.configure(processors=[structlog.processors.KeyValueRenderer()])


@pytest.fixture
def house(tmp_path: Path) -> Iterator[House]:
    """A server on SQLite."""
    yield from make_house(tmp_path)


@pytest.fixture
def postgres_house(tmp_path: Path, postgres_url: str) -> Iterator[House]:
    """A server on PostgreSQL."""
    yield from make_house(tmp_path, database_url=postgres_url)
