"""A rep judges an answer: every part right, sets where several are right, and clear refusals."""

from __future__ import annotations

import pytest

from quizgen.drawing.scene import Scene
from quizgen.football.errors import FootballValueError
from quizgen.football.sides import Side
from quizgen.reps.rep import BadAnswer, Choice, Rep, RepKeys, RepPart, Stage

SCENE = Scene("Title", "Words")
FIRST = RepPart(
    "Who?", (Choice("a", "k:a", "A", "A is gone."), Choice("b", "k:b", "B"), Choice("c", "k:c", "C")), frozenset("bc")
)
SECOND = RepPart("Where?", (Choice("d", "k:d", "D"), Choice("e", "k:e", "E", "E is open.")), frozenset("d"))


def rep(*parts: RepPart) -> Rep:
    return Rep(
        "0" * 24,
        "hooked",
        Stage.RUNS,
        "Will",
        "Anvil",
        Side.LEFT,
        "Even",
        "Power",
        Side.LEFT,
        "Stem?",
        parts,
        "Because.",
        "p",
        "g",
        SCENE,
        SCENE,
        RepKeys("will", "anvil", "even", "power", "0" * 16),
    )


@pytest.mark.parametrize(
    ("answer", "is_right"), [("bd", True), ("cd", True), ("ad", False), ("be", False), ("ae", False)]
)
def test_every_part_must_be_right(answer: str, is_right: bool) -> None:
    assert rep(FIRST, SECOND).is_right(list(answer)) is is_right


@pytest.mark.parametrize(
    ("answer", "words"),
    [("bd", "Because."), ("ad", "A is gone. Because."), ("be", "E is open. Because."), ("ae", "A is gone. Because.")],
)
def test_explain(answer: str, words: str) -> None:
    assert rep(FIRST, SECOND).explain(list(answer)) == words


@pytest.mark.parametrize("answer", ["", "b", "bdd", "zd", "bz", "db"])
def test_an_answer_that_is_none(answer: str) -> None:
    for judge in (rep(FIRST, SECOND).is_right, rep(FIRST, SECOND).explain, rep(FIRST, SECOND).after):
        with pytest.raises(BadAnswer, match="answer: expected"):
            judge(list(answer))


@pytest.mark.parametrize(
    ("choices", "right"), [("a", "a"), ("aa", "a"), ("ab", ""), ("ab", "ab"), ("ab", "c"), ("ab", "ac")]
)
def test_a_part_that_cannot_be(choices: str, right: str) -> None:
    with pytest.raises(FootballValueError, match="expected"):
        RepPart("?", tuple(Choice(one, one, one) for one in choices), frozenset(right))


def test_two_choices_of_one_key_are_refused() -> None:
    with pytest.raises(FootballValueError, match="each key once"):
        RepPart("?", (Choice("a", "man:Mike", "Mike"), Choice("b", "man:Mike", "You")), frozenset("a"))


def test_stages_have_titles() -> None:
    assert len({stage.title for stage in Stage}) == len(Stage) == 5


def test_after_a_miss_without_a_lane_the_picture_is_the_moved_one() -> None:
    asked = rep(FIRST, SECOND)
    assert asked.after(list("ae")) == asked.moved
