"""Engines for SQLite and PostgreSQL, and the meaning of their errors. Knows nothing of tables or teams.

A commit returns after the data is on disk. From version 3.51.3 on SQLite runs in WAL mode with synchronous=FULL; older
versions have a bug in resetting that log, so they run with a TRUNCATE journal. Rejected: WAL with any version; less
than FULL (an acknowledged answer must survive a power cut).
"""

from __future__ import annotations

import contextlib
import sqlite3
import threading
import time
from collections.abc import Generator, Iterator
from types import ModuleType
from typing import Any, Literal

from sqlalchemy import Connection, Engine, ExceptionContext, create_engine, event
from sqlalchemy.exc import DBAPIError, OperationalError
from sqlalchemy.exc import TimeoutError as PoolTimeout

from server.errors import SettingProblem, Unavailable
from server.settings import Settings

WAL_SAFE_FROM = (3, 51, 3)
#: How long to wait for the database. A request is refused within 6 seconds when the database is away, even when it
#: first waited for a thread that met the same.
BUSY_TIMEOUT_MS = 2_500
SILENCE_S = 3.0
CONNECT_TIMEOUT_S = 2
STATEMENT_TIMEOUT_MS = 5_000
POOL_TIMEOUT_S = 2.5


def sqlite_module() -> ModuleType:
    """The newer of Python's own SQLite and that of the `pysqlite3` package."""
    try:
        from pysqlite3 import dbapi2
    except ImportError:
        return sqlite3
    carried: ModuleType = dbapi2
    return carried if carried.sqlite_version_info > sqlite3.sqlite_version_info else sqlite3


def journal_mode(version: tuple[int, ...]) -> Literal["WAL", "TRUNCATE"]:
    """The safe journal mode for this version of SQLite."""
    return "WAL" if version >= WAL_SAFE_FROM else "TRUNCATE"


def make_engine(settings: Settings) -> Engine:
    """An engine for the database of these settings; nothing is connected yet. Errors, and so the log, leave out the
    parameters of a failed statement, since they hold names and hashes.

    Raises: SettingProblem when the data folder can't be made.
    """
    url = settings.effective_database_url
    if url.startswith("sqlite"):
        try:
            settings.data_dir.mkdir(parents=True, exist_ok=True, mode=0o700)
        except OSError as error:
            raise SettingProblem([f"GAPSOUND_DATA_DIR: expected a folder that can be made: {error}"]) from None
        return _sqlite_engine(url)
    engine = create_engine(
        url,
        pool_size=settings.database_pool,
        max_overflow=0,
        pool_timeout=POOL_TIMEOUT_S,
        pool_pre_ping=True,
        hide_parameters=True,
        connect_args={
            "connect_timeout": CONNECT_TIMEOUT_S,
            "options": f"-c statement_timeout={STATEMENT_TIMEOUT_MS} -c lock_timeout={BUSY_TIMEOUT_MS}",
        },
    )
    return strip_values(limit_silence(engine))


def limit_silence(engine: Engine) -> Engine:
    """Make connections give up on a server that is silent for `SILENCE_S`. PostgreSQL keeps its timeouts itself: they
    don't fire while its processes are stopped or the network drops packets."""
    import psycopg

    class ImpatientConnection(psycopg.Connection[Any]):
        def wait(self, gen: Generator[Any, Any, Any], *args: Any, **options: Any) -> Any:
            return super().wait(self._listen(gen), *args, **options)

        def _listen(self, gen: Generator[Any, Any, Any]) -> Generator[Any, Any, Any]:
            """Drive psycopg's waiting, which wakes up ten times a second while nothing arrives."""
            until = time.monotonic() + SILENCE_S
            try:
                wanted = next(gen)
                while True:
                    is_ready = yield wanted
                    if is_ready:
                        until = time.monotonic() + SILENCE_S
                    elif time.monotonic() > until:
                        self.pgconn.finish()
                        raise psycopg.OperationalError("the server has said nothing for too long")
                    wanted = gen.send(is_ready)
            except StopIteration as end:
                return end.value

    @event.listens_for(engine, "do_connect")
    def on_connect(_dialect: object, _record: object, args: Any, options: Any) -> psycopg.Connection[Any]:
        return ImpatientConnection.connect(*args, **options)

    return engine


def strip_values(engine: Engine) -> Engine:
    """Reduce PostgreSQL's errors to the code and the names of constraint, table and column: messages quote values,
    details quote whole rows."""

    @event.listens_for(engine, "handle_error")
    def on_error(context: ExceptionContext) -> None:
        error = context.original_exception
        diag = getattr(error, "diag", None)
        if diag is None or not diag.sqlstate:
            return
        names = (diag.sqlstate, diag.constraint_name, diag.table_name, diag.column_name)
        error.args = (" ".join(name for name in names if name),)
        if context.sqlalchemy_exception is not None:
            context.sqlalchemy_exception.args = (f"({type(error).__name__}) {error}",)

    return engine


def _sqlite_engine(url: str) -> Engine:
    module = sqlite_module()
    mode = journal_mode(module.sqlite_version_info)
    wait = {"timeout": BUSY_TIMEOUT_MS / 1000}
    pool: dict[str, Any] = {"pool_size": 5, "pool_timeout": POOL_TIMEOUT_S}
    engine = create_engine(url, module=module, connect_args=wait, hide_parameters=True, **pool)

    @event.listens_for(engine, "connect")
    def on_connect(connection: sqlite3.Connection, _record: object) -> None:
        connection.isolation_level = None  # this module begins transactions, not the driver
        for pragma in (f"journal_mode={mode}", "synchronous=FULL", "foreign_keys=ON", "secure_delete=ON"):
            connection.execute(f"PRAGMA {pragma}").close()

    @event.listens_for(engine, "begin")
    def on_begin(connection: Connection) -> None:
        options = connection.get_execution_options()
        if not options.get("is_single", False):
            # A write takes SQLite's lock at its start: a transaction that reads first would fail instead of waiting.
            connection.exec_driver_sql("BEGIN IMMEDIATE" if options.get("is_write", False) else "BEGIN")

    return engine


def away() -> Unavailable:
    """The error when the database can't be reached or written."""
    return Unavailable(
        "The server cannot reach or write its database right now. Nothing was changed; try again in a moment.",
        retry_after_s=5,
    )


class Outage:
    """Whether the last request found the database away. While it is, one request at a time tries it and the others are
    refused at once, so that a hanging database blocks only the threads that met it first."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._is_on = False
        self._is_tried = False

    @property
    def is_tried(self) -> bool:
        """Whether the database is away and a request tries it now."""
        return self._is_tried

    @contextlib.contextmanager
    def watch(self) -> Iterator[None]:
        """Wrap a query. Raises: Unavailable."""
        with self._lock:
            is_try = self._is_on
            if is_try and self._is_tried:
                raise away()
            self._is_tried = is_try
        try:
            with database_errors():
                yield
        except Unavailable as error:
            self._is_on = is_away(error.__cause__)
            raise
        else:
            self._is_on = False
        finally:
            if is_try:
                self._is_tried = False


def is_away(error: BaseException | None) -> bool:
    """Whether an error means that the database is away or locked; not when PostgreSQL reported an error itself, or all
    connections were in use."""
    if not isinstance(error, DBAPIError):
        return False
    return error.connection_invalidated or getattr(error.orig, "sqlstate", None) is None


@contextlib.contextmanager
def database_errors() -> Iterator[None]:
    """Turn failures to reach, write or wait for the database into `Unavailable`; other errors pass."""
    try:
        yield
    except (OperationalError, PoolTimeout) as error:
        raise away() from error
    except DBAPIError as error:
        if error.connection_invalidated:
            raise Unavailable(
                "The server lost its database for a moment. Nothing was changed; try again.", retry_after_s=5
            ) from error
        raise


@contextlib.contextmanager
def references_off(connection: Connection) -> Iterator[None]:
    """Switch foreign keys off on SQLite, outside of transactions. SQLite changes a table by rebuilding it, and dropping
    the old one with foreign keys on would delete every row that refers to it.
    source: SQLite, "Making Other Kinds Of Table Schema Changes", steps 1 and 12."""
    if connection.dialect.name != "sqlite":
        yield
        return
    run_outside_transaction(connection, "PRAGMA foreign_keys=OFF")
    try:
        yield
    finally:
        run_outside_transaction(connection, "PRAGMA foreign_keys=ON")


def run_outside_transaction(connection: Connection, statement: str) -> None:
    """Run a statement without beginning a transaction."""
    driver = connection.connection.cursor()
    driver.execute(statement)
    driver.close()


def check_references(connection: Connection) -> None:
    """Check every foreign key. Raises: ValueError, which rolls the transaction back."""
    if connection.dialect.name == "sqlite":
        broken = connection.exec_driver_sql("PRAGMA foreign_key_check").all()
        if broken:
            raise ValueError(f"references that lead nowhere: {len(broken)}, the first in table {broken[0][0]}")
