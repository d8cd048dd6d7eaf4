"""A test's own PostgreSQL server that can be killed and restarted on the same port and data."""

import contextlib
import os
import shutil
import signal
import subprocess
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import psycopg

from tests.harness.ports import free_port
from tests.harness.postgres import find_postgres_programs, make_cluster, own_user

READY_WITHIN_S = 30.0


class Database:
    """See the module. Commits are flushed to disk, as in production."""

    def __init__(self, folder: Path, programs: Path) -> None:
        self.folder, self.programs, self.port = folder, programs, free_port()
        self.as_user = own_user(folder)
        make_cluster(folder, programs, self.as_user)
        self.running: subprocess.Popen[bytes] | None = None

    @property
    def url(self) -> str:
        return f"postgresql+psycopg://gapsound@127.0.0.1:{self.port}/postgres"

    def start(self) -> float:
        """Start it; return the seconds until it accepted a connection."""
        began = time.monotonic()
        for _ in range(50):  # the killed server's children must release their shared memory first
            command = (self.programs / "postgres", "-D", self.folder / "data", "-h", "127.0.0.1", "-k", "")
            with (self.folder / "log").open("ab") as log:
                self.running = subprocess.Popen(  # type: ignore[call-overload]
                    (*command, "-p", str(self.port)), cwd=self.folder, stdout=log, stderr=log, **self.as_user
                )
            try:
                wait_until_answering(self.url.replace("+psycopg", ""), self.running, self.folder / "log")
            except RuntimeError:
                self.running.wait(timeout=30)
                time.sleep(0.1)
            else:
                return time.monotonic() - began
        raise AssertionError(f"the database did not start again:\n{(self.folder / 'log').read_text()[-2000:]}")

    def kill(self) -> None:
        """End the server and all its processes at once."""
        assert self.running is not None
        children = Path(f"/proc/{self.running.pid}/task/{self.running.pid}/children").read_text().split()
        self.running.send_signal(signal.SIGKILL)
        for child in children:
            with contextlib.suppress(ProcessLookupError):
                os.kill(int(child), signal.SIGKILL)
        self.running.wait(timeout=30)

    def stop(self) -> None:
        if self.running is not None and self.running.poll() is None:
            self.running.send_signal(signal.SIGINT)
            self.running.wait(timeout=30)


@contextlib.contextmanager
def own_database() -> Iterator[Database]:
    """A database server on loopback in a scratch folder until the block ends."""
    programs = find_postgres_programs()
    assert programs is not None, "the mark `postgres` should have skipped this test"
    folder = Path(tempfile.mkdtemp(prefix="gapsound-postgres-"))
    database: Database | None = None
    try:
        database = Database(folder, programs)
        database.start()
        yield database
    finally:
        if database is not None:
            database.stop()
        shutil.rmtree(folder)


def wait_until_answering(url: str, server: subprocess.Popen[bytes], log: Path) -> None:
    """Return once the server accepts a connection. Raises: RuntimeError with its log after a timeout."""
    deadline = time.monotonic() + READY_WITHIN_S
    while server.poll() is None and time.monotonic() < deadline:
        try:
            psycopg.connect(url, connect_timeout=2).close()
        except psycopg.OperationalError:
            time.sleep(0.1)
        else:
            return
    raise RuntimeError(f"PostgreSQL did not start:\n{log.read_text(errors='replace')}")
