"""The command ``team export``: files of open standards, and one clear message for what can't be done."""

import json
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from sqlmodel import col

from server.commands.main import run
from server.database.store import open_store
from server.database.tables import Assignment, Member
from server.settings import load_settings
from tests.trust.live import prepare

BASE = "https://gapsound.example"


@pytest.fixture
def team_id(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    """A team of two players with a set, in the database of the settings."""
    monkeypatch.setenv("GAPSOUND_DATA_DIR", str(tmp_path))
    monkeypatch.delenv("GAPSOUND_DATABASE_URL", raising=False)
    return prepare(tmp_path, players=2, sets=1).team.id


def test_due_sets_and_answers(team_id: str, tmp_path: Path) -> None:
    calendar, xapi = tmp_path / "due.ics", tmp_path / "answers.json"
    assert run(["team", "export", team_id, "--calendar", str(calendar), "--xapi", str(xapi), "--base", BASE]) == 0
    assert json.loads(xapi.read_text()) == []
    text = calendar.read_text()
    assert text.count("BEGIN:VEVENT") == 1
    assert f"{BASE}/team/" in text.replace("\n ", "")
    store = open_store(load_settings(data_dir=tmp_path))
    with store.write(team_id) as t:
        [one] = t.rows(Assignment)
        one.due_at = datetime.now(UTC) - timedelta(hours=1)
        t.add(one)
        names = [member.name for member in t.rows(Member, col(Member.number).is_not(None))]
    store.close()
    assert not [name for name in names if name in text]
    assert run(["team", "export", team_id, "--calendar", str(calendar), "--base", BASE]) == 0
    assert "BEGIN:VEVENT" not in calendar.read_text()


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ([], "expected --xapi FILE, --calendar FILE or both"),
        (["--xapi", "a.json"], "--base: expected the server's address"),
        (["--xapi", "/nowhere/a.json", "--base", BASE], "--xapi: expected a place that can be written"),
    ],
)
def test_bad_input_is_one_line(team_id: str, capsys: pytest.CaptureFixture[str], more: list[str], said: str) -> None:
    assert run(["team", "export", team_id, *more]) == 2
    error = capsys.readouterr().err
    assert said in error
    assert "Traceback" not in error


def test_an_unknown_team_is_one_line(team_id: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["team", "export", team_id[:-1] + "~", "--calendar", "a.ics", "--base", BASE]) == 2
    assert "Traceback" not in capsys.readouterr().err
