"""The table cut to an opponent: weights by formation, run and direction, and the call's sum of a hundred. By hand."""

from __future__ import annotations

from dataclasses import replace

import pytest

from quizgen.engine.against import by_call, find_accepted_lack, lack_id, offense_of, spread, weigh
from quizgen.engine.report import check_situations, situations
from quizgen.engine.verdict import RunAnswer
from quizgen.football.opponent import AcceptedLack, ChartedOpponent, OpponentRun
from quizgen.football.sides import Side
from tests.reps.small_team import small_team

L, R = Side.LEFT, Side.RIGHT
OFFENSES = [(formation, play, side) for formation in ("I", "Trips") for play in ("Power", "Zone") for side in Side]


def runs(*rows: OpponentRun) -> ChartedOpponent:
    return ChartedOpponent("Pine Hollow", rows)


def test_a_run_that_is_known_fully_is_one_snap() -> None:
    shares, left = spread(runs(OpponentRun("Power", 3, "I", R), OpponentRun("Zone", 1, "Trips", L)), OFFENSES)
    assert shares == {("I", "Power", R): 0.75, ("Trips", "Zone", L): 0.25}
    assert left == ()


def test_without_a_side_both_sides_have_half() -> None:
    shares, _ = spread(runs(OpponentRun("Power", 3, "I")), OFFENSES)
    assert shares == {("I", "Power", L): 0.5, ("I", "Power", R): 0.5}


def test_without_a_formation_he_lines_up_as_he_mostly_does() -> None:
    # 3 of 4 snaps from the I are counted; the 8 powers from nobody knows where go 6 to the I and 2 to trips.
    rows = (OpponentRun("Zone", 3, "I", R), OpponentRun("Zone", 1, "Trips", R), OpponentRun("Power", 8, to=R))
    shares, _ = spread(runs(*rows), OFFENSES)
    assert {one: round(share * 12, 9) for one, share in shares.items()} == {
        ("I", "Zone", R): 3,
        ("Trips", "Zone", R): 1,
        ("I", "Power", R): 6,
        ("Trips", "Power", R): 2,
    }


def test_what_no_row_stands_for_is_said_and_weighs_nothing() -> None:
    jet, slide = OpponentRun("Jet sweep", 4), OpponentRun("Half slide", 6)
    shares, left = spread(runs(jet, OpponentRun("Power", 1, "I", R), slide), OFFENSES)
    assert left == (jet, slide)
    assert shares == {("I", "Power", R): 1.0}
    assert spread(runs(jet), OFFENSES) == ({}, (jet,))


@pytest.fixture(scope="module")
def answers() -> list[RunAnswer]:
    return list(check_situations(situations(small_team(), call="Anvil")))


def test_a_calls_weights_are_a_hundred_over_both_its_sides(answers: list[RunAnswer]) -> None:
    foe = runs(OpponentRun("Power", 6), OpponentRun("Inside zone", 3, "Even", R), OpponentRun("Veer", 1))
    rows, left = weigh(answers, foe)
    assert left == ()
    assert sum(row.weight for row in rows) == pytest.approx(100)
    to_left = sum(row.weight for row in rows if row.answer.situation.to is L)
    assert to_left == pytest.approx(50)
    zone = [row.weight for row in rows if offense_of(row.answer) == ("Even", "Inside zone", R)]
    assert zone == pytest.approx([15, 15])
    [call] = by_call(rows)
    assert call.sound + sum(one.snaps for one in call.short) == pytest.approx(100)


def test_an_accepted_lack_stays_short_and_is_marked(answers: list[RunAnswer]) -> None:
    short = next(answer for answer in answers if not answer.sound)
    s = short.situation
    foe = runs(OpponentRun(s.play.name, 1, s.formation.name, s.play_to))
    lack = AcceptedLack(s.pressure.name, "we live with it", to=s.to, play=s.play.name)
    rows, _ = weigh(answers, foe, (lack,))
    marked = {row.answer.situation.to: (row.accepted, row.answer.sound) for row in rows}
    assert marked[s.to] == ("we live with it", False)
    assert marked.get(s.to.other, ("", None))[0] == ""
    [call] = by_call(rows)
    assert call.accepted == pytest.approx(50)
    elsewhere = replace(lack, play_to=s.play_to.other)
    assert not any(row.accepted for row in weigh(answers, foe, (elsewhere,))[0])


def test_nothing_sound_is_accepted(answers: list[RunAnswer]) -> None:
    lack = AcceptedLack("Anvil", "all of it")
    every = runs(*(OpponentRun(play, 1) for play in {answer.situation.play.name for answer in answers}))
    rows, _ = weigh(answers, every, (lack,))
    assert all(bool(row.accepted) is not row.answer.sound for row in rows)


def test_a_lack_is_accepted_until_something_else_is_short(answers: list[RunAnswer]) -> None:
    short = next(answer for answer in answers if not answer.sound)
    sound = next(answer for answer in answers if answer.sound)
    lack = AcceptedLack("Anvil", "we live with it", lack=lack_id(short))
    assert find_accepted_lack([lack], short) is lack
    assert find_accepted_lack([replace(lack, lack="0" * 12)], short) is None
    assert find_accepted_lack([replace(lack, lack="0" * 12), lack], short) is lack
    assert lack_id(sound) == ""
    by_lanes = {}
    for one in answers:
        lanes = tuple(tuple(one.lanes[i].name for i in some) for some in (one.open, one.late))
        assert by_lanes.setdefault(lanes, lack_id(one)) == lack_id(one)
    assert len(set(by_lanes.values())) == len(by_lanes) > 2
