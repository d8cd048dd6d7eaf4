"""The only way to the database, for SQLite and PostgreSQL alike, always on behalf of one team.

Callers get a `TeamSession`, whose queries are all limited to the team: another team's row looks like a missing one. All
calls block, so none is made on the event loop. Knows nothing of what the rows mean.
"""

from __future__ import annotations

import contextlib
from collections.abc import Iterator, Sequence
from functools import cache
from pathlib import Path
from typing import Any, TypeVar

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, CursorResult, Engine, Executable, Table, event, func
from sqlalchemy.dialects.postgresql import insert as postgres_insert
from sqlalchemy.dialects.sqlite import insert as sqlite_insert
from sqlmodel import Session, col, select

from server.database.engine import (
    Outage,
    check_references,
    database_errors,
    make_engine,
    references_off,
    run_outside_transaction,
)
from server.database.file import DatabaseFile
from server.database.table_base import Base
from server.database.tables import Team
from server.errors import NotFound
from server.i18n.lazy_text import LazyText
from server.paths import MIGRATIONS
from server.settings import Settings

Row = TypeVar("Row", bound=Base)

#: Names of things for "There is no such …".
THINGS = {
    "account": LazyText("account"),
    "day": LazyText("day"),
    "edit": LazyText("edit"),
    "opponent": LazyText("opponent"),
    "player": LazyText("player"),
    "rep": LazyText("rep"),
    "set": LazyText("set"),
    "snap": LazyText("snap"),
    "thing": LazyText("thing"),
    "version": LazyText("version"),
}


def table_of(table: type[Base]) -> Table:
    """The table without its objects, for statements that are built once and read columns."""
    found: Table = table.__table__  # type: ignore[attr-defined]
    return found


def dialect_insert(table: type[Base] | Table, dialect: str) -> Any:
    """The dialect's own insert statement, which has `on_conflict_…`."""
    make: Any = postgres_insert if dialect == "postgresql" else sqlite_insert
    return make(table)


@cache
def insert_once(table: Table, dialect: str) -> Any:
    """A statement that inserts rows and returns their keys; it leaves out those in conflict with another."""
    return dialect_insert(table, dialect).on_conflict_do_nothing().returning(*table.primary_key)


class TeamSession:
    """A transaction on behalf of one team. Every query is limited to the team's rows."""

    def __init__(self, session: Session, team_id: str) -> None:
        self.session = session
        self.team_id = team_id

    def find(self, table: type[Row], *key: object) -> Row | None:
        """The team's row with this key (without the team's id); None when there is none."""
        return self.session.get(table, (self.team_id, *key))

    def get(self, table: type[Row], *key: object, what: str = "thing") -> Row:
        """The team's row with this key. Raises: NotFound, with the same message for another team's row."""
        row = self.find(table, *key)
        if row is None:
            raise NotFound(LazyText("There is no such {what} in your team.", what=THINGS.get(what, what)))
        return row

    def rows(self, table: type[Row], *where: Any, order_by: Sequence[Any] = (), limit: int | None = None) -> list[Row]:
        """The team's rows that meet these conditions, at most ``limit``."""
        statement = select(table).where(self._own(table), *where).order_by(*order_by).limit(limit)
        return list(self.session.exec(statement))

    def first(self, table: type[Row], *where: Any, order_by: Sequence[Any] = ()) -> Row | None:
        """The first of the team's rows that meet these conditions; None when there is none."""
        statement = select(table).where(self._own(table), *where).order_by(*order_by).limit(1)
        return self.session.exec(statement).first()

    def values(
        self,
        table: type[Row],
        *columns: Any,
        joins: Sequence[tuple[type[Base], Any]] = (),
        where: Sequence[Any] = (),
        order_by: Sequence[Any] = (),
        group_by: Any = (),
    ) -> list[Any]:
        """Tuples of these columns, without building row objects: for long lists.

        ``joins`` are outer joins: each a table and its ON clause, which must include the team.
        """
        statement = select(*columns).select_from(table).where(self._own(table), *where)
        for other, on in joins:
            statement = statement.outerjoin(other, on)
        return list(self.session.execute(statement.order_by(*order_by).group_by(*group_by)))

    def look(self, statement: Executable, **values: Any) -> Sequence[Any]:
        """The rows of a statement that is built once, with the parameter ``team_id``, and these parameters."""
        return self.session.execute(statement, {"team_id": self.team_id, **values}).all()

    def count(self, table: type[Row], *where: Any) -> int:
        """How many of the team's rows meet these conditions."""
        statement = select(func.count()).select_from(table).where(self._own(table), *where)
        return int(self.session.exec(statement).one())

    def add(self, *rows: Base) -> None:
        """Store new or changed rows. Raises: ValueError for another team's row, which is a bug."""
        for row in rows:
            if getattr(row, "team_id", None) != self.team_id:
                raise ValueError(f"a row of {type(row).__name__} does not belong to the team of this session")
            self.session.add(row)
        self.session.flush()

    def add_once(self, row: Base) -> bool:
        """Store a row unless one with the same key or the same unique values exists; return whether it was stored. When
        two try at once, exactly one succeeds."""
        return self.add_each_once(type(row), [row])[0]

    def add_each_once(self, table: type[Base], rows: Sequence[Base]) -> list[bool]:
        """`add_once` for many rows, or their plain values, in one statement."""
        if any(getattr(row, "team_id", None) != self.team_id for row in rows):
            raise ValueError(f"a row of {table.__name__} does not belong to the team of this session")
        if not rows:
            return []
        connection, into = self.session.connection(), table_of(table)
        values = [{c.name: getattr(row, c.name) for c in into.c} for row in rows]
        stored = {tuple(key) for key in connection.execute(insert_once(into, connection.dialect.name), values)}
        return [tuple(getattr(row, c.name) for c in into.primary_key) in stored for row in rows]

    def insert(self, table: type[Base] | Table) -> Any:
        """The dialect's own insert statement, which has `on_conflict_…`."""
        return dialect_insert(table, self.session.get_bind().dialect.name)

    def execute(self, statement: Executable) -> CursorResult[Any]:
        """Run a statement that limits itself to the team."""
        result = self.session.execute(statement)
        assert isinstance(result, CursorResult)
        return result

    def delete(self, row: Base) -> None:
        """Delete one of the team's rows."""
        if getattr(row, "team_id", None) != self.team_id:
            raise ValueError(f"a row of {type(row).__name__} does not belong to the team of this session")
        self.session.delete(row)
        self.session.flush()

    def team(self) -> Team:
        """The team's own row. Raises: NotFound."""
        team = self.session.get(Team, self.team_id)
        if team is None:
            raise NotFound("There is no such team.")
        return team

    def _own(self, table: type[Base]) -> Any:
        return col(table.team_id) == self.team_id  # type: ignore[attr-defined]


class Store:
    """The database of one server."""

    def __init__(self, engine: Engine) -> None:
        self.engine = engine
        self.file = _watched_file(engine)
        self.reading = Outage()
        self._for_writing = engine.execution_options(is_write=True)
        single: dict[str, Any] = {"isolation_level": "AUTOCOMMIT"} if engine.dialect.name == "postgresql" else {}
        self._for_one = engine.execution_options(is_single=True, **single)

    @contextlib.contextmanager
    def read(self, team_id: str) -> Iterator[TeamSession]:
        """A read-only transaction. Raises: Unavailable."""
        with self.reading.watch(), Session(self.engine, expire_on_commit=False) as session:
            yield TeamSession(session, team_id)

    def look(self, team_id: str, statement: Executable, **values: Any) -> Sequence[Any]:
        """Run a read-only statement with the parameter ``team_id`` and these; return its rows. There is no transaction
        around it, since that would cost more than the statement. Raises: Unavailable."""
        with self.reading.watch(), self._for_one.connect() as connection:
            return connection.execute(statement, {"team_id": team_id, **values}).all()

    @contextlib.contextmanager
    def write(self, team_id: str) -> Iterator[TeamSession]:
        """A transaction that writes: committed, durably, when the block ends, rolled back when it raises. For commands;
        the server writes through `WriteQueue`.

        A team's writes run one after another, so that what a write has read can't change before its commit.
        Raises: Unavailable.
        """
        with database_errors(), Session(self._for_writing, expire_on_commit=False) as session, session.begin():
            self._take_turn(session.connection(), team_id)
            yield TeamSession(session, team_id)
            if self.file:
                self.file.check()  # before the commit: what is acknowledged is in the file that is there

    def _take_turn(self, connection: Connection, team_id: str) -> None:
        """Wait for the team's other writers: with an advisory lock on PostgreSQL; SQLite has one writer at a time.

        Without the lock, of two coaches at once both chose the next opponent, and two owners could remove each other.
        It made the write of one row 1.3 times as long in one run. Rejected: serializable transactions (every write must
        be able to run again); a lock wherever code reads before it writes (one will be forgotten).
        """
        if team_id and self.engine.dialect.name == "postgresql":
            connection.execute(select(func.pg_advisory_xact_lock(func.hashtextextended(team_id, 0))))

    def teams(self) -> list[Team]:
        """All teams on this server."""
        with self.reading.watch(), Session(self.engine) as session:
            return list(session.exec(select(Team).order_by(col(Team.created_at), col(Team.id))))

    def find_team(self, *, join_code: str | None = None, team_id: str | None = None) -> Team | None:
        """The team with this code or id; None when there is none."""
        where = col(Team.join_code) == join_code if join_code is not None else col(Team.id) == team_id
        with self.reading.watch(), Session(self.engine) as session:
            return session.exec(select(Team).where(where)).first()

    def add_team(self, team: Team) -> None:
        """Store a new team."""
        with database_errors(), Session(self._for_writing, expire_on_commit=False) as session, session.begin():
            session.add(team)

    @contextlib.contextmanager
    def writing(self) -> Iterator[Connection]:
        """A plain connection in a writing transaction, for work on the whole database."""
        with self._for_writing.begin() as connection:
            yield connection

    def is_ready(self) -> bool:
        """Whether the database answers, can be written and has this version's tables. Raises: Unavailable."""
        if self.file:
            self.file.check()
            self.file.check_writable()
        with self.reading.watch(), self.engine.connect() as connection:
            return MigrationContext.configure(connection).get_current_revision() == newest_revision()

    def migrate(self) -> None:
        """Bring the tables to this version, all or nothing. Raises: Unavailable."""
        with (
            database_errors(),
            self._for_writing.connect() as connection,
            references_off(connection),
            connection.begin(),
        ):
            if MigrationContext.configure(connection).get_current_revision() == newest_revision():
                return
            config = migration_config()
            config.attributes["connection"] = connection
            command.upgrade(config, "head")
            check_references(connection)

    def forget(self) -> None:
        """After an erasure: remove deleted rows from SQLite's log too, unless a reader still needs them. On PostgreSQL
        the next vacuum does that. Raises: Unavailable.

        Deleted names would stay readable in the file; `secure_delete` (see `engine`) overwrites them there. Rejected: a
        mark "erased" beside data that stays; encrypting each player's rows with a key of his own (more to lose than to
        gain here).
        """
        if self.engine.dialect.name == "sqlite":
            with database_errors(), self.engine.connect() as connection:
                run_outside_transaction(connection, "PRAGMA wal_checkpoint(TRUNCATE)")

    def close(self) -> None:
        """Close all connections."""
        self.engine.dispose()


def _watched_file(engine: Engine) -> DatabaseFile | None:
    """The file of an SQLite database, remembered when it is first opened; None on PostgreSQL."""
    path = engine.url.database
    if engine.dialect.name != "sqlite" or not path:
        return None
    file = DatabaseFile(Path(path))
    file.make_private()
    event.listen(engine, "connect", lambda *_: file.remember())
    return file


def open_store(settings: Settings) -> Store:
    """The store for these settings; nothing is connected yet. Raises: SettingProblem."""
    return Store(make_engine(settings))


def migration_config() -> Config:
    """Alembic's configuration: where the migrations are."""
    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS))
    return config


@cache
def newest_revision() -> str | None:
    """The revision that this version of the program needs."""
    return ScriptDirectory.from_config(migration_config()).get_current_head()
