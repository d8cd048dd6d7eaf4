"""Which lane each man of the call owns, before support (section 6 of the page: the pull, the two edges)."""

from __future__ import annotations

from quizgen.football.formation import OffensivePlayer, Role
from quizgen.football.pressure import Exchange, RunJob, Trigger
from quizgen.football.rules import CrackRule, EdgeRule, FlowRule, KickRule, LeadRule, PullFirst, PullOwnSide, PullSecond
from quizgen.football.scheme import JOBS, Intent, Job, Place
from quizgen.football.sides import Gap, Letter, Side
from quizgen.football.team import Situation
from quizgen.football.terms import Term
from tests.page_solver.lanes import Lane, lanes_of_gap
from tests.page_solver.movement import assign_jobs
from tests.page_solver.placing import Man, gap_side, is_outermost

BLOCKER_ROLES = {"guard": Role.GUARD, "tackle": Role.TACKLE, "end": Role.END}


def apply_crack(situation: Situation, men: list[Man]) -> None:
    """Evidence, section 4: if the force man is cracked, the corner becomes force (team rule: replace or stay)."""
    cracked = {man.side for man, row in assign_jobs(situation).items() if row.job is Job.CRACK and man.side}
    for side in cracked:
        forces = [man for man in men if man.run_job is RunJob.FORCE and man.side is side]
        for man in forces:
            man.run_job = RunJob.COVER
        spare = [man for man in men if man.run_job is RunJob.COVER and man.x * side.sign > 0 and man not in forces]
        if forces and spare and situation.rules.crack is CrackRule.REPLACE:
            corner = max(spare, key=lambda man: man.x * side.sign)
            corner.run_job, corner.side = RunJob.FORCE, side


def apply_exchanges(situation: Situation, men: list[Man]) -> None:
    """Evidence, W11: two men trade gaps when the blocker in front of the first does what the call names."""
    for exchange in situation.pressure.exchanges:
        first = next(man for man in men if man.row == exchange.first)
        second = next(man for man in men if man.row == exchange.second)
        if first.gaps and second.gaps and is_triggered(exchange, first, situation):
            first.gaps, second.gaps = second.gaps, first.gaps
            first.exchanged = second.exchanged = True


def apply_flow(situation: Situation, men: list[Man]) -> None:
    """Outside rows F11: with the ball going away from his one gap a filling backer keeps it, runs to the A gap on its
    side, or owns none and cuts back (team rule)."""
    formation = situation.formation
    for man in men:
        if man.run_job is not RunJob.FILL or len(man.gaps) != 1:
            continue
        if gap_side(formation, man.gaps[0]) is situation.play_to:
            continue
        flow = rule_of(situation, man, "flow")
        if flow is FlowRule.BOTH_SIDES:
            man.gaps = [formation.gaps.index(Gap(situation.play_to, Letter.A))]
        elif flow is FlowRule.SHUFFLE:
            man.gaps, man.run_job = [], RunJob.CUTBACK


def is_triggered(exchange: Exchange, first: Man, situation: Situation) -> bool:
    """Whether the blocker whom an exchange names, on the first man's side, does one of its triggers."""
    side = gap_side(situation.formation, first.gaps[0])
    blocker = next(
        (one for one in situation.formation.on_side(side) if one.role is BLOCKER_ROLES[exchange.blocker]), None
    )
    if blocker is None:
        return False
    job = assign_jobs(situation)[blocker].job
    done = set()
    if job is Job.DOWN:
        done.add(Trigger.DOWN)
    if JOBS[job].pulls:
        done.add(Trigger.PULL)
    if JOBS[job].intent is Intent.REACH:
        done.add(Trigger.REACH)
    return bool(done & set(exchange.triggers))


def give_gap_lanes(situation: Situation, men: list[Man], lanes: list[Lane]) -> None:
    """Each rusher and filling dropper takes the lane that his gap has become; a two-gap player one for each gap."""
    for man in men:
        man.lanes = []
        for gap in man.gaps:
            lane, how = lane_of_gap(situation, man, gap, lanes)
            man.fitted = how or man.fitted
            if lane.index not in man.lanes:
                man.lanes.append(lane.index)


def lane_of_gap(situation: Situation, man: Man, gap: int, lanes: list[Lane]) -> tuple[Lane, str]:
    """The part of his gap that a man owns, and how he takes on the man who split it.

    Section 6: box = the lane outside the kick is his, the one inside it the next man's; spill = the lane inside it.
    Those who arrive in a gap further out or further in leave him no choice.
    """
    parts = lanes_of_gap(lanes, gap)
    hole, outward = parts[0].hole, parts[0].outward
    further_in = sum(1 for one in hole if outward * (one.arrives_in or 0) < outward * gap)
    own = [one for one in hole if one.arrives_in == gap]
    if not own:
        return parts[further_in], ""
    kicks = [number for number, one in enumerate(own) if one.is_kick and one.rule.place is not Place.TRAP]
    if is_outermost(situation.formation, gap) and kicks:
        rule = edge_rule(situation, man, gap_side(situation.formation, gap))
        again = rule_of(situation, man, "kick") is KickRule.SPILL_AGAIN and rule is EdgeRule.SPILL
        if again and gap_side(situation.formation, gap) is situation.play_to:
            # Outside rows F35: inside every man who arrives, so that the next man spills the next blocker.
            return parts[further_in], rule.value
        step = 1 if rule is EdgeRule.BOX else 0
        return parts[further_in + kicks[0] + step], rule.value
    if is_outermost(situation.formation, gap) and all(one.rule.place in (Place.EDGE, Place.BACK_EDGE) for one in own):
        return parts[further_in], ""
    is_trap = any(one.rule.place is Place.TRAP for one in own)
    lead = rule_of(situation, man, "trap" if is_trap else "lead")
    if lead is LeadRule.BY_BLOCK:
        # Outside row F21: he boxes where the lineman inside his gap doubles outward.
        inner = parts[further_in].left if outward > 0 else parts[further_in].right
        fans = inner is not None and inner.job is Job.DOUBLE and outward * inner.moved > 0
        lead = LeadRule.OUTSIDE if fans else LeadRule.INSIDE
    return parts[further_in + (1 if lead is LeadRule.OUTSIDE else 0)], lead.value


def edge_rule(situation: Situation, man: Man, side: Side) -> EdgeRule:
    """Box or spill: on each side by call, by position, by team."""
    return EdgeRule(rule_of(situation, man, "edge" if side is situation.play_to else "back_edge"))


def rule_of(situation: Situation, man: Man, name: str) -> Term:
    """A team rule as it holds for one man: the call's for him, the call's, his position's, the team's."""
    call, rules = situation.pressure, situation.rules
    for changes in (dict(call.by_position).get(man.row, ()), call.rules, rules.by_position.get(man.position, ())):
        if name in dict(changes):
            return dict(changes)[name]
    found: Term = getattr(rules, name)
    return found


def apply_pulls(situation: Situation, men: list[Man], lanes: list[Lane]) -> set[int]:
    """Section 6, "a boundary blocker pulls across": who stays on the hip and who goes over the top.

    Returns the lanes that men who went over the top have left.
    """
    leaving = [man for man in men if goes_over_the_top(situation, man, lanes)]
    play = situation.play_to.sign
    leaving.sort(key=lambda man: (man.order, -play * man.x, man.depth))
    left = set()
    stayed = [man for man in men if man not in leaving]
    for man in leaving:
        taken = {lane for other in stayed for lane in other.lanes}
        free = [lane for lane in lanes if lane.side is situation.play_to and lane.index not in taken]
        free = lanes_by_rule(situation, man, free, lanes)
        if free:
            left.update(man.lanes)
            man.lanes = [min(free, key=lambda lane: play * lane.index).index]
            man.over_the_top = True
            man.fitted = ""
        stayed.append(man)
    return left - {lane for man in men for lane in man.lanes}


def lanes_by_rule(situation: Situation, man: Man, free: list[Lane], lanes: list[Lane]) -> list[Lane]:
    """Outside rows F24 and F25: a backer whose guard pulls round his own end goes outside the last lineman ("outside");
    who attacks the puller's far shoulder has the lane just outside him, if it is free."""
    play = situation.play_to.sign
    pullers = pullers_beside(situation, man)
    own_side = any(one.side is situation.play_to for one in pullers)
    if man.rush is None and own_side:
        if rule_of(situation, man, "pull_own_side") is not PullOwnSide.OUTSIDE:
            return free
        last = max(play * one.x for lane in lanes for one in (lane.left, lane.right) if one and one.arrives_in is None)
        inner = [(lane, lane.left if play > 0 else lane.right) for lane in free]
        return [lane for lane, one in inner if one is not None and play * one.x >= last]
    if rule_of(situation, man, "pull_backer" if man.rush is None else "pull_second") is PullSecond.FRONT_SHOULDER:
        beyond = [lane for lane in free if (one := lane.left if play > 0 else lane.right) and one.man in pullers]
        return beyond or free
    return free


def goes_over_the_top(situation: Situation, man: Man, lanes: list[Lane]) -> bool:
    """The second rusher, or a filling backer, whose lane was merged by a man who pulls (team rules)."""
    if len(man.lanes) != 1 or not lanes[man.lanes[0]].pulled_out or man.two_gap:
        return False
    if not puller_beside(situation, man):
        return False
    if man.rush is None:
        own_side = any(one.side is situation.play_to for one in pullers_beside(situation, man))
        if own_side and rule_of(situation, man, "pull_own_side") is PullOwnSide.HOLE:
            return False
        return rule_of(situation, man, "pull_backer") is not PullSecond.STAY
    if man.down or man.order == 1 or is_outermost(situation.formation, man.gaps[0]):
        return False
    return rule_of(situation, man, "pull_second") is not PullSecond.STAY


def puller_beside(situation: Situation, man: Man) -> bool:
    """Whether a man who pulls was one of the two blockers of his gap ("a boundary blocker")."""
    return bool(pullers_beside(situation, man))


def pullers_beside(situation: Situation, man: Man) -> list[OffensivePlayer]:
    """Those of the two blockers of his gap who pull."""
    jobs = assign_jobs(situation)
    surface = situation.formation.surface
    gap = man.gaps[0]
    neighbours = [surface[index] for index in (gap - 1, gap) if 0 <= index < len(surface)]
    return [one for one in neighbours if JOBS[jobs[one].job].pulls]


def rides_hip(situation: Situation, man: Man, lanes: list[Lane]) -> bool:
    """A down lineman or first rusher in a lane merged by a puller, where the team's rule is the hip."""
    merged = len(man.lanes) == 1 and lanes[man.lanes[0]].pulled_out
    return merged and not man.over_the_top and rule_of(situation, man, "pull_first") is PullFirst.HIP


def concede(situation: Situation, lanes: list[Lane], owned: set[int]) -> set[int]:
    """Lanes given up on purpose: unowned ones that hold a gap the call concedes (evidence, W20)."""
    given = set()
    for call_gap in situation.pressure.conceded:
        side = call_gap.side(situation.to)
        gap = situation.formation.gaps.index(call_gap.gap(situation.formation.outermost(side)))
        given |= {lane.index for lane in lanes if gap in lane.gaps and lane.index not in owned}
    return given
