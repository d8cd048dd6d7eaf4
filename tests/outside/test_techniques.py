"""Techniques and gaps as printed in books, against the numbers and letters used here.

source: Paul W. Bryant, Building a Championship Football Team, Prentice-Hall 1960 (Project Gutenberg 68466), ch. 4,
    fig. 1: numbers from the inside out 0 1 2 3 4 5 7 6 9 8
source: a published high-school playbook, 2010-11: three numbers a man from the guard out
source: Wikipedia, "Gap (American football)": A between center and guard, B guard and tackle, C outside the tackle, D
    outside the tight end; a front of n men makes n + 1 gaps
The E gap is common practice. What each number means in our tables is tested in tests/football/test_techniques.py.
"""

from __future__ import annotations

import pytest

from quizgen.engine.alignment import place
from quizgen.football.defense import Alignment, Numbering, parse_technique
from quizgen.football.formation import Formation, Role
from quizgen.football.layout import lay_out
from quizgen.football.rules import Measures
from quizgen.football.sides import Side, Toward

G, T, E, W = Role.GUARD, Role.TACKLE, Role.END, Role.WING
TIGHT = lay_out("tight", (G, T), (G, T, E), quarterback_yd=1.5, receivers=[(Side.LEFT, 10.0, True)])


def x_of(technique: str, numbering: Numbering, formation: Formation = TIGHT, side: Toward = Toward.TO) -> float:
    """Where a technique lines up in yards, by default on the side with the tight end."""
    landmark, shade = parse_technique(technique, numbering)
    return place(Alignment(landmark, side, shade), Side.RIGHT, formation, Measures())


# source: Bryant 1960, ch. 4, fig. 1.
BRYANT_ORDER = ("0", "1", "2", "3", "4", "5", "7", "6", "9", "8")
# source: a published high-school playbook, 2010-11.
THREE_A_MAN_ORDER = ("0", "1", "2", "3", "4", "5", "6", "7", "8", "9")


@pytest.mark.parametrize(
    ("numbering", "order"),
    [(Numbering.ONE_TO_NINE, BRYANT_ORDER), (Numbering.THREE_A_MAN, THREE_A_MAN_ORDER)],
    ids=["Bryant", "three a man"],
)
def test_techniques_run_from_the_inside_out_in_the_printed_order(numbering: Numbering, order: tuple[str, ...]) -> None:
    places = [x_of(number, numbering) for number in order]
    assert places == sorted(places)
    assert len(set(places)) == len(places)


@pytest.mark.parametrize("numbering", list(Numbering))
def test_without_a_tight_end_the_order_is_the_same(numbering: Numbering) -> None:
    order = BRYANT_ORDER if numbering is Numbering.ONE_TO_NINE else THREE_A_MAN_ORDER
    places = [-x_of(number, numbering, side=Toward.AWAY) for number in order]
    assert places == sorted(places)


# source: Wikipedia, "Gap (American football)": n men make n + 1 gaps; letters outward from the center. The E gap
# outside a second attached man is common practice. Each row: men left and right of the center, from the center out.
GAP_ROWS = [
    ((G, T), (G, T), "CBA ABC"),
    ((G, T), (G, T, E), "CBA ABCD"),
    ((G, T, E), (G, T, E), "DCBA ABCD"),
    ((G, T), (G, T, E, W), "CBA ABCDE"),
    ((G, T, E, W), (G, T, E), "EDCBA ABCD"),
    ((G, T), (G, T, E, E), "CBA ABCDE"),
    ((G, T), (G, T, T, E), "CBA ABCDE"),
]


@pytest.mark.parametrize(("left", "right", "letters"), GAP_ROWS)
def test_n_men_make_n_plus_one_gaps_lettered_from_the_center(
    left: tuple[Role, ...], right: tuple[Role, ...], letters: str
) -> None:
    formation = lay_out("any", left, right, quarterback_yd=1.5)
    ours, theirs = letters.split()
    expected = [f"left {letter}" for letter in ours] + [f"right {letter}" for letter in theirs]
    assert [gap.name for gap in formation.gaps] == expected
    assert len(formation.gaps) == len(formation.surface) + 1 == len(left) + len(right) + 2
