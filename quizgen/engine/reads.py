"""Who owns which lane by his gap and his read, before support fits. Written for a play to the right only.

The order is fixed: every man takes the lane that his gap has become; where a blocker left between two gaps the first
man stays on the hip and the others go over the top, each to the innermost play-side lane that nobody owns.

Exchanges: when the named blocker on the first man's side does a triggering job, the two trade gaps.

Each gap owner (rusher or filling dropper) takes the lane that contains his gap. If arriving men split it, only those
who arrive in his own gap give him a choice; he stays inside men who arrive in gaps further out and outside those who
arrive further in: (a) the outermost gap with a kick: box = the portion just outside the (first) kick, spill = just
inside it (play side: edge, back side: back_edge); (b) the outermost gap, men whose place is the edge but no kick: the
innermost portion; (c) otherwise (lead, trap): inside = innermost portion, outside = the next one, by his lead (trap)
rule; "by the block" = outside where the lineman inside his gap doubles outward, else inside. A two-gap player owns one
portion for each gap. The rules are each man's own (call and position, call, position, team).

Flow: a filling backer with the ball away from his gap keeps it, has the A gap of the play side ("both sides"), or
drops out of the owners to cut back ("shuffle"). Split flow: where a man comes back across (cross kick), a filling
play-side backer keeps his gap or ("inside") takes the next lane inside, if nobody has it. Slant: a lineman who slants
to the play side keeps his gap, or ("jump") has the next one outside where the blocker outside it reaches outward.
Down: a filling play-side backer whose inside neighbour blocks down
keeps his gap, or ("spill") takes the first lane outside it that lies just inside a man who has arrived, if nobody owns
it. Kick: where the play-side edge boxes or spills a kick and his kick rule is "backer", the nearest filling play-side
backer inside him goes over the top to the lane just outside a spill or just inside a box; "spill again" sends the edge
inside every man who arrives and that backer to the next lane outside him. The lane must have no owner; else he stays.

Pull: a man whose one lane is merged because a man who pulls stood between two of its gaps. The rusher whose gap,
after any exchange, is outermost (gap player, edge or contain, not a two-gapper) stays. A down lineman or an order-1
rusher stays (hip or squat). An order >= 2 rusher goes over the top if pull_second says so; a filling dropper if
pull_backer says so, and where the puller stood on his own side, the play's, if pull_own_side does. Those who go over
the top leave in the order: rush order (droppers 1), then nearest the play side first, then shallowest; each takes the
innermost play-side lane that no gap owner has (men who stayed count, men still waiting to go don't), "front shoulder"
before that the one just outside the puller, and "outside" on his own side only those outside the last man left in the
line; if there is none he stays.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import Enum
from typing import NamedTuple

from quizgen.engine.alignment import Man, is_edge, is_filler, spot_x, written_name
from quizgen.engine.lanes import Lane
from quizgen.engine.movement import PLAY_SIDE, BlockerMove
from quizgen.engine.surface import Surface
from quizgen.football.pressure import Exchange, Path, RunJob, Trigger
from quizgen.football.rules import (
    AwayRule,
    DownRule,
    EdgeRule,
    FlowRule,
    KickRule,
    LeadRule,
    PullFirst,
    PullOwnSide,
    PullSecond,
    SlantRule,
    SplitFlowRule,
)
from quizgen.football.scheme import Intent, Job, Place
from quizgen.football.sides import Gap, Letter, Side
from quizgen.football.team import Situation


class Read(Enum):
    """Why a man is where he is. The sentence a player reads is made from this."""

    KEEP = "keep"  # his gap is still between the same two blockers
    HIP = "hip"  # a blocker beside him pulled: on the puller's hip, the merged lane is his
    SQUAT = "squat"  # the same, told to stay
    OVER_THE_TOP = "over the top"  # to the play side
    FRONT_SHOULDER = "front shoulder"  # to the play side, outside the puller
    INSIDE_FLOW = "inside the flow"  # a man comes back across: the next lane inside
    CROSS_FACE = "cross his face"  # a slanter whom a blocker reaches past: to the next gap outside
    FLOW = "flow"  # the ball goes away: to the A gap on its side
    OUTSIDE_DOWN = "outside the down block"  # a backer: outside the down blocks, inside a man who leads or kicks
    NEXT_MAN = "next man"  # a backer: over the top to the lane beside an edge who takes a kick
    NO_ROOM = "no room"  # would go over the top, but every lane there is owned
    TOLD_TO_STAY = "told to stay"  # second man, told to stay in the merged lane
    BOX = "box"
    SPILL = "spill"
    CLOSE = "close"  # edge, blocked down on: close with the block
    SET_EDGE = "set the edge"
    CHASE = "chase"  # back-side edge, unblocked
    TRAIL = "trail"  # the same, at the depth of the ball
    SQUEEZE = "squeeze"  # the same, into the space of a man who went inside
    INSIDE_LEAD = "inside the lead"
    OUTSIDE_LEAD = "outside the lead"
    TWO_GAP = "two-gap"
    EXCHANGE = "exchange"
    SCRAPE = "scrape"  # traded lanes with the read man of an option, or went over the top for his phase
    FORCE = "force"
    CRACK_REPLACE = "crack replace"  # the force man was cracked: his replacement is force
    ALLEY = "alley"
    FOLD = "fold"
    FREE = "free"
    CUTBACK = "cutback"
    EXTRA = "extra"  # a support man whom no open lane needs
    COVER = "cover"  # pass first


@dataclass(frozen=True, slots=True)
class Claim:
    """A man's lanes (indices from left to right) by his gap and read; ``puller`` is the man whose leaving made him
    move; ``block`` is how he takes an arriving blocker in the first of them, whatever else his read is; ``traded``
    says that he has exchanged gaps; ``owns`` is False for a scraper who has left his lane to nobody."""

    man: Man
    lanes: tuple[int, ...]
    read: Read
    puller: BlockerMove | None = None
    left_lane: int | None = None
    block: Read | None = None
    traded: bool = False
    owns: bool = True


GONE = frozenset(
    {Read.OVER_THE_TOP, Read.FRONT_SHOULDER, Read.OUTSIDE_DOWN, Read.NEXT_MAN, Read.FLOW, Read.INSIDE_FLOW}
)
"""Reads of a man who has left his own gap for another lane by a rule."""
AWAY_READS = frozenset({Read.CHASE, Read.TRAIL, Read.SQUEEZE})
TAKES_ON = frozenset({Read.BOX, Read.SPILL, Read.INSIDE_LEAD, Read.OUTSIDE_LEAD})
TRIGGER_JOBS: dict[Trigger, tuple[Job, ...]] = {
    Trigger.DOWN: (Job.DOWN,),
    Trigger.PULL: (Job.PULL_KICK, Job.PULL_WRAP, Job.PULL_LEAD, Job.PULL_TRAP),
    Trigger.REACH: (Job.REACH,),
}


def exchange_gaps(s: Situation, men: tuple[Man, ...], moves: tuple[BlockerMove, ...]) -> dict[str, tuple[Gap, ...]]:
    """Every gap owner's gaps after the call's exchanges have been triggered, by position; traders are marked by the
    difference."""
    gaps = {man.position: man.gaps for man in men if man.gaps}
    if not s.pressure.exchanges:
        return gaps
    by_call = {written_name(man): man for man in men}
    for exchange in s.pressure.exchanges:
        first, second = by_call[exchange.first], by_call[exchange.second]
        if first.gaps and second.gaps and _is_triggered(exchange, first, moves):  # who shuffles has none to trade
            gaps[first.position], gaps[second.position] = gaps[second.position], gaps[first.position]
    return gaps


def _is_triggered(exchange: Exchange, first: Man, moves: tuple[BlockerMove, ...]) -> bool:
    side = first.gaps[0].side
    jobs = {job for trigger in exchange.triggers for job in TRIGGER_JOBS[trigger]}
    return any(m.player.role.value == exchange.blocker and m.player.side is side and m.job in jobs for m in moves)


def claims(s: Situation, men: tuple[Man, ...], surface: Surface) -> tuple[Claim, ...]:
    """Every gap owner's claim, in the order of ``men``; men without a gap have none."""
    moves, lanes = surface.moves, surface.lanes
    gaps = exchange_gaps(s, men, moves)
    stay: dict[str, Claim] = {}
    goers: list[Man] = []
    for man in men:
        if man.position not in gaps:
            continue
        own = _jumped(s, man, gaps[man.position], moves)
        if _flows(man, own, FlowRule.BOTH_SIDES):
            claim = _claim(man, (Gap(PLAY_SIDE, Letter.A),), surface, traded=False)
            stay[man.position] = replace(claim, read=Read.FLOW)
            continue
        traded = own != man.gaps
        claim = _claim(man, own, surface, traded=traded)
        if traded and claim.read is Read.EXCHANGE and _jumps(man, moves, s):
            claim = replace(claim, read=Read.CROSS_FACE, traded=False)
        puller = _puller_beside(surface, claim, own[0])
        if puller is not None:
            if _goes_over(s, man, own, puller):
                goers.append(man)
            claim = _with_pull(s, claim, puller, own)
        stay[man.position] = claim
    _go_outside(stay, lanes, goers)
    if Job.CROSS_KICK in surface.jobs:
        _go_inside(stay, lanes, goers)
    if goers:
        taken = {index for claim in stay.values() if claim.man not in goers for index in claim.lanes}
        for man in sorted(goers, key=lambda man: (man.order, -man.x, man.depth_yd)):
            stay[man.position] = _over_the_top(stay[man.position], lanes, taken, moves)
            taken.update(stay[man.position].lanes)
    return tuple(stay.values())


def _jumps(man: Man, moves: tuple[BlockerMove, ...], s: Situation) -> bool:
    """Whether he slants to the play side into a blocker who reaches outward, and his rule is to cross his face."""
    if man.rules.slant is not SlantRule.JUMP or man.rush is None or len(man.gaps) != 1:
        return False
    gap = man.gaps[0]
    slants = man.rush.path in (Path.SLANT, Path.TWO_GAP_SLANT) and man.x < spot_x(s.formation, gap)
    outer = next((p for p in s.formation.on_side(PLAY_SIDE) if p.order == gap.letter.index + 1), None)
    if not slants or gap.side is not PLAY_SIDE or outer is None:
        return False
    return any(m.player == outer and m.intent is Intent.REACH and m.dx > 0 for m in moves)


def _jumped(s: Situation, man: Man, gaps: tuple[Gap, ...], moves: tuple[BlockerMove, ...]) -> tuple[Gap, ...]:
    if man.rules.slant is not SlantRule.JUMP or gaps != man.gaps or not _jumps(man, moves, s):
        return gaps
    return (Gap(PLAY_SIDE, Letter.from_index(gaps[0].letter.index + 1)),)


def _go_inside(stay: dict[str, Claim], lanes: tuple[Lane, ...], goers: list[Man]) -> None:
    """Send play-side backers to the next lane inside, where nobody has it, when a man comes back across."""
    taken = {index for claim in stay.values() if claim.man not in goers for index in claim.lanes}
    for position, claim in list(stay.items()):
        if not is_filler(claim.man) or claim.man in goers or claim.read is not Read.KEEP or len(claim.lanes) > 1:
            continue
        own = claim.lanes[0]
        inside = lanes[own].side is PLAY_SIDE and lanes[own - 1].side is PLAY_SIDE and own - 1 not in taken
        if inside and claim.man.rules.split_flow is SplitFlowRule.INSIDE:
            stay[position] = _gone(claim, own - 1, Read.INSIDE_FLOW)
            taken.add(own - 1)


def _flows(man: Man, gaps: tuple[Gap, ...], rule: FlowRule) -> bool:
    """Whether a backer with this rule for flow has the ball going away from his one gap."""
    return man.rules.flow is rule and is_filler(man) and len(gaps) == 1 and gaps[0].side is not PLAY_SIDE


def shuffle(men: tuple[Man, ...]) -> tuple[Man, ...]:
    """The men once the backers who own no gap away from the ball have become cutback players."""
    going = [man for man in men if _flows(man, man.gaps, FlowRule.SHUFFLE)]
    return tuple(_shuffled(man) if man in going else man for man in men) if going else men


def _shuffled(man: Man) -> Man:
    assert man.drop is not None  # he fills
    return replace(man, gaps=(), drop=replace(man.drop, run=RunJob.CUTBACK, gap=None, second_gap=None))


def _go_outside(stay: dict[str, Claim], lanes: tuple[Lane, ...], goers: list[Man]) -> None:
    """Send the play-side backers outside whom the rules for down blocks and kicks send there."""
    backers = [
        claim
        for claim in stay.values()
        if claim.read is Read.KEEP and is_filler(claim.man) and claim.man not in goers and len(claim.lanes) == 1
    ]
    backers = [claim for claim in backers if lanes[claim.lanes[0]].side is PLAY_SIDE]
    if not backers:
        return
    taken = {index for claim in stay.values() if claim.man not in goers for index in claim.lanes}
    for position, target, read in _outside_moves(stay, lanes, backers, taken):
        claim = stay[position]
        stay[position] = _gone(claim, target, read)


def _outside_moves(
    stay: dict[str, Claim], lanes: tuple[Lane, ...], backers: list[Claim], taken: set[int]
) -> list[tuple[str, int, Read]]:
    found: list[tuple[str, int, Read]] = []
    edge = next((claim for claim in stay.values() if _is_next_man_needed(claim, lanes)), None)
    if edge is not None:
        target = edge.lanes[0] + (-1 if edge.block is Read.BOX else 1)
        inside = [claim for claim in backers if claim.lanes[0] < edge.lanes[0] and claim.lanes[0] != target]
        if inside and target not in taken:
            nearest = min(inside, key=lambda claim: (abs(claim.man.x - edge.man.x), claim.man.depth_yd, -claim.man.x))
            found.append((nearest.man.position, target, Read.NEXT_MAN))
            taken.add(target)
            backers.remove(nearest)
    for claim in sorted(backers, key=lambda claim: -claim.lanes[0]):
        inner = lanes[claim.lanes[0]].left
        if claim.man.rules.down is not DownRule.SPILL or inner is None or inner.job is not Job.DOWN:
            continue
        target = next((i for i in range(claim.lanes[0] + 1, len(lanes)) if _is_inside_arrival(lanes[i])), -1)
        if target >= 0 and target not in taken:
            found.append((claim.man.position, target, Read.OUTSIDE_DOWN))
            taken.add(target)
    return found


def _is_next_man_needed(claim: Claim, lanes: tuple[Lane, ...]) -> bool:
    """Whether he is the play-side edge, takes a kick, and his rule sends the nearest backer to the lane beside him."""
    is_kicked = claim.block in (Read.BOX, Read.SPILL) and lanes[claim.lanes[0]].side is PLAY_SIDE
    return is_kicked and claim.man.rules.kick is not KickRule.SUPPORT


def _is_inside_arrival(lane: Lane) -> bool:
    """Whether the blocker outside this lane, on the play side, is one who has arrived."""
    return lane.right is not None and bool(lane.right.word)


class Taking(NamedTuple):
    """All that decides which portions of his gaps a man takes on a surface, before pulls and trades: many men of many
    snaps are alike in it."""

    gaps: tuple[Gap, ...]
    rushes: bool
    edge: EdgeRule
    back_edge: EdgeRule
    kick: KickRule
    trap: LeadRule
    lead: LeadRule
    away: AwayRule


Taken = tuple[tuple[int, ...], Read, Read | None]
"""His lanes, why, and how he takes an arriving blocker."""


def _claim(man: Man, gaps: tuple[Gap, ...], surface: Surface, *, traded: bool) -> Claim:
    rules = man.rules
    rushes = man.rush is not None
    key = gaps, rushes, rules.edge, rules.back_edge, rules.kick, rules.trap, rules.lead, rules.away
    taken = surface.taken.get(key)
    if taken is None:
        taken = surface.taken[key] = _take(Taking(*key), surface)
    picks, read, block = taken
    if traded and read is Read.KEEP:
        read = Read.EXCHANGE
    return Claim(man, picks, read, block=block, traded=traded)


def _take(one: Taking, surface: Surface) -> Taken:
    first, read = _portion(one, one.gaps[0], surface)
    picks: tuple[int, ...] = (first,)
    block = read if read in TAKES_ON else None
    for gap in one.gaps[1:]:
        index, read = _portion(one, gap, surface)
        if index == first and read in TAKES_ON:
            block = read
        picks = picks if index in picks else (*picks, index)
    return picks, Read.TWO_GAP if len(picks) > 1 else read, block


def _portion(one: Taking, gap: Gap, surface: Surface) -> tuple[int, Read]:
    """Which portion of a gap a man takes."""
    portions, lanes = surface.portions[gap], surface.lanes
    edge = gap == surface.formation.outermost(gap.side)
    if len(portions) == 1:
        return portions[0], _edge_read(one, gap, lanes[portions[0]]) if edge and one.rushes else Read.KEEP
    inserts = [_outer_blocker(lanes[index], gap.side) for index in portions[:-1]]
    kicks = [i for i, m in enumerate(inserts) if m and m.intent is Intent.KICK and m.rule.place is not Place.TRAP]
    if edge and kicks:
        rule = one.edge if gap.side is PLAY_SIDE else one.back_edge
        again = gap.side is PLAY_SIDE and one.kick is KickRule.SPILL_AGAIN and rule is EdgeRule.SPILL
        at = 0 if again else kicks[0]
        return (portions[at + 1], Read.BOX) if rule is EdgeRule.BOX else (portions[at], Read.SPILL)
    if edge and inserts[0] and inserts[0].rule.place in (Place.EDGE, Place.BACK_EDGE):
        return portions[0], _edge_read(one, gap, lanes[portions[0]])
    first = inserts[0]
    rule_lead = one.trap if first and first.rule.place is Place.TRAP else one.lead
    if rule_lead is LeadRule.BY_BLOCK:
        inner = _inner_blocker(lanes[portions[0]], gap.side)
        outward = inner is not None and inner.job is Job.DOUBLE and inner.dx * gap.side.sign > 0
        rule_lead = LeadRule.OUTSIDE if outward else LeadRule.INSIDE
    if rule_lead is LeadRule.INSIDE:
        return portions[0], Read.INSIDE_LEAD
    return portions[1], Read.OUTSIDE_LEAD


def _inner_blocker(lane: Lane, side: Side) -> BlockerMove | None:
    return lane.left if side is Side.RIGHT else lane.right


def _outer_blocker(lane: Lane, side: Side) -> BlockerMove | None:
    return lane.right if side is Side.RIGHT else lane.left


def _edge_read(one: Taking, gap: Gap, lane: Lane) -> Read:
    if gap.side is not PLAY_SIDE:
        return _away_read(one.away, lane)
    return Read.CLOSE if lane.left and lane.left.intent is Intent.WASH else Read.SET_EDGE


def _away_read(rule: AwayRule, lane: Lane) -> Read:
    """How the back-side edge plays the ball going away; ``lane`` is his, on the left."""
    beside = lane.right
    goes_inside = beside is not None and beside.intent in (Intent.REACH, Intent.WASH) and beside.dx > 0
    if rule is AwayRule.SQUEEZE and goes_inside:
        return Read.SQUEEZE
    return Read.CHASE if rule is AwayRule.CHASE else Read.TRAIL


def _puller_beside(surface: Surface, claim: Claim, own: Gap) -> BlockerMove | None:
    """The blocker who left between the gaps of the man's lane by pulling: of several one who stood beside his own gap,
    then the innermost; None if nobody did."""
    pulled = surface.pullers[claim.lanes[0]]
    if not pulled or len(claim.lanes) > 1:
        return None
    return min(pulled, key=lambda m: (not _is_beside(m, own), m.player.order))


def _is_beside(m: BlockerMove, gap: Gap) -> bool:
    """Whether that lineman stood beside this gap before the snap."""
    if m.player.order == 0:
        return gap.letter.index == 0
    return m.player.side is gap.side and m.player.order in (gap.letter.index, gap.letter.index + 1)


def _goes_over(s: Situation, man: Man, gaps: tuple[Gap, ...], puller: BlockerMove) -> bool:
    """Whether his rules send him over the top when a blocker beside him pulls."""
    if is_edge(man, s.formation, gaps):
        return False
    if is_filler(man):
        if puller.player.side is PLAY_SIDE and man.rules.pull_own_side is PullOwnSide.HOLE:
            return False
        return man.rules.pull_backer is not PullSecond.STAY
    return not man.is_first and man.rules.pull_second is not PullSecond.STAY


def _with_pull(s: Situation, claim: Claim, puller: BlockerMove, gaps: tuple[Gap, ...]) -> Claim:
    """The claim of a man who stays, with the read that a puller beside him gives."""
    if is_edge(claim.man, s.formation, gaps) and claim.read is not Read.KEEP:
        return replace(claim, puller=puller)
    if is_filler(claim.man) or not claim.man.is_first:
        return replace(claim, read=Read.TOLD_TO_STAY, puller=puller)
    read = Read.HIP if claim.man.rules.pull_first is PullFirst.HIP else Read.SQUAT
    return replace(claim, read=read, puller=puller)


def _over_the_top(claim: Claim, lanes: tuple[Lane, ...], taken: set[int], moves: tuple[BlockerMove, ...]) -> Claim:
    rules, puller = claim.man.rules, claim.puller
    free = [index for index, lane in enumerate(lanes) if lane.side is PLAY_SIDE and index not in taken]
    if is_filler(claim.man) and puller and puller.player.side is PLAY_SIDE:
        if rules.pull_own_side is PullOwnSide.OUTSIDE:
            last = max(m.x_to for m in moves if m.in_line)
            free = [index for index in free if lanes[index].x_from >= last]
    elif (rules.pull_backer if is_filler(claim.man) else rules.pull_second) is PullSecond.FRONT_SHOULDER:
        beyond = [index for index in free if lanes[index].left == puller]
        if puller and beyond:
            return _gone(claim, beyond[0], Read.FRONT_SHOULDER)
    return _gone(claim, free[0], Read.OVER_THE_TOP) if free else replace(claim, read=Read.NO_ROOM)


def _gone(claim: Claim, lane: int, read: Read) -> Claim:
    return replace(claim, lanes=(lane,), read=read, left_lane=claim.lanes[0], block=None)
