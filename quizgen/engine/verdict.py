"""The verdict on one snap: every lane's owners, what is open, doubled or late, the numbers, and the proof.

Soundness is a matching of lanes to men who are there on time, in which no two men of support cross; the lack of it is
shown by a set of lanes with fewer men than lanes (Hall's theorem), or by a matching that needs men who cross. The
matching is SciPy's.

Conceded: an unowned lane that contains a gap the call concedes.

Verdict: owners of a lane = its owners who can get there. open = no owner and not conceded; doubled = more than one;
late = owners, none in time (force in an outermost lane counts when late); sound = nothing open and nothing late.
Numbers: lanes on a side; men who own one of them and are there on time. Two rushers whose paths cross and who meet (the
one called second is not clear of the first) make the second late, by the wait that it would take.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from scipy.optimize import linear_sum_assignment

from quizgen.engine.alignment import Man, line_up
from quizgen.engine.crossing import waits
from quizgen.engine.fits import Fit, fit_all
from quizgen.engine.lanes import Lane, lanes
from quizgen.engine.movement import PLAY_SIDE, BlockerMove, aim_gap, move
from quizgen.engine.option import OptionAnswer, PhaseOwner, play_option
from quizgen.engine.reads import claims, shuffle
from quizgen.engine.support import is_covered, may_fill, replace_cracked
from quizgen.engine.timing import arrival_s, ball_s, clock
from quizgen.football.sides import Gap, Side
from quizgen.football.team import Situation


@dataclass(frozen=True, slots=True)
class Numbers:
    """Lanes against the men who own them, on one side of the center."""

    lanes: int
    defenders: int


@dataclass(frozen=True)
class RunAnswer:
    """Everything the engine says about one situation; lanes from left to right, fits as the men line up from left to
    right."""

    situation: Situation
    moves: tuple[BlockerMove, ...]
    lanes: tuple[Lane, ...]
    fits: tuple[Fit, ...]
    conceded: frozenset[int]
    option: OptionAnswer | None
    aim_x: float

    @property
    def phases(self) -> tuple[PhaseOwner, ...]:
        """Who has which phase of the play's option; none where it has none."""
        return self.option.phases if self.option else ()

    def fit(self, position: str) -> Fit:
        """That position's fit; raises KeyError where the defense has no such position."""
        for fit in self.fits:
            if fit.man.position == position:
                return fit
        raise KeyError(position)

    def owners(self, index: int) -> tuple[Fit, ...]:
        """The men who own a lane and can reach it."""
        return self._owners[index]

    @cached_property
    def _owners(self) -> tuple[tuple[Fit, ...], ...]:
        there: list[list[Fit]] = [[] for _ in self.lanes]
        for fit in self.fits:
            if fit.gets_there:
                for index in fit.lanes:
                    there[index].append(fit)
        return tuple(tuple(owners) for owners in there)

    @cached_property
    def open(self) -> tuple[int, ...]:
        """Lanes that nobody owns and that the call does not concede."""
        return tuple(i for i in range(len(self.lanes)) if not self.owners(i) and i not in self.conceded)

    @cached_property
    def doubled(self) -> tuple[int, ...]:
        """Lanes with more than one owner."""
        return tuple(i for i in range(len(self.lanes)) if len(self.owners(i)) > 1)

    @cached_property
    def late(self) -> tuple[int, ...]:
        """Lanes with owners none of whom is there in time."""
        return tuple(
            i
            for i, lane in enumerate(self.lanes)
            if self.owners(i) and not any(_covers(lane, fit) for fit in self.owners(i))
        )

    @property
    def sound(self) -> bool:
        """Whether every lane has an owner in time, but for those conceded on purpose."""
        return not self.open and not self.late

    def numbers(self, side: Side) -> Numbers:
        """Lanes and the owners on time, on one side of the center."""
        there = [i for i, lane in enumerate(self.lanes) if lane.side is side]
        men = {fit.man.position for i in there for fit in self.owners(i) if fit.is_on_time}
        return Numbers(len(there), len(men))

    @property
    def frontside(self) -> Numbers:
        """The play side."""
        return self.numbers(self.situation.play_to)

    @property
    def backside(self) -> Numbers:
        """The side away from the play."""
        return self.numbers(self.situation.play_to.other)

    @cached_property
    def short(self) -> tuple[tuple[int, ...], tuple[str, ...]] | None:
        """The proof that the call is short: lanes, and the fewer positions that could be there in time; None when it
        is sound, or when only men of support who cross could be there in time."""
        return None if self.sound else _hall_set(self)


def _covers(lane: Lane, fit: Fit) -> bool:
    return fit.clock is not None and is_covered(lane, fit.man, fit.clock)


def coverers(answer: RunAnswer) -> tuple[tuple[int, str], ...]:
    """Every (lane, position) where that man may own that lane in time: his own by gap and read, or one that support
    may fill."""
    s = answer.situation
    by_gap = {i for fit in answer.fits if fit.man.gaps and fit.gets_there for i in fit.lanes}
    pairs: list[tuple[int, str]] = []
    for fit in answer.fits:
        if fit.man.gaps:
            owned = fit.lanes if fit.owns else ()
            pairs.extend((i, fit.man.position) for i in owned if _covers(answer.lanes[i], fit))
            continue
        for i, lane in enumerate(answer.lanes):
            if i in by_gap or i in answer.conceded:
                continue
            if not can_fill(answer, fit.man, i, vacated=lane.is_merged):
                continue
            at = clock(
                arrival_s(fit.man, lane.middle_x, s.rules.timing, reads=True),
                ball_s(s, lane, answer.aim_x),
                s.rules.timing,
            )
            if is_covered(lane, fit.man, at):
                pairs.append((i, fit.man.position))
    return tuple(pairs)


def can_fill(answer: RunAnswer, man: Man, index: int, *, vacated: bool) -> bool:
    """Whether a man without a gap may fill a lane of this answer that nobody owns."""
    lane = answer.lanes[index]
    return may_fill(man, index, lane, answer.option, vacated=vacated, play_to=answer.situation.play_to)


def _hall_set(answer: RunAnswer) -> tuple[tuple[int, ...], tuple[str, ...]] | None:
    """Lanes reached by alternating paths from one that a largest matching leaves over, and every man who could be in
    them; None where it leaves none over."""
    pairs = coverers(answer)
    wanted = [i for i in range(len(answer.lanes)) if i not in answer.conceded]
    slots = sorted({_slot(answer, position, i) for i, position in pairs})
    can = np.zeros((len(wanted), len(slots)), dtype=bool)
    for i, position in pairs:
        can[wanted.index(i), slots.index(_slot(answer, position, i))] = True
    held = {int(r): int(c) for r, c in zip(*linear_sum_assignment(can, maximize=True), strict=True) if can[r, c]}
    holder = {column: row for row, column in held.items()}
    start = next((row for row in range(len(wanted)) if row not in held), None)
    if start is None:
        return None
    rows, columns, queue = {start}, set[int](), [start]
    while queue:
        for column in np.flatnonzero(can[queue.pop()]).tolist():
            if column not in columns:
                columns.add(column)
                rows.add(holder[column])
                queue.append(holder[column])
    return tuple(sorted(wanted[row] for row in rows)), tuple(sorted({slots[c][0] for c in columns}))


def _slot(answer: RunAnswer, position: str, lane: int) -> tuple[str, int]:
    """A man as one place in the matching; a two-gap player is one place for each of his lanes."""
    return (position, lane) if len(answer.fit(position).lanes) > 1 else (position, -1)


def solve(s: Situation, men: tuple[Man, ...] | None = None) -> RunAnswer:
    """The engine's answer for one situation; ``men`` are the eleven of the same call and formation, if already lined
    up.

    Raises:
        CannotRun: the formation lacks a man whom the play needs.
        NoRule: the rules do not cover this situation.
    """
    men = line_up(s) if men is None else men
    if s.play_to is PLAY_SIDE:
        return _solve_right(s, men)
    turned = replace(s, to=s.to.other, play_to=PLAY_SIDE, formation=s.formation.mirrored)
    return _turn_back(s, _solve_right(turned, tuple(man.mirrored for man in reversed(men))))


def _turn_back(s: Situation, answer: RunAnswer) -> RunAnswer:
    """The answer for ``s`` from the answer for the same snap turned round."""
    count = len(answer.lanes)
    turned = {m.player.key: m.mirrored for m in answer.moves}
    return RunAnswer(
        s,
        tuple(turned[m.player.key] for m in reversed(answer.moves)),
        tuple(lane.mirrored(turned) for lane in reversed(answer.lanes)),
        tuple(fit.mirrored(count, turned) for fit in reversed(answer.fits)),
        frozenset(count - 1 - i for i in answer.conceded),
        answer.option.mirrored(count) if answer.option else None,
        -answer.aim_x,
    )


def _solve_right(s: Situation, men: tuple[Man, ...]) -> RunAnswer:
    men = tuple(sorted(men, key=lambda man: (man.x, man.depth_yd)))
    moves = move(s, men)
    men = shuffle(replace_cracked(s, men, moves))
    found = lanes(s.formation, moves)
    owners = claims(s, men, moves, found)
    option, owners = play_option(s, men, owners, found)
    owned = {i for claim in owners if claim.owns for i in claim.lanes}
    conceded = frozenset(i for i, lane in enumerate(found) if i not in owned and _is_conceded(s, lane))
    aim = aim_gap(s)
    aim_x = next(lane.middle_x for lane in found if aim in lane.gaps)
    lost = waits(men, s.formation, s.rules.timing)
    fits = fit_all(s, men, found, owners, aim_x, conceded, option, lost)
    return RunAnswer(s, moves, found, fits, conceded, option, aim_x)


def _is_conceded(s: Situation, lane: Lane) -> bool:
    gaps: tuple[Gap, ...] = tuple(g.gap(s.formation.outermost(g.side(s.to))) for g in s.pressure.conceded)
    return any(gap in lane.gaps for gap in gaps)
