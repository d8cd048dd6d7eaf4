"""A PostgreSQL server for all tests of a run, started by the first that needs it, and databases on it.

It is the machine's own server program in a scratch folder: it works as root and as a user, and leaves nothing behind.
Rejected: a pip package with a server (it adds a system user and loosens folder rights); a server that already runs
(tests would need a password and could meet someone's data).

A migration takes .5 s and a copy of a migrated database a tenth of that, so one is migrated per run and each test gets
a copy.
"""

import json
import os
import pwd
import shutil
import subprocess
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import psycopg

from server.database.store import open_store
from server.settings import load_settings
from tests.harness.ports import free_port
from tests.harness.run_folder import one_at_a_time, run_folder

DEBIANS = Path("/usr/lib/postgresql")
GIVEN = "GAPSOUND_TEST_POSTGRES_URL"
#: Losing this server loses nothing, so it doesn't flush to disk. Enough connections for some workers with several
#: servers each.
SETTINGS = "-h 127.0.0.1 -k '' -F -c max_connections=300"


def find_postgres_programs() -> Path | None:
    """The folder of `initdb` and `postgres`, the newest one; None when there is none."""
    installed = sorted(DEBIANS.glob("*/bin"), key=lambda folder: int(folder.parent.name))
    on_path = shutil.which("initdb")
    folders = [*reversed(installed), *([Path(on_path).resolve().parent] if on_path else [])]
    return next((f for f in folders if (f / "initdb").exists() and (f / "postgres").exists()), None)


def own_user(folder: Path) -> dict[str, object]:
    """The user to run its programs as, as arguments of `subprocess`. They refuse to run as root, so root gives the
    folder to the user `postgres`, or to `nobody` if there is no such user."""
    if os.geteuid() != 0:
        return {}
    user = next(name for name in ("postgres", "nobody") if name in {entry.pw_name for entry in pwd.getpwall()})
    entry = pwd.getpwnam(user)
    os.chown(folder, entry.pw_uid, entry.pw_gid)
    return {"user": user, "group": entry.pw_gid, "extra_groups": []}


def make_cluster(folder: Path, programs: Path, as_user: dict[str, object]) -> None:
    """Make the files of a server in ``folder / "data"``."""
    command = (programs / "initdb", "-D", folder / "data", "-U", "gapsound", "-A", "trust", "-E", "UTF8", "--no-sync")
    subprocess.run(command, cwd=folder, check=True, capture_output=True, **as_user)  # type: ignore[call-overload]


def start_server(folder: Path) -> str:
    """Start a server in a new folder of the run; return its address. Raises: RuntimeError with its log."""
    programs = find_postgres_programs()
    assert programs is not None, "the mark `postgres` should have skipped this test"
    folder.mkdir()
    as_user, port = own_user(folder), free_port()
    make_cluster(folder, programs, as_user)
    log = folder / "log"
    command = (programs / "pg_ctl", "start", "-w", "-D", folder / "data", "-l", log, "-o", f"{SETTINGS} -p {port}")
    quiet = {"stdin": subprocess.DEVNULL, "stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
    if subprocess.run(command, cwd=folder, check=False, **quiet, **as_user).returncode:  # type: ignore[call-overload]
        raise RuntimeError(f"PostgreSQL did not start:\n{log.read_text(errors='replace')}")
    return f"postgresql://gapsound@127.0.0.1:{port}/postgres"


def shared_server() -> tuple[str, str]:
    """The address of the run's server and the name of the migrated database on it, made by the first caller."""
    with one_at_a_time("postgres") as known:
        if not known.exists():
            url = os.environ.get(GIVEN, "").replace("+psycopg", "", 1) or start_server(run_folder() / "postgres")
            name = f"gapsound_migrated_{uuid.uuid4().hex}"
            create(url, name)
            store = open_store(load_settings(data_dir=run_folder(), database_url=database_url(url, name)))
            store.migrate()
            store.close()
            known.write_text(json.dumps([url, name]))
        url, name = json.loads(known.read_text())
    return url, name


def stop_shared_server() -> None:
    """Stop the run's server if it was started; on a given server, drop what the run left there."""
    with one_at_a_time("postgres") as known:
        if not known.exists():
            return
        url, name = json.loads(known.read_text())
    if os.environ.get(GIVEN):
        drop(url, name)
        return
    folder, programs = run_folder() / "postgres", find_postgres_programs()
    assert programs is not None
    command = (programs / "pg_ctl", "stop", "-w", "-m", "immediate", "-D", folder / "data")
    subprocess.run(command, cwd=folder, check=True, capture_output=True, **own_user(folder))  # type: ignore[call-overload]


@contextmanager
def fresh_database(*, is_migrated: bool) -> Iterator[str]:
    """A database on the run's server until the block ends, migrated or empty; yields its address.

    In SQLAlchemy's form for psycopg: postgresql+psycopg://user@host:port/name
    """
    url, migrated = shared_server()
    name = f"test_{uuid.uuid4().hex}"
    create(url, name, template=migrated if is_migrated else "template1")
    try:
        yield database_url(url, name)
    finally:
        drop(url, name)


def database_url(server_url: str, name: str) -> str:
    """The address of a database on that server, for SQLAlchemy."""
    head, _, query = server_url.partition("?")
    address = head.rsplit("/", 1)[0].replace("postgresql://", "postgresql+psycopg://", 1)
    return f"{address}/{name}" + (f"?{query}" if query else "")


def create(server_url: str, name: str, template: str = "template1") -> None:
    """Make a database as a copy of the template."""
    with psycopg.connect(server_url, autocommit=True) as connection:
        connection.execute(f'CREATE DATABASE "{name}" TEMPLATE "{template}"'.encode())


def drop(server_url: str, name: str) -> None:
    """Drop a database, and its open connections."""
    with psycopg.connect(server_url, autocommit=True) as connection:
        connection.execute(f'DROP DATABASE "{name}" WITH (FORCE)'.encode())
