"""Connections: an engine for SQLite or PostgreSQL, and what its errors mean. It must not know tables or teams.

Durability: a commit returns after the data is on disk. SQLite runs in write-ahead mode with full synchronisation where
its version is free of the fault in resetting that log (3.51.3 and newer), else with a truncated rollback journal.
"""

from __future__ import annotations

import contextlib
import sqlite3
from collections.abc import Iterator
from types import ModuleType
from typing import Literal

from sqlalchemy import Connection, Engine, ExceptionContext, create_engine, event
from sqlalchemy.exc import DBAPIError, OperationalError
from sqlalchemy.exc import TimeoutError as PoolTimeout

from server.errors import SettingProblem, Unavailable
from server.settings import Settings

WAL_SAFE_FROM = (3, 51, 3)
BUSY_TIMEOUT_MS = 5_000
POSTGRES_TIMEOUT_S = 5


def sqlite_module() -> ModuleType:
    """The newer of Python's own SQLite and the one that the `pysqlite3` package carries."""
    try:
        from pysqlite3 import dbapi2
    except ImportError:
        return sqlite3
    carried: ModuleType = dbapi2
    return carried if carried.sqlite_version_info > sqlite3.sqlite_version_info else sqlite3


def journal_mode(version: tuple[int, ...]) -> Literal["WAL", "TRUNCATE"]:
    """The journal mode that is safe with this version of SQLite."""
    return "WAL" if version >= WAL_SAFE_FROM else "TRUNCATE"


def make_engine(settings: Settings) -> Engine:
    """An engine for the database of these settings; nothing is connected yet. What a statement that fails was given,
    names and hashes among it, stays out of the error, and so out of the log.

    Raises: SettingProblem when the data folder can't be made.
    """
    url = settings.effective_database_url
    if url.startswith("sqlite"):
        try:
            settings.data_dir.mkdir(parents=True, exist_ok=True, mode=0o700)
        except OSError as error:
            raise SettingProblem([f"GAPSOUND_DATA_DIR: expected a folder that can be made: {error}"]) from None
        return _sqlite_engine(url)
    return without_values(
        create_engine(
            url,
            pool_size=settings.database_pool,
            max_overflow=0,
            pool_timeout=POSTGRES_TIMEOUT_S,
            pool_pre_ping=True,
            hide_parameters=True,
            connect_args={
                "connect_timeout": POSTGRES_TIMEOUT_S,
                "options": f"-c statement_timeout={POSTGRES_TIMEOUT_S * 1000} -c lock_timeout={BUSY_TIMEOUT_MS}",
            },
        )
    )


def without_values(engine: Engine) -> Engine:
    """The engine, whose errors say PostgreSQL's code and the names of constraint, table and column, and no more: its
    sentences hold values, its details whole rows."""

    @event.listens_for(engine, "handle_error")
    def on_error(context: ExceptionContext) -> None:
        found = context.original_exception
        told = getattr(found, "diag", None)
        if told is None or not told.sqlstate:
            return
        names = (told.sqlstate, told.constraint_name, told.table_name, told.column_name)
        found.args = (" ".join(name for name in names if name),)
        if context.sqlalchemy_exception is not None:
            context.sqlalchemy_exception.args = (f"({type(found).__name__}) {found}",)

    return engine


def _sqlite_engine(url: str) -> Engine:
    module = sqlite_module()
    mode = journal_mode(module.sqlite_version_info)
    wait = {"timeout": BUSY_TIMEOUT_MS / 1000}
    engine = create_engine(url, module=module, connect_args=wait, pool_size=5, hide_parameters=True)

    @event.listens_for(engine, "connect")
    def on_connect(connection: sqlite3.Connection, _record: object) -> None:
        connection.isolation_level = None  # transactions begin where this module says, not where the driver guesses
        for pragma in (f"journal_mode={mode}", "synchronous=FULL", "foreign_keys=ON", "secure_delete=ON"):
            connection.execute(f"PRAGMA {pragma}").close()

    @event.listens_for(engine, "begin")
    def on_begin(connection: Connection) -> None:
        options = connection.get_execution_options()
        if not options.get("is_single", False):
            connection.exec_driver_sql("BEGIN IMMEDIATE" if options.get("is_write", False) else "BEGIN")

    return engine


@contextlib.contextmanager
def database_errors() -> Iterator[None]:
    """Turn a database that can't be reached, written or waited for into `Unavailable`; a fault of ours stays one."""
    try:
        yield
    except (OperationalError, PoolTimeout) as error:
        raise Unavailable(
            "The server cannot reach or write its database right now. Nothing was changed; try again in a moment.",
            retry_after_s=5,
        ) from error
    except DBAPIError as error:
        if error.connection_invalidated:
            raise Unavailable(
                "The server lost its database for a moment. Nothing was changed; try again.", retry_after_s=5
            ) from error
        raise


@contextlib.contextmanager
def references_off(connection: Connection) -> Iterator[None]:
    """Let tables be made anew on SQLite, which has no other way to change one: with its references on, dropping the old
    table would delete every row that refers to it. The switch works outside of transactions only.
    source: SQLite, "Making Other Kinds Of Table Schema Changes", steps 1 and 12."""
    if connection.dialect.name != "sqlite":
        yield
        return
    run_plainly(connection, "PRAGMA foreign_keys=OFF")
    try:
        yield
    finally:
        run_plainly(connection, "PRAGMA foreign_keys=ON")


def run_plainly(connection: Connection, statement: str) -> None:
    """Run a statement without beginning a transaction."""
    driver = connection.connection.cursor()
    driver.execute(statement)
    driver.close()


def check_references(connection: Connection) -> None:
    """Hold every reference against what it refers to. Raises: ValueError, which undoes the transaction."""
    if connection.dialect.name == "sqlite":
        broken = connection.exec_driver_sql("PRAGMA foreign_key_check").all()
        if broken:
            raise ValueError(f"references that lead nowhere: {len(broken)}, the first in table {broken[0][0]}")
