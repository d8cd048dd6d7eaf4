"""What each blocker does, and where he is at the time of the fit (section 4 of the design page).

Lateral amounts come from the JOBS table of the nouns; the hinge is held to the page's fifth of a gap.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

from quizgen.football.formation import OffensivePlayer, Role
from quizgen.football.scheme import JOBS, Flow, Intent, Job, JobRow, JobRule, Place, Who
from quizgen.football.sides import Side
from quizgen.football.team import Situation
from tests.page_solver.placing import Man, NoAnswer, gap_side, is_outermost

HINGE_SHARE = 0.2
APART_YD = 1.3
CLOSEST_YD = 0.2


Jobs = dict[OffensivePlayer, JobRow]


@dataclass(frozen=True)
class Blocker:
    """A blocker at the surface at the time of the fit."""

    man: OffensivePlayer
    job: Job
    x: float
    moved: float
    """Yards sideways from the snap to the fit; 0 for a man who arrives."""
    arrives_in: int | None = None
    """Index of the gap he turns up in; None for a man who stayed in the line."""

    @property
    def name(self) -> str:
        return self.man.word

    @property
    def rule(self) -> JobRule:
        return JOBS[self.job]

    @property
    def is_kick(self) -> bool:
        return self.arrives_in is not None and self.rule.intent is Intent.KICK


def flow_of(man: OffensivePlayer, play_to: Side) -> Flow | None:
    """The side of the play that an offensive player is on; None in the middle."""
    if man.side is None:
        return None
    return Flow.PLAY_SIDE if man.side is play_to else Flow.BACK_SIDE


def matches(who: Who, man: OffensivePlayer, play_to: Side) -> bool:
    """Whether a row speaks of that man; without a role it speaks of every attached man."""
    if who.role is None:
        return man.attached and (who.flow is None or flow_of(man, play_to) is who.flow)
    return man.role is who.role and (who.flow is None or flow_of(man, play_to) is who.flow)


def assign_jobs(situation: Situation) -> Jobs:
    """Who does what: the more particular row overrules, among equals the later one.

    Raises:
        NoAnswer: the formation has nobody for a row that the play needs, or no carrier.
    """
    play, players = situation.play, situation.formation.players
    if not any(man.role is play.carrier for man in players):
        raise NoAnswer(f"nobody carries the ball: the formation has no {play.carrier.value}")
    chosen: dict[OffensivePlayer, tuple[int, JobRow]] = {}
    for row in play.rows:
        found, detail = men_of_row(row, situation)
        if not found and not row.optional and not row_is_general(row):
            raise NoAnswer(f"the formation has no {row.who[0].word}")
        for man in found:
            if man not in chosen or detail >= chosen[man][0]:
                chosen[man] = (detail, row)
    return {man: row for man, (_, row) in chosen.items()}


def row_is_general(row: JobRow) -> bool:
    """A row for the line, or for one side of it, may find nobody."""
    return row.who[0].role is None


def men_of_row(row: JobRow, situation: Situation) -> tuple[list[OffensivePlayer], int]:
    """The men whom a row speaks of and how particular it is: the first of its entries that finds anybody."""
    for who in row.who:
        found = [man for man in situation.formation.players if matches(who, man, situation.play_to)]
        if not found:
            continue
        if who.role is not None and JOBS[row.job].place is not Place.LINE:
            found = [min(found, key=lambda man: (man.order, abs(man.x), situation.play_to.sign * man.x))]
        return found, who.detail
    return [], 0


def move_blockers(situation: Situation, men: list[Man]) -> list[Blocker]:
    """All blockers at the surface at the time of the fit, left to right.

    Raises:
        NoAnswer: men of the line end up in one place or out of order, or a man who arrives finds no line.
    """
    jobs = assign_jobs(situation)
    surface = situation.formation.surface
    stayed = [man for man in surface if JOBS[jobs[man].job].place is Place.LINE]
    doubles = double_steps(situation, men, jobs)
    line = [line_blocker(man, jobs[man].job, situation, doubles) for man in stayed]
    for left, right in pairwise(line):
        if right.x - left.x < CLOSEST_YD:
            raise NoAnswer(f"{left.name} and {right.name} end up in one place")
    arriving = [
        (man, row, arrival_gap(row, situation, men))
        for man, row in jobs.items()
        if JOBS[row.job].place not in (Place.LINE, Place.AWAY)
    ]
    placed = place_arrivals(arriving, line, situation)
    return sorted([*line, *placed], key=lambda one: one.x)


def line_blocker(man: OffensivePlayer, job: Job, situation: Situation, doubles: dict[OffensivePlayer, int]) -> Blocker:
    """A man who stays in the line, moved sideways by his job's share of a gap."""
    rule = JOBS[job]
    play = situation.play_to.sign
    if job is Job.DOUBLE:
        direction = doubles.get(man, 0)
        share = abs(rule.gaps_moved)
    elif job is Job.HINGE:
        # Section 4: a hinge moves no gap boundary by more than a fifth of that gap's width at the snap.
        direction, share = play, min(abs(rule.gaps_moved), HINGE_SHARE)
    elif job is Job.DOWN and man.side is not None:
        # Section 4: men block down, to the inside.
        direction, share = -man.side.sign, abs(rule.gaps_moved)
    else:
        direction = play if rule.gaps_moved > 0 else -play
        share = abs(rule.gaps_moved)
    if direction == 0 or share == 0:
        return Blocker(man, job, man.x, 0.0)
    width = gap_width(man, direction, situation)
    if job is Job.HINGE:
        width = min(width, gap_width(man, -direction, situation))
    moved = direction * share * width
    return Blocker(man, job, man.x + moved, moved)


def gap_width(man: OffensivePlayer, direction: int, situation: Situation) -> float:
    """Yards to the next attached man that way before the snap; for the outermost man, to his inner neighbour."""
    surface = situation.formation.surface
    here = surface.index(man)
    there = here + direction
    if not 0 <= there < len(surface):
        there = here - direction
    return abs(surface[there].x - man.x)


def double_steps(situation: Situation, men: list[Man], jobs: Jobs) -> dict[OffensivePlayer, int]:
    """Which way each doubler steps: two neighbours with that job close on the down lineman in the gap between them,
    those nearest the aim first."""
    surface = situation.formation.surface
    aim = aim_gap(situation)
    play = situation.play_to.sign
    held = {gap for man in men if man.down and man.rush for gap in man.gaps}
    inner = [gap for gap in held if not is_outermost(situation.formation, gap)]
    steps: dict[OffensivePlayer, int] = {}
    for gap in sorted(inner, key=lambda one: (abs(one - aim), -play * one)):
        left, right = surface[gap - 1], surface[gap]
        if any(jobs[man].job is not Job.DOUBLE or man in steps for man in (left, right)):
            continue
        steps[left], steps[right] = 1, -1
    return steps


def aim_gap(situation: Situation) -> int:
    """Index of the gap the play aims at; without a letter it is the edge on the play side."""
    formation, play_to = situation.formation, situation.play_to
    letter = situation.play.aim
    outermost = formation.gaps.index(formation.outermost(play_to))
    if letter is None:
        return outermost
    same = [
        index for index, gap in enumerate(formation.gaps) if gap.side is play_to and gap.letter.index == letter.index
    ]
    return same[0] if same else outermost


def play_gaps(situation: Situation) -> list[int]:
    """The play-side gaps from the center out."""
    formation, play_to = situation.formation, situation.play_to
    found = [gap for gap in range(len(formation.gaps)) if gap_side(formation, gap) is play_to]
    return sorted(found, key=lambda gap: play_to.sign * gap)


def arrival_gap(row: JobRow, situation: Situation, men: list[Man]) -> int:
    """The gap that a puller or a back turns up in."""
    place = JOBS[row.job].place
    formation, play_to = situation.formation, situation.play_to
    if row.gap is not None:
        # Section 4: where a puller turns up may be written; a letter past the last gap means the last one.
        return play_gaps(situation)[min(row.gap.index, len(play_gaps(situation)) - 1)]
    if place is Place.EDGE:
        return formation.gaps.index(formation.outermost(play_to))
    if place is Place.BACK_EDGE:
        return formation.gaps.index(formation.outermost(play_to.other))
    if place is Place.AIM:
        return aim_gap(situation)
    if place is Place.BUBBLE:
        return bubble(situation, men)
    return trap_gap(row, situation, men)


def bubble(situation: Situation, men: list[Man]) -> int:
    """Section 4, base and lead: the lead back inserts at the bubble, the first inner gap without a down lineman."""
    held = {gap for man in men if man.down and man.rush for gap in man.gaps}
    for gap in play_gaps(situation)[:-1]:
        if gap not in held:
            return gap
    return aim_gap(situation)


def trap_gap(row: JobRow, situation: Situation, men: list[Man]) -> int:
    """Section 4, trap: the first defender past the center (guard), as the front stands after its first movement."""
    past = 0
    if row.past is not None:
        passed = situation.formation.find(row.past, situation.play_to)
        if passed is None:
            raise NoAnswer(f"the formation has no {row.past.value} for the trap to pass")
        past = 0 if row.past is Role.CENTER else passed.order
    trapped = {gap for man in men if man.rush and (man.down or man.order == 1) for gap in man.gaps}
    for gap in play_gaps(situation)[past:]:
        if gap in trapped:
            return gap
    raise NoAnswer("the trap finds nobody to hit")


def place_arrivals(
    arriving: list[tuple[OffensivePlayer, JobRow, int]], line: list[Blocker], situation: Situation
) -> list[Blocker]:
    """Stands the men who arrive in their holes: 1.3 yd apart outside the line, evenly between two men of it."""
    placed: list[Blocker] = []
    for first, last in holes(line, situation):
        inside = [one for one in arriving if first <= one[2] <= last]
        if not inside:
            continue
        outward = hole_direction(first, last, situation)
        inside.sort(key=lambda one: arrival_order(one, outward))
        left, right = hole_walls(first, last, line, situation)
        for number, (man, row, gap) in enumerate(inside, 1):
            if left is not None and right is not None:
                share = number / (len(inside) + 1)
                start, end = (left, right) if outward > 0 else (right, left)
                x = start.x + share * (end.x - start.x)
            else:
                wall = left if outward > 0 else right
                if wall is None:
                    raise NoAnswer("nobody is left in the line inside the gap of a man who arrives")
                x = wall.x + outward * APART_YD * number
            placed.append(replace(Blocker(man, row.job, x, 0.0), arrives_in=gap))
    return placed


def arrival_order(one: tuple[OffensivePlayer, JobRow, int], outward: int) -> tuple[float, int, float, float]:
    """Inside out: gap, rank of the job, nearness to the center before the snap."""
    man, row, gap = one
    return (outward * gap, JOBS[row.job].rank, abs(man.x), outward * man.x)


def holes(line: list[Blocker], situation: Situation) -> list[tuple[int, int]]:
    """Runs of gaps (first and last index) between the men who stayed in the line, left to right."""
    surface = situation.formation.surface
    stayed = [surface.index(one.man) for one in sorted(line, key=lambda one: one.x)]
    starts = [0, *(index + 1 for index in stayed)]
    ends = [*stayed, len(surface)]
    return list(zip(starts, ends, strict=True))


def hole_walls(
    first: int, last: int, line: list[Blocker], situation: Situation
) -> tuple[Blocker | None, Blocker | None]:
    """The men of the line on both sides of a hole; None past the last man."""
    surface = situation.formation.surface
    by_man = {one.man: one for one in line}
    left = by_man[surface[first - 1]] if first > 0 else None
    right = by_man[surface[last]] if last < len(surface) else None
    return left, right


def hole_direction(first: int, last: int, situation: Situation) -> int:
    """Which way is outward in a hole; one that reaches across the center counts toward the play."""
    sides = {gap_side(situation.formation, gap) for gap in range(first, last + 1)}
    return sides.pop().sign if len(sides) == 1 else situation.play_to.sign
