"""Who in support fills what nobody has (section 6, support). Every assignment of men to lanes is tried."""

from __future__ import annotations

from collections.abc import Iterator

from quizgen.football.pressure import RunJob
from quizgen.football.team import Situation
from tests.page_solver.lanes import Lane, is_on_side
from tests.page_solver.placing import Man
from tests.page_solver.timing import CANNOT, LATE, arrival_s, arrival_word

SUPPORT_JOBS = (RunJob.FORCE, RunJob.ALLEY, RunJob.FOLD, RunJob.FREE, RunJob.CUTBACK)


def may_take(situation: Situation, man: Man, lane: Lane, vacated: set[int]) -> bool:
    """Whether a man's run job lets him take that lane: force and alley on their side, fold a merged or vacated lane
    there, the free man any, cutback a lane that is not on the play side. A man with a phase takes none inside the man
    who is read."""
    if lane.index in man.barred:
        return False
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
    """Fills the wanted lanes by trying every way to do it."""
    for man, index in best_assignment(situation, supporters(men), wanted, lanes, vacated):
        man.lanes, man.supports = [index], True


Assignment = list[tuple[Man, int]]


def best_assignment(
    situation: Situation, men: list[Man], open_lanes: list[int], lanes: list[Lane], vacated: set[int]
) -> Assignment:
    """Nobody crosses (law 9). The fewest lanes stay open (law 11), then the fewest are late (law 3: a call is sound
    where some lawful assignment is in time), then force fits outside in, then the least sum of arrival times."""
    best: Assignment = []
    best_cost: tuple[float, ...] | None = None
    for assignment in assignments(situation, men, open_lanes, lanes, vacated):
        if crosses(assignment):
            continue
        late = sum(
            arrival_word(situation, man, lanes[index], lanes) == LATE
            and not (lanes[index].is_outermost and man.run_job is RunJob.FORCE)
            for man, index in assignment
        )
        times = [arrival_s(situation, man, lanes[index]) for man, index in assignment]
        inside = forces_inside(situation, men, assignment, open_lanes, lanes)
        cost = (-len(assignment), late, inside, round(sum(times), 9))
        if best_cost is None or cost < best_cost:
            best, best_cost = assignment, cost
    return best


def forces_inside(
    situation: Situation, men: list[Man], assignment: Assignment, open_lanes: list[int], lanes: list[Lane]
) -> int:
    """How far the force men are from the outermost lanes on their sides that nobody owns: for each the number of such
    lanes outside his, or all of them where he has none, not counting lanes he cannot get to or that force has."""
    taken = {man.position: index for man, index in assignment}
    force_lanes = {index for man, index in assignment if man.run_job is RunJob.FORCE}
    count = 0
    for man in men:
        if man.run_job is not RunJob.FORCE or man.side is None:
            continue
        own = taken.get(man.position)
        sign = man.side.sign
        for index in open_lanes:
            if index in force_lanes or not is_on_side(lanes[index], man.side, situation):
                continue
            if arrival_word(situation, man, lanes[index], lanes) == CANNOT:
                continue
            if own is None or sign * index > sign * own:
                count += 1
    return count


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
