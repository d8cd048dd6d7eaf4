"""The page solver's protections against published facts; the source stands beside each."""

from __future__ import annotations

from quizgen.football.formation import Role
from quizgen.football.scheme import Protection, Slide, Who
from quizgen.football.sides import Side
from quizgen.football.team import PassSituation
from tests.page_solver.protection import PassAnswer, solve_pass
from tests.page_solver.row import FIVE_GUN
from tests.page_solver.snaps import play, snap

BACK_IN = (Who(Role.TAILBACK),)
FOUR_FOUR = """
Right end, 5 right, edge right C
Right tackle, 2 left, rush left A
Left end, 5 left, edge left C
Inside, 30 right, rush right A
Outside, x 4.5 depth 4, rush right B
"""
COVERED = """
Right end, 5 right, edge right C
Nose, 3 right, rush right B
Left end, 5 left, edge left C
Inside, 10 left, rush left A
"""


def protect(defenders: str, slide: Slide, turn_to: Side, *, back: bool = True) -> PassAnswer:
    """Five linemen in the gun, with the back in or out."""
    run = snap(defenders, FIVE_GUN, play("Base"), Side.RIGHT)
    protection = Protection("table", slide, BACK_IN if back else ())
    return solve_pass(
        PassSituation(run.rules, run.positions, run.front, run.pressure, run.to, run.formation, protection, turn_to)
    )


def test_half_slide_starts_at_the_first_uncovered_man() -> None:
    # source: blitzology.com 2010-03-02, understanding half slide (F70): the right guard is uncovered and starts it, the
    # right tackle has the end, the back has the inside backer, then the outside one.
    answer = protect(FOUR_FOUR, Slide.HALF, Side.LEFT)
    assert answer.blocked["Right end"] == "right tackle"
    assert answer.blocked["Inside"] == "right guard"
    assert answer.blocked["Right tackle"] == "center"
    assert answer.blocked["Left end"] == "left tackle"
    assert answer.blocked["Outside"] == "tailback"


def test_half_slide_with_a_covered_guard_starts_at_the_center() -> None:
    # source: the same (F71): right guard on the nose, right tackle on the end, center to A.
    answer = protect(COVERED, Slide.HALF, Side.LEFT)
    assert answer.blocked == {
        "Nose": "right guard",
        "Right end": "right tackle",
        "Inside": "center",
        "Left end": "left tackle",
    }


def test_five_covered_linemen_are_five_one_on_ones() -> None:
    # source: blitzology.com 2019-05-20, breaking half slide (F72).
    bear = """
    Left end, 5 left, edge left C
    Left tackle, 3 left, rush left B
    Nose, 0, rush right A
    Right tackle, 3 right, rush right B
    Right end, 5 right, edge right C
    """
    answer = protect(bear, Slide.MAN, Side.LEFT, back=False)
    assert answer.free == ()
    assert len(set(answer.blocked.values())) == 5


def test_six_protect_against_six_and_the_seventh_is_free() -> None:
    # source: American Football Monthly 5890, C. Hepola (F74).
    seven = """
    Left end, 5 left, edge left C
    Left tackle, 3 left, rush left B
    Nose, 0, rush right A
    Right tackle, 3 right, rush right B
    Right end, 5 right, edge right C
    Mike, 10 left, rush left A
    Sam, x 6 depth 4, rush right C
    """
    assert len(protect(seven, Slide.MAN, Side.LEFT).free) == 1


def test_full_slide_leaves_the_wider_of_two_off_the_edge() -> None:
    # common practice (F75): two rushers off the back's edge, he takes the inner one.
    two = """
    Left end, 5 left, edge left C
    Right end, 5 right, rush right C
    Sam, x 5.5 depth 3, edge right outermost
    """
    answer = protect(two, Slide.FULL, Side.LEFT)
    assert answer.blocked["Right end"] == "tailback"
    assert answer.free == ("Sam",)


def test_full_slide_puts_each_lineman_in_the_next_gap() -> None:
    # source: insider.afca.com, combo protection (F73): slide side, tackle C, guard B, center A.
    three = """
    Left end, 5 left, edge left C
    Left tackle, 3 left, rush left B
    Nose, 1 left, rush left A
    """
    answer = protect(three, Slide.FULL, Side.LEFT, back=False)
    assert answer.blocked == {"Left end": "left tackle", "Left tackle": "left guard", "Nose": "center"}
