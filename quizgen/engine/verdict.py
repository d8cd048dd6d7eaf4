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

from quizgen.engine.alignment import Man
from quizgen.engine.attached import play_attached
from quizgen.engine.fits import Fit, fit_all, threaten
from quizgen.engine.lanes import Lane
from quizgen.engine.motion import find_motion_owner
from quizgen.engine.movement import PLAY_SIDE, BlockerMove
from quizgen.engine.option import OptionAnswer, PhaseOwner, play_option
from quizgen.engine.reads import Claim, claims, shuffle
from quizgen.engine.shared_work import Lineup, SharedWork
from quizgen.engine.support import is_covered, may_fill, replace_cracked
from quizgen.engine.surface import Surface
from quizgen.engine.timing import arrival_s, clock
from quizgen.football.formation import Role
from quizgen.football.scheme import Job, Phase
from quizgen.football.sides import Gap, Side
from quizgen.football.team import Situation


@dataclass(frozen=True, slots=True)
class Numbers:
    """Lanes against the men who own them, on one side of the center."""

    lanes: int
    defenders: int


@dataclass(frozen=True)
class RightAnswer:
    """A snap whose play goes to the right, solved; ``placed`` are the fits without what threatens them, all that the
    verdict needs."""

    situation: Situation
    surface: Surface
    placed: tuple[Fit, ...]
    conceded: frozenset[int]
    option: OptionAnswer | None

    @cached_property
    def fits(self) -> tuple[Fit, ...]:
        """Every defender's fit with what threatens it."""
        return threaten(self.placed, self.surface.lanes)

    @cached_property
    def owners(self) -> tuple[tuple[int, ...], ...]:
        """For each lane the fits, by number, of the men who own it and can reach it."""
        there: list[list[int]] = [[] for _ in self.surface.lanes]
        for number, fit in enumerate(self.placed):
            if fit.gets_there:
                for index in fit.lanes:
                    there[index].append(number)
        return tuple(map(tuple, there))

    @cached_property
    def open(self) -> tuple[int, ...]:
        """Lanes that nobody owns and that the call does not concede."""
        return tuple([i for i, owners in enumerate(self.owners) if not owners and i not in self.conceded])

    @cached_property
    def late(self) -> tuple[int, ...]:
        """Lanes with owners none of whom is there in time."""
        return tuple([i for i, owners in enumerate(self.owners) if owners and not self._has_one_in_time(i, owners)])

    def _has_one_in_time(self, index: int, owners: tuple[int, ...]) -> bool:
        lane, placed = self.surface.lanes[index], self.placed
        return any(_covers(lane, placed[number]) for number in owners)


@dataclass(frozen=True)
class RunAnswer:
    """Everything the engine says about one situation; lanes from left to right, fits as the men line up from left to
    right. ``right`` is the same snap with its play to the right: for a play to the left it is turned back, and only
    what is asked for."""

    situation: Situation
    right: RightAnswer

    @property
    def is_turned(self) -> bool:
        """Whether the play goes to the left."""
        return self.situation.play_to is not PLAY_SIDE

    @cached_property
    def surface(self) -> Surface:
        """Blockers and lanes at the time of the fit."""
        return self.right.surface.mirrored if self.is_turned else self.right.surface

    @property
    def moves(self) -> tuple[BlockerMove, ...]:
        """The blockers at the time of the fit."""
        return self.surface.moves

    @property
    def lanes(self) -> tuple[Lane, ...]:
        """The lanes between them."""
        return self.surface.lanes

    @property
    def aim_x(self) -> float:
        """Where the play hits, in yards."""
        return self.surface.aim_x

    @cached_property
    def conceded(self) -> frozenset[int]:
        """Lanes that the call leaves to nobody on purpose."""
        return frozenset(self._turned(tuple(self.right.conceded)))

    @cached_property
    def option(self) -> OptionAnswer | None:
        """What an option does to the defense; None where the play has none."""
        option = self.right.option
        return option.mirrored(len(self.lanes)) if option and self.is_turned else option

    @cached_property
    def fits(self) -> tuple[Fit, ...]:
        """Every defender's answer."""
        if not self.is_turned:
            return self.right.fits
        surface = self.right.surface
        return tuple(fit.mirrored(len(surface.lanes), surface.turned) for fit in reversed(self.right.fits))

    def _turned(self, indices: tuple[int, ...]) -> tuple[int, ...]:
        """Lanes of the snap to the right as lanes of this one."""
        last = len(self.right.surface.lanes) - 1
        return tuple(last - index for index in reversed(indices)) if self.is_turned else indices

    @property
    def phases(self) -> tuple[PhaseOwner, ...]:
        """Who has which phase: of the option, the man in motion, the run and the throw of an attached pass."""
        return self.right.option.phases if self.right.option else ()

    def fit(self, position: str) -> Fit:
        """That position's fit; raises KeyError where the defense has no such position."""
        for fit in self.fits:
            if fit.man.position == position:
                return fit
        raise KeyError(position)

    def owners(self, index: int) -> tuple[Fit, ...]:
        """The men who own a lane and can reach it."""
        if self.is_turned:
            last = len(self.right.placed) - 1
            return tuple(self.fits[last - number] for number in reversed(self.right.owners[-1 - index]))
        return tuple(self.fits[number] for number in self.right.owners[index])

    @cached_property
    def open(self) -> tuple[int, ...]:
        """Lanes that nobody owns and that the call does not concede."""
        return self._turned(self.right.open)

    @cached_property
    def doubled(self) -> tuple[int, ...]:
        """Lanes with more than one owner."""
        return self._turned(tuple(i for i, owners in enumerate(self.right.owners) if len(owners) > 1))

    @cached_property
    def late(self) -> tuple[int, ...]:
        """Lanes with owners none of whom is there in time."""
        return self._turned(self.right.late)

    @property
    def sound(self) -> bool:
        """Whether every lane has an owner in time, but for those conceded on purpose."""
        return not self.right.open and not self.right.late

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
        found = None if self.sound else _hall_set(self.right)
        return (self._turned(found[0]), found[1]) if found else None


def _covers(lane: Lane, fit: Fit) -> bool:
    return fit.clock is not None and is_covered(lane, fit.man, fit.clock)


def coverers(answer: RightAnswer) -> tuple[tuple[int, str], ...]:
    """Every (lane, position) where that man of support could be in time, of the lanes that no gap owner can get to."""
    surface, timing, option = answer.surface, answer.situation.rules.timing, answer.option
    by_gap = {i for fit in answer.placed if fit.man.gaps and fit.gets_there for i in fit.lanes}
    left = [i for i in range(len(surface.lanes)) if i not in by_gap and i not in answer.conceded]
    pairs: list[tuple[int, str]] = []
    for fit in answer.placed:
        man = fit.man
        if man.gaps:
            continue
        for i in left:
            lane = surface.lanes[i]
            if may_fill(man, i, lane, option, vacated=lane.is_merged, play_to=PLAY_SIDE):
                at_s = arrival_s(man, surface.middles[i], timing, reads=True)
                if is_covered(lane, man, clock(at_s, surface.ball_s[i], timing)):
                    pairs.append((i, man.position))
    return tuple(pairs)


def can_fill(answer: RunAnswer, man: Man, index: int, *, vacated: bool) -> bool:
    """Whether a man without a gap may fill a lane of this answer that nobody owns."""
    lane = answer.lanes[index]
    return may_fill(man, index, lane, answer.option, vacated=vacated, play_to=answer.situation.play_to)


def _hall_set(answer: RightAnswer) -> tuple[tuple[int, ...], tuple[str, ...]] | None:
    """The first lane that nobody could be in; else the lanes reached by alternating paths from one that a largest
    matching leaves over, and every man who could be in them; None where it leaves none over. A gap owner has his lanes
    and no other, so only support is matched. Worked out with the play to the right and with the men as they stand, so
    that a mirrored snap and other names give the same lanes."""
    pairs = coverers(answer)
    wanted = list(dict.fromkeys(sorted(i for i, _ in pairs)))
    for i in sorted((*answer.open, *answer.late)):
        if i not in wanted:
            return (i,), ()
    men = list(dict.fromkeys(position for _, position in pairs))
    can = np.zeros((len(wanted), len(men)), dtype=bool)
    for i, position in pairs:
        can[wanted.index(i), men.index(position)] = True
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
    return tuple(sorted(wanted[row] for row in rows)), tuple(sorted(men[c] for c in columns))


def solve(s: Situation, shared: SharedWork | None = None) -> RunAnswer:
    """The engine's answer for one situation; ``shared`` holds what other situations have in common with it.

    Raises:
        CannotRun: the formation lacks a man whom the play needs.
        NoRule: the rules do not cover this situation.
    """
    shared = SharedWork() if shared is None else shared
    lineup = shared.lineup(s)
    if s.play_to is PLAY_SIDE:
        return RunAnswer(s, _solve_right(s, lineup, shared))
    turned = replace(s, to=s.to.other, play_to=PLAY_SIDE, formation=s.formation.mirrored)
    return RunAnswer(s, _solve_right(turned, lineup.mirrored, shared))


def _solve_right(s: Situation, lineup: Lineup, shared: SharedWork) -> RightAnswer:
    surface = shared.surface(s, lineup)
    men = shuffle(replace_cracked(s, lineup.men, surface.moves) if Job.CRACK in surface.jobs else lineup.men)
    owners = claims(s, men, surface)
    option, owners = play_option(s, men, owners, surface.lanes)
    if option is None:
        option, owners = play_attached(s, men, owners, surface.lanes)
    option = _with_motion(s, men, option, surface.lanes)
    conceded = _conceded(s, surface.lanes, owners) if s.pressure.conceded else frozenset[int]()
    placed = fit_all(s, men, surface, owners, conceded, option, lineup.waits)
    return RightAnswer(s, surface, placed, conceded, option)


def _with_motion(
    s: Situation, men: tuple[Man, ...], option: OptionAnswer | None, found: tuple[Lane, ...]
) -> OptionAnswer | None:
    """The phases with the one man who has the man in motion, where there is one."""
    option_phases = option.phases if option else ()
    owner = find_motion_owner(s, men, {one.position for one in option_phases})
    if owner is None:
        return option
    base = option or OptionAnswer("", (), frozenset())
    threat = s.formation.find(Role.IN_MOTION)
    outermost = len(found) - 1 if threat and threat.side is PLAY_SIDE else 0
    return replace(
        base,
        phases=(*base.phases, PhaseOwner(Phase.MOTION, owner.position)),
        held=(*base.held, (owner.position, frozenset({outermost}))),
    )


def _conceded(s: Situation, lanes: tuple[Lane, ...], owners: tuple[Claim, ...]) -> frozenset[int]:
    """The lanes without an owner that the call leaves open on purpose."""
    gaps: tuple[Gap, ...] = tuple(g.gap(s.formation.outermost(g.side(s.to))) for g in s.pressure.conceded)
    owned = {i for claim in owners if claim.owns for i in claim.lanes}
    return frozenset(i for i, lane in enumerate(lanes) if i not in owned and any(gap in lane.gaps for gap in gaps))
