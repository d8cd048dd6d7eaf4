"""What tests share: finding Chromium and a PostgreSQL server, and saying in one line what was skipped without them.

A test that needs one carries the mark `browser` or `postgres`, or simply asks for the fixture `chromium_path` or
`postgres_url`. Where the thing is not to be had the test is skipped; in CI (CI=true) that is a failure.
"""

import contextlib
import os
import pwd
import shutil
import signal
import socket
import subprocess
import tempfile
import time
import uuid
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
import structlog
from hypothesis import settings

from server.database import write_queue
from tests.harness.house import House, make_house

# No deadline: the machine that runs the suite may be slow. What failed is printed in a form that repeats it.
settings.register_profile("gapsound", deadline=None, print_blob=True)
settings.load_profile("gapsound")
write_queue.PATIENCE_S = 60.0  # for the same reason

CHROMIUM_NAMES = ("chromium", "chromium-browser", "google-chrome-stable", "google-chrome", "chrome")
CHROMIUM_ARGUMENTS = (
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
SERVER_READY_WITHIN_S = 30.0


@dataclass(frozen=True, slots=True)
class Need:
    """Something outside Python that marked tests need, and what to tell a person who hasn't got it."""

    mark: str
    fixture: str
    how_to_enable: str


NEEDS = (
    Need(
        "browser",
        "chromium_path",
        "no Chromium found: install it (Debian: apt-get install chromium libatomic1) or set "
        "GAPSOUND_TEST_CHROMIUM to its path",
    ),
    Need(
        "postgres",
        "postgres_url",
        "no PostgreSQL server found: install one (Debian: apt-get install postgresql) or set "
        "GAPSOUND_TEST_POSTGRES_URL to a server whose user may create databases",
    ),
)


def find_chromium() -> str | None:
    """Return the path of a Chromium or Chrome, None where there is none."""
    given = os.environ.get("GAPSOUND_TEST_CHROMIUM")
    if given:
        return given if Path(given).exists() else None
    return next((path for name in CHROMIUM_NAMES if (path := shutil.which(name))), None)


def find_postgres_programs() -> Path | None:
    """Return the folder that holds `initdb` and `postgres`, the newest where there are several; None without."""
    installed = sorted(Path("/usr/lib/postgresql").glob("*/bin"), key=lambda folder: int(folder.parent.name))
    on_path = shutil.which("initdb")
    folders = [*reversed(installed), *([Path(on_path).resolve().parent] if on_path else [])]
    return next((f for f in folders if (f / "initdb").exists() and (f / "postgres").exists()), None)


def is_met(need: Need) -> bool:
    """Say whether this machine has what such a test needs."""
    if need.mark == "browser":
        return find_chromium() is not None
    return bool(os.environ.get("GAPSOUND_TEST_POSTGRES_URL")) or find_postgres_programs() is not None


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark each test that asks for a fixture of a need, so that the two can't disagree; put browser tests last.

    While Playwright's browser lives, its event loop holds the main thread: neither asyncio nor a second Playwright runs
    beside it. So tests with a browser of their module come after all others, those with the session's after these.
    """
    for item in items:
        for need in NEEDS:
            if need.fixture in getattr(item, "fixturenames", ()):
                item.add_marker(need.mark)
    items.sort(
        key=lambda item: (bool(item.get_closest_marker("browser")), "browser" in getattr(item, "fixturenames", ()))
    )


def pytest_runtest_setup(item: pytest.Item) -> None:
    """Skip a test whose need is not met, or fail it in CI, where everything is installed."""
    for need in NEEDS:
        if item.get_closest_marker(need.mark) and not is_met(need):
            if os.environ.get("CI") == "true":
                pytest.fail(f"CI must not skip {need.mark} tests: {need.how_to_enable}", pytrace=False)
            pytest.skip(need.how_to_enable)


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Say what was skipped and how to enable it, one line a reason."""
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


@pytest.fixture(scope="session")
def chromium_arguments() -> list[str]:
    """Command-line arguments to start it with: it looks for nothing outside this machine."""
    return [*CHROMIUM_ARGUMENTS, *(["--no-sandbox"] if os.geteuid() == 0 else [])]


@pytest.fixture(scope="session")
def postgres_server() -> Iterator[str]:
    """The address of a running server's maintenance database: the one given, else one in a scratch folder."""
    given = os.environ.get("GAPSOUND_TEST_POSTGRES_URL")
    if given:
        yield given
        return
    programs = find_postgres_programs()
    assert programs is not None, "the mark `postgres` should have skipped this test"
    with start_postgres(programs) as url:
        yield url


@pytest.fixture
def postgres_url(postgres_server: str) -> Iterator[str]:
    """The address of a database of this test's own, empty; gone after the test.

    In the form that SQLAlchemy takes with psycopg: postgresql+psycopg://user@host:port/name
    """
    import psycopg

    name = f"test_{uuid.uuid4().hex}"
    maintenance = postgres_server.replace("+psycopg", "", 1)
    with psycopg.connect(maintenance, autocommit=True) as connection:
        connection.execute(f'CREATE DATABASE "{name}"'.encode())
    head, _, query = maintenance.partition("?")
    address = head.rsplit("/", 1)[0].replace("postgresql://", "postgresql+psycopg://", 1)
    yield f"{address}/{name}" + (f"?{query}" if query else "")
    with psycopg.connect(maintenance, autocommit=True) as connection:
        connection.execute(f'DROP DATABASE "{name}" WITH (FORCE)'.encode())


@contextlib.contextmanager
def start_postgres(programs: Path) -> Iterator[str]:
    """Run a server on loopback in a scratch folder until the block ends.

    It refuses to run as root, so root starts it as the user `postgres`, or `nobody` where there is no such user.
    """
    folder = Path(tempfile.mkdtemp(prefix="gapsound-postgres-"))
    user: str | None = None
    if os.geteuid() == 0:
        user = next(name for name in ("postgres", "nobody") if name in {entry.pw_name for entry in pwd.getpwall()})
        os.chown(folder, pwd.getpwnam(user).pw_uid, pwd.getpwnam(user).pw_gid)
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    as_user = {"user": user, "group": pwd.getpwnam(user).pw_gid, "extra_groups": []} if user else {}
    try:
        subprocess.run(
            (programs / "initdb", "-D", folder / "data", "-U", "gapsound", "-A", "trust", "-E", "UTF8", "--no-sync"),
            cwd=folder,
            check=True,
            capture_output=True,
            **as_user,
        )
        listen = ("-h", "127.0.0.1", "-p", str(port), "-k", "", "-F")
        with (
            (folder / "log").open("wb") as log,
            subprocess.Popen(
                (programs / "postgres", "-D", folder / "data", *listen), cwd=folder, stdout=log, stderr=log, **as_user
            ) as server,
        ):
            try:
                url = f"postgresql://gapsound@127.0.0.1:{port}/postgres"
                wait_until_answering(url, server, folder / "log")
                yield url
            finally:
                server.send_signal(signal.SIGINT)  # a fast shutdown: it waits for no client
    finally:
        shutil.rmtree(folder)


def wait_until_answering(url: str, server: subprocess.Popen[bytes], log: Path) -> None:
    """Return once the server takes a connection. Raises: RuntimeError with its log when it doesn't in time."""
    import psycopg

    deadline = time.monotonic() + SERVER_READY_WITHIN_S
    while server.poll() is None and time.monotonic() < deadline:
        try:
            psycopg.connect(url, connect_timeout=2).close()
        except psycopg.OperationalError:
            time.sleep(0.1)
        else:
            return
    raise RuntimeError(f"PostgreSQL did not start:\n{log.read_text(errors='replace')}")


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
