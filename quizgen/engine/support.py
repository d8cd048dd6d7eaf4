"""Who fills the lanes that no gap owner has.

Written for a play to the right only.

Before all this, crack: when a receiver has the job `crack`, the dropper with run job force on the receiver's side
becomes `cover`; if team rule crack = replace and there was such a man, the widest dropper with x on that side whose
run job is cover becomes force on that side (this happens before owners and option phases are worked out).

Support for the lanes that no gap owner can get to. May take: force and alley = any lane on their side, force also the
last one where it reaches across the center; fold = a lane on his side (or across the center) that is merged or that a
man left over the top; free = any; cutback = any lane not on the play side; cover = none.

Two men of support never cross: further left at the snap is further left at the fit. Of all ways without a crossing the
best one leaves the fewest lanes open (a man who cannot get there does not count), then the fewest late (force in the
outermost lane may be late), then has force before anybody else in the outermost lane on his side that he can get to,
then takes the least sum of arrival times. A lane that only men who cross could fill in time is the call's lack. Staffs
rarely write down who of force and alley takes the one lane that is open: force here, since his rule is the outside one
and the alley man plays off him; but not where he would be late and the alley man would not.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from itertools import groupby, permutations, product
from types import MappingProxyType

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
        if not cracked or not corners:
            continue
        man = max(corners, key=lambda one: (side.sign * one.x, one.depth_yd))
        if man.rules.crack is CrackRule.REPLACE:
            assert man.drop is not None
            drop = replace(man.drop, run=RunJob.FORCE, toward=man.drop.toward or cracked[0].drop_toward)
            turned[man.position] = replace(man, drop=drop, side=side, replaces=cracked[0].position)
    return tuple(turned[man.position] for man in men)


def may_fill(man: Man, index: int, lane: Lane, option: OptionAnswer | None, *, vacated: bool, play_to: Side) -> bool:
    """Whether he may fill this unowned lane, by his run job and by the phase that he has."""
    if option is not None and not option.may_fill(man.position, index):
        return False
    return is_eligible(man, lane, vacated=vacated, play_to=play_to)


def is_eligible(man: Man, lane: Lane, *, vacated: bool, play_to: Side = PLAY_SIDE) -> bool:
    """Whether his run job lets him take this unowned lane."""
    return man.drop is not None and ELIGIBLE[man.drop.run](man, lane, vacated, play_to)


def is_covered(lane: Lane, man: Man, clock: Clock) -> bool:
    """Whether this fit makes the lane sound: on time, or late by force in the outermost lane."""
    if clock.arrival is Arrival.ON_TIME:
        return True
    by_force = man.drop is not None and man.drop.run is RunJob.FORCE and lane.is_outermost
    return by_force and clock.arrival is Arrival.LATE


# Lanes filled (negative), late, force outside in (negative is better), nanoseconds, lanes toward the play (negative):
# the first that differs decides. Whole numbers, so that a sum does not depend on its order.
Cost = tuple[int, int, int, int, int]
NO_COST: Cost = (0, 0, 0, 0, 0)


def assign(
    lanes: tuple[Lane, ...],
    unowned: tuple[int, ...],
    men: tuple[Man, ...],
    vacated: frozenset[int],
    clocks: Callable[[Man, int], Clock],
    option: OptionAnswer | None = None,
) -> dict[int, Man]:
    """Which support man fills which unowned lane; see above. ``clocks(man, lane)`` gives a man's arrival."""
    if not unowned:
        return {}
    costs: dict[tuple[str, int], Cost] = {}
    support: list[Man] = []
    for man in men:
        if man.drop is None or man.drop.run is RunJob.COVER:
            continue
        may_take = ELIGIBLE[man.drop.run]
        own = {
            index: at
            for index in unowned
            if may_take(man, lanes[index], index in vacated, PLAY_SIDE)
            and (option is None or option.may_fill(man.position, index))
            and (at := clocks(man, index)).arrival is not Arrival.NEVER
        }
        for index, at in own.items():
            late = not is_covered(lanes[index], man, at)
            costs[man.position, index] = (-1, late, _outside_in(man, index, own), round(at.at_s * 1e9), -index)
        if own:
            support.append(man)
    if len(unowned) == 1 and support:  # most snaps: nobody to cross
        return {
            unowned[0]: min(sorted(support, key=lambda man: man.x), key=lambda man: costs[man.position, unowned[0]])
        }
    return min((_best(order, unowned, costs) for order in _left_to_right(support)), key=lambda best: best[0])[1]


def _outside_in(man: Man, index: int, own: Mapping[int, Clock]) -> int:
    """How far in a force man is among the lanes he may take, less their number: less than nothing, so that he comes
    before other men. Nothing for those."""
    if man.drop is None or man.drop.run is not RunJob.FORCE or man.side is None:
        return 0
    return sum((other - index) * man.side.sign > 0 for other in own) - len(own)


def _left_to_right(men: list[Man]) -> Iterator[list[Man]]:
    """The men as they stand; those in one file in every order, since they can't cross each other."""
    files = [list(file) for _, file in groupby(sorted(men, key=lambda man: man.x), key=lambda man: man.x)]
    for orders in product(*(permutations(file) for file in files)):
        yield [man for order in orders for man in order]


def _best(
    men: list[Man], unowned: tuple[int, ...], costs: Mapping[tuple[str, int], Cost]
) -> tuple[Cost, dict[int, Man]]:
    """The cheapest way to give these men, from left to right, lanes from left to right. Worked out lane by lane, by how
    many men are used up; no library's matching knows an order."""
    best: dict[int, tuple[Cost, dict[int, Man]]] = {0: (NO_COST, {})}
    for index in sorted(unowned):
        found = dict(best)
        for used, (cost, picked) in best.items():
            for number, man in enumerate(men[used:], used + 1):
                if (man.position, index) in costs:
                    filled, late, inside, at_ns, back = costs[man.position, index]
                    total = cost[0] + filled, cost[1] + late, cost[2] + inside, cost[3] + at_ns, cost[4] + back
                    if number not in found or total < found[number][0]:
                        found[number] = (total, {**picked, index: man})
        best = found
    return min(best.values(), key=lambda way: way[0])
