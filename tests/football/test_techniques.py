"""What a technique number means in either numbering: the table as it was typed in, man by man.

source: Paul W. Bryant, Building a Championship Football Team, Prentice-Hall 1960 (Project Gutenberg 68466), ch. 4,
    fig. 1; a published high-school playbook, 2010-11. Their order from the inside out stands in tests/outside.
"""

from __future__ import annotations

import pytest

from quizgen.football.defense import Numbering, Shade, parse_technique
from quizgen.football.errors import FootballValueError

# source: Bryant 1960, ch. 4, fig. 1 for the numbers; the inside shades 2i and 4i are common practice. Key: the man he
# lines up on, and the shade, from the inside out.
LANDMARKS = [
    (Numbering.ONE_TO_NINE, "0", "center", Shade.HEAD),
    (Numbering.ONE_TO_NINE, "2", "guard", Shade.HEAD),
    (Numbering.ONE_TO_NINE, "2i", "guard", Shade.INSIDE),
    (Numbering.ONE_TO_NINE, "3", "guard", Shade.OUTSIDE),
    (Numbering.ONE_TO_NINE, "4", "tackle", Shade.HEAD),
    (Numbering.ONE_TO_NINE, "4i", "tackle", Shade.INSIDE),
    (Numbering.ONE_TO_NINE, "5", "tackle", Shade.OUTSIDE),
    (Numbering.ONE_TO_NINE, "7", "end", Shade.INSIDE),
    (Numbering.ONE_TO_NINE, "6", "end", Shade.HEAD),
    (Numbering.ONE_TO_NINE, "9", "end", Shade.OUTSIDE),
    # source: a published high-school playbook, 2010-11.
    (Numbering.THREE_A_MAN, "4", "tackle", Shade.INSIDE),
    (Numbering.THREE_A_MAN, "5", "tackle", Shade.HEAD),
    (Numbering.THREE_A_MAN, "6", "tackle", Shade.OUTSIDE),
    (Numbering.THREE_A_MAN, "7", "end", Shade.INSIDE),
    (Numbering.THREE_A_MAN, "8", "end", Shade.HEAD),
    (Numbering.THREE_A_MAN, "9", "end", Shade.OUTSIDE),
]


@pytest.mark.parametrize(("numbering", "number", "man", "shade"), LANDMARKS)
def test_a_number_means_a_man_and_a_shade(numbering: Numbering, number: str, man: str, shade: Shade) -> None:
    landmark, found = parse_technique(number, numbering)
    assert (landmark.value, found) == (man, shade)


@pytest.mark.parametrize("number", ["1", "2", "3", "4", "5"])
def test_ten_times_a_number_is_the_same_spot_for_a_backer(number: str) -> None:
    # source: linebackers, the same spot with a zero (10, 20, 30): a published high-school playbook, 2010-11.
    for numbering in Numbering:
        assert parse_technique(number + "0", numbering) == parse_technique(number, numbering)


@pytest.mark.parametrize(
    ("numbering", "text"),
    [
        (Numbering.THREE_A_MAN, "2i"),
        (Numbering.ONE_TO_NINE, "10i"),
        (Numbering.ONE_TO_NINE, "11"),
        (Numbering.ONE_TO_NINE, "300"),
        (Numbering.ONE_TO_NINE, "-3"),
        (Numbering.ONE_TO_NINE, ""),
        (Numbering.ONE_TO_NINE, "three"),
    ],
)
def test_a_number_the_numbering_does_not_have_is_refused(numbering: Numbering, text: str) -> None:
    with pytest.raises(FootballValueError, match="technique: expected one of 0, "):
        parse_technique(text, numbering)
