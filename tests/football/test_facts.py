"""Facts of formations, strength and the side that a call goes to, worked out by hand.

Common practice throughout: the words are the trade's, the formations our own. Published rules stand in tests/outside.
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, reject
from hypothesis import strategies as st

from quizgen.football.calling import call_sides, check_side
from quizgen.football.errors import FootballValueError, WrongSide
from quizgen.football.facts import (
    OF_A_SIDE,
    OF_THE_WHOLE,
    Fact,
    FormationFact,
    back_side,
    parse_fact,
    passing_strength,
    strength,
)
from quizgen.football.formation import Formation, Role
from quizgen.football.layout import Back, Receiver, lay_out
from quizgen.football.pressure import GoesTo
from quizgen.football.rules import Measures
from quizgen.football.sides import Ball, Side, Toward
from tests.engine.generate import any_formation
from tests.outside.field import Defense

G, T, E, W = Role.GUARD, Role.TACKLE, Role.END, Role.WING
LEFT, RIGHT = Side.LEFT, Side.RIGHT
FULL: Back = (Role.FULLBACK, 0.0, 4.2)
TAIL: Back = (Role.TAILBACK, 0.0, 6.9)
GUN_TAIL: Back = (Role.TAILBACK, 1.6, 4.5)


def made(
    left: str, right: str, receivers: list[Receiver], backs: list[Back] | None = None, quarterback_yd: float = 1.5
) -> Formation:
    """A formation from letters: "GT", "GTE", "GTEW"."""
    roles = {"G": G, "T": T, "E": E, "W": W}
    return lay_out(
        "table",
        [roles[one] for one in left],
        [roles[one] for one in right],
        quarterback_yd=quarterback_yd,
        backs=[FULL, TAIL] if backs is None else backs,
        receivers=receivers,
    )


PRO = made("GT", "GTE", [(LEFT, 12, True), (RIGHT, 10, False)])
WING = made("GT", "GTEW", [(LEFT, 12, True)])
DOUBLE = made("GTE", "GTE", [(RIGHT, 10, False)])
ACE_SLOT = made("GT", "GTE", [(LEFT, 14, True), (LEFT, 6, False), (RIGHT, 10, False)], [TAIL])
TREY = made("GT", "GTE", [(LEFT, 12, True), (RIGHT, 10, False), (RIGHT, 5, False)], [TAIL])
SPREAD = made("GT", "GT", [(s, yd, yd > 9) for s in Side for yd in (14, 6)], [GUN_TAIL], 4.5)
TRIPS = made("GT", "GT", [(LEFT, 14, True), (RIGHT, 15, True), (RIGHT, 9, False), (RIGHT, 4, False)], [GUN_TAIL], 4.5)
NUB_TRIPS = made("GTE", "GT", [(RIGHT, 15, True), (RIGHT, 9, False), (RIGHT, 4, False)], [TAIL], 4.5)
EMPTY = made(
    "GT", "GT", [(LEFT, 14, True), (LEFT, 6, False), (RIGHT, 15, True), (RIGHT, 9, False), (RIGHT, 4, False)], [], 4.5
)
QUADS = made(
    "GT", "GT", [(LEFT, 14, True), (RIGHT, 15, True), (RIGHT, 11, False), (RIGHT, 7, False), (RIGHT, 4, False)], [], 4.5
)
BUNCH = made("GT", "GT", [(LEFT, 14, True), (RIGHT, 8, True), (RIGHT, 6.5, False), (RIGHT, 4.5, False)], [TAIL])
OVER = made("GT", "GTTE", [(LEFT, 6, False)])
END_OVER = made("GT", "GTE", [(LEFT, 6, False), (RIGHT, 12, True)])
BONE = made("GTE", "GT", [(RIGHT, 12, True)], [FULL, (Role.TAILBACK, -2.0, 5.5), (Role.TAILBACK, 2.0, 5.5)])
WIDE_BACK = made("GT", "GT", [(s, yd, yd > 9) for s in Side for yd in (14, 6)], [(Role.TAILBACK, 10.0, 1.0)], 4.5)

# Every fact that holds, as it is on each side of the formation, and as a whole.
HELD = [
    (PRO, "open left; tight end, strength, passing strength right; two backs, under center"),
    (WING, "open left; tight end, nub, wing, strength, passing strength right; two backs, under center"),
    (DOUBLE, "tight end, nub left; tight end, strength, passing strength right; two backs, two tight ends, under center"),  # noqa: E501
    (ACE_SLOT, "open, twins left; tight end, strength, passing strength right; one back, under center"),
    (TREY, "open left; tight end, trips, strength, passing strength right; one back, under center"),
    (SPREAD, "open, twins left; open, twins, back, strength, passing strength right; one back, no tight end, gun"),
    (TRIPS, "open left; open, trips, back, strength, passing strength right; one back, no tight end, gun"),
    (NUB_TRIPS, "tight end, nub, strength left; open, trips, passing strength right; one back, gun"),
    (EMPTY, "open, twins left; open, trips, strength, passing strength right; empty, no tight end, gun"),
    (QUADS, "open left; open, trips, quads, strength, passing strength right; empty, no tight end, gun"),
    (BUNCH, "open left; open, trips, bunch, strength, passing strength right; one back, no tight end, under center"),
    (OVER, "open left; tight end, nub, unbalanced, strength, passing strength right; two backs, under center"),
    (END_OVER, "open left; tight end, unbalanced, strength, passing strength right; two backs, under center"),
    (BONE, "tight end, nub, strength, passing strength left; open right; three backs, under center"),
    (WIDE_BACK, "open, twins left; open, trips, strength, passing strength right; empty, no tight end, gun"),
]  # fmt: skip


def held(formation: Formation) -> set[str]:
    """Every fact that holds, with its side."""
    whole = {fact.value for fact, holds in OF_THE_WHOLE.items() if holds(formation)}
    return whole | {f"{f.value} {s.value}" for f, holds in OF_A_SIDE.items() for s in Side if holds(formation, s)}


def written(words: str) -> set[str]:
    """The table's words as ``held`` gives them."""
    left, right, whole = words.split("; ")
    sided = [(part.rpartition(" ")[0], part.rpartition(" ")[2]) for part in (left, right)]
    return {f"{fact} {side}" for facts, side in sided for fact in facts.split(", ")} | set(whole.split(", "))


@pytest.mark.parametrize(("formation", "words"), HELD, ids=[words for _, words in HELD])
def test_every_fact_of_a_formation(formation: Formation, words: str) -> None:
    assert held(formation) == written(words)


def test_the_tables_define_each_fact_once() -> None:
    assert set(OF_A_SIDE) | set(OF_THE_WHOLE) == set(Fact)
    assert not set(OF_A_SIDE) & set(OF_THE_WHOLE)


FACTS = [FormationFact(f, toward) for f in OF_A_SIDE for toward in (None, *Toward)] + [
    FormationFact(f) for f in OF_THE_WHOLE
]


@pytest.mark.parametrize("fact", FACTS, ids=[fact.word for fact in FACTS])
def test_a_fact_is_read_as_it_is_written(fact: FormationFact) -> None:
    assert parse_fact(fact.word) == fact


def test_a_side_is_the_calls_own() -> None:
    to, away, either = (FormationFact(Fact.TRIPS, toward) for toward in (Toward.TO, Toward.AWAY, None))
    assert [fact.holds(TRIPS, RIGHT) for fact in (to, away, either)] == [True, False, True]
    assert [fact.holds(TRIPS, LEFT) for fact in (to, away, either)] == [False, True, True]
    assert [fact.holds(PRO, RIGHT) for fact in (to, away, either)] == [False, False, False]


BALLS = (Ball.LEFT, Ball.MIDDLE, Ball.RIGHT)
# The word, the formation, and the sides with the ball on the left hash, in the middle and on the right hash.
SIDES = [
    ((), PRO, "both both both"),
    ((GoesTo.TIGHT_END,), PRO, "right right right"),
    ((GoesTo.TIGHT_END,), DOUBLE, "both both both"),
    ((GoesTo.TIGHT_END,), SPREAD, "both both both"),
    ((GoesTo.TIGHT_END,), NUB_TRIPS, "left left left"),
    ((GoesTo.STRENGTH,), NUB_TRIPS, "left left left"),
    ((GoesTo.PASSING_STRENGTH,), NUB_TRIPS, "right right right"),
    ((GoesTo.FIELD,), PRO, "right both left"),
    ((GoesTo.BOUNDARY,), PRO, "left both right"),
    ((GoesTo.BACK,), SPREAD, "right right right"),
    ((GoesTo.AWAY_FROM_BACK,), SPREAD, "left left left"),
    ((GoesTo.BACK,), PRO, "both both both"),
    ((GoesTo.BACK,), WIDE_BACK, "both both both"),
    ((GoesTo.TIGHT_END, GoesTo.BACK), SPREAD, "right right right"),
]


@pytest.mark.parametrize(("goes_to", "formation", "words"), SIDES)
def test_the_side_a_call_goes_to(goes_to: tuple[GoesTo, ...], formation: Formation, words: str) -> None:
    _, call = Defense().pressure()
    call = replace(call, goes_to=goes_to)
    found = [call_sides(call, formation, ball) for ball in BALLS]
    assert ["both" if len(sides) == 2 else sides[0].value for sides in found] == words.split()
    for sides, ball in zip(found, BALLS, strict=True):
        for side in sides:
            check_side(call, side, formation, ball)
    assert set(call_sides(call, formation)) == set().union(*found)  # wherever the ball lies


def test_a_wrong_side_is_one_sentence() -> None:
    _, call = Defense().pressure()
    with pytest.raises(WrongSide) as caught:
        check_side(replace(call, goes_to=(GoesTo.TIGHT_END,)), LEFT, PRO)
    assert str(caught.value) == (
        "to: expected 'right', since 'table' goes to the tight end (formation 'table'), found 'left'"
    )
    with pytest.raises(WrongSide) as caught:
        check_side(replace(call, goes_to=(GoesTo.AWAY_FROM_BACK,)), RIGHT, SPREAD)
    assert "goes away from back (" in str(caught.value)


@st.composite
def formations(draw: st.DrawFn) -> Formation:
    """Any formation of the generator."""
    try:
        return any_formation(lambda options: draw(st.sampled_from(options)), Measures())
    except FootballValueError:
        reject()


@given(formations(), st.lists(st.sampled_from(GoesTo), max_size=3), st.sampled_from(Ball))
def test_turned_round_everything_is_on_the_other_side(formation: Formation, goes_to: list[GoesTo], ball: Ball) -> None:
    """The mirror law for facts, strength and the side of a call."""
    twin = formation.mirrored
    for fact, holds in OF_A_SIDE.items():
        assert [holds(twin, side.other) for side in Side] == [holds(formation, side) for side in Side], fact
    for whole in OF_THE_WHOLE.values():
        assert whole(twin) == whole(formation)
    for side_of in (strength, passing_strength, back_side):
        found = side_of(formation)
        assert side_of(twin) is (found.other if found else None)
    call = replace(Defense().pressure()[1], goes_to=tuple(goes_to))
    turned = call_sides(call, twin, ball.mirrored)
    assert {side.other for side in turned} == set(call_sides(call, formation, ball))
