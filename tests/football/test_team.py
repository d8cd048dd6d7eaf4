"""A team finds its own things by name, and says what it has when it has not."""

from __future__ import annotations

import pytest

from quizgen.football.errors import UnknownName
from quizgen.football.scheme import Protection, Slide
from quizgen.football.sides import Side
from quizgen.football.team import TeamBook, find_named, pass_situation, situation
from tests.outside.field import BASE, ZONE, Defense, formation

FRONT, CALL = Defense().down("nose", "0", "R", "R A").pressure()
SLIDE = Protection("slide", Slide.FULL)
TEAM = TeamBook("team", tuple(Defense().positions), (FRONT,), (CALL,), (formation(),), (BASE, ZONE), (SLIDE,))


def test_each_kind_is_found_whatever_its_capitals() -> None:
    assert TEAM.front(" TABLE ") is FRONT
    assert TEAM.pressure("Table") is CALL
    assert TEAM.formation("table").name == "table"
    assert TEAM.play("Inside Zone") is ZONE
    assert TEAM.play("slide") is SLIDE


@pytest.mark.parametrize(
    ("ask", "words"),
    [
        (lambda: TEAM.position("Mike"), "position: expected one of none defined, found 'Mike'"),
        (lambda: TEAM.front("odd"), "front: expected one of table, found 'odd'"),
        (lambda: TEAM.pressure("odd"), "call: expected one of table, found 'odd'"),
        (lambda: TEAM.formation("odd"), "formation: expected one of table, found 'odd'"),
        (lambda: TEAM.play("odd"), "play: expected one of base, inside zone, slide, found 'odd'"),
        # A protection is no run, and a run no protection.
        (
            lambda: situation(TEAM, "table", Side.LEFT, "table", "slide", Side.LEFT),
            "play: expected one of base, inside zone, found 'slide'",
        ),
        (
            lambda: pass_situation(TEAM, "table", Side.LEFT, "table", "base", Side.LEFT),
            "protection: expected one of slide, found 'base'",
        ),
    ],
)
def test_an_unknown_name_is_told_with_what_there_is(ask: object, words: str) -> None:
    assert callable(ask)
    with pytest.raises(UnknownName) as caught:
        ask()
    assert str(caught.value) == words


def test_a_run_and_a_pass_by_name() -> None:
    run = situation(TEAM, "table", Side.LEFT, "table", "inside zone", Side.RIGHT)
    assert (run.front, run.pressure, run.play) == (FRONT, CALL, ZONE)
    assert (run.to, run.play_to, run.formation.name) == (Side.LEFT, Side.RIGHT, "table")
    assert (run.rules, run.positions) == (TEAM.rules, TEAM.positions)
    throw = pass_situation(TEAM, "table", Side.LEFT, "table", "slide", Side.RIGHT)
    assert (throw.front, throw.pressure, throw.protection) == (FRONT, CALL, SLIDE)
    assert (throw.to, throw.turn_to, throw.formation.name) == (Side.LEFT, Side.RIGHT, "table")


def test_the_first_of_that_name() -> None:
    assert find_named("play", " base ", (ZONE, BASE)) is BASE
    with pytest.raises(UnknownName, match="expected one of none defined"):
        find_named("play", "base", ())
