"""Which formations each rule book allows, with rows that must be refused.

source: NFHS football rules 2-14-1 and 7-2-5a (since 2019): at least five men on the line, no more than four backs
source: NCAA football rule 7-1-4: no more than four backs
source: NFL rule 7-5: at least seven men on the line (from memory)
Two men in one place, one center and one quarterback are common practice.
"""

from __future__ import annotations

import pytest

from quizgen.football.errors import FootballValueError
from quizgen.football.formation import FORMATION_RULES, Formation, Role, RuleBook
from quizgen.football.layout import lay_out
from quizgen.football.sides import Side

HS, COLLEGE, PRO = RuleBook.HIGH_SCHOOL, RuleBook.COLLEGE, RuleBook.PROFESSIONAL


def men(on_line: int, backs: int, book: RuleBook) -> Formation:
    """A formation with this many men on the line and behind it, including the quarterback."""
    receivers = [(Side.LEFT if i % 2 else Side.RIGHT, 6.0 + 3 * i, True) for i in range(on_line - 5)]
    behind = [(Role.TAILBACK, 1.5 * i - 2, 5.0 + (i % 2)) for i in range(backs - 1)]
    line = (Role.GUARD, Role.TACKLE)
    return lay_out("row", line, line, quarterback_yd=1.5, backs=behind, receivers=receivers, rule_book=book)


# Men on the line, men behind it, and whether each rule book allows it (high school, college, professional).
ROWS = [
    # eleven men: four backs at most leaves seven on the line
    (7, 4, True, True, True),
    (8, 3, True, True, True),
    (9, 2, True, True, True),
    (6, 5, False, False, False),
    (5, 6, False, False, False),
    # ten men: six on the line are enough in high school and college, not in the professional game
    (6, 4, True, True, False),
    (7, 3, True, True, True),
    (5, 5, False, False, False),
    # nine men: five on the line are enough in high school
    (5, 4, True, True, False),
]


@pytest.mark.parametrize(("on_line", "backs", "high_school", "college", "professional"), ROWS)
def test_men_on_the_line_and_behind_it(
    on_line: int, backs: int, high_school: bool, college: bool, professional: bool
) -> None:
    for book, is_legal in ((HS, high_school), (COLLEGE, college), (PRO, professional)):
        if is_legal:
            assert len(men(on_line, backs, book).players) == on_line + backs
        else:
            with pytest.raises(FootballValueError, match="expected a legal formation"):
                men(on_line, backs, book)


@pytest.mark.parametrize(
    ("book", "on_line", "backs", "named"),
    [
        (HS, 6, 5, "NFHS 7-2-5a"),
        (COLLEGE, 6, 5, "NCAA 7-1-4"),
        (PRO, 6, 4, "NFL 7-5"),
    ],
)
def test_the_message_names_the_rule(book: RuleBook, on_line: int, backs: int, named: str) -> None:
    with pytest.raises(FootballValueError, match=named):
        men(on_line, backs, book)


def test_a_fifth_back_is_never_legal() -> None:
    """Since 2019 a high-school offense may be short of men on the line, but may never have a fifth back."""
    assert FORMATION_RULES[HS].max_backs == 4
    for on_line in (5, 6):
        with pytest.raises(FootballValueError, match="5 backs"):
            men(on_line, 5, HS)


def test_twelve_men_are_refused() -> None:
    with pytest.raises(FootballValueError, match="no more than eleven men"):
        men(8, 4, HS)


def test_two_men_in_one_place_are_refused() -> None:
    with pytest.raises(FootballValueError, match="no two men in one place"):
        lay_out(
            "row",
            (Role.GUARD, Role.TACKLE),
            (Role.GUARD, Role.TACKLE),
            quarterback_yd=4.5,
            backs=[(Role.TAILBACK, 0.2, 4.6)],
        )


@pytest.mark.parametrize(
    "gone", [Role.CENTER, Role.QUARTERBACK, Role.GUARD, Role.TACKLE], ids=["center", "quarterback", "guard", "tackle"]
)
def test_a_line_without_one_of_its_men_is_refused(gone: Role) -> None:
    whole = men(7, 4, HS)
    kept = tuple(p for p in whole.players if p.role is not gone)
    with pytest.raises(FootballValueError, match=gone.value):
        Formation("row", kept, HS)
