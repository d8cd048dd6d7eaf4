"""The pass: who has whom, who comes free, who is one on one, which half of the man to take, who takes the back.

A sliding protector has a gap; a protector in man has a rusher. Everything here is common practice.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum
from types import MappingProxyType

import numpy as np
from scipy.optimize import linear_sum_assignment

from quizgen.engine.alignment import Man, line_up_call, spot_x
from quizgen.football.errors import CannotRun, NoRule
from quizgen.football.formation import Formation, OffensivePlayer
from quizgen.football.pressure import CoverJob, RunJob, RushPart
from quizgen.football.scheme import Flow, Slide, Who
from quizgen.football.sides import Gap, Letter, Side
from quizgen.football.team import PassSituation

AT_THE_LINE_YD = 1.6
OUT_OF_REACH = 1e6


class Half(Enum):
    """Which half of a blocker a rusher takes, as he looks at him: nearer the ball or nearer the sideline."""

    INSIDE = "inside"
    OUTSIDE = "outside"


@dataclass(frozen=True, slots=True)
class Matchup:
    """A rusher and the protectors on him, the first of them his own; ``half`` is None when nobody blocks him."""

    man: Man
    blockers: tuple[OffensivePlayer, ...]
    half: Half | None
    contains: bool

    @property
    def is_free(self) -> bool:
        """Whether nobody has him."""
        return not self.blockers

    @property
    def is_alone(self) -> bool:
        """Whether he has one blocker and no more."""
        return len(self.blockers) == 1


@dataclass(frozen=True, slots=True)
class PassAnswer:
    """Everything the engine says about one protection: the rushers' matchups from left to right, the protectors and
    their gaps."""

    situation: PassSituation
    men: tuple[Man, ...]
    protectors: tuple[OffensivePlayer, ...]
    gaps: tuple[tuple[str, Gap], ...]
    matchups: tuple[Matchup, ...]

    @property
    def free(self) -> tuple[str, ...]:
        """Positions that nobody blocks."""
        return tuple(m.man.position for m in self.matchups if m.is_free)

    @property
    def alone(self) -> tuple[str, ...]:
        """Positions with a one-on-one."""
        return tuple(m.man.position for m in self.matchups if m.is_alone)

    def matchup(self, position: str) -> Matchup:
        """That rusher's matchup; raises KeyError when he does not rush."""
        for matchup in self.matchups:
            if matchup.man.position == position:
                return matchup
        raise KeyError(position)


# Which of the five slide, and in which direction: +1 to the side the center turns to, -1 away, by slide.
SLIDE_SIGN: Mapping[Slide, int] = MappingProxyType({Slide.FULL: 1, Slide.HALF: 1, Slide.SPRINT: 1, Slide.BOOT: -1})


def solve_pass(s: PassSituation) -> PassAnswer:
    """The engine's answer for one protection.

    Raises:
        CannotRun: the formation lacks a man whom the protection keeps in.
    """
    men = line_up_call(s.rules, s.positions, s.front, s.pressure, s.to, s.formation)
    protectors = _protectors(s)
    rushers = [man for man in men if man.rush is not None]
    gaps = _slide_gaps(s, protectors)
    blocked: dict[str, list[OffensivePlayer]] = {man.position: [] for man in rushers}
    idle = _block_gaps(s, protectors, gaps, rushers, blocked)
    in_man = [p for p in protectors if p.key not in gaps]
    idle += _block_men(s, in_man, rushers, blocked)
    _help(s, idle, rushers, blocked)
    matchups = tuple(_matchup(s, man, tuple(blocked[man.position])) for man in rushers)
    return PassAnswer(s, men, protectors, tuple(gaps.items()), matchups)


def _protectors(s: PassSituation) -> tuple[OffensivePlayer, ...]:
    """The five linemen and whoever stays in, from left to right."""
    stay = [p for p in s.formation.players if p.role.is_interior and p.attached]
    for who in s.protection.stay_in:
        found = [p for p in s.formation.players if _is_meant(p, who, s.turn_to) and p not in stay]
        if not found:
            missing = f"formation {s.formation.name!r} has no {who.word} to stay in"
            raise CannotRun(s.pressure.name, s.front.name, s.protection.name, missing)
        stay.append(min(found, key=lambda p: (p.order, abs(p.x))))
    return tuple(sorted(stay, key=lambda p: (p.x, p.y)))


def _is_meant(p: OffensivePlayer, who: Who, turn_to: Side) -> bool:
    if p.role is not who.role:
        return False
    return who.flow is None or (p.side is not None and (p.side is turn_to) == (who.flow is Flow.PLAY_SIDE))


def _slide_gaps(s: PassSituation, protectors: tuple[OffensivePlayer, ...]) -> dict[str, Gap]:
    """The gap of every protector who slides, by key. In a half slide the center and the men on the turn side slide."""
    slide = s.protection.slide
    if slide is Slide.MAN:
        return {}
    toward = s.turn_to if SLIDE_SIGN[slide] > 0 else s.turn_to.other
    gaps: dict[str, Gap] = {}
    for p in protectors:
        if not p.attached:
            continue
        if slide is Slide.HALF and p.side is not None and p.order and p.side is not toward:
            continue
        gaps[p.key] = _next_gap(p, toward)
    return gaps


def _next_gap(p: OffensivePlayer, toward: Side) -> Gap:
    """The gap beside a lineman on the side he slides to."""
    if not p.order:
        return Gap(toward, Letter.A)
    assert p.side is not None
    return Gap(p.side, Letter.from_index(p.order if p.side is toward else p.order - 1))


def _gap_x(formation: Formation, man: Man) -> float:
    return spot_x(formation, man.gaps[0])


def _block_gaps(
    s: PassSituation,
    protectors: tuple[OffensivePlayer, ...],
    gaps: dict[str, Gap],
    rushers: list[Man],
    blocked: dict[str, list[OffensivePlayer]],
) -> list[OffensivePlayer]:
    """Each sliding protector takes the first rusher through his gap; those whose gap stays empty are returned."""
    idle = []
    for p in sorted(protectors, key=lambda p: s.turn_to.sign * p.x):
        if p.key not in gaps:
            continue
        mine = gaps[p.key]
        last = not any(gap.side is mine.side and gap.letter.index > mine.letter.index for gap in gaps.values())
        outward = last and 0 < p.order == mine.letter.index
        through = [m for m in rushers if not blocked[m.position] and _comes_through(m, mine, and_beyond=outward)]
        if through:
            first = min(through, key=lambda m: (m.gaps[0].letter.index, m.order, m.depth_yd, abs(m.x)))
            blocked[first.position].append(p)
        else:
            idle.append(p)
    return idle


def _comes_through(man: Man, gap: Gap, *, and_beyond: bool) -> bool:
    """Whether a rusher comes through a gap, or, for the last man of a slide, through any gap outside it too: an end
    who has released leaves his gap to the man inside him."""
    return any(
        own == gap or (and_beyond and own.side is gap.side and own.letter.index > gap.letter.index) for own in man.gaps
    )


def _block_men(
    s: PassSituation, in_man: list[OffensivePlayer], rushers: list[Man], blocked: dict[str, list[OffensivePlayer]]
) -> list[OffensivePlayer]:
    """Men in man protection: big on big first, then linemen and backs take what is left, from the inside out. Those who
    find nobody are returned."""
    linemen = [p for p in in_man if p.attached]
    backs = [p for p in in_man if not p.attached]

    def left() -> list[Man]:
        unblocked = (m for m in rushers if not blocked[m.position])
        return sorted(unblocked, key=lambda m: (abs(_gap_x(s.formation, m)), -s.turn_to.sign * _gap_x(s.formation, m)))

    _pair(s, linemen, [m for m in left() if m.depth_yd <= AT_THE_LINE_YD], blocked)
    _pair(s, linemen, [m for m in left() if m.depth_yd > AT_THE_LINE_YD], blocked)
    _pair(s, backs, left()[: len(backs)], blocked)
    return linemen + backs


def _pair(
    s: PassSituation, free: list[OffensivePlayer], rushers: list[Man], blocked: dict[str, list[OffensivePlayer]]
) -> None:
    """Pair protectors with rushers: as many as can be, then the least ground to cover. A guard, tackle or end takes
    only men on his own side of the center. Paired protectors leave ``free``."""
    if not free or not rushers:
        return
    turn = s.turn_to.sign
    rows = sorted(free, key=lambda p: (turn * p.x, p.y))
    cost = np.array([[_ground(s, p, man) for man in rushers] for p in rows])
    for i, j in zip(*linear_sum_assignment(cost), strict=True):
        if cost[i, j] < OUT_OF_REACH:
            blocked[rushers[j].position].append(rows[i])
            free.remove(rows[i])


def _ground(s: PassSituation, p: OffensivePlayer, man: Man) -> float:
    """Square yards from a protector to a rusher's gap; out of reach across the center for a man with a side."""
    if p.attached and p.order and p.side is not man.gaps[0].side:
        return OUT_OF_REACH
    return (p.x - _gap_x(s.formation, man)) ** 2


def _help(
    s: PassSituation, idle: list[OffensivePlayer], rushers: list[Man], blocked: dict[str, list[OffensivePlayer]]
) -> None:
    """A lineman with nobody of his own helps the neighbour he turns to; that man having nobody, the other neighbour."""
    turn = s.turn_to.sign * SLIDE_SIGN.get(s.protection.slide, 1)
    for p in idle:
        if not p.attached:
            continue
        for step in (turn, -turn):
            near = [m for m in rushers if blocked[m.position] and _is_neighbour(p, blocked[m.position][0], step)]
            if near:
                blocked[near[0].position].append(p)
                break


def _is_neighbour(p: OffensivePlayer, other: OffensivePlayer, step: int) -> bool:
    """Whether ``other`` is the next man in the line from ``p`` on the side of ``step`` (-1 left, +1 right)."""
    return other.attached and _place(other) - _place(p) == step


def _place(p: OffensivePlayer) -> int:
    """A lineman's place in the line, counted from the center, negative to the left."""
    return p.side.sign * p.order if p.side else 0


def _matchup(s: PassSituation, man: Man, blockers: tuple[OffensivePlayer, ...]) -> Matchup:
    assert man.rush is not None
    outermost = any(gap == s.formation.outermost(gap.side) for gap in man.gaps)
    contains = man.rush.part in (RushPart.EDGE, RushPart.CONTAIN) or outermost
    return Matchup(man, blockers, _half(s, man, blockers, contains), contains)


def _half(s: PassSituation, man: Man, blockers: tuple[OffensivePlayer, ...], contains: bool) -> Half | None:
    """Contain takes the outside half. Another man takes the half on which his rush lane lies; in front of a back, who
    comes to meet him in it, the half away from the center's turn."""
    if not blockers:
        return None
    if contains:
        return Half.OUTSIDE
    blocker = blockers[0]
    lane_x = _gap_x(s.formation, man)
    if not blocker.attached:
        away = lane_x * s.turn_to.sign < 0
        return Half.OUTSIDE if away else Half.INSIDE
    return Half.OUTSIDE if abs(lane_x) > abs(blocker.x) else Half.INSIDE


class Release(Enum):
    """What a man does when a back releases to a side."""

    TAKE_BACK = "take the back"
    KEEP_RUSHING = "keep rushing"
    KEEP_COVERING = "keep your coverage job"


def on_release(answer: PassAnswer, back: OffensivePlayer, side: Side) -> dict[str, Release]:
    """What every position does when ``back`` releases to ``side``; exactly one man takes him.

    Under a peel rule the edge rusher on that side; in man whoever has him; in zone the flat (else hook) player there.

    Raises:
        NoRule: the call gives nobody the back.
    """
    taker = _taker(answer, back, side)
    s = answer.situation
    if taker is None:
        missing = f"nobody takes the {back.word} releasing {side.value}"
        raise NoRule(s.pressure.name, s.front.name, s.protection.name, missing)
    found = {}
    for man in answer.men:
        if man is taker:
            found[man.position] = Release.TAKE_BACK
        else:
            found[man.position] = Release.KEEP_RUSHING if man.rush else Release.KEEP_COVERING
    return found


def _taker(answer: PassAnswer, back: OffensivePlayer, side: Side) -> Man | None:
    s = answer.situation
    if s.pressure.peel:
        edges = [m.man for m in answer.matchups if m.contains and m.man.gaps[0].side is side]
        if edges:
            return max(edges, key=lambda man: side.sign * man.x)
    in_man = [man for man in answer.men if man.drop and man.drop.man == back.role.value]
    if in_man:
        return in_man[0]
    for cover in (CoverJob.FLAT, CoverJob.SEAM, CoverJob.HOOK):
        under = [m for m in answer.men if m.drop and m.drop.cover is cover and _is_there(m, side)]
        if under:
            return max(under, key=lambda man: side.sign * man.x)
    return None


def _is_there(man: Man, side: Side) -> bool:
    return man.side is side or (man.side is None and man.drop is not None and man.drop.run is not RunJob.COVER)
