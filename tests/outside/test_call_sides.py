"""To which side a call goes, as coaches have written it, against the rule words here.

source: coaches' clinic forum, reply 126729 (2020-11-24), where field players line up: with the ball in the middle to
    the passing strength, with the ball on a hash to the field
The count of receivers to a side as passing strength is common practice.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from quizgen.football.calling import call_sides
from quizgen.football.formation import Role
from quizgen.football.layout import lay_out
from quizgen.football.pressure import GoesTo
from quizgen.football.sides import Ball, Side
from tests.outside.field import Defense

LINE = (Role.GUARD, Role.TACKLE)
# Three receivers on the defense's left, one on its right.
TRIPS_LEFT = lay_out(
    "trips left",
    LINE,
    LINE,
    quarterback_yd=4.5,
    receivers=[(Side.LEFT, 14, True), (Side.LEFT, 9, False), (Side.LEFT, 5, False), (Side.RIGHT, 12, True)],
)


@pytest.mark.parametrize(("ball", "side"), [(Ball.MIDDLE, Side.LEFT), (Ball.LEFT, Side.RIGHT), (Ball.RIGHT, Side.LEFT)])
def test_field_players_go_to_the_field_and_from_the_middle_to_the_passing_strength(ball: Ball, side: Side) -> None:
    _, call = Defense().pressure()
    to_field = replace(call, goes_to=(GoesTo.FIELD, GoesTo.PASSING_STRENGTH))
    assert call_sides(to_field, TRIPS_LEFT, ball) == (side,)
