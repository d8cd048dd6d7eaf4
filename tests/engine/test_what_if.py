"""Losing a lane: by the block, and by running to the spot. The two ways are held against each other for reach
movement."""

from __future__ import annotations

import pytest

from quizgen.engine.alignment import spot_x
from quizgen.engine.timing import Arrival
from quizgen.engine.what_if import LossKind, beaten, to_the_spot
from quizgen.football.defense import PlayerClass
from quizgen.football.errors import FootballValueError
from quizgen.football.pressure import RunJob
from quizgen.football.scheme import Scheme, SchemeFamily
from quizgen.football.sides import Gap, Letter, Side
from tests.engine.snap import play
from tests.engine.test_pulls import ONE_BACK, six_man_cross
from tests.outside.field import GUARD_KICK, STEP_YD, ZONE, Defense, formation, row

OUTSIDE_ZONE = Scheme("outside zone", SchemeFamily.OUTSIDE_ZONE, (row("reach", "line"),), None)
INTERIOR = ("left tackle", "second", "first", "right tackle")


@pytest.mark.parametrize("to", list(Side))
@pytest.mark.parametrize("play", [ZONE, OUTSIDE_ZONE], ids=lambda p: p.name)
@pytest.mark.parametrize("position", INTERIOR)
def test_the_spot_and_the_hook_agree_where_the_movement_passes_the_spot(play: Scheme, to: Side, position: str) -> None:
    # Zone steps move 0.6 of a gap, reach steps 1.1: both pass the middle of a gap (common practice: half a gap to a
    # gap, or more).
    answer = six_man_cross().against(ONE_BACK, play, to)
    assert to_the_spot(answer, position).lane == beaten(answer, position).lane


def test_a_hooked_man_opens_his_lane_and_doubles_the_next() -> None:
    answer = six_man_cross().against(ONE_BACK, ZONE, Side.RIGHT)
    loss = beaten(answer, "first")
    assert loss.how is LossKind.BEATEN
    assert [answer.lanes[i].name for i in loss.opens] == ["right A"]
    assert answer.lanes[loss.lane or 0].name == "left A"
    assert loss.covers == ()


def test_an_alley_man_can_still_cover_what_opens() -> None:
    defense = six_man_cross().support("alley", RunJob.ALLEY, "R", 2.0, 5.0, PlayerClass.SAFETY)
    answer = defense.against(ONE_BACK, ZONE, Side.RIGHT)
    covers = beaten(answer, "first").covers
    assert [(c.position, answer.lanes[c.lane].name, c.arrival) for c in covers] == [
        ("alley", "right A", Arrival.ON_TIME)
    ]


def test_a_man_over_the_top_who_runs_to_his_spot_leaves_the_play_side_one_short() -> None:
    answer = six_man_cross().against(ONE_BACK, GUARD_KICK, Side.RIGHT)
    loss = to_the_spot(answer, "second")
    assert [answer.lanes[i].name for i in loss.opens] == ["right C inside the kick"]


def test_a_double_team_leaves_him_in_no_other_lane() -> None:
    answer = Defense().down("tackle", "3", "R", "R B").against(ONE_BACK, play("double: line"), Side.RIGHT)
    loss = beaten(answer, "tackle")
    assert loss.lane is None
    assert [answer.lanes[i].name for i in loss.opens] == ["right B"]


def test_nobody_threatened_and_nobody_with_a_gap_are_refused() -> None:
    answer = six_man_cross().against(ONE_BACK, ZONE, Side.RIGHT)
    with pytest.raises(FootballValueError, match="whom a blocker threatens"):
        beaten(answer, "left end")
    with pytest.raises(FootballValueError, match="owns a lane"):
        to_the_spot(answer, "cover 1")


def test_spots_are_the_middles_of_the_gaps_before_the_snap() -> None:
    offense = formation("GT", "GTE", ("tailback", 0.0, 6.9))
    assert spot_x(offense, Gap(Side.RIGHT, Letter.A)) == pytest.approx(STEP_YD / 2)
    assert spot_x(offense, Gap(Side.LEFT, Letter.B)) == pytest.approx(-1.5 * STEP_YD)
    assert spot_x(offense, Gap(Side.RIGHT, Letter.D)) == pytest.approx(3 * STEP_YD + 1)
