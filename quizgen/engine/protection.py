"""The pass: who has whom, who comes free, who is one on one, which half of the man to take, who takes the back.

A sliding protector has a gap and takes the first man through it, wherever he came from: stunts are passed off. A
protector in man has a rusher: the man who lines up on him, whom he follows through a stunt; a backer he meets where he
comes through, since he can't get to him before.

Half slide: away from the turn the last lineman has the man outside him and each covered lineman the man on him; the
first who is uncovered starts the slide, and everybody from there to the turn side has the gap beside him. A man covers
a lineman when he is on the line less than a man's width away across (last: or further out).

Man (big on big): as many rushers as can be get a blocker; a guard, tackle or end takes nobody over the center or
across him. Of the ways to do that the first that can be: linemen have men on the line, linemen have backers, backs
have backers, backs have men on the line, and last a lineman goes past his neighbour. So a guard doesn't leave his
place for an edge rusher while a back is there; without a back the line fans out. They block from the inside out: where
somebody comes free, it is the widest; from the outside in where the protection leaves the innermost man free. In a
half slide each takes the nearest: the tackle his end, so an inside man comes free.

Backs beside a slide take who comes on the side away from the turn, from the inside out, and release where nobody does;
a second back takes who is left on the turn side. So two men off one back's edge are one too many, and the wider one is
free.

Sources: slides and who starts them, half slide (blitzology.com, understanding half slide) and combination protection
(insider.afca.com); big on big (American Football Monthly 4434); the rest common practice.
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
from quizgen.football.scheme import Flow, LeftFree, Slide, Who
from quizgen.football.sides import Gap, Letter, Side
from quizgen.football.team import PassSituation

AT_THE_LINE_YD = 1.6
OUT_OF_REACH = 1e6
FAR = OUT_OF_REACH / 2
OVER_THE_BALL_YD = 0.1


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


def slide_side(s: PassSituation) -> Side:
    """The side to which the center turns: on a boot the other one than the quarterback comes out on. In man, where he
    doesn't turn, the side that the play is called to."""
    return s.turn_to if SLIDE_SIGN.get(s.protection.slide, 1) > 0 else s.turn_to.other


def solve_pass(s: PassSituation) -> PassAnswer:
    """The engine's answer for one protection.

    Raises:
        CannotRun: the formation lacks a man whom the protection keeps in.
    """
    men = line_up_call(s.rules, s.positions, s.front, s.pressure, s.to, s.formation)
    protectors = _protectors(s)
    rushers = [man for man in men if man.rush is not None]
    gaps = _slide_gaps(s, protectors, men)
    blocked: dict[str, list[OffensivePlayer]] = {man.position: [] for man in rushers}
    linemen = [p for p in protectors if p.attached and p.key not in gaps]
    backs = [p for p in protectors if not p.attached]
    if gaps:
        idle = _pair(s, linemen, protectors, rushers, blocked)
        idle += _block_gaps(s, protectors, gaps, rushers, blocked)
        _send_backs(s, backs, rushers, blocked)
    else:
        idle = _pair(s, linemen + backs, protectors, rushers, blocked)
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


def _slide_gaps(s: PassSituation, protectors: tuple[OffensivePlayer, ...], men: tuple[Man, ...]) -> dict[str, Gap]:
    """The gap of every protector who slides, by key."""
    slide = s.protection.slide
    if slide is Slide.MAN:
        return {}
    toward = slide_side(s)
    line = [p for p in protectors if p.attached]
    on_men = _man_side(s, line, men) if slide is Slide.HALF else []
    return {p.key: _next_gap(p, toward) for p in line if p not in on_men}


def _man_side(s: PassSituation, line: list[OffensivePlayer], men: tuple[Man, ...]) -> list[OffensivePlayer]:
    """The linemen away from the turn who have a man in a half slide: from the outside in, as long as they are
    covered."""
    away = s.turn_to.other
    side = sorted((p for p in line if p.side is away and p.order), key=lambda p: -p.order)
    found: list[OffensivePlayer] = []
    for p in side:
        if not any(_covers(s, man, p, is_last=p is side[0]) for man in men):
            break
        found.append(p)
    return found


def _covers(s: PassSituation, man: Man, p: OffensivePlayer, *, is_last: bool) -> bool:
    """Whether a man on the line stands on that lineman; for the last one on his side, or outside him."""
    assert p.side is not None  # a lineman beside the center
    out, width = (man.x - p.x) * p.side.sign, s.rules.measures.man_width_yd
    return _at_the_line(man) and -width < out and (is_last or out < width)


def _at_the_line(man: Man) -> bool:
    return man.depth_yd <= AT_THE_LINE_YD


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
    """Each sliding protector takes the first rusher through his gap whom nobody has; those whose gap stays empty are
    returned."""
    idle = []
    for p in sorted(protectors, key=lambda p: s.turn_to.sign * p.x):
        if p.key not in gaps:
            continue
        mine = gaps[p.key]
        last = not any(gap.side is mine.side and gap.letter.index > mine.letter.index for gap in gaps.values())
        outward = last and 0 < p.order == mine.letter.index
        through = [m for m in rushers if not blocked[m.position] and _comes_through(m, mine, and_beyond=outward)]
        through = [m for m in through if len(m.gaps) == 1 or p is _nearest(m, protectors, gaps)]
        if through:
            first = min(through, key=lambda m: (m.gaps[0].letter.index, m.order, m.depth_yd, abs(m.x)))
            blocked[first.position].append(p)
        else:
            idle.append(p)
    return idle


def _nearest(man: Man, protectors: tuple[OffensivePlayer, ...], gaps: Mapping[str, Gap]) -> OffensivePlayer:
    """Of the men who slide to the gaps of a man with two the one on whom he lines up."""
    there = [p for p in protectors if gaps.get(p.key) in man.gaps]
    return min(there, key=lambda p: (abs(p.x - man.x), p.order))


def _comes_through(man: Man, gap: Gap, *, and_beyond: bool) -> bool:
    """Whether a rusher comes through a gap, or, for the last man of a slide, through any gap outside it too: an end
    who has released leaves his gap to the man inside him."""
    return any(
        own == gap or (and_beyond and own.side is gap.side and own.letter.index > gap.letter.index) for own in man.gaps
    )


# How a man gets his blocker in man protection, the first that can be; see the head of this module. The ground to cover
# stays far below one of these steps, and all of them below one man more who is blocked. Past two neighbours costs more
# than two men past one each, so that the line moves over and nobody crosses.
STEP, INSIDE_FIRST = 1_000.0, 20.0
LINEMAN_ON_BACKER, BACK_ON_BACKER, BACK_ON_LINEMAN, PAST_HIS_NEIGHBOUR = STEP, 2 * STEP, 3 * STEP, 4 * STEP


def _pair(
    s: PassSituation,
    free: list[OffensivePlayer],
    protectors: tuple[OffensivePlayer, ...],
    rushers: list[Man],
    blocked: dict[str, list[OffensivePlayer]],
) -> list[OffensivePlayer]:
    """Pair the protectors in man (``free``) with rushers: as many as can be, then by the steps above, then by the least
    ground. Those who find nobody are returned."""
    turn = s.turn_to.sign
    rows = sorted(free, key=lambda p: (turn * p.x, p.y))
    line = [p.x for p in protectors if p.attached]
    cost = np.array([[_cost(s, p, man, line) for man in rushers] for p in rows]).reshape(len(rows), len(rushers))
    paired = [(rows[i], rushers[j]) for i, j in zip(*linear_sum_assignment(cost), strict=True) if cost[i, j] < FAR]
    for p, man in paired:
        blocked[man.position].append(p)
    return [p for p in free if p not in [one for one, _ in paired]]


def _cost(s: PassSituation, p: OffensivePlayer, man: Man, line: list[float]) -> float:
    """What it costs when this protector has this man; ``line`` has the places of all linemen. Beside a slide a lineman
    has the man who covers him, or a backer, and nobody goes past his neighbour."""
    big, turn = _at_the_line(man), s.turn_to.sign
    x = man.x if big else _gap_x(s.formation, man)
    if not p.attached:
        # From the inside out; of two as far out the one on the side of the turn, then the nearer.
        inside = abs(x) - 0.001 * turn * x + 0.000_1 * abs(x - p.x)
        return _outward(s) * inside + (BACK_ON_LINEMAN if big else BACK_ON_BACKER)
    side = p.side.sign if p.side and p.order else 0
    if side and x * side < OVER_THE_BALL_YD:
        return OUT_OF_REACH
    step = 0.0 if big else LINEMAN_ON_BACKER
    past = sum(p.x < other <= x or x <= other < p.x for other in line)
    if s.protection.slide is not Slide.MAN:
        is_last = abs(p.x) == max(abs(other) for other in line if other * p.x > 0)
        if past or (big and not _covers(s, man, p, is_last=is_last)):
            return OUT_OF_REACH
        return (x - p.x) ** 2 + step
    return (x - p.x) ** 2 + _outward(s) * INSIDE_FIRST * abs(x) + (PAST_HIS_NEIGHBOUR * past**2 if past else step)


def _outward(s: PassSituation) -> int:
    """1 where men in man protection block from the inside out, -1 from the outside in."""
    return 1 if s.protection.free is LeftFree.WIDEST else -1


def _send_backs(
    s: PassSituation, backs: list[OffensivePlayer], rushers: list[Man], blocked: dict[str, list[OffensivePlayer]]
) -> None:
    """Backs beside a slide: away from the turn from the inside out; a second one takes who is left on the turn side."""
    away = -slide_side(s).sign

    def left(sign: int) -> list[Man]:
        found = [man for man in rushers if not blocked[man.position] and _gap_x(s.formation, man) * sign > 0]
        outward = _outward(s)
        return sorted(
            found,
            key=lambda man: (outward * abs(_gap_x(s.formation, man)), outward * man.order, outward * man.depth_yd),
        )

    wanted = left(away)[: len(backs)]
    if len(backs) > 1:
        wanted += left(-away)[: len(backs) - len(wanted)]
    cost = np.array([[abs(p.x - _gap_x(s.formation, man)) for man in wanted] for p in backs])
    for i, j in zip(*linear_sum_assignment(cost.reshape(len(backs), len(wanted))), strict=True):
        blocked[wanted[j].position].append(backs[i])


def _help(
    s: PassSituation, idle: list[OffensivePlayer], rushers: list[Man], blocked: dict[str, list[OffensivePlayer]]
) -> None:
    """A lineman with nobody of his own helps the neighbour he turns to; that man having nobody, the other neighbour."""
    turn = slide_side(s).sign
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
        away = lane_x * slide_side(s).sign < 0
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
