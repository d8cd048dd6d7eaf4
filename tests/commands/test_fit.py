"""The command ``fit`` asks no call to a side that its rule does not let it go to, and says how a call was adjusted."""

from __future__ import annotations

import json

import pytest

from server.commands.main import run

TIGHT = ("--formation", "Tight I right", "--play", "Power", "--play-to", "right")


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("--call", "Varve", "--to", "left", *TIGHT), "to: expected 'right', since 'Varve' goes to the strength"),
        (
            ("--call", "Drumlin", "--to", "left", "--ball", "left", *TIGHT),
            "to: expected 'right', since 'Drumlin' goes to",
        ),
        (
            ("--call", "Drumlin", "--to", "left", "--ball", "up", *TIGHT),
            "--ball: expected left, middle or right, found",
        ),
    ],
)
def test_a_side_against_the_rule_is_one_line(
    arguments: tuple[str, ...], message: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["fit", *arguments]) == 2
    said = capsys.readouterr()
    [line] = said.err.splitlines()
    assert (said.out, line.startswith(message)) == ("", True)


@pytest.mark.parametrize("ball", [("--ball", "right"), ()], ids=["right hash", "anywhere"])
def test_the_same_side_from_another_hash(ball: tuple[str, ...], capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["fit", "--call", "Drumlin", "--to", "left", *ball, *TIGHT, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["adjusted"] == "tight end: adjusted"


def test_a_check_is_said_and_the_men_play_the_other_call(capsys: pytest.CaptureFixture[str]) -> None:
    spread = ("--formation", "Gun spread right", "--play", "Inside zone", "--play-to", "right")
    assert run(["fit", "--call", "Arete", "--to", "right", *spread, "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert (found["call"], found["adjusted"]) == ("Arete", "no tight end and gun: checked to Kame")
    assert found["why"].startswith("no tight end and gun: checked to Kame; ")
    assert run(["fit", "--call", "Kame", "--to", "right", *spread, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["fits"] == found["fits"]
