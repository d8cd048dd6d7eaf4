"""Published protections against the engine: who has whom, who starts the slide, who is free.

source: named beside each row; F numbers are those of our list of published facts. A row asserts the men its source
speaks of. What is expected never comes from our engine.
"""

from __future__ import annotations

import pytest

from quizgen.engine.protection import solve_pass
from quizgen.football.formation import Role
from quizgen.football.scheme import Protection, Slide, Who
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


@pytest.mark.parametrize("key", ROWS)
def test_a_published_protection_holds(key: str) -> None:
    defenders, slide, back, blocked, free = ROWS[key]
    run = snap(defenders, FIVE_GUN, play("Base"), Side.RIGHT)
    protection = Protection("table", slide, BACK_IN if back else ())
    s = PassSituation(run.rules, run.positions, run.front, run.pressure, run.to, run.formation, protection, Side.LEFT)
    answer = solve_pass(s)
    own = {m.man.position: m.blockers[0].word for m in answer.matchups if m.blockers}
    assert {position: own.get(position) for position in blocked} == blocked
    assert answer.free == free


def test_six_protect_against_six_and_the_seventh_is_free() -> None:
    # source: American Football Monthly 5890, C. Hepola (F74).
    seven = BEAR + "Mike, 10 left, rush left A\nSam, x 6 depth 4, rush right C\n"
    run = snap(seven, FIVE_GUN, play("Base"), Side.RIGHT)
    protection = Protection("table", Slide.MAN, BACK_IN)
    s = PassSituation(run.rules, run.positions, run.front, run.pressure, run.to, run.formation, protection, Side.LEFT)
    assert len(solve_pass(s).free) == 1
