"""`gapsound check --against`: rows with weights and what is accepted, and a sentence for each call."""

from __future__ import annotations

import csv
import io
import json
import shutil
from pathlib import Path

import pytest

from quizgen.engine.against import CallAgainst, ShortSnaps
from server.commands.football import call_sentence
from tests.commands.test_main import SEED, gapsound

FOE = """[[opponent]]
name = "Oakdale"
run = [
  { play = "Power", formation = "Wing right", to = "right", count = 3 },
  { play = "Lead", formation = "Wing right", count = 1 },
  { play = "Flea flicker", count = 2 },
]
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    team = tmp_path / "team"
    shutil.copytree(SEED, team)
    (team / "opponents.toml").write_text(FOE)
    return team


def test_rows_have_weights_and_calls_a_sentence(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    asked = ("check", "--against", "oakdale", "--call", "Moraine", "--team", str(folder))
    assert gapsound(*asked, "--json", monkeypatch=monkeypatch) == 0
    rows = json.loads(capsys.readouterr().out)
    assert {(row["formation"], row["play"]) for row in rows} == {("Wing right", "Power"), ("Wing right", "Lead")}
    assert sum(row["weight"] for row in rows) == pytest.approx(100, abs=0.01)
    powers = [row for row in rows if row["play"] == "Power"]
    assert {row["play_to"] for row in powers} == {"right"}
    assert sum(row["weight"] for row in powers) == pytest.approx(75, abs=0.01)
    assert gapsound(*asked, monkeypatch=monkeypatch) == 0
    printed = capsys.readouterr().out
    assert "Moraine: sound on " in printed
    assert "Not in the table: Flea flicker (2)." in printed


def test_a_lack_that_is_accepted_stays_in_the_table_and_is_marked(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    asked = ("check", "--call", "Moraine", "--play", "Power", "--team", str(folder))
    assert gapsound(*asked, "--json", monkeypatch=monkeypatch) == 0
    before = json.loads(capsys.readouterr().out)
    (folder / "accepted.toml").write_text('[[accepted]]\ncall = "Moraine"\nplay = "Power"\nwhy = "we live with it"\n')
    assert gapsound(*asked, "--csv", monkeypatch=monkeypatch) == 0
    after = list(csv.DictReader(io.StringIO(capsys.readouterr().out)))
    assert len(after) == len(before)
    assert any(not row["sound"] for row in before)
    for row, old in zip(after, before, strict=True):
        assert (row["sound"] == "yes") is old["sound"]
        assert row["accepted"] == ("" if old["sound"] else "we live with it")


def test_an_unknown_opponent_is_refused(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert gapsound("check", "--against", "Elm", "--team", str(folder), monkeypatch=monkeypatch) == 2
    assert "opponent: expected one of Oakdale, found 'Elm'" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (CallAgainst("Kame", 100.0, 0.0, ()), "Kame: sound on 100 of his 100 snaps."),
        (
            CallAgainst("Kame", 87.2, 0.0, (ShortSnaps("Counter", ("Trips left", "Trips right"), 9.1),)),
            "Kame: sound on 87 of his 100 snaps; 9 of the other 13 are his Counter from Trips left or Trips right.",
        ),
        (
            CallAgainst("Kame", 88.0, 12.0, (ShortSnaps("Power", ("Wing",), 12.0),)),
            "Kame: sound on 88 of his 100 snaps; all of the others are his Power from Wing; 12 are accepted.",
        ),
    ],
)
def test_the_sentence_by_hand(call: CallAgainst, sentence: str) -> None:
    assert call_sentence(call) == sentence


def test_what_would_mend_a_call_is_weighed_by_the_opponent(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    asked = ("mend", "--against", "oakdale", "--call", "Moraine", "--team", str(folder), "--json")
    assert gapsound(*asked, monkeypatch=monkeypatch) == 0
    for one in json.loads(capsys.readouterr().out):
        assert 0 <= one["costs"] < one["gains"]
        assert one["sound_after"] == pytest.approx(one["sound_before"] + one["gains"] - one["costs"])
        assert one["sound_after"] <= 100.01
    assert (
        gapsound("mend", "--against", "Elm", "--call", "Moraine", "--team", str(folder), monkeypatch=monkeypatch) == 2
    )
    assert "opponent: expected one of Oakdale, found 'Elm'" in capsys.readouterr().err
