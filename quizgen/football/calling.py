"""A call on the field: to which side it goes against a formation. Knows no play."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType

from quizgen.football.errors import WrongSide
from quizgen.football.facts import back_side, passing_strength, strength, tight_end_side
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
