"""Whether an engine's answer is what a published row expects, and the stub that must fail most of the rows.

What a row may expect stands at the head of ``tests.page_solver.row``; here also ``End read close``: why he is where he
is, by the engine's word.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cached_property

from quizgen.engine.alignment import Man, line_up
from quizgen.engine.fits import Fit
from quizgen.engine.lanes import Lane
from quizgen.engine.movement import PLAY_SIDE
from quizgen.engine.protection import PassAnswer, solve_pass
from quizgen.engine.reads import Read
from quizgen.engine.timing import Arrival, Clock
from quizgen.engine.verdict import RightAnswer, RunAnswer, solve
from quizgen.football.team import PassSituation, Situation
from tests.page_solver.row import Row
from tests.page_solver.snaps import snap

Solve = Callable[[Situation], RunAnswer]


def failures(row: Row, solver: Solve) -> list[str]:
    """The expectations of a row that this solver's answer does not hold."""
    answer = solver(
        snap(
            row.defenders,
            row.formation,
            row.scheme,
            row.play_to,
            rules=row.rules,
            exchanges=row.exchanges,
            concede=row.concede,
        )
    )
    return [line for line in row.expected.splitlines() if not holds(line, answer)]


def holds(line: str, answer: RunAnswer) -> bool:
    """Whether one expectation holds."""
    words = line.split()
    found = answer.lanes
    if words == ["sound"]:
        return answer.sound
    if words[0] == "open":
        return len(answer.open) == int(words[1])
    if words[0] == "lanes":
        return sum(1 for lane in found if lane.side and lane.side.value == words[1]) == int(words[2])
    if words[0] == "parts":
        return len([lane for lane in found if f"{words[1]} {words[2]}" in lane.name]) == int(words[3])
    fit = next(one for one in answer.fits if line.startswith(f"{one.man.position} "))
    rest = line.removeprefix(f"{fit.man.position} ")
    plain = {
        "is read": fit.is_read,
        "on the hip": fit.read is Read.HIP,
        "over the top": fit.read is Read.OVER_THE_TOP or (fit.read is Read.SCRAPE and not fit.owns),
    }
    if rest in plain:
        return plain[rest]
    what, value = rest.split(" ", 1)
    own = found[fit.lanes[0]] if fit.owns else None
    said = {
        "lane": own.name if own else "none",
        "side": own.side.value if own and own.side else "none",
        "threat": " + ".join(m.player.word for m in fit.threats) or "nobody",
        "lost": found[fit.lost_to].name if fit.lost_to is not None else "nowhere",
        "phase": fit.phase.value if fit.phase else "none",
        "owns": ", ".join(found[index].name for index in fit.lanes) if fit.owns else "",
        "read": fit.read.value,
    }
    return said[what] == value


def stub(s: Situation) -> RunAnswer:
    """ "Your call's gap, no reads, no threats": each man with a gap owns the innermost part of what it has become, in
    time; nobody else fits, nobody is blocked, an option is nobody's. The lanes are the engine's, so that no row fails
    for their names alone."""
    right = solve(s).right
    men = line_up(s)
    if s.play_to is not PLAY_SIDE:
        men = tuple(man.mirrored for man in reversed(men))
    placed = tuple(_unread(man, right.surface.lanes) for man in men)
    return RunAnswer(s, Unthreatened(right.situation, right.surface, placed, right.conceded, None))


class Unthreatened(RightAnswer):
    """A solved snap in which no blocker threatens anybody."""

    @cached_property
    def fits(self) -> tuple[Fit, ...]:
        """Every defender's fit."""
        return self.placed


def _unread(man: Man, lanes: tuple[Lane, ...]) -> Fit:
    parts = [[index for index, lane in enumerate(lanes) if gap in lane.gaps] for gap in man.gaps]
    own = tuple(dict.fromkeys(min(part, key=lambda index: abs(lanes[index].middle_x)) for part in parts))
    if not own:
        return Fit(man, None, (), False, Read.COVER)
    return Fit(man, own[0], own, True, Read.KEEP, clock=Clock(0.0, 1.0, Arrival.ON_TIME))


def unblocked(s: PassSituation) -> PassAnswer:
    """The same for a pass: nobody has anybody."""
    answer = solve_pass(s)
    alone = tuple(replace(one, blockers=(), half=None, contains=False) for one in answer.matchups)
    return replace(answer, matchups=alone)
