"""Who fills the lanes that no gap owner has: an assignment problem, solved by SciPy.

Cost is arrival time; a man may take only the lanes that his run job gives him; on-time fits come before late ones.
Written for a play to the right only.

Before all this, crack: when a receiver has the job `crack`, the dropper with run job force on the receiver's side
becomes `cover`; if team rule crack = replace and there was such a man, the widest dropper with x on that side whose
run job is cover becomes force on that side (this happens before owners and option phases are worked out).

Support for the lanes that no gap owner can get to. May take: force and alley = any lane on their side, force also the
last one where it reaches across the center; fold = a lane on his side (or across the center) that is merged or that a
man left over the top; free = any; cutback = any lane not on the play side; cover = none. An assignment that first
leaves as few lanes unowned as can be (a man who cannot get there does not count), then as few late as can be (force
in the outermost lane may be late), then sends force past as few unowned lanes on his side as can be, then takes the
least sum of arrival times. Crossing fits are uncrossed, pair by pair from the back side to the play side until none
is left, where each may take the other's lane and coverage is no worse.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from types import MappingProxyType

import numpy as np
from scipy.optimize import linear_sum_assignment

from quizgen.engine.alignment import Man
from quizgen.engine.lanes import Lane
from quizgen.engine.movement import PLAY_SIDE, BlockerMove
from quizgen.engine.option import OptionAnswer
from quizgen.engine.reads import Read
from quizgen.engine.timing import Arrival, Clock
from quizgen.football.pressure import RunJob
from quizgen.football.rules import CrackRule
from quizgen.football.scheme import Job
from quizgen.football.sides import Side
from quizgen.football.team import Situation

Eligible = Callable[[Man, Lane, bool, Side], bool]

# Common practice. Each row: may this man take this unowned lane? ``vacated`` says that the lane was merged or
# that its owner left it. Force takes whatever is open on his side, from the outside in; so does the alley man, from
# the inside out; fold a merged or vacated lane on his side; the free man any; the cutback man the back side.
ELIGIBLE: Mapping[RunJob, Eligible] = MappingProxyType(
    {
        RunJob.FORCE: lambda man, lane, vacated, play_to: lane.side is man.side or lane.is_last(man.side),
        RunJob.ALLEY: lambda man, lane, vacated, play_to: lane.side is man.side,
        RunJob.FOLD: lambda man, lane, vacated, play_to: vacated and lane.side in (man.side, None),
        RunJob.FREE: lambda man, lane, vacated, play_to: True,
        RunJob.CUTBACK: lambda man, lane, vacated, play_to: lane.side is not play_to,
        RunJob.FILL: lambda man, lane, vacated, play_to: False,
        RunJob.COVER: lambda man, lane, vacated, play_to: False,
    }
)
READS: Mapping[RunJob, Read] = MappingProxyType(
    {
        RunJob.FORCE: Read.FORCE,
        RunJob.ALLEY: Read.ALLEY,
        RunJob.FOLD: Read.FOLD,
        RunJob.FREE: Read.FREE,
        RunJob.CUTBACK: Read.CUTBACK,
        RunJob.COVER: Read.COVER,
    }
)


def replace_cracked(s: Situation, men: tuple[Man, ...], moves: tuple[BlockerMove, ...]) -> tuple[Man, ...]:
    """The men after crack blocks: a receiver who cracks takes the force man on his side out of his fit, and the
    widest man there who only covers becomes force in his place, if the team's rule is to replace."""
    turned = {man.position: man for man in men}
    for side in {m.player.side for m in moves if m.job is Job.CRACK and m.player.side}:
        cracked = [man for man in men if man.drop and man.drop.run is RunJob.FORCE and man.side is side]
        corners = [man for man in men if man.drop and man.drop.run is RunJob.COVER and man.x * side.sign > 0]
        for man in cracked:
            assert man.drop is not None
            turned[man.position] = replace(man, drop=replace(man.drop, run=RunJob.COVER))
        if cracked and corners and s.rules.crack is CrackRule.REPLACE:
            man = max(corners, key=lambda one: (side.sign * one.x, one.depth_yd))
            assert man.drop is not None
            drop = replace(man.drop, run=RunJob.FORCE, toward=man.drop.toward or cracked[0].drop_toward)
            turned[man.position] = replace(man, drop=drop, side=side, replaces=cracked[0].position)
    return tuple(turned[man.position] for man in men)


def may_fill(man: Man, index: int, lane: Lane, option: OptionAnswer | None, *, vacated: bool, play_to: Side) -> bool:
    """Whether he may fill this unowned lane, by his run job and by the phase of an option that he has; nobody fills
    what a scraper left."""
    if option is not None:
        if index in option.left:
            return False
        if option.phase_of(man.position) is not None and index not in option.outside:
            return False
    return is_eligible(man, lane, vacated=vacated, play_to=play_to)


# One more lane owned outweighs any sum of times; so does one more lane owned on time, and then force in the outermost
# lane that is left on his side. Seconds stay far below these.
INSIDE_COST = 50.0
LATE_COST = 1_000.0
NEVER_COST = 1_000_000.0


def is_eligible(man: Man, lane: Lane, *, vacated: bool, play_to: Side = PLAY_SIDE) -> bool:
    """Whether his run job lets him take this unowned lane."""
    return man.drop is not None and ELIGIBLE[man.drop.run](man, lane, vacated, play_to)


def is_covered(lane: Lane, man: Man, clock: Clock) -> bool:
    """Whether this fit makes the lane sound: on time, or late by force in the outermost lane."""
    if clock.arrival is Arrival.ON_TIME:
        return True
    by_force = man.drop is not None and man.drop.run is RunJob.FORCE and lane.is_outermost
    return by_force and clock.arrival is Arrival.LATE


def assign(
    lanes: tuple[Lane, ...],
    unowned: tuple[int, ...],
    men: tuple[Man, ...],
    vacated: frozenset[int],
    clocks: Callable[[Man, int], Clock],
    option: OptionAnswer | None = None,
) -> dict[int, Man]:
    """Which support man fills which unowned lane: as many lanes on time as can be, then as many as can be, then the
    least time.

    ``clocks(man, lane)`` gives a man's arrival; a man who cannot get there takes no lane. Where two fits would cross
    and either man may take either lane, they are uncrossed.
    """
    # Play side first, outermost first: equal costs then fall the same way whichever side the play goes to.
    rows = sorted(unowned, reverse=True)
    support = sorted(men, key=lambda man: (-man.x, man.depth_yd))
    if not rows or not support:
        return {}
    cost = np.full((len(rows), len(support)), 2 * NEVER_COST)
    for i, index in enumerate(rows):
        for j, man in enumerate(support):
            if may_fill(man, index, lanes[index], option, vacated=index in vacated, play_to=PLAY_SIDE):
                cost[i, j] = _cost(lanes[index], man, clocks(man, index))
                if cost[i, j] < NEVER_COST:  # else who can't get there would push another force man inside
                    cost[i, j] += _inside(man, index, lanes, rows)
    picked = {}
    for i, j in zip(*linear_sum_assignment(cost), strict=True):
        if cost[i, j] < NEVER_COST:
            picked[rows[i]] = support[j]
    return _uncross(picked, lanes, vacated, clocks, option)


def _cost(lane: Lane, man: Man, clock: Clock) -> float:
    if clock.arrival is Arrival.NEVER:
        return 2 * NEVER_COST
    return clock.at_s + (0.0 if is_covered(lane, man, clock) else LATE_COST)


def _inside(man: Man, index: int, lanes: tuple[Lane, ...], unowned: list[int]) -> float:
    """What it costs to send force past unowned lanes on his side to one further in."""
    if man.drop is None or man.drop.run is not RunJob.FORCE or man.side is None:
        return 0.0
    outside = [i for i in unowned if lanes[i].side is man.side and (i - index) * man.side.sign > 0]
    return INSIDE_COST * len(outside)


def _uncross(
    picked: dict[int, Man],
    lanes: tuple[Lane, ...],
    vacated: frozenset[int],
    clocks: Callable[[Man, int], Clock],
    option: OptionAnswer | None,
) -> dict[int, Man]:
    """Trade two men whose paths would cross, where both may take either lane and neither lane is worse covered for
    it."""
    changed = True
    while changed:
        changed = False
        for a in sorted(picked):
            for b in sorted(picked):
                if (
                    a < b
                    and picked[a].x > picked[b].x
                    and _may_trade(picked[a], picked[b], a, b, lanes, vacated, clocks, option)
                ):
                    picked[a], picked[b] = picked[b], picked[a]
                    changed = True
    return picked


def _may_trade(
    first: Man,
    second: Man,
    a: int,
    b: int,
    lanes: tuple[Lane, ...],
    vacated: frozenset[int],
    clocks: Callable[[Man, int], Clock],
    option: OptionAnswer | None,
) -> bool:
    for man, index, was in ((second, a, first), (first, b, second)):
        if not may_fill(man, index, lanes[index], option, vacated=index in vacated, play_to=PLAY_SIDE):
            return False
        now = _cost(lanes[index], man, clocks(man, index))
        if now >= NEVER_COST or (now >= LATE_COST) > (_cost(lanes[index], was, clocks(was, index)) >= LATE_COST):
            return False
    return True
