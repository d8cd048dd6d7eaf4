"""Back up every row of every table to one checksummed file, and restore it into either database.

The file is gzipped JSON lines: a header, one line per row in a fixed order, a footer with counts and checksum. It is a
logical dump so that it can move between SQLite and PostgreSQL. Rejected: copying database files.
"""

from __future__ import annotations

import contextlib
import gzip
import hashlib
import json
import os
import tempfile
import zlib
from collections import Counter
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Table, insert, select
from sqlalchemy.exc import OperationalError, StatementError

from server.database.columns import EPOCH, MICROSECOND, Moment
from server.database.engine import database_errors
from server.database.store import Store, newest_revision, open_store
from server.database.tables import TABLES
from server.errors import BadInput
from server.settings import load_settings

FORMAT = "gapsound backup 1"
BATCH = 500


def tables() -> list[Table]:
    """All tables, each after those that it refers to."""
    return [table.__table__ for table in TABLES]  # type: ignore[attr-defined]


def write_backup(store: Store, path: Path, now: datetime) -> Counter[str]:
    """Write every row to a new file, as of one moment; return the number of rows by table.

    The file gets its name only when it is complete.
    Raises: BadInput when it exists or can't be written; Unavailable.
    """
    if path.exists():
        raise BadInput(f"{path}: expected a new file, found one that exists")
    try:
        handle, draft = tempfile.mkstemp(dir=path.parent, prefix=".gapsound-")
    except OSError as error:
        raise BadInput(f"{path}: expected a place that can be written ({error.strerror})") from None
    try:
        with os.fdopen(handle, "wb") as raw:
            with (
                gzip.GzipFile(fileobj=raw, mode="wb", mtime=0) as out,
                database_errors(),
                snapshot(store) as connection,
            ):
                counts = _write(out, connection, now)
            raw.flush()
            os.fsync(raw.fileno())
        Path(draft).replace(path)
    finally:
        Path(draft).unlink(missing_ok=True)
    return counts


def snapshot(store: Store) -> Any:
    """A connection that sees one moment of the database, whatever others write."""
    if store.engine.dialect.name == "postgresql":
        return store.engine.connect().execution_options(isolation_level="REPEATABLE READ")
    return store.engine.connect()


def _write(out: gzip.GzipFile, connection: Connection, now: datetime) -> Counter[str]:
    digest, counts = hashlib.sha256(), Counter[str]()
    out.write(_line({"format": FORMAT, "revision": newest_revision(), "at": now.isoformat()}))
    for table in tables():
        for row in connection.execute(select(table).order_by(*table.primary_key.columns)).mappings():
            line = _line([table.name, {name: _plain(value) for name, value in row.items()}])
            digest.update(line)
            out.write(line)
            counts[table.name] += 1
    out.write(_line({"rows": dict(counts), "sha256": digest.hexdigest()}))
    return counts


def _line(value: Any) -> bytes:
    return json.dumps(value, ensure_ascii=True, separators=(",", ":"), sort_keys=True).encode() + b"\n"


def _plain(value: Any) -> Any:
    return (value - EPOCH) // MICROSECOND if isinstance(value, datetime) else value


def read_backup(path: Path) -> Iterator[tuple[str, dict[str, Any]]]:
    """Yield the table and the row of each line of a file.

    Raises: BadInput when the file is not a backup, of another version, or incomplete.
    """
    digest, counts, foot = hashlib.sha256(), Counter[str](), None
    try:
        with gzip.open(path, "rb") as lines:
            _check_head(path, next(lines, b"{}"))
            for line in lines:
                value = json.loads(line)
                if isinstance(value, dict):
                    foot = value
                    break
                table, row = value
                if not isinstance(table, str) or not isinstance(row, dict):
                    raise ValueError("a line that is no row")
                digest.update(line)
                counts[table] += 1
                yield table, row
            if next(lines, None) is not None:
                raise ValueError("something after its end")
    except (OSError, EOFError, ValueError, TypeError, zlib.error) as error:
        raise BadInput(f"{path}: expected a whole backup file, found another ({error})") from None
    if foot != {"rows": dict(counts), "sha256": digest.hexdigest()}:
        raise BadInput(f"{path}: expected a whole backup file; its checksum does not fit")


def _check_head(path: Path, line: bytes) -> None:
    head = json.loads(line)
    if not isinstance(head, dict) or head.get("format") != FORMAT:
        raise BadInput(f"{path}: expected a backup file of this program, found another")
    if head.get("revision") != newest_revision():
        raise BadInput(f"{path}: expected tables of revision {newest_revision()}, found {head.get('revision')}")


def restore(store: Store, path: Path) -> Counter[str]:
    """Fill an empty database from a file, all or nothing; return the rows by table. Raises: BadInput; Unavailable."""
    store.migrate()
    if store.teams():
        raise BadInput(
            "the database: expected an empty one, found teams in it; set GAPSOUND_DATA_DIR or GAPSOUND_DATABASE_URL"
        )
    counts = Counter[str]()
    with database_errors(), row_errors(path), store.writing() as connection:
        batch: list[dict[str, Any]] = []
        current = ""
        by_name = {table.name: table for table in tables()}
        for name, row in read_backup(path):
            if name not in by_name:
                raise BadInput(f"{path}: expected known tables, found {name!r}")
            if (name != current or len(batch) >= BATCH) and batch:
                connection.execute(insert(by_name[current]), batch)
                batch = []
            current = name
            batch.append(_typed(by_name[name], row))
            counts[name] += 1
        if batch:
            connection.execute(insert(by_name[current]), batch)
    return counts


@contextlib.contextmanager
def row_errors(path: Path) -> Iterator[None]:
    """Turn the error of a row that doesn't fit the tables into one message without its values. Raises: BadInput."""
    try:
        yield
    except OperationalError:
        raise
    except (KeyError, TypeError, ValueError, OverflowError, StatementError):
        raise BadInput(f"{path}: expected rows as this version's tables take them, found others") from None


def _typed(table: Table, row: dict[str, Any]) -> dict[str, Any]:
    return {
        name: EPOCH + value * MICROSECOND if isinstance(table.c[name].type, Moment) and value is not None else value
        for name, value in row.items()
    }


def checksum(path: Path) -> str:
    """The checksum over all rows of a file. Raises: BadInput."""
    digest = hashlib.sha256()
    for name, row in read_backup(path):
        digest.update(_line([name, row]))
    return digest.hexdigest()


def verify(path: Path, now: datetime) -> Counter[str]:
    """Restore a file into a scratch database, back that up, compare the two. Changes nothing. Raises: BadInput."""
    with tempfile.TemporaryDirectory(prefix="gapsound-verify-") as folder:
        store = open_store(load_settings(data_dir=Path(folder), database_url=""))
        try:
            counts = restore(store, path)
            again = Path(folder) / "again"
            write_backup(store, again, now)
        finally:
            store.close()
        if checksum(again) != checksum(path):
            raise BadInput(f"{path}: expected the same rows after restoring, found others")
    return counts
