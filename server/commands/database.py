"""The commands for the database: `migrate`, `backup`, `restore`."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from server.database.store import Store


def register(app: typer.Typer) -> None:
    """Add these commands."""
    for command in (migrate, backup, restore):
        app.command()(command)


def open_database() -> Store:
    """The database of the settings, with this version's tables. Raises: SettingProblem, Unavailable."""
    from server.database.store import open_store
    from server.settings import load_settings

    store = open_store(load_settings())
    store.migrate()
    return store


def migrate() -> None:
    """Bring the database's tables to this version."""
    open_database().close()
    print("The tables are those of this version.")


def backup(file: Annotated[Path, typer.Argument(help="File to write; must not exist yet.")]) -> None:
    """Write everything in the database to one file, as of one moment, while the server runs."""
    from server.database.backup import write_backup

    store = open_database()
    counts = write_backup(store, file, datetime.now(UTC))
    store.close()
    print(f"{sum(counts.values())} rows written to {file}.")


def restore(
    file: Annotated[Path, typer.Argument(help="File that gapsound backup wrote.")],
    verify: Annotated[bool, typer.Option("--verify", help="Only restore it in a scratch place and compare.")] = False,
) -> None:
    """Fill an empty database from a backup, all or nothing."""
    from server.database import backup as backups
    from server.database.store import open_store
    from server.settings import load_settings

    if verify:
        counts = backups.verify(file, datetime.now(UTC))
        print(f"{file}: {sum(counts.values())} rows, restored and compared: the same.")
        return
    store = open_store(load_settings())
    counts = backups.restore(store, file)
    store.close()
    print(f"{sum(counts.values())} rows restored.")
