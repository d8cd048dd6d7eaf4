"""A call on the field: to which side it goes against a formation, and what it becomes there. Knows no play.

Of a call's adjustments the first row that holds counts. A check leads to the other call as that one is played here, to
the same side where its own rule lets it go there, else to the side it goes to; its own checks don't count then: one
check leads to no second.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from quizgen.football.errors import WrongSide
from quizgen.football.facts import FormationFact, back_side, passing_strength, strength, tight_end_side
from quizgen.football.formation import Formation
from quizgen.football.pressure import GoesTo, Pressure
from quizgen.football.sides import Ball, Side


def _field(ball: Ball) -> Side | None:
    """The wide side: away from the hash on which the ball lies."""
    return {Ball.LEFT: Side.RIGHT, Ball.RIGHT: Side.LEFT}.get(ball)


def _other(side: Side | None) -> Side | None:
    return side.other if side else None


# The one side that a word names; None where the formation or the ball's place has no such side.
NAMED_SIDE: Mapping[GoesTo, Callable[[Formation, Ball], Side | None]] = MappingProxyType(
    {
        GoesTo.AS_CALLED: lambda formation, ball: None,
        GoesTo.TIGHT_END: lambda formation, ball: tight_end_side(formation),
        GoesTo.STRENGTH: lambda formation, ball: strength(formation),
        GoesTo.PASSING_STRENGTH: lambda formation, ball: passing_strength(formation),
        GoesTo.FIELD: lambda formation, ball: _field(ball),
        GoesTo.BOUNDARY: lambda formation, ball: _other(_field(ball)),
        GoesTo.BACK: lambda formation, ball: back_side(formation),
        GoesTo.AWAY_FROM_BACK: lambda formation, ball: _other(back_side(formation)),
    }
)


def call_sides(pressure: Pressure, formation: Formation, ball: Ball | None = None) -> tuple[Side, ...]:
    """The sides that a call's own rule lets it go to against a formation: that of the first word which names one, both
    where none does. ``ball`` None: wherever it lies."""
    places = tuple(Ball) if ball is None else (ball,)
    named = [find_named_side(pressure, formation, place) for place in places]
    return tuple(side for side in Side if any(one is None or one[1] is side for one in named))


def find_named_side(pressure: Pressure, formation: Formation, ball: Ball) -> tuple[GoesTo, Side] | None:
    """The first word of a call's rule that names a side here, and that side; None where none does."""
    for goes_to in pressure.goes_to:
        side = NAMED_SIDE[goes_to](formation, ball)
        if side is not None:
            return goes_to, side
    return None


def check_side(pressure: Pressure, to: Side, formation: Formation, ball: Ball | None = None) -> None:
    """Refuse a side that the call's own rule does not let it go to; ``ball`` None: wherever it lies.

    Raises:
        WrongSide: naming the side to which the call goes.
    """
    if to not in call_sides(pressure, formation, ball):
        named = find_named_side(pressure, formation, ball or Ball.MIDDLE)
        assert named is not None  # a rule that names no side lets it go to both
        raise WrongSide(pressure.name, named[0].value, formation.name, named[1].value, to.value)


@dataclass(frozen=True, slots=True)
class Adjusted:
    """How the call that was made became the one that is played: its name and side, what it was adjusted against, and
    the call that it was checked to (empty: none)."""

    call: str
    to: Side
    against: tuple[FormationFact, ...]
    check: str = ""
    check_to: Side | None = None

    @property
    def words(self) -> str:
        """In a few words: "trips to: checked to Blitz"; the side too, where it is another."""
        against = " and ".join(fact.word for fact in self.against)
        if not self.check:
            return f"{against}: adjusted"
        side = f" {self.check_to.value}" if self.check_to and self.check_to is not self.to else ""
        return f"{against}: checked to {self.check}{side}"


@dataclass(frozen=True, slots=True)
class PlayedCall:
    """A call as it is played against a formation; ``adjusted`` is None where it is played as it was called."""

    pressure: Pressure
    to: Side
    adjusted: Adjusted | None = None


def play_call(
    pressure: Pressure,
    to: Side,
    formation: Formation,
    find_call: Callable[[str], Pressure],
    ball: Ball | None = None,
) -> PlayedCall:
    """What a call to ``to`` is against a formation; ``find_call`` gives the call of a name.

    Raises:
        UnknownName: it checks to a call that the team does not have.
    """
    number = find_row(pressure, to, formation)
    if number is None:
        return PlayedCall(pressure, to)
    row, changed = pressure.adjust[number], pressure.changed[number]
    if changed is not None:
        return PlayedCall(changed, to, Adjusted(pressure.name, to, row.against))
    other, check_to = follow_check(row.check, to, formation, find_call, ball)
    own = find_row(other, check_to, formation, checks=False)
    changed = other.changed[own] if own is not None else None
    return PlayedCall(changed or other, check_to, Adjusted(pressure.name, to, row.against, other.name, check_to))


def follow_check(
    name: str, to: Side, formation: Formation, find_call: Callable[[str], Pressure], ball: Ball | None = None
) -> tuple[Pressure, Side]:
    """The call that a check leads to, and the side it goes to; raises UnknownName."""
    other = find_call(name)
    sides = call_sides(other, formation, ball)
    return other, to if to in sides else sides[0]


def find_row(pressure: Pressure, to: Side, formation: Formation, *, checks: bool = True) -> int | None:
    """The number of the first adjustment that holds, from 0, those that check left out where ``checks`` is False."""
    for number, row in enumerate(pressure.adjust):
        if (checks or not row.check) and row.holds(formation, to):
            return number
    return None
