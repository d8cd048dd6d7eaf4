"""Rushers whose paths cross: who is there first, and the delay that mends a collision. Times worked by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest

from quizgen.engine.alignment import line_up
from quizgen.engine.crossing import Crossing, crossings
from quizgen.football.pressure import Path
from quizgen.football.rules import DEFAULT_RUSH_PACE, Timing
from quizgen.football.sides import Side
from quizgen.football.team import Situation
from tests.engine.test_pulls import ONE_BACK
from tests.outside.field import ZONE, Defense

TIMING = Timing()


def found(defense: Defense) -> tuple[Crossing, ...]:
    front, pressure = defense.pressure()
    s = Situation(defense.rules, tuple(defense.positions), front, pressure, Side.RIGHT, ONE_BACK, ZONE, Side.RIGHT)
    return crossings(line_up(s), ONE_BACK, TIMING)


def cross(second_order: int) -> Defense:
    """Two backers over the guards, equally deep, who trade A gaps: their paths meet over the center."""
    defense = Defense().rush("first", "guard", "L", "R A", path=Path.CROSS)
    return defense.rush("second", "guard", "R", "L A", order=second_order, path=Path.CROSS)


def test_the_second_man_waits_his_turn_and_is_clear() -> None:
    (crossing,) = found(cross(2))
    assert (crossing.first, crossing.second) == ("first", "second")
    assert crossing.x == pytest.approx(0)
    # Same path length on both sides: the times differ by the order delay alone.
    assert crossing.second_s - crossing.first_s == pytest.approx(TIMING.order_delay_s)
    assert crossing.works
    assert "clear by 0.25 s" in crossing.sentence


def test_two_men_called_first_collide_and_the_delay_is_said() -> None:
    (crossing,) = found(cross(1))
    assert not crossing.works
    assert crossing.delay_s == pytest.approx(TIMING.cross_clearance_s)
    assert "must wait 0.15 s more" in crossing.sentence


def test_a_first_man_who_starts_deeper_is_there_too_late() -> None:
    defense = (
        Defense().rush("first", "guard", "L", "R A", depth=6.0).rush("second", "guard", "R", "L A", order=2, depth=2.0)
    )
    (crossing,) = found(defense)
    assert not crossing.works
    # Both backers run at the same pace, so the delay is the gap between their times plus the clearance.
    assert crossing.delay_s == pytest.approx(crossing.first_s + 0.15 - crossing.second_s, abs=0.01)


def test_straight_paths_do_not_cross() -> None:
    assert found(Defense().rush("one", "guard", "L", "L A").rush("two", "guard", "R", "R A", order=2)) == ()


def test_a_slower_team_is_slower() -> None:
    slow = replace(TIMING, rush={cls: replace(pace, speed_yd_s=1.0) for cls, pace in DEFAULT_RUSH_PACE.items()})
    defense = cross(2)
    front, pressure = defense.pressure()
    s = Situation(defense.rules, tuple(defense.positions), front, pressure, Side.RIGHT, ONE_BACK, ZONE, Side.RIGHT)
    (fast_one,), (slow_one,) = crossings(line_up(s), ONE_BACK, TIMING), crossings(line_up(s), ONE_BACK, slow)
    assert slow_one.first_s > fast_one.first_s
