"""The commands that ask the gap engine: what they print, and one line and exit code 2 for bad input."""

import json
from dataclasses import replace
from pathlib import Path

import pytest

from quizgen.content import load_team_dir
from quizgen.content.dump import dump_team
from server.commands.football import demo_team_dir
from server.commands.main import run


@pytest.fixture
def small(tmp_path: Path) -> str:
    """The demo team with four plays and four formations, its calls unadjusted, so that they are short of something."""
    team = load_team_dir(demo_team_dir())
    part = replace(
        team,
        schemes=team.schemes[:4],
        formations=tuple(team.formation(f"{name} {side}") for name in ("Open I", "Wing") for side in ("right", "left")),
        pressures=tuple(replace(one, adjust=()) for one in team.pressures),
        accepted=(),
    )
    for name, text in dump_team(part).items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    return str(tmp_path)


def test_check_says_how_many_were_tried(small: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["check", "--team", small, "--call", "Moraine", "--json"]) == 0
    rows = json.loads(capsys.readouterr().out)
    sound = sum(row["sound"] for row in rows)
    assert 0 < sound < len(rows)
    for more in ((), ("--unsound",)):
        assert run(["check", "--team", small, "--call", "Moraine", *more]) == 0
        said = capsys.readouterr().out.splitlines()
        assert said[-1] == f"{len(rows)} situations tried: {sound} sound, {len(rows) - sound} not."


def test_a_piped_table_cuts_no_name(small: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["check", "--team", small, "--call", "Moraine", "--json"]) == 0
    rows = json.loads(capsys.readouterr().out)
    assert run(["check", "--team", small, "--call", "Moraine"]) == 0
    table = capsys.readouterr().out
    assert "…" not in table
    for row in rows:
        assert any(row["formation"] in line and row["play"] in line for line in table.splitlines()), row
    assert sum(line.startswith("│") for line in table.splitlines()) == len(rows)


def test_mend_as_values(small: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["mend", "--team", small, "--call", "Moraine", "--to", "right", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found
    for one in found:
        assert set(one) == {"changes", "gains", "costs", "sound_before", "sound_after"}
        assert one["sound_after"] == one["sound_before"] + one["gains"] - one["costs"]
        assert {change["file"] for change in one["changes"]} == {"pressures.toml"}
        assert all(set(change) == {"file", "key", "from", "to"} for change in one["changes"])
    assert {len(one["changes"]) for one in found} <= {1, 2}


def test_mend_as_a_table(small: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["mend", "--team", small, "--call", "Moraine", "--to", "right"]) == 0
    table = capsys.readouterr().out
    assert "pressure[Moraine]." in table
    assert "gain more than they cost" in table.splitlines()[-1]


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["--call", "nix"], "call: expected one of"),
        (["--call", "Moraine", "--to", "up"], "--to: expected left or right, found 'up'"),
    ],
)
def test_mend_refuses_bad_input(arguments: list[str], message: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["mend", *arguments]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    [line] = said.err.splitlines()
    assert message in line
