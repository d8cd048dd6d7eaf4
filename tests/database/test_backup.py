"""A backup is complete or refused, and restores the same rows, on either database."""

import gzip
from pathlib import Path

import pytest

from server.database.backup import checksum, restore, verify, write_backup
from server.database.store import open_store
from server.errors import BadInput
from server.settings import load_settings
from tests.harness.house import START, House, answer_url, chosen


def filled(house: House) -> House:
    house.add_team()
    set_id = house.send_set()
    phone = house.player()
    for place in house.open_set(phone, set_id)[:3]:
        phone.put(answer_url(set_id), json={"rep_id": place["rep_id"], "chosen": chosen(place["rep_id"], "a")})
    return house


def test_there_and_back(house: House, tmp_path: Path) -> None:
    first, second = tmp_path / "first", tmp_path / "second"
    counts = write_backup(filled(house).store, first, START)
    assert (counts["team"], counts["answer"], counts["member"]) == (2, 3, 12)
    store = open_store(load_settings(data_dir=tmp_path / "new"))
    assert restore(store, first) == counts
    write_backup(store, second, START)
    store.close()
    assert second.read_bytes() == first.read_bytes()
    assert verify(first, START) == counts


def test_from_sqlite_to_postgresql_and_back(house: House, tmp_path: Path, empty_postgres_url: str) -> None:
    first, second = tmp_path / "first", tmp_path / "second"
    write_backup(filled(house).store, first, START)
    store = open_store(load_settings(data_dir=tmp_path, database_url=empty_postgres_url))
    restore(store, first)
    write_backup(store, second, START)
    store.close()
    assert checksum(second) == checksum(first)


@pytest.mark.parametrize("damage", ["cut", "changed", "foot", "other", "empty", "glued", "trailing", "more"])
def test_an_incomplete_file_is_refused_and_changes_nothing(house: House, tmp_path: Path, damage: str) -> None:
    path = tmp_path / "backup"
    write_backup(filled(house).store, path, START)
    lines = gzip.decompress(path.read_bytes()).splitlines(keepends=True)
    damaged = {
        "cut": path.read_bytes()[:-40],
        "changed": gzip.compress(b"".join(lines).replace(b"Dale", b"Pale")),
        "foot": gzip.compress(b"".join(lines[:-1])),
        "other": b"not a backup",
        "empty": b"",
        "glued": path.read_bytes() * 2,
        "trailing": path.read_bytes() + b"garbage",
        "more": gzip.compress(b"".join(lines) + b'["team", {}]\n'),
    }
    path.write_bytes(damaged[damage])
    store = open_store(load_settings(data_dir=tmp_path / "new"))
    with pytest.raises(BadInput, match="expected a"):
        restore(store, path)
    assert store.teams() == []
    store.close()


def test_no_file_is_overwritten(house: House, tmp_path: Path) -> None:
    path = tmp_path / "backup"
    write_backup(house.store, path, START)
    with pytest.raises(BadInput, match="expected a new file"):
        write_backup(house.store, path, START)
    with pytest.raises(BadInput, match="expected an empty one"):
        restore(house.store, path)
    with pytest.raises(BadInput, match="expected a place"):
        write_backup(house.store, tmp_path / "nowhere" / "backup", START)
