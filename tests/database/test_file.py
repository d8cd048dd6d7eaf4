"""The file of an SQLite database: nothing is acknowledged into one that is gone, and readiness is true."""

import os
import stat
from collections import namedtuple
from pathlib import Path

import pytest

from server.database.tables import Team
from server.errors import Unavailable
from server.settings import load_settings
from tests.harness.databases import open_migrated, sqlite_file
from tests.harness.house import PAGE, House

Disk = namedtuple("Disk", "f_bavail f_frsize f_flag")


def test_only_the_owner_may_read_it(tmp_path: Path) -> None:
    settings = load_settings(data_dir=tmp_path, database_url="")
    store = open_migrated(settings)
    assert store.is_ready()
    assert stat.S_IMODE(sqlite_file(settings).stat().st_mode) == 0o600
    store.close()


@pytest.mark.parametrize("becomes", ["renamed", "deleted", "replaced"])
def test_nothing_is_written_into_a_file_that_is_gone(house: House, becomes: str) -> None:
    path = sqlite_file(house.settings)
    coach = house.coach()
    assert coach.get("/readyz").status_code == 200
    aside = path.with_suffix(".aside")
    path.rename(aside)
    if becomes == "deleted":
        aside.unlink()
    elif becomes == "replaced":
        path.write_bytes(aside.read_bytes())
    reply = coach.get("/readyz")
    assert reply.status_code == 503
    assert "moved or replaced" in reply.text
    sent = coach.post("/coach/opponents", data={"name": "Oakdale"}, headers=PAGE)
    assert sent.status_code == 503
    if becomes == "renamed":
        aside.rename(path)
        assert coach.get("/readyz").status_code == 200
        assert coach.post("/coach/opponents", data={"name": "Oakdale"}, headers=PAGE).is_success


def test_a_file_or_folder_that_cannot_be_written_is_not_ready(house: House, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "access", lambda *_: False)
    assert house.client().get("/readyz").status_code == 503


def test_a_full_disk_is_not_ready(house: House, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "statvfs", lambda _: Disk(0, 4096, 0))
    reply = house.client().get("/readyz")
    assert reply.status_code == 503
    assert "full" in reply.text
    monkeypatch.setattr(os, "statvfs", lambda _: Disk(10**6, 4096, os.ST_RDONLY))
    assert house.client().get("/readyz").status_code == 503


def test_a_write_that_meets_a_moved_file_leaves_nothing(house: House) -> None:
    path = sqlite_file(house.settings)
    aside = path.with_suffix(".aside")

    def rename_team_and_file() -> None:
        with house.store.write(house.team.id) as t:
            team = t.team()
            team.name = "Other"
            t.session.add(team)
            path.rename(aside)

    with pytest.raises(Unavailable):
        rename_team_and_file()
    aside.rename(path)
    found = house.store.find_team(team_id=house.team.id)
    assert isinstance(found, Team)
    assert found.name != "Other"
