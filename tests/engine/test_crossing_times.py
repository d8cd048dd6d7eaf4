"""Crossings to the hundredth: where two paths meet, who is there first, what delay would do. Worked by hand."""

from __future__ import annotations

from math import hypot

import pytest

from quizgen.engine.crossing import Crossing, crossings
from quizgen.football.defense import PlayerClass
from quizgen.football.pressure import RunJob
from quizgen.football.rules import Pace, Timing
from tests.engine.snap import ONE_BACK, STEP, men_of
from tests.outside.field import Defense

EVEN = Timing(rush=dict.fromkeys(PlayerClass, Pace(0.5, 4.0)), order_delay_s=0.5, cross_clearance_s=0.25)


def found(defense: Defense, timing: Timing = EVEN) -> tuple[Crossing, ...]:
    return crossings(men_of(defense), ONE_BACK, timing)


def cross(second_order: int = 2, depth: float = 4.5) -> Defense:
    """Backers over the guards trade A gaps."""
    defense = Defense().rush("first", "guard", "L", "R A")
    return defense.rush("second", "guard", "R", "L A", order=second_order, depth=depth)


def test_where_and_when_two_paths_meet() -> None:
    # Each runs from 1.57 yd on one side, 4.5 yd deep, to 0.785 yd on the other: two thirds of the way over the center,
    # 1.5 yd off the line. Two thirds of the hypotenuse of 2.355 and 4.5 is 3.386 yd, 0.846 s at 4 yd/s.
    (one,) = found(cross())
    assert (one.first, one.second) == ("first", "second")
    assert one.x == pytest.approx(0.0, abs=1e-9)
    assert one.depth_yd == pytest.approx(1.5)
    way_s = hypot(1.5 * STEP, 4.5) * 2 / 3 / 4
    assert one.first_s == pytest.approx(0.5 + way_s)
    assert one.second_s == pytest.approx(1.0 + way_s)
    assert (one.works, one.delay_s) == (True, 0.0)
    assert one.sentence == "first crosses in front of second: clear by 0.50 s"


def test_a_quarter_of_a_second_is_just_clear_enough() -> None:
    timing = Timing(rush=EVEN.rush, order_delay_s=0.25, cross_clearance_s=0.25)
    (one,) = found(cross(), timing)
    assert one.works
    assert one.sentence == "first crosses in front of second: clear by 0.25 s"


def test_the_delay_that_is_wanting_is_said_to_the_hundredth() -> None:
    # He follows 0.1234 s behind where 0.25 s is clear: 0.1266 s are wanting.
    timing = Timing(rush=EVEN.rush, order_delay_s=0.1234, cross_clearance_s=0.25)
    (one,) = found(cross(), timing)
    assert not one.works
    assert one.delay_s == 0.13
    assert one.sentence == "first crosses in front of second: second must wait 0.13 s more to be clear of him"


def test_called_together_the_shallower_is_the_first() -> None:
    (one,) = found(cross(1, depth=3.0))
    assert (one.first, one.second) == ("second", "first")


def test_called_together_and_as_deep_the_left_man_is_the_first() -> None:
    (one,) = found(cross(1))
    assert (one.first, one.second) == ("first", "second")
    assert one.delay_s == 0.25


def test_men_who_go_side_by_side_do_not_cross() -> None:
    # Both go one gap to the right, from 1.57 yd apart and as deep: parallel.
    assert found(Defense().rush("a", "guard", "L", "R A").rush("b", "center", "R", "R B")) == ()
    # Side by side without being parallel.
    assert found(Defense().rush("a", "guard", "L", "L A").rush("b", "guard", "R", "R C")) == ()


def test_men_who_change_sides_without_crossing_meet_within_seven_tenths_of_a_yard() -> None:
    # a goes from 0 yd out, 1 deep, to right C (4.14 yd out); b from 2.57 yd out, 4.5 deep, to right B (2.355 yd out)
    # with order 2: he ends up inside a. Their ways come nearest where a is at the line
    # before b.
    defense = Defense().rush("a", "center", "R", "R C", depth=1.0)
    defense.rush("b", "guard", "R", "R B", order=2, depth=4.5, out=1.0)
    assert [(one.first, one.second) for one in found(defense)] == [("a", "b")]


def test_men_almost_on_the_ball_cross_too() -> None:
    # 0.3 yd off the ball, from over the center to right A (0.785 yd) and from over the right guard to left A: they meet
    # half-way, 0.3925 yd out.
    defense = Defense().rush("a", "center", "R", "R A", depth=0.3).rush("b", "guard", "R", "L A", order=2, depth=0.3)
    (one,) = found(defense)
    assert (one.x, one.depth_yd) == (pytest.approx(STEP / 4), pytest.approx(0.15))


def test_men_of_unlike_depth_cross_where_their_ways_do() -> None:
    # a from (-1.57, 4 yd deep) to (0.785, 0), b from (1.57, 2 yd deep) to (-0.785, 0). At depth d they are at
    # 0.785 - 2.355 d / 4 and -0.785 + 2.355 d / 2: the same at d = 8 / 9, 0.2617 yd right of the center.
    defense = Defense().rush("a", "guard", "L", "R A", depth=4.0).rush("b", "guard", "R", "L A", order=2, depth=2.0)
    (one,) = found(defense)
    assert one.depth_yd == pytest.approx(8 / 9)
    assert one.x == pytest.approx(0.2617, abs=0.001)


def test_a_deep_man_who_passes_behind_a_lineman_does_not_cross_him() -> None:
    # The tackle goes from 2.02 yd out, a yard deep, to the edge. The backer from over the left guard to right B crosses
    # the line of his way 1.5 yd deep, behind where he started.
    defense = Defense().down("tackle", "3", "R", "R C").rush("backer", "guard", "L", "R B", order=2)
    assert found(defense) == ()


def test_men_in_one_gap_meet_only_at_its_end() -> None:
    assert found(Defense().rush("a", "guard", "L", "R A").rush("b", "tackle", "R", "R A", order=2)) == ()


def test_droppers_cross_nobody() -> None:
    defense = Defense().rush("first", "guard", "L", "R A").fill("Will", "guard", "R", "L A")
    assert found(defense.support("alley", RunJob.ALLEY, "R", 1.0, 5.0, PlayerClass.SAFETY)) == ()


def test_crossings_are_listed_from_left_to_right() -> None:
    # Ends and tackles trade on both sides; written right side first.
    defense = (
        Defense()
        .down("right tackle", "3", "R", "R C", order=2)
        .down("right end", "5", "R", "R B")
        .down("left tackle", "3", "L", "L C", order=2)
        .down("left end", "5", "L", "L B")
    )
    pairs = [(one.first, one.second) for one in found(defense)]
    assert pairs == [("left end", "left tackle"), ("right end", "right tackle")]
    left, right = found(defense)
    assert left.x == pytest.approx(-right.x)
    assert left.depth_yd == pytest.approx(right.depth_yd)
    # End: from 3.59 out to 2.355; tackle: from 2.02 out to 4.14, both a yard deep. They meet where
    # 3.59 - 1.235 t = 2.02 + 2.12 t: t = 0.468, 3.012 yd out and 0.532 yd off the line.
    assert right.x == pytest.approx(3.012, abs=0.001)
    assert right.depth_yd == pytest.approx(0.532, abs=0.001)
    # The end's way there is 0.578 by 0.468 yd, at 4 yd/s after half a second; the tackle's 0.992 by 0.468 yd after one.
    for one in (left, right):
        assert one.first_s == pytest.approx(0.5 + hypot(0.578, 0.468) / 4, abs=0.001)
        assert one.second_s == pytest.approx(1.0 + hypot(0.992, 0.468) / 4, abs=0.001)


def test_a_slower_man_is_later() -> None:
    mixed = {**EVEN.rush, PlayerClass.LINEMAN: Pace(0.5, 2.0)}
    defense = Defense().down("tackle", "3", "R", "R C", order=2).down("end", "5", "R", "R B")
    (even,), (slow,) = found(defense), found(defense, Timing(rush=mixed))
    assert slow.first_s == pytest.approx(0.5 + (even.first_s - 0.5) * 2)


def test_parallel_ways_on_which_men_change_sides_meet_nowhere() -> None:
    # a from 5.285 yd out, 4.5 deep, to right A (0.785 yd out); b from 3.855 yd out, 1.5 deep, to right B (2.355): both
    # a yard across for each yard up, 1.11 yd apart.
    defense = Defense().rush("a", "center", "R", "R A", depth=4.5, out=5.285)
    assert found(defense.rush("b", "center", "R", "R B", depth=1.5, out=3.855)) == ()


def test_called_together_the_first_is_who_is_there_first() -> None:
    # From 1.57 yd out on our right to right A and from over the center to right B, they cross. Called together, the
    # deeper man is first where he is there first: here the man on our right starts 2 yd deep, the other on the line.
    defense = Defense().rush("near", "guard", "R", "R A", depth=2.0).rush("far", "guard", "L", "R B", depth=1.8)
    (one,) = found(defense)
    assert (one.first, one.second) == ("near", "far")
    assert one.first_s < one.second_s


def test_a_man_with_two_gaps_holds_and_crosses_nobody() -> None:
    defense = Defense().down("nose", "0", "R", "R A", "L A").rush("backer", "guard", "R", "L A", order=2)
    assert found(defense) == ()
