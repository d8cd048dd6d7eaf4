"""Every starter is a whole defense: no problems, fronts as coaches draw them, sound against the first runs."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from quizgen.engine.report import check_situations, situations
from server.commands.main import run
from server.playbook.engine import Engine
from server.team.install import check_files
from server.team.starters import starter_files, starter_names

# The line of each front from the call's side to the other one. Common practice; the values are from memory: an over
# front has a three technique to the call and a shade away from it, an odd front a nose head up and ends on the tackles
# ("4i" to 5), a bear front covers the center and both guards with 3, 0 and 3.
LINES = {
    ("4-2-5", "Over"): (5, 3, 1, 5),
    ("4-3", "Over"): (5, 3, 1, 5),
    ("4-4", "Over"): (5, 3, 1, 5),
    ("3-4", "Odd"): (4, 0, 4),
    ("bear", "Bear"): (3, 0, 3),
    ("bear", "Six-man line"): (4, 2, 2, 4),
}
# The numbers of a front's name are its linemen and its backers; the rest of the eleven are defensive backs.
FRONT_COUNTS = {"4-2-5": (4, 2, 5), "3-4": (3, 4, 4), "4-3": (4, 3, 4), "4-4": (4, 4, 3)}


def test_the_starters_are_these() -> None:
    assert starter_names() == ["3-4", "4-2-5", "4-3", "4-4", "bear"]


@pytest.mark.parametrize("starter", starter_names())
def test_it_has_no_problems_and_eleven_men(starter: str) -> None:
    team = check_files(Engine(), starter_files(starter, "Ridge freshmen")).team
    assert team.name == "Ridge freshmen"
    assert len(team.positions) == 11
    assert len(team.pressures) >= 3
    assert {len(call.rushes) for call in team.pressures} & {5, 6}
    assert not team.roster


@pytest.mark.parametrize(("starter", "front"), LINES)
def test_its_line_stands_as_coaches_draw_it(starter: str, front: str) -> None:
    fronts = tomllib.loads(starter_files(starter, "Ridge")["fronts.toml"])["front"]
    (spots,) = (one["spot"] for one in fronts if one["name"] == front)
    assert tuple(one["technique"] for one in spots if one.get("down") and "technique" in one) == LINES[starter, front]


@pytest.mark.parametrize("starter", FRONT_COUNTS)
def test_its_name_counts_its_men(starter: str) -> None:
    team = check_files(Engine(), starter_files(starter, "Ridge")).team
    groups = [position.group for position in team.positions]
    line, secondary = groups.count("Line"), groups.count("Secondary")
    assert (line, 11 - line - secondary, secondary) == FRONT_COUNTS[starter]


@pytest.mark.parametrize("starter", starter_names())
def test_its_calls_are_sound_against_the_first_runs(starter: str) -> None:
    team = check_files(Engine(), starter_files(starter, "Ridge")).team
    wanted = [
        one
        for one in situations(team)
        if one.play.name in {"Base", "Outside zone"} and one.formation.name in {"Ace right", "Gun spread right"}
    ]
    answers = list(check_situations(wanted))
    assert len(answers) >= 8 * len(team.pressures)  # two formations, two runs, two directions
    assert [answer.situation for answer in answers if not answer.sound] == []


def test_the_command_writes_files_that_the_check_takes(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = str(tmp_path / "ours")
    assert run(["team", "start", "4-2-5", folder, "--name", "Ridge varsity"]) == 0
    assert run(["team", "check", folder]) == 0
    assert "Ridge varsity: 11 positions, 4 calls, 0 players. No problems." in capsys.readouterr().out
    assert run(["team", "start", "4-2-5", folder, "--name", "Ridge varsity"]) == 2
    assert "expected a new or an empty one" in capsys.readouterr().err
    assert run(["team", "start", "bear", str(tmp_path / ("n" * 5000)), "--name", "Ridge"]) == 2
    assert "expected one that can be written" in capsys.readouterr().err
    assert run(["team", "start", "9-9", folder, "--name", "Ridge"]) == 2
    assert "expected one of 3-4, 4-2-5, 4-3, 4-4, bear" in capsys.readouterr().err
    assert run(["team", "start", "bear", str(tmp_path / "b"), "--name", " "]) == 2
    assert not (tmp_path / "b").exists()
    assert run(["team", "starters"]) == 0
    assert capsys.readouterr().out.split() == ["3-4", "4-2-5", "4-3", "4-4", "bear"]
