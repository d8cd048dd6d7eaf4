"""A man who shows one place and plays from another: where he stands, when he is there, who reads him.

Worked by hand from the backer's pace; that he reads while he bails is common practice.
"""

from __future__ import annotations

from dataclasses import replace
from math import hypot

import pytest

from quizgen.engine.alignment import Man, line_up
from quizgen.engine.timing import arrival_s, turn_point
from quizgen.engine.verdict import solve
from quizgen.football.defense import Alignment, Landmark, PlayerClass, Shade
from quizgen.football.errors import NoRule
from quizgen.football.pressure import RunJob
from quizgen.football.rules import Timing
from quizgen.football.sides import Side, Toward
from quizgen.football.team import Situation
from tests.engine.snap import TWO_BACKS, situation, six
from tests.outside.field import BASE

IN_A = Alignment(Landmark.GUARD, Toward.TO, Shade.INSIDE, depth_yd=1.2)


def snap(show: Alignment | None = IN_A, to: Side = Side.RIGHT) -> Situation:
    """Six down men and a backer over the right guard who has the alley."""
    defense = six().support("backer", RunJob.ALLEY, "R", 1.5, 4.5, PlayerClass.BACKER)
    s = situation(defense, TWO_BACKS, BASE)
    pressure = replace(s.pressure, show=(("backer", show),) if show else ())
    return replace(s, pressure=pressure, to=to)


def backer(s: Situation) -> Man:
    return next(man for man in line_up(s) if man.position == "backer")


@pytest.mark.parametrize("to", list(Side))
def test_he_stands_at_what_he_shows_and_plays_from_his_spot(to: Side) -> None:
    man = backer(snap(to=to))
    assert (man.x, man.depth_yd) == (1.5 * to.sign, 4.5)
    assert man.stands == pytest.approx((1.12 * to.sign, 1.2), abs=0.01)  # the guard at 1.57, his inside shoulder
    assert backer(snap(None, to)).stands == (1.5 * to.sign, 4.5)
    assert man.mirrored.stands == (-man.stands[0], man.stands[1])


def test_he_bails_while_he_reads_and_goes_from_there() -> None:
    """A backer reads for his reaction time at his pace: so far he has gone of the way back to his spot."""
    man, pace = backer(snap()), Timing().read[PlayerClass.BACKER]
    x, depth = turn_point(man, pace)
    assert hypot(x - man.stands[0], depth - man.stands[1]) == pytest.approx(pace.reaction_s * pace.speed_yd_s)
    assert man.stands[1] < depth < man.depth_yd
    at = arrival_s(man, 5.0, Timing(), reads=True)
    assert at == pytest.approx(pace.reaction_s + hypot(5.0 - x, depth) / pace.speed_yd_s)
    slow = replace(pace, reaction_s=3.0)
    assert turn_point(man, slow) == pytest.approx((man.x, man.depth_yd))  # he is back at his spot, and no further
    assert turn_point(replace(man, shows=(man.x, man.depth_yd)), pace) == (man.x, man.depth_yd)


def test_two_men_can_not_show_one_place() -> None:
    on_the_nose = Alignment(Landmark.CENTER, Toward.TO, Shade.OUTSIDE, depth_yd=1.0)
    with pytest.raises(NoRule, match="line up in one place"):
        line_up(snap(on_the_nose))


@pytest.mark.parametrize("to", list(Side))
def test_turned_round_it_is_the_same_snap(to: Side) -> None:
    s = snap(to=to)
    turned = replace(s, to=to.other, formation=s.formation.mirrored, play_to=s.play_to.other)
    one, two = solve(s), solve(turned)
    assert [fit.man.stands for fit in one.fits] == [(-f.man.stands[0], f.man.stands[1]) for f in reversed(two.fits)]
    assert one.fit("backer").clock == two.fit("backer").clock
