"""Where every blocker is at the time of the fit. Knows who lines up where; knows nothing of who owns what after the
snap.

Written for a play to the right only.

Jobs. Each attached man needs a job; the more particular row (role 2 points, flow 1 point) overrules, among equals the
later row. A `who` list: the first entry that finds a man. A row with a role whose job is not on the line takes one
man only (the innermost: lowest order outward, then the smallest |x|). No man found: the formation cannot run the play
(unless optional).

Movement on the line: x_to = x + gaps_moved x (distance to the next attached man in the direction of the move, before
the snap; the outermost man uses the distance to his inner neighbour). Amounts: ``quizgen.football.scheme.JOBS``; a
down block goes inside, on the back side toward the play.
Doubles: gaps held by down linemen (interior gaps only), nearest to the aim gap first (counted in gaps; ties: the one
nearer the play side); where both men beside it have the job "double" and are not yet used, both step 0.2 of a gap
toward it; other doublers stay. Two line men closer than 0.2 yd after moving, or out of order: no rule.

Men who arrive (kick, wrap, lead, trap, arc): the gap they turn up in: the one that the row names; else EDGE =
outermost play-side gap; BACK_EDGE = outermost back-side gap; AIM = the aim gap; BUBBLE = the first play-side gap from
the center out, the outermost excepted, that no down lineman holds, else the aim gap; TRAP = the first play-side gap,
at or beyond the man passed (order of that man; 0 for the center), owned by a rusher who is a down lineman or goes
first. Gaps between which a blocker has left are one hole. Within a hole they stand in the order gap from the inside
out, rank, |x| before the snap, x: outside the last man left in the line 1.3, 2.6 … yd apart; between two line men
evenly spaced. Nobody left in the line inside the gap: no rule. A trap past a man who isn't there, or a play whose
carrier isn't there: the formation cannot run it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise
from math import hypot

from quizgen.engine.alignment import Man
from quizgen.football.errors import CannotRun, NoRule
from quizgen.football.formation import Formation, OffensivePlayer, Role
from quizgen.football.scheme import JOBS, Flow, Intent, Job, JobRow, JobRule, Place, Scheme, Who
from quizgen.football.sides import Gap, Side
from quizgen.football.team import Situation

PLAY_SIDE = Side.RIGHT
EDGE_SPACING_YD = 1.3
TRAIL_Y_YD = 0.6
LEAST_SPACE_YD = 0.2


@dataclass(frozen=True, slots=True)
class BlockerMove:
    """A blocker's job and his way: from (x, y) before the snap to (x_to, y_to) at ``at_s`` seconds.

    ``in_line`` men keep the line's order; ``word`` names a man who arrives and splits a lane ("kick"); a man who
    ``left`` the line has no place in its order any more; ``gap`` is the gap an arriving man turns up in.
    """

    player: OffensivePlayer
    job: Job
    x_to: float
    y_to: float
    at_s: float
    in_line: bool
    left: bool
    word: str = ""
    gap: Gap | None = None

    @property
    def rule(self) -> JobRule:
        """The row of the table of jobs."""
        return JOBS[self.job]

    @property
    def intent(self) -> Intent:
        """What his block does to the man in the lane it enters."""
        return self.rule.intent

    @property
    def dx(self) -> float:
        """Yards moved sideways, positive to the right."""
        return self.x_to - self.player.x

    @property
    def mirrored(self) -> BlockerMove:
        """The same move turned round."""
        return BlockerMove(
            self.player.mirrored,
            self.job,
            0.0 if self.x_to == 0 else -self.x_to,
            self.y_to,
            self.at_s,
            self.in_line,
            self.left,
            self.word,
            self.gap.mirrored if self.gap else None,
        )


NOBODY: frozenset[Gap] = frozenset()


@dataclass(frozen=True, slots=True)
class AtTheLine:
    """All that movement asks of the defense: the gaps that its down linemen hold (``held``), and those of its rushers
    who are through first (``first``), as the call gives them. Snaps that agree in it have the same blockers' moves."""

    held: frozenset[Gap]
    first: frozenset[Gap]

    @classmethod
    def of(cls, men: Iterable[Man]) -> AtTheLine:
        """What the blockers find, of the eleven on the field."""
        found = tuple(men)
        held = frozenset(gap for man in found if man.down for gap in man.gaps)
        return cls(held, frozenset(gap for man in found if man.rush and man.is_first for gap in man.gaps))

    def asked_by(self, play: Scheme) -> AtTheLine:
        """What a play's jobs ask of it: the gaps held for double teams and for a lead to the bubble, the first rushers
        for a trap."""
        places = {JOBS[row.job].place for row in play.rows}
        asks_held = Place.BUBBLE in places or any(row.job is Job.DOUBLE for row in play.rows)
        return AtTheLine(self.held if asks_held else NOBODY, self.first if Place.TRAP in places else NOBODY)


def assign_jobs(s: Situation) -> dict[str, tuple[OffensivePlayer, JobRow]]:
    """Each blocker's row, by player key: the more particular row overrules, among equals the later one.

    Raises:
        CannotRun: a row that must find a man finds none in this formation, or nobody is there to carry the ball.
    """
    carrier = s.formation.find(s.play.carrier)
    if carrier is not None and carrier.role is Role.IN_MOTION and carrier.side is not PLAY_SIDE:
        missing = f"the man in motion in {s.formation.name!r} goes the other way"
        raise CannotRun(s.pressure.name, s.front.name, s.play.name, missing)
    if carrier is None:
        missing = f"formation {s.formation.name!r} has no {s.play.carrier.value} to carry the ball"
        raise CannotRun(s.pressure.name, s.front.name, s.play.name, missing)
    jobs: dict[str, tuple[int, OffensivePlayer, JobRow]] = {}
    for row in s.play.rows:
        who, men = _first_present(row, s.formation)
        if not men and not row.optional:
            words = " or ".join(who.word for who in row.who)
            missing = f"formation {s.formation.name!r} has no {words} to {row.job.value}"
            raise CannotRun(s.pressure.name, s.front.name, s.play.name, missing)
        for man in men:
            if man.key not in jobs or jobs[man.key][0] <= who.detail:
                jobs[man.key] = (who.detail, man, row)
    return {key: (man, row) for key, (_, man, row) in jobs.items()}


def _first_present(row: JobRow, formation: Formation) -> tuple[Who, tuple[OffensivePlayer, ...]]:
    for who in row.who:
        men = tuple(p for p in formation.players if _is_meant(p, who))
        if men and JOBS[row.job].place is not Place.LINE and who.role is not None:
            men = (min(men, key=lambda p: (p.order, abs(p.x), p.x)),)
        if men:
            return who, men
    return row.who[0], ()


def _is_meant(player: OffensivePlayer, who: Who) -> bool:
    if who.role is None:
        if not player.attached:
            return False
    elif player.role is not who.role:
        return False
    if who.flow is None:
        return True
    side = player.side
    return side is not None and (side is PLAY_SIDE) == (who.flow is Flow.PLAY_SIDE)


def move(s: Situation, front: AtTheLine) -> tuple[BlockerMove, ...]:
    """Every blocker at the time of the fit, from left to right; men who take no part at the surface come last.

    Raises:
        CannotRun: the formation lacks a man whom the play needs.
        NoRule: a job that this man cannot do, nobody to trap, nobody left in the line, or two linemen who would run
            into each other.
    """
    jobs = assign_jobs(s)
    line = _move_line(s, front, jobs)
    if not line:
        raise _no_rule(s, "nobody is left in the line")
    arriving = _arrive(s, front, jobs, line)
    gone = tuple(
        BlockerMove(man, row.job, man.x, man.y, 0.0, False, man.attached)
        for man, row in jobs.values()
        if JOBS[row.job].place is Place.AWAY
    )
    return (*sorted((*line, *arriving), key=lambda m: m.x_to), *sorted(gone, key=lambda m: m.player.x))


def _move_line(
    s: Situation, front: AtTheLine, jobs: dict[str, tuple[OffensivePlayer, JobRow]]
) -> tuple[BlockerMove, ...]:
    doubles = _doubles(s, front, jobs)
    surface = s.formation.surface
    moves = []
    for index, player in enumerate(surface):
        row = jobs[player.key][1]
        rule = JOBS[row.job]
        if rule.place is not Place.LINE:
            continue
        gaps = doubles.get(player.key, 0.0) if row.job is Job.DOUBLE else rule.gaps_moved
        if row.job is Job.DOWN and player.side is PLAY_SIDE.other:
            gaps = -gaps  # inside is toward the play there
        width = _gap_width(surface, index, gaps)
        if row.job is Job.HINGE:
            width = min(width, _gap_width(surface, index, -gaps))
        x_to = player.x + gaps * width
        moves.append(BlockerMove(player, row.job, x_to, -0.3, s.rules.timing.line_move_s, True, False))
    for man, row in jobs.values():
        if JOBS[row.job].place is Place.LINE and not man.attached:
            raise _no_rule(s, f"a {man.role.value} cannot {row.job.value!r}: that is a job on the line")
    for left, right in pairwise(moves):
        if right.x_to - left.x_to < LEAST_SPACE_YD:
            words = " and ".join(f"{_flow_word(one.player)} ({one.job.value})" for one in (left, right))
            raise _no_rule(s, f"{words} would run into each other")
    return tuple(moves)


def _gap_width(surface: tuple[OffensivePlayer, ...], index: int, gaps: float) -> float:
    step = 1 if gaps > 0 else -1
    neighbour = index + step
    if not 0 <= neighbour < len(surface):
        neighbour = index - step
    return abs(surface[neighbour].x - surface[index].x)


def _doubles(s: Situation, front: AtTheLine, jobs: dict[str, tuple[OffensivePlayer, JobRow]]) -> dict[str, float]:
    """Steps of the men who double, in gaps: pairs around a down lineman's gap, from the aim outward, each man once."""
    surface, gaps = s.formation.surface, s.formation.gaps
    aim = aim_gap(s)
    pairs = sorted(
        (index for index, gap in enumerate(gaps) if gap in front.held and 0 < index < len(gaps) - 1),
        key=lambda index: (abs(index - gaps.index(aim)), -index),
    )
    step = JOBS[Job.DOUBLE].gaps_moved
    found: dict[str, float] = {}
    for index in pairs:
        left, right = surface[index - 1], surface[index]
        both = all(jobs[p.key][1].job is Job.DOUBLE and p.key not in found for p in (left, right))
        if both:
            found[left.key], found[right.key] = step, -step
    return found


def aim_gap(s: Situation) -> Gap:
    """The gap that the play aims at, before the snap."""
    outermost = s.formation.outermost(PLAY_SIDE)
    if s.play.aim is None or s.play.aim.index >= outermost.letter.index:
        return outermost
    return Gap(PLAY_SIDE, s.play.aim)


def _arrive(
    s: Situation,
    front: AtTheLine,
    jobs: dict[str, tuple[OffensivePlayer, JobRow]],
    line: tuple[BlockerMove, ...],
) -> tuple[BlockerMove, ...]:
    placed: list[tuple[OffensivePlayer, JobRow, Gap]] = []
    for man, row in jobs.values():
        rule = JOBS[row.job]
        if rule.place in (Place.LINE, Place.AWAY):
            continue
        placed.append((man, row, _arrival_gap(s, front, row, rule.place)))
    moves: list[BlockerMove] = []
    holes = {gap: _hole(s, line, gap) for _, _, gap in placed}
    for hole in dict.fromkeys(holes.values()):
        group = [one for one in placed if holes[one[2]] == hole]
        group.sort(key=lambda one: (one[2].letter.index, JOBS[one[1].job].rank, abs(one[0].x), one[0].x))
        spots = _spots(line, hole, len(group))
        for (man, row, gap), x in zip(group, spots, strict=True):
            at_s = hypot(x - man.x, man.y) / s.rules.timing.puller_yd_s
            word = JOBS[row.job].word
            moves.append(BlockerMove(man, row.job, x, -TRAIL_Y_YD, at_s, False, man.attached, word, gap))
    return tuple(moves)


def _arrival_gap(s: Situation, front: AtTheLine, row: JobRow, place: Place) -> Gap:
    if row.gap is not None:
        outermost = s.formation.outermost(PLAY_SIDE)
        return outermost if row.gap.index >= outermost.letter.index else Gap(PLAY_SIDE, row.gap)
    if place is Place.EDGE:
        return s.formation.outermost(PLAY_SIDE)
    if place is Place.BACK_EDGE:
        return s.formation.outermost(PLAY_SIDE.other)
    if place is Place.AIM:
        return aim_gap(s)
    if place is Place.BUBBLE:
        return _bubble(s, front)
    return _trapped(s, front, row.past)


def _bubble(s: Situation, front: AtTheLine) -> Gap:
    """The first interior play-side gap, from the center out, that no down lineman holds; the aim if all are held."""
    for gap in s.formation.gaps:
        if gap.side is PLAY_SIDE and gap not in front.held and gap != s.formation.outermost(PLAY_SIDE):
            return gap
    return aim_gap(s)


def _trapped(s: Situation, front: AtTheLine, past: Role | None) -> Gap:
    """The gap of the first man at the line on the play side, past the center or past the man named."""
    least = 0
    if past is not None and past is not Role.CENTER:
        passed = [man for man in s.formation.on_side(PLAY_SIDE) if man.role is past]
        if not passed:
            missing = f"formation {s.formation.name!r} has no play side {past.value} to trap past"
            raise CannotRun(s.pressure.name, s.front.name, s.play.name, missing)
        least = passed[0].order
    for gap in s.formation.gaps:
        is_past = gap.side is PLAY_SIDE and gap.letter.index >= least
        if is_past and gap in front.first:
            return gap
    raise _no_rule(s, f"nobody at the line to trap past the {past.value if past else 'center'}")


def _hole(s: Situation, line: tuple[BlockerMove, ...], gap: Gap) -> tuple[int, int]:
    """The men left in the line beside a gap, counted from the left: 0 for nobody on its left, one more than the men
    for nobody on its right. Gaps between which a blocker has left share one."""
    start = s.formation.gaps.index(gap)
    left = sum(s.formation.surface.index(m.player) < start for m in line)
    if left == 0 and gap.side is PLAY_SIDE:
        raise _no_rule(s, f"nobody is left in the line inside {Flow.PLAY_SIDE.value} {gap.letter.value}")
    return left, left + 1


def _spots(line: tuple[BlockerMove, ...], hole: tuple[int, int], count: int) -> list[float]:
    """Where ``count`` arriving men stand between two men of the line on the play side, or outside the last on either,
    listed from the inside out."""
    left, right = hole
    if left == 0:
        return [line[0].x_to - EDGE_SPACING_YD * (i + 1) for i in range(count)]
    if right > len(line):
        return [line[-1].x_to + EDGE_SPACING_YD * (i + 1) for i in range(count)]
    low, high = line[left - 1].x_to, line[right - 1].x_to
    return [low + (high - low) * (i + 1) / (count + 1) for i in range(count)]


def _flow_word(player: OffensivePlayer) -> str:
    """A lineman by his side of the play, which holds for a play to either side ("back side guard")."""
    if player.side is None:
        return player.role.value
    return f"{(Flow.PLAY_SIDE if player.side is PLAY_SIDE else Flow.BACK_SIDE).value} {player.role.value}"


def _no_rule(s: Situation, missing: str) -> NoRule:
    return NoRule(s.pressure.name, s.front.name, s.play.name, missing)
