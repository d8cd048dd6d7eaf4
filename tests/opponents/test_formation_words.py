"""Words for formations and directions in a play list: found among the team's, and their left and right turned into
ours. The expected formations come from reading the words."""

from __future__ import annotations

import tomllib

import pytest

from quizgen.content import load_team_dir
from server.opponents.formation_words import (
    FILE,
    find_formation,
    find_side,
    formation_names,
    formation_targets,
    keys_of,
    propose_formation,
    run_side,
)
from server.opponents.matching import KEEP_NAME, MatchedBy
from server.opponents.play_list import (
    Placing,
    dry_run,
    find_columns,
    find_formation_words,
    read_lines,
    to_sheet,
)
from server.paths import SEED_CONTENT
from server.playbook.charted import RunCount
from server.playbook.engine import Engine
from server.playbook.rep_summary import FormationSummary
from tests.harness.fake_football import FORMATIONS, PLAYS


@pytest.fixture(scope="module")
def demo_formations() -> list[FormationSummary]:
    return list(Engine().formations(load_team_dir(SEED_CONTENT / "tarrow_falls")))


@pytest.mark.parametrize(
    ("text", "theirs", "ours"),
    [
        ("Rt", "left", "right"),
        ("Left", "right", "left"),
        ("L", "right", "left"),
        ("26 Power R", "left", "right"),
        ("derecha", "left", "right"),
        ("middle", "", ""),
        ("Lt to Rt", "", ""),
        ("", "", ""),
    ],
)
def test_their_right_is_our_left(text: str, theirs: str, ours: str) -> None:
    assert find_side(text, is_ours=False) == theirs
    assert find_side(text, is_ours=True) == ours


@pytest.mark.parametrize(
    ("word", "target", "how"),
    [
        ("Tight I Rt", "tight-i-left", MatchedBy.SAME),
        ("tight-I left", "tight-i-right", MatchedBy.SAME),
        ("Wing", "wing-left/wing-right", MatchedBy.SAME),
        ("Gun Spr L", "gun-spread-right", MatchedBy.CLOSE),
        ("Shotgun Spread", "gun-spread-left/gun-spread-right", MatchedBy.CLOSE),
        ("Doubles Rt", "gun-spread-left", MatchedBy.TRADE),
        ("2x2", "gun-spread-left/gun-spread-right", MatchedBy.TRADE),
        ("Pro I Right", "tight-i-left", MatchedBy.TRADE),
        ("Emtpy Rt", "empty-left", MatchedBy.CLOSE),
        ("Ace Rt, Trade", "ace-left-trade", MatchedBy.SAME),
        ("Unbalanced Lt", "over-right", MatchedBy.TRADE),
    ],
)
def test_a_word_is_found_among_the_teams_formations(
    demo_formations: list[FormationSummary], word: str, target: str, how: MatchedBy
) -> None:
    assert find_formation(word, demo_formations, is_ours=False) == (target, how)


def test_with_our_sides_nothing_is_turned(demo_formations: list[FormationSummary]) -> None:
    assert find_formation("Tight I Rt", demo_formations, is_ours=True) == ("tight-i-right", MatchedBy.SAME)


@pytest.mark.parametrize("word", ["Bunch", "Punt", "Rt", "", "=HYPERLINK(1)", "Wildcat"])
def test_what_only_they_have_keeps_its_name(demo_formations: list[FormationSummary], word: str) -> None:
    assert propose_formation(word, demo_formations, {}, is_ours=False) == (KEEP_NAME, MatchedBy.NONE)


def test_an_earlier_choice_comes_first_while_it_is_there(demo_formations: list[FormationSummary]) -> None:
    before = {"bunch rt": "wing-left", "stack": "a formation of last year"}
    assert propose_formation("Bunch-RT", demo_formations, before, is_ours=False) == ("wing-left", MatchedBy.BEFORE)
    assert propose_formation("Stack", demo_formations, before, is_ours=False)[0] == KEEP_NAME


def test_strong_and_weak_go_by_where_the_formation_is_strong() -> None:
    trips = next(one for one in FORMATIONS if one.strong == "left")
    balanced = next(one for one in FORMATIONS if not one.strong)
    assert run_side(["Strong"], trips, is_ours=False) == "left"
    assert run_side(["wk", "zone right"], trips, is_ours=False) == "right"
    assert run_side(["strong"], balanced, is_ours=False) == ""
    assert run_side(["", "Zone Rt"], None, is_ours=False) == "left"  # only the play's word says it
    assert run_side(["field"], trips, is_ours=False) == ""


LIST = "Play,Form,Motion,Dir,Count\nzone,Trips Rt,,R,4\npower,Trips,none,Strong,2\nzone lt,Stack,Jet,,1\npower,,,,3\n"


def test_runs_by_formation_and_side_by_hand() -> None:
    sheet = to_sheet(read_lines(LIST), PLAYS)
    columns = find_columns(sheet, PLAYS)
    words = find_formation_words(sheet, columns, FORMATIONS, {}, is_ours=False)
    assert {word.text: word.target for word in words} == {
        "Trips Rt": "trips-left", "Trips": "trips-left/trips-right", "Stack, Jet": KEEP_NAME,
    }  # fmt: skip
    placing = Placing(FORMATIONS, {word.text: word.target for word in words})
    dry = dry_run(sheet, columns, {"zone lt": "zone"}, PLAYS, placing)
    assert set(dry.runs) == {
        RunCount("zone", "trips-left", "left", 4.0),
        RunCount("power", "trips-left", "left", 1.0),  # of a strong power from trips, each side has half
        RunCount("power", "trips-right", "right", 1.0),
        RunCount("zone", "Stack, Jet", "right", 1.0),
        RunCount("power", "", "", 3.0),
    }
    assert dry.play_counts == {"power": 5.0, "zone": 5.0}


def test_twins_are_a_target_of_their_own_without_a_side(demo_formations: list[FormationSummary]) -> None:
    targets = formation_targets(demo_formations)
    assert targets["wing-left/wing-right"] == "Wing"
    assert targets["wing-left"] == "Wing left"
    assert targets["gun-spread-left-jet/gun-spread-right-jet"] == "Gun spread, Jet"
    assert keys_of("wing-left/wing-right", "Wing") == ("wing-left", "wing-right")


def test_every_name_is_written_once() -> None:
    content = tomllib.loads(FILE.read_text(encoding="utf-8"))
    says = [name for row in content["formation"] for name in row["says"]]
    assert len(says) == len(set(says))
    assert len(formation_names().names) > 40
