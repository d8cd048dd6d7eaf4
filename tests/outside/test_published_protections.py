"""Published protections against the engine: who has whom, who starts the slide, who is free.

source: named beside each row; F numbers are those of our list of published facts. A row asserts the men its source
speaks of. What is expected never comes from our engine.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from quizgen.engine.protection import PassAnswer, Release, on_release, solve_pass
from quizgen.football.formation import Role
from quizgen.football.scheme import LeftFree, Protection, Slide, Who
from quizgen.football.sides import Side
from quizgen.football.team import PassSituation
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
BEAR = """
Left end, 5 left, edge left C
Left tackle, 3 left, rush left B
Nose, 0, rush right A
Right tackle, 3 right, rush right B
Right end, 5 right, edge right C
"""
TWO_OFF_THE_EDGE = """
Left end, 5 left, edge left C
Right end, 5 right, rush right C
Sam, x 5.5 depth 3, edge right outermost
"""
SLIDE_LEFT = """
Left end, 5 left, edge left C
Left tackle, 3 left, rush left B
Nose, 1 left, rush left A
"""
SIX_READ_OUT = """
Left end, 5 left, edge left C
Left backer, x -2.4 depth 1.5, rush left B
Left tackle, 2i left, rush left A
Right tackle, 2i right, rush right A
Right backer, x 2.4 depth 1.5, rush right B
Right end, 5 right, edge right C
"""
FOUR_DOWN_AND_MIKE = """
Left end, 5 left, edge left C
Left tackle, 3 left, rush left B
Right tackle, 3 right, rush right B
Right end, 5 right, edge right C
Mike, x 0 depth 4.5, rush left A
"""

# Defenders, slide, the side of the turn, whether the back stays in; then each man's own blocker, and who is free.
ROWS = {
    # source: blitzology.com 2010-03-02, understanding half slide (F70).
    "F70": (
        FOUR_FOUR,
        Slide.HALF,
        True,
        {"Right end": "right tackle", "Inside": "right guard", "Right tackle": "center", "Left end": "left tackle"},
        (),
    ),
    # source: the same: the outside backer is the back's, since the inside one is taken.
    "F70 back": (FOUR_FOUR, Slide.HALF, True, {"Outside": "tailback"}, ()),
    # source: the same (F71): a covered guard has the man on him, and the center starts the slide.
    "F71": (
        COVERED,
        Slide.HALF,
        True,
        {"Nose": "right guard", "Right end": "right tackle", "Inside": "center", "Left end": "left tackle"},
        (),
    ),
    # source: blitzology.com 2019-05-20 (F72): five covered, five one-on-ones.
    "F72": (
        BEAR,
        Slide.MAN,
        False,
        {
            "Left end": "left tackle",
            "Left tackle": "left guard",
            "Nose": "center",
            "Right tackle": "right guard",
            "Right end": "right tackle",
        },
        (),
    ),
    # source: insider.afca.com, combination protection (F73): tackle C, guard B, center A on the side of the slide.
    "F73": (
        SLIDE_LEFT,
        Slide.FULL,
        False,
        {"Left end": "left tackle", "Left tackle": "left guard", "Nose": "center"},
        (),
    ),
    # common practice (F75): two off the back's edge, he takes the inner one.
    "F75": (TWO_OFF_THE_EDGE, Slide.FULL, True, {"Right end": "tailback"}, ("Sam",)),
    # source: American Football Monthly 4434, J. Bohner (F76): five linemen, four down and Mike.
    "F76": (
        FOUR_DOWN_AND_MIKE,
        Slide.MAN,
        True,
        {
            "Left end": "left tackle",
            "Left tackle": "left guard",
            "Mike": "center",
            "Right tackle": "right guard",
            "Right end": "right tackle",
        },
        (),
    ),
    # source: blitzology.com 2015-04-01, empty (F77): a half slide leaves an inside backer free, a full slide an end.
    "F77 half": (SIX_READ_OUT, Slide.HALF, False, {"Right end": "right tackle"}, ("Right backer",)),
    "F77 full": (SIX_READ_OUT, Slide.FULL, False, {"Left end": "left tackle"}, ("Right end",)),
}


def found(key: str, solver: Callable[[PassSituation], PassAnswer]) -> tuple[dict[str, str | None], tuple[str, ...]]:
    """What a solver says of the men whom a row names: each one's own blocker; and who is free."""
    defenders, slide, back, blocked, _ = ROWS[key]
    answer = solver(protect(defenders, Protection("table", slide, BACK_IN if back else ())))
    own = {m.man.position: m.blockers[0].word for m in answer.matchups if m.blockers}
    return {position: own.get(position) for position in blocked}, answer.free


def protect(defenders: str, protection: Protection, *, peel: bool = False) -> PassSituation:
    """Five linemen in the gun against these men; the center turns to our left."""
    run = snap(defenders, FIVE_GUN, play("Base"), Side.RIGHT)
    pressure = replace(run.pressure, peel=peel)
    return PassSituation(run.rules, run.positions, run.front, pressure, run.to, run.formation, protection, Side.LEFT)


@pytest.mark.parametrize("key", ROWS)
def test_a_published_protection_holds(key: str) -> None:
    *_, blocked, free = ROWS[key]
    assert found(key, solve_pass) == (blocked, free)


def test_six_protect_against_six_and_the_seventh_is_free() -> None:
    # source: American Football Monthly 5890, C. Hepola (F74).
    seven = BEAR + "Mike, 10 left, rush left A\nSam, x 6 depth 4, rush right C\n"
    assert len(solve_pass(protect(seven, Protection("table", Slide.MAN, BACK_IN))).free) == 1


# Whom the protection leaves free, that rule, and who is free of two who come off the back's edge.
@pytest.mark.parametrize(("free", "expected"), [(LeftFree.WIDEST, ("Sam",)), (LeftFree.INSIDE, ("Right end",))])
def test_a_protection_says_whom_it_leaves_free(free: LeftFree, expected: tuple[str, ...]) -> None:
    # common practice (F75): inside first; other staffs leave the inside man to the quarterback.
    protection = Protection("table", Slide.FULL, BACK_IN, free=free)
    assert solve_pass(protect(TWO_OFF_THE_EDGE, protection)).free == expected


RELEASES = """
Left end, 5 left, edge left C
Right end, 5 right, edge right C
Nose, 0, rush right A
Sam, x 7 depth 5, force right
"""


@pytest.mark.parametrize(
    ("side", "peel", "right_end"),
    [
        # source: r/footballstrategy thread 1ni65yr, teaching peel (F80): the back widens past the peel rusher: with him
        (Side.RIGHT, True, Release.TAKE_BACK),
        # source: the same: a back who is not his he lets go
        (Side.LEFT, True, Release.KEEP_RUSHING),
    ],
)
def test_a_peel_rusher_and_the_back(side: Side, *, peel: bool, right_end: Release) -> None:
    answer = solve_pass(protect(RELEASES, Protection("table", Slide.FULL), peel=peel))
    back = next(p for p in answer.situation.formation.players if p.role is Role.TAILBACK)
    assert on_release(answer, back, side)["Right end"] is right_end


def test_without_a_peel_rule_the_end_keeps_rushing_and_the_zone_has_the_back() -> None:
    # source: the same: the peel is a call's rule; without it the man under has him (coverage as published).
    men = RELEASES.replace("force right", "alley right")
    answer = solve_pass(protect(men, Protection("table", Slide.FULL)))
    back = next(p for p in answer.situation.formation.players if p.role is Role.TAILBACK)
    found_jobs = on_release(answer, back, Side.RIGHT)
    assert found_jobs["Sam"] is Release.TAKE_BACK
    assert found_jobs["Right end"] is Release.KEEP_RUSHING


@pytest.mark.parametrize(
    ("man", "contains"),
    [
        # source: Bryant 1960, ch. 4, figs 15 to 21 (F82): on a drop-back pass 3 rushes inside, 7 and 6 do not let the
        # quarterback out
        ("Man, 3 right, rush right B", False),
        ("Man, 7 right, edge right C", True),
        ("Man, 6 right, edge right outermost", True),
    ],
)
def test_rush_side_by_technique(man: str, *, contains: bool) -> None:
    answer = solve_pass(protect(f"{man}\nLeft end, 5 left, edge left C\n", Protection("table", Slide.FULL, BACK_IN)))
    assert answer.matchup("Man").contains is contains
