"""Databases for tests: a migration takes .2 s, so it runs once per process and the file is copied."""

import tempfile
from functools import cache
from pathlib import Path

from server.database.store import Store, open_store
from server.settings import Settings, load_settings


@cache
def migrated_sqlite() -> bytes:
    """The file of a migrated database without rows."""
    with tempfile.TemporaryDirectory() as folder:
        settings = load_settings(data_dir=Path(folder), database_url="")
        store = open_store(settings)
        store.migrate()
        store.close()
        return sqlite_file(settings).read_bytes()


def sqlite_file(settings: Settings) -> Path:
    """The path of the SQLite database of these settings."""
    return Path(settings.effective_database_url.removeprefix("sqlite:///"))


def open_migrated(settings: Settings) -> Store:
    """The database of these settings, migrated from any state."""
    if settings.effective_database_url.startswith("sqlite") and not sqlite_file(settings).exists():
        sqlite_file(settings).parent.mkdir(parents=True, exist_ok=True)
        sqlite_file(settings).write_bytes(migrated_sqlite())
        return open_store(settings)
    store = open_store(settings)
    if not store.is_ready():
        store.migrate()
    return store
