"""The laws for snaps whose call has a side rule, adjustments and men who show, with the ball on any hash.

The calls are generated: each row moves men, gives rushers other gaps, or checks to another call of the same eleven.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import replace
from functools import cache

import pytest

from quizgen.engine.verdict import RunAnswer, solve
from quizgen.football.calling import PlayedCall, call_sides, play_call
from quizgen.football.errors import FootballValueError, NoRule
from quizgen.football.facts import OF_A_SIDE, OF_THE_WHOLE, FormationFact
from quizgen.football.formation import Formation
from quizgen.football.pressure import Adjustment, GoesTo, Pressure
from quizgen.football.sides import Ball, Side, Toward
from quizgen.football.team import Situation
from tests.engine import laws
from tests.engine.generate import any_gap, any_override, any_situation
from tests.engine.plays import Choose
from tests.engine.test_laws import COUNT, SEED

pytestmark = pytest.mark.slow

FACTS = (
    *(FormationFact(fact, toward) for fact in OF_A_SIDE for toward in (None, *Toward)),
    *map(FormationFact, OF_THE_WHOLE),
)
LAWS = (
    laws.mirror_law,
    laws.lane_count_law,
    laws.soundness_law,
    laws.blockers_law,
    laws.phases_law,
    laws.one_blocker_law,
    laws.beaten_law,
    laws.hinge_law,
    laws.idle_law,
    laws.one_answer_law,
)


def any_row(choose: Choose, s: Situation) -> Adjustment:
    """A row that checks to the other call, moves men, or gives rushers other gaps."""
    against = tuple(choose(FACTS) for _ in range(choose((1, 1, 2))))
    if choose((True, False, False)):
        return Adjustment(against, "other")
    align = any_override(choose, list(s.front.spots))
    some = [rush for rush in s.pressure.rushes if rush.second_gap is None and choose((True, False))]
    rushes = tuple(replace(rush, gap=any_gap(choose)) for rush in some)
    return Adjustment(against, align=align or any_override(lambda one: one[-1], list(s.front.spots)), rushes=rushes)


def any_call(choose: Choose, s: Situation, name: str) -> Pressure:
    """The snap's call with a side rule, rows and a man who shows."""
    rows = tuple(any_row(choose, s) for _ in range(choose((1, 2, 3))))
    droppers = [spot for spot in s.front.spots if s.pressure.find_rush(spot.position) is None]
    show = any_override(choose, droppers) if droppers else ()
    goes_to = tuple(choose(tuple(GoesTo)) for _ in range(choose((0, 1, 2))))
    return replace(s.pressure, name=name, key=name, adjust=rows, show=show, goes_to=goes_to)


Snap = tuple[Situation, dict[str, Pressure], Ball, PlayedCall, RunAnswer]


def played(calls: dict[str, Pressure], to: Side, formation: Formation, ball: Ball) -> PlayedCall:
    return play_call(calls["call"], to, formation, calls.__getitem__, ball)


def draws() -> Iterator[Snap]:
    """Solved snaps without end: as drawn, the two calls, the ball, the call as played, the answer."""
    choose = random.Random(SEED).choice
    while True:
        try:
            s = any_situation(choose)
            calls = {name: any_call(choose, s, name) for name in ("call", "other")}
        except FootballValueError:
            continue
        ball = choose(tuple(Ball))
        to = choose(call_sides(calls["call"], s.formation, ball))
        found = played(calls, to, s.formation, ball)
        one = replace(s, pressure=found.pressure, to=found.to, adjusted=found.adjusted)
        try:
            yield one, calls, ball, found, solve(one)
        except NoRule:
            continue


@cache
def snaps() -> tuple[Snap, ...]:
    """Enough snaps."""
    found = draws()
    return tuple(next(found) for _ in range(COUNT))


def test_the_draws_hold_what_they_are_for() -> None:
    adjusted = [found.adjusted for *_, found, _ in snaps()]
    assert sum(one is not None for one in adjusted) > COUNT // 4
    assert sum(bool(one and one.check) for one in adjusted) > COUNT // 20
    assert sum(bool(one and one.check and one.check_to is not one.to) for one in adjusted) > COUNT // 100
    assert sum(any(fit.man.shows for fit in answer.fits) for *_, answer in snaps()) > COUNT // 10


@pytest.mark.parametrize("law", LAWS, ids=[law.__name__ for law in LAWS])
def test_laws_hold_for_adjusted_calls(law: object) -> None:
    assert callable(law)
    for *_, answer in snaps():
        problems = law(answer)
        assert not problems, f"seed {SEED}: {problems}\n{answer.situation}"


def test_turned_round_a_call_is_adjusted_to_the_same() -> None:
    """The mirror law for the side rule, the rows, the checks and the hash."""
    for s, calls, ball, found, _ in snaps():
        called = found.adjusted.to if found.adjusted else found.to
        turned = played(calls, called.other, s.formation.mirrored, ball.mirrored)
        assert (turned.pressure, turned.to) == (found.pressure, found.to.other)
        words = [one.adjusted.against if one.adjusted else None for one in (found, turned)]
        assert words[0] == words[1]


def test_a_check_leads_to_no_second() -> None:
    """What is played is the call itself or the other one, as one of its own rows changes it, or as it is."""
    for _, calls, _, found, _ in snaps():
        own = calls["other" if found.adjusted and found.adjusted.check else "call"]
        assert found.pressure in (own, *own.changed)
