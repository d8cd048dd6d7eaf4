"""The database is durable, migrated, and never reached without a team."""

import threading
import time
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.runtime.migration import MigrationContext
from sqlalchemy import inspect

from server.database.columns import Moment, metadata
from server.database.engine import journal_mode, sqlite_module
from server.database.store import open_store
from server.database.tables import TABLES, Answer, ContentFile, Member, Opponent
from server.opponents.tendencies import add_opponent, choose_next
from server.settings import load_settings
from tests.harness.house import START, House


def differences(url: str, folder: Path) -> list:
    """The differences between migrated tables and the models."""
    store = open_store(load_settings(data_dir=folder, database_url=url))
    assert not store.is_ready()
    store.migrate()
    store.migrate()  # a second time changes nothing
    assert store.is_ready()
    with store.engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True, "compare_server_default": True})
        found = compare_metadata(context, metadata)
        tables = set(inspect(connection).get_table_names())
    store.close()
    assert tables == {table.__tablename__ for table in TABLES} | {"alembic_version"}
    return found


def test_models_equal_migrations_on_sqlite(tmp_path: Path) -> None:
    assert differences("", tmp_path) == []


def test_models_equal_migrations_on_postgresql(tmp_path: Path, empty_postgres_url: str) -> None:
    assert differences(empty_postgres_url, tmp_path) == []


def test_the_team_leads_every_key() -> None:
    for table in metadata.tables.values():
        lead = "id" if table.name == "team" else "team_id"
        assert next(iter(table.primary_key.columns)).name == lead, table.name
        for index in table.indexes:
            assert next(iter(index.columns)).name == "team_id", index.name
        for key in table.foreign_key_constraints:
            assert key.column_keys[0] == "team_id", key.name


def test_a_commit_is_on_disk(house: House) -> None:
    """Full synchronisation, and the safe journal mode for this version of SQLite."""
    with house.store.engine.connect() as connection:
        assert connection.exec_driver_sql("PRAGMA synchronous").scalar() == 2
        assert connection.exec_driver_sql("PRAGMA foreign_keys").scalar() == 1
        mode = connection.exec_driver_sql("PRAGMA journal_mode").scalar()
    assert mode == journal_mode(sqlite_module().sqlite_version_info).lower()


@pytest.mark.parametrize(
    ("version", "mode"), [((3, 40, 1), "TRUNCATE"), ((3, 51, 2), "TRUNCATE"), ((3, 51, 3), "WAL"), ((3, 53, 4), "WAL")]
)
def test_wal_only_with_safe_versions(version: tuple[int, ...], mode: str) -> None:
    """source: the bug in resetting the write-ahead log was fixed in SQLite 3.51.3 (from memory of its notes)."""
    assert journal_mode(version) == mode


def test_a_session_takes_no_row_of_another_team(house: House) -> None:
    other = house.add_team()
    mine = house.member()
    with house.store.write(other.id) as t:
        assert t.find(Member, mine.id) is None
        with pytest.raises(ValueError, match="does not belong to the team"):
            t.add(mine)
        with pytest.raises(ValueError, match="does not belong to the team"):
            t.add_once(mine)
        with pytest.raises(ValueError, match="does not belong to the team"):
            t.delete(mine)
        assert t.count(Member) == 6


def test_a_write_that_fails_leaves_nothing(house: House) -> None:
    def stop_in_the_middle() -> None:
        with house.store.write(house.team.id) as t:
            t.add(ContentFile(team_id=t.team_id, path="half.toml", text="x"))
            raise RuntimeError("in the middle")

    with pytest.raises(RuntimeError, match="in the middle"):
        stop_in_the_middle()
    with house.store.read(house.team.id) as t:
        assert t.find(ContentFile, "half.toml") is None


def test_of_two_coaches_at_once_the_later_one_chooses(house: House) -> None:
    chosen, found = choose_concurrently(house)
    assert found == chosen[1:]


def test_of_two_coaches_at_once_the_later_one_chooses_on_postgresql(postgres_house: House) -> None:
    chosen, found = choose_concurrently(postgres_house)
    assert found == chosen[1:]


def choose_concurrently(house: House) -> tuple[list[str], list[str]]:
    """Two coaches choose the next opponent at once: return whom they chose, and which opponents are marked as next."""
    with house.store.write(house.team.id) as t:
        ids = [add_opponent(t, "coach", name, START).id for name in ("Tarrow", "Dunmere")]
    has_read = threading.Event()

    def choose(opponent_id: str, *, is_first: bool) -> None:
        with house.store.write(house.team.id) as t:
            choose_next(t, "coach", opponent_id, START)
            if is_first:
                has_read.set()
                time.sleep(0.3)  # the other one reads now, unless he is made to wait

    first = threading.Thread(target=choose, args=(ids[0],), kwargs={"is_first": True})
    first.start()
    assert has_read.wait(10)
    choose(ids[1], is_first=False)
    first.join(10)
    with house.store.read(house.team.id) as t:
        return ids, [one.id for one in t.rows(Opponent) if one.is_next]


@pytest.mark.parametrize(
    "moment",
    [
        START,
        datetime(1970, 1, 1, tzinfo=UTC),
        datetime(2026, 11, 1, 1, 30, 0, 123_457, tzinfo=timezone(timedelta(hours=-5))),
        datetime(9999, 12, 31, 23, 59, 59, 999_999, tzinfo=UTC),
    ],
)
def test_moments_are_kept_to_the_microsecond(house: House, moment: datetime) -> None:
    dialect = house.store.engine.dialect
    stored = Moment().process_bind_param(moment, dialect)
    assert Moment().process_result_value(stored, dialect) == moment


def test_a_moment_without_a_time_zone_is_refused(house: House) -> None:
    with pytest.raises(TypeError):
        Moment().process_bind_param(datetime(2026, 9, 1), house.store.engine.dialect)  # noqa: DTZ001
    assert Answer.received_at is not None
