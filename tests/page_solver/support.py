"""Who in support fills what nobody has (section 6, support). Every assignment of men to lanes is tried."""

from __future__ import annotations

from collections.abc import Iterator

from quizgen.football.pressure import RunJob
from quizgen.football.sides import Side
from quizgen.football.team import Situation
from tests.page_solver.lanes import Lane, is_on_side
from tests.page_solver.placing import Man
from tests.page_solver.timing import CANNOT, LATE, arrival_s, arrival_word

SUPPORT_JOBS = (RunJob.FORCE, RunJob.ALLEY, RunJob.FOLD, RunJob.FREE, RunJob.CUTBACK)


def may_take(situation: Situation, man: Man, lane: Lane, vacated: set[int]) -> bool:
    """Whether a man's run job lets him take that lane: force and alley on their side, fold a merged or vacated lane
    there, the free man any, cutback a lane that is not on the play side."""
    if man.run_job is RunJob.FREE:
        return True
    if man.run_job is RunJob.CUTBACK:
        return lane.side is not situation.play_to
    if man.side is None or not is_on_side(lane, man.side, situation):
        return False
    if man.run_job in (RunJob.FORCE, RunJob.ALLEY):
        return True
    return man.run_job is RunJob.FOLD and (lane.is_merged or lane.index in vacated)


def supporters(men: list[Man]) -> list[Man]:
    """Men whose run job is support and who own no gap."""
    return [man for man in men if man.run_job in SUPPORT_JOBS and not man.lanes and not man.gaps]


def give_support(situation: Situation, men: list[Man], lanes: list[Lane], wanted: list[int], vacated: set[int]) -> None:
    """Fills the wanted lanes: force first, from the outside in, then everybody else by trying every assignment."""
    open_lanes = list(wanted)
    for side in Side:
        for man in forces(men, side):
            reachable = [
                index
                for index in open_lanes
                if may_take(situation, man, lanes[index], vacated)
                and arrival_word(situation, man, lanes[index], lanes) != CANNOT
            ]
            if reachable:
                outermost = max(reachable, key=lambda index: side.sign * index)
                man.lanes, man.supports = [outermost], True
                open_lanes.remove(outermost)
    rest = [man for man in supporters(men) if man.run_job is not RunJob.FORCE]
    placed = [man for man in men if man.supports]
    best = best_assignment(situation, rest, placed, open_lanes, lanes, vacated)
    for man, index in best:
        man.lanes, man.supports = [index], True


def forces(men: list[Man], side: Side) -> list[Man]:
    """The force men of one side, the widest first."""
    found = [man for man in supporters(men) if man.run_job is RunJob.FORCE and man.side is side]
    return sorted(found, key=lambda man: -side.sign * man.x)


Assignment = list[tuple[Man, int]]


def best_assignment(
    situation: Situation, men: list[Man], placed: list[Man], open_lanes: list[int], lanes: list[Lane], vacated: set[int]
) -> Assignment:
    """The fewest lanes left open, then the fewest late, then the least sum of arrival times; nobody crosses."""
    best: Assignment = []
    best_cost: tuple[float, ...] | None = None
    for assignment in assignments(situation, men, open_lanes, lanes, vacated):
        if crosses([*assignment, *((man, man.lanes[0]) for man in placed)]):
            continue
        words = [arrival_word(situation, man, lanes[index], lanes) for man, index in assignment]
        times = [arrival_s(situation, man, lanes[index]) for man, index in assignment]
        cost = (-len(assignment), words.count(LATE), round(sum(times), 9))
        if best_cost is None or cost < best_cost:
            best, best_cost = assignment, cost
    return best


def assignments(
    situation: Situation, men: list[Man], open_lanes: list[int], lanes: list[Lane], vacated: set[int]
) -> Iterator[Assignment]:
    """Every way to give each man one open lane that he may take and can get to, or none."""
    if not men:
        yield []
        return
    man, others = men[0], men[1:]
    yield from assignments(situation, others, open_lanes, lanes, vacated)
    for index in open_lanes:
        if not may_take(situation, man, lanes[index], vacated):
            continue
        if arrival_word(situation, man, lanes[index], lanes) == CANNOT:
            continue
        left = [one for one in open_lanes if one != index]
        for rest in assignments(situation, others, left, lanes, vacated):
            yield [(man, index), *rest]


def crosses(assignment: Assignment) -> bool:
    """Section 8, law 9: two men of support never cross each other."""
    for number, (one, lane) in enumerate(assignment):
        for other, other_lane in assignment[number + 1 :]:
            if (one.x - other.x) * (lane - other_lane) < 0:
                return True
    return False
