"""One snap in a few words, and what comes of it as plain words and yards, for tables worked by hand.

Men are 1.57 yd apart: guard 1.57, tackle 3.14, end 4.71 yd from the center.
"""

from __future__ import annotations

from quizgen.engine.alignment import Man, line_up
from quizgen.engine.verdict import RunAnswer
from quizgen.football.formation import Formation
from quizgen.football.rules import TeamRules
from quizgen.football.scheme import Scheme, SchemeFamily
from quizgen.football.sides import Letter, Side
from quizgen.football.team import Situation
from tests.outside.field import Defense, formation, row

STEP = 1.57
ONE_BACK = formation("GT", "GT", ("tailback", 0.0, 6.9))
TWO_BACKS = formation("GT", "GT", ("tailback", 0.0, 6.9), ("fullback", 0.0, 4.5))
END_RIGHT = formation("GT", "GTE", ("tailback", 0.0, 6.9), ("fullback", 0.0, 4.5))


def play(*rows: str, aim: Letter | None = Letter.A, family: SchemeFamily = SchemeFamily.BASE) -> Scheme:
    """A play from lines "job: who or who"; a line that ends in "?" may find nobody."""
    found = []
    for one in rows:
        job, _, who = one.rstrip("?").partition(": ")
        found.append(row(job, *who.split(" or "), optional=one.endswith("?")))
    return Scheme("table play", family, tuple(found), aim)


def situation(defense: Defense, offense: Formation, scheme: Scheme, to: Side = Side.RIGHT) -> Situation:
    """The snap, the call to the right."""
    front, pressure = defense.pressure()
    return Situation(defense.rules, tuple(defense.positions), front, pressure, Side.RIGHT, offense, scheme, to)


def men_of(defense: Defense, offense: Formation = ONE_BACK) -> tuple[Man, ...]:
    """The eleven as they line up for the call to the right."""
    return line_up(situation(defense, offense, play("base: line")))


def six(rules: TeamRules | None = None) -> Defense:
    """Six down linemen, one on each gap of five linemen."""
    defense = Defense(rules)
    for side, name in (("L", "left"), ("R", "right")):
        defense.down(f"{name} end", "5", side, f"{side} C")
        defense.down(f"{name} tackle", "3", side, f"{side} B")
        defense.down(f"{name} nose", "1", side, f"{side} A")
    return defense


def places(answer: RunAnswer) -> dict[str, float]:
    """Where each blocker is at the fit, in yards from the center, by his word."""
    return {m.player.word: round(m.x_to, 3) for m in answer.moves}


def lane_names(answer: RunAnswer) -> list[str]:
    """The lanes from left to right."""
    return [lane.name for lane in answer.lanes]


def lane_of(answer: RunAnswer, position: str) -> str:
    """The lane, or lanes, in which a man fits; "none" without a fit."""
    return " and ".join(answer.lanes[i].name for i in answer.fit(position).lanes) or "none"


def read_of(answer: RunAnswer, position: str) -> str:
    """Why he is there, in a word."""
    return answer.fit(position).read.value
