"""Where the team's rules send backers and slanters from their own gaps (outside rows F9, F12, F20, F34, F35, F41)."""

from __future__ import annotations

from quizgen.football.pressure import Path, RunJob
from quizgen.football.rules import DownRule, EdgeRule, KickRule, SlantRule, SplitFlowRule
from quizgen.football.scheme import Intent, Job
from quizgen.football.team import Situation
from tests.page_solver.lanes import Lane
from tests.page_solver.movement import Blocker, assign_jobs, play_gaps
from tests.page_solver.owners import goes_over_the_top, rule_of
from tests.page_solver.placing import Man
from tests.page_solver.timing import gap_x


def jump_slants(situation: Situation, men: list[Man], blockers: list[Blocker]) -> None:
    """F12: who slants to the play side into a blocker who reaches outward has the next gap outside (team rule)."""
    outward = play_gaps(situation)
    play = situation.play_to.sign
    for man in men:
        if man.rush is None or man.rush.path not in (Path.SLANT, Path.TWO_GAP_SLANT) or len(man.gaps) != 1:
            continue
        if man.exchanged or rule_of(situation, man, "slant") is not SlantRule.JUMP or man.gaps[0] not in outward[:-1]:
            continue
        if play * man.x >= play * gap_x(situation, man.gaps[0]):
            continue
        number = outward.index(man.gaps[0])
        outer = situation.formation.on_side(situation.play_to)[number]
        if any(one.man == outer and one.rule.intent is Intent.REACH and play * one.moved > 0 for one in blockers):
            man.gaps = [outward[number + 1]]


def send_backers(situation: Situation, men: list[Man], lanes: list[Lane]) -> None:
    """The next man when the edge is kicked, then backers who spill a down block, then those who fit inside a split
    flow; each only to a lane that nobody has, and none who goes over the top of a pull."""
    backers = [
        man
        for man in men
        if man.run_job is RunJob.FILL
        and len(man.lanes) == 1
        and lanes[man.lanes[0]].side is situation.play_to
        and not man.fitted
        and not lanes[man.lanes[0]].pulled_out
        and not goes_over_the_top(situation, man, lanes)
    ]
    staying = [man for man in men if not goes_over_the_top(situation, man, lanes)]
    step = situation.play_to.sign

    def go(man: Man, lane: int) -> bool:
        if not 0 <= lane < len(lanes) or any(lane in other.lanes for other in staying):
            return False
        man.lanes = [lane]
        backers.remove(man)
        return True

    edge = next((man for man in men if is_kicked_edge(situation, man, lanes)), None)
    if edge is not None:
        target = edge.lanes[0] + (-step if edge.fitted == EdgeRule.BOX.value else step)
        inside = [man for man in backers if step * man.lanes[0] < step * edge.lanes[0] and man.lanes[0] != target]
        if inside:
            go(min(inside, key=lambda man: (abs(man.x - edge.x), man.depth, -step * man.x)), target)
    for man in sorted(backers, key=lambda man: -step * man.lanes[0]):
        lane = lanes[man.lanes[0]]
        inner = lane.left if step > 0 else lane.right
        if rule_of(situation, man, "down") is not DownRule.SPILL or inner is None or inner.job is not Job.DOWN:
            continue
        beyond = sorted(
            (one for one in lanes if step * one.index > step * lane.index), key=lambda one: step * one.index
        )
        walls = [(one.index, one.right if step > 0 else one.left) for one in beyond]
        target = next((index for index, wall in walls if wall is not None and wall.arrives_in is not None), None)
        if target is not None:
            go(man, target)
    if any(row.job is Job.CROSS_KICK for row in assign_jobs(situation).values()):
        for man in list(backers):
            target = man.lanes[0] - step
            own_side = 0 <= target < len(lanes) and lanes[target].side is situation.play_to
            if own_side and rule_of(situation, man, "split_flow") is SplitFlowRule.INSIDE:
                go(man, target)


def is_kicked_edge(situation: Situation, man: Man, lanes: list[Lane]) -> bool:
    """Whether he is the play-side edge, takes a kick, and his rule sends the next man beside him."""
    if man.fitted not in (EdgeRule.BOX.value, EdgeRule.SPILL.value) or len(man.lanes) != 1:
        return False
    on_play_side = lanes[man.lanes[0]].side is situation.play_to
    return on_play_side and rule_of(situation, man, "kick") is not KickRule.SUPPORT
