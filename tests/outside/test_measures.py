"""Measures and times of the game against the project's defaults.

source: medians of 527 tracked professional highlight plays 2017-19 (public repository asonty/ngs_highlights): center to
    guard 1.57 yd (1.30-1.83), guard to tackle 1.61 yd (1.35-1.85); a linebacker's first half yard 0.7 s, four yards
    2.0 s; a puller's 4.5 yd sideways 1.6 s (1.4-1.7); snap to the ball crossing the line 2.4-2.5 s (1.5-4.0)
source: published coaching articles: splits taught as 2 ft all along, or 1.5, 3 and 3.5 ft

The plays are by professionals and chosen for long gains: they bound the defaults but are not high-school times.
"""

from __future__ import annotations

from dataclasses import replace
from math import hypot
from statistics import median

import pytest

from quizgen.engine.alignment import line_up
from quizgen.engine.timing import arrival_s
from quizgen.football.defense import PlayerClass
from quizgen.football.formation import Role
from quizgen.football.layout import lay_out
from quizgen.football.pressure import RunJob
from quizgen.football.rules import DEFAULT_BALL_S, Measures, Timing
from quizgen.football.scheme import Scheme, SchemeFamily
from quizgen.football.sides import Side
from quizgen.football.team import Situation
from tests.outside.field import BASE, Defense, formation, row

OFFENSE = formation("GT", "GT", ("tailback", 0.0, 6.9))
FT = 1 / 3


def test_a_linebackers_first_half_yard_and_his_four_yards() -> None:
    # source: tracked professional plays: 0.7 s and 2.0 s; the defaults agree to .05 s
    defense = Defense().support("backer", RunJob.FREE, "R", 0.0, 4.0, PlayerClass.BACKER)
    front, call = defense.pressure()
    s = Situation(defense.rules, tuple(defense.positions), front, call, Side.RIGHT, OFFENSE, BASE, Side.RIGHT)
    backer = next(man for man in line_up(s) if man.position == "backer")
    assert arrival_s(backer, 0.0, Timing(), reads=True) == pytest.approx(2.0, abs=0.05)
    half_a_yard_off = replace(backer, depth_yd=0.5)
    assert arrival_s(half_a_yard_off, 0.0, Timing(), reads=True) == pytest.approx(0.7, abs=0.05)


def test_men_in_the_line_are_as_far_apart_as_measured() -> None:
    # source: tracked professional plays: center-guard 1.57 yd, guard-tackle 1.61 yd
    offense = lay_out("tight", (Role.GUARD, Role.TACKLE), (Role.GUARD, Role.TACKLE), quarterback_yd=1.5)
    center, guard, tackle = (p.x for p in offense.surface[2:])
    assert guard - center == pytest.approx(1.57, abs=0.005)
    assert tackle - guard == pytest.approx(1.61, abs=0.05)


@pytest.mark.parametrize(
    ("split_ft", "least", "most"),
    [(2.0, 1.30, 1.83), (1.5, 1.30, 1.83)],
)
def test_splits_as_taught_are_in_the_measured_range(split_ft: float, least: float, most: float) -> None:
    # source: articles: 2 ft all, or 1.5 ft guards; source: tracked professional plays: 1.30-1.83 yd center to guard
    assert least <= Measures(guard_split_yd=split_ft * FT).pitch_yd(Role.GUARD) <= most


def test_a_puller_goes_four_and_a_half_yards_in_the_time_measured() -> None:
    # source: tracked professional plays: 4.5 yd sideways in 1.6 s. The guard pulls from 1.57 yd left of the center and
    # turns up 1.3 yd outside the right tackle; his time is scaled to his own distance.
    pull = Scheme("pull", SchemeFamily.GUARD_KICK, (row("base", "line"), row("pull and kick", "back side guard")), None)
    answer = Defense().against(OFFENSE, pull, Side.RIGHT)
    puller = next(m for m in answer.moves if m.word == "kick")
    way_yd = hypot(puller.dx, puller.player.y)
    assert puller.at_s * 4.5 / way_yd == pytest.approx(1.6, abs=0.005)
    assert 1.4 <= 4.5 / Timing().puller_yd_s <= 1.7


def test_the_ball_crosses_the_line_when_measured() -> None:
    # source: tracked professional plays: 2.4-2.5 s, 1.5-4.0 s
    assert 2.4 <= median(DEFAULT_BALL_S.values()) <= 2.5
    assert all(1.5 <= seconds <= 4.0 for seconds in DEFAULT_BALL_S.values())
    assert set(DEFAULT_BALL_S) == set(SchemeFamily)
