"""Motions, what is done about them, and attached passes in TOML: they load, come back from a dump, and each mistake has
its message."""

from __future__ import annotations

import pytest

from quizgen.content import load_team
from quizgen.content.dump import dump_team
from quizgen.football.errors import ContentProblems, UnknownName
from quizgen.football.motion import MotionAnswer, MotionKind
from quizgen.football.sides import Side
from quizgen.football.team import TeamBook, may_be_run, situation

JET = '{ name = "Jet", kind = "jet", who = "number two", to = "right", plays = ['
ATTACHED = '[play.attached]\nzone = "flat"\nside = "back side"'
RULE = 'kind = "jet"\ncoverage = "three deep, two under"'


def with_text(files: dict[str, str], file: str, right: str, wrong: str) -> dict[str, str]:
    assert files[file].count(right) >= 1
    return {**files, file: files[file].replace(right, wrong, 1)}


def test_the_demo_shows_motion_a_jet_sweep_and_an_attached_pass(demo: TeamBook) -> None:
    kinds = {one.moved.motion.kind for one in demo.snap_formations if one.moved}
    assert kinds == {MotionKind.JET, MotionKind.TRADE}
    assert any(play.attached for play in demo.schemes)
    assert demo.rules.motion[0].answer is MotionAnswer.NOTHING
    for one in demo.snap_formations:
        assert one.mirrored in demo.snap_formations


def test_a_motion_is_asked_for_by_its_formation_and_its_name(demo: TeamBook) -> None:
    moved = situation(demo, "Scree", Side.RIGHT, "gun spread right", "Jet sweep", Side.RIGHT, motion="jet").formation
    assert moved is demo.formation("Gun spread right, Jet")
    assert may_be_run(moved, demo.play("Zone read"))
    assert not may_be_run(moved, demo.play("Power"))
    with pytest.raises(UnknownName, match="motion: expected one of Jet, found 'Orbit'"):
        demo.after_motion("Gun spread right", "Orbit")
    with pytest.raises(UnknownName, match="motion: expected one of none defined, found 'Jet'"):
        demo.after_motion("Tight I right", "Jet")


# File, what stands there, what is written instead, what is said of it.
WRONG = [
    ("formations.toml", JET, JET.replace('"jet"', '"jot"'), "motion[1].kind: expected one of jet, orbit, return"),
    (
        "formations.toml",
        JET,
        JET.replace("number two", "number three"),
        "expected a man who stands on the left of 'Gun",
    ),
    ("formations.toml", JET, JET.replace('"number two"', '"quarterback"'), "motion[1].who: expected one of number one"),
    ("formations.toml", JET, JET.replace("number two", "number one"), "no more than four backs"),
    ("formations.toml", JET, JET.replace('"jet"', '"trade"'), "motion[1].who: expected 'end' for the motion 'trade'"),
    ("formations.toml", JET, JET.replace("plays", "attached = true, plays"), "no such key beside another kind than"),
    ("formations.toml", JET, JET.replace("plays", "split = 3, plays"), "no such key beside another kind than 'short'"),
    ("formations.toml", JET, JET.replace("plays", "split = 30, plays"), "yards outside the last attached man, 1 to 25"),
    ("formations.toml", JET, JET + '"Jet swep", ', "motion[1].plays[1]: expected one of Inside zone"),
    ("formations.toml", JET, f"{JET}] }},\n  {JET}", "motion[2].name: expected each motion once in its formation"),
    ("formations.toml", '"Empty right"', '"Gun spread right, jet"', "a name that makes no other formation's"),
    ("plays.toml", ATTACHED, ATTACHED.replace("flat", "flats"), "attached.zone: expected one of flat, seam, hook"),
    (
        "plays.toml",
        ATTACHED,
        ATTACHED.replace("back side", "left"),
        "attached.side: expected one of play side, back side",
    ),
    (
        "plays.toml",
        ATTACHED,
        ATTACHED + '\n[play.option]\nname = "zone read"\nread = "back side edge"\nphases = ["dive"]',
        "expected either an option or an attached pass",
    ),
    (
        "plays.toml",
        '"dive", "quarterback"]',
        '"dive", "throw"]',
        "expected phases of an option: dive, quarterback, pitch",
    ),
    ("plays.toml", 'carrier = "man in motion"', 'carrier = "motion man"', "carrier: expected one of center"),
    ("plays.toml", 'carrier = "man in motion"', 'carrier = "wing"', "'man in motion' for the family 'jet sweep'"),
    (
        "rules.toml",
        RULE,
        RULE.replace("jet", "jets"),
        "motion[1].kind: expected one of jet, orbit, return, short, trade",
    ),
    ("rules.toml", RULE, RULE.replace("two under", "too under"), "motion[1].coverage: expected one of man, zone, four"),
    ("rules.toml", 'answer = "nothing"', 'answer = "rotate"', "expected one of bump the backers, run with him"),
    ("rules.toml", 'owner = ["force"', 'owner = ["farce"', "motion[1].owner[1]: expected one of force, alley, fold"),
    ("rules.toml", 'attached = "throw"', 'attached = "pass"', "rules.attached: expected one of throw, run"),
]


@pytest.mark.parametrize(("file", "right", "wrong", "words"), WRONG, ids=[one[3][:40] for one in WRONG])
def test_what_team_check_says(demo_files: dict[str, str], file: str, right: str, wrong: str, words: str) -> None:
    with pytest.raises(ContentProblems) as refused:
        load_team(with_text(demo_files, file, right, wrong))
    assert words in str(refused.value), str(refused.value)


MOTIONS = [
    '{ name = "Fly", key = "jet", kind = "orbit", who = "number two", to = "right" }',
    '{ name = "In", kind = "short", who = "number two", to = "left", split = 3.5 }',
    '{ name = "Wing", kind = "short", who = "number two", to = "left", attached = true }',
    '{ name = "Out", kind = "short", who = "tailback", to = "left" }',
    '{ name = "Yo", kind = "return", who = "number two", to = "right" }',
]


@pytest.mark.parametrize("motion", MOTIONS)
def test_a_motion_comes_back_the_same(demo_files: dict[str, str], motion: str) -> None:
    team = load_team(with_text(demo_files, "formations.toml", JET, f"{motion},\n  {JET}"))
    again = load_team(dump_team(team))
    assert again == team
    assert again.snap_formations == team.snap_formations


def test_rules_of_motion_come_back_the_same(demo_files: dict[str, str]) -> None:
    rows = '[[motion]]\ncoverage = "man"\nanswer = "run with him"\nowner = ["Sam", "edge"]\n\n[measures]'
    by_position = '[rules.by_position.Sam]\nattached = "run"\n\n[rules.by_position.Jack]'
    files = with_text(demo_files, "rules.toml", "[measures]", rows)
    team = load_team(with_text(files, "rules.toml", "[rules.by_position.Jack]", by_position))
    assert len(team.rules.motion) == 2
    assert load_team(dump_team(team)) == team
