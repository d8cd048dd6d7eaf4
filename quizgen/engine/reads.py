"""Who owns which lane by his gap and his read, before support fits. Written for a play to the right only.

The order is fixed: every man takes the lane that his gap has become; where a blocker left between two gaps the first
man stays on the hip and the others go over the top, each to the innermost play-side lane that nobody owns.

Exchanges: when the named blocker on the first man's side does a triggering job, the two trade gaps.

Each gap owner (rusher or filling dropper) takes the lane that contains his gap. If arriving men split it, only those
who arrive in his own gap give him a choice; he stays inside men who arrive in gaps further out and outside those who
arrive further in: (a) the outermost gap with a kick: box = the portion just outside the (first) kick, spill = just
inside it (play side: the call's rule, the position's, the team's; back side: the team's back_edge); (b) the outermost
gap, men whose place is the edge but no kick: the innermost portion; (c) otherwise (lead, trap): inside = innermost
portion, outside = the next one, by the team's lead (trap) rule. A two-gap player owns one portion for each gap.

Pull: a man whose one lane is merged because a man who pulls stood between two of its gaps. The rusher whose gap,
after any exchange, is outermost (gap player, edge or contain, not a two-gapper) stays. A down lineman or an order-1
rusher stays (hip or squat). An order >= 2 rusher goes over the top if pull_second says so; a filling dropper if
pull_backer says so. Those who go over the top leave in the order: rush order (droppers 1), then nearest the play side
first, then shallowest; each takes the innermost play-side lane that no gap owner has (men who stayed count, men still
waiting to go don't); if there is none he stays.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import Enum

from quizgen.engine.alignment import Man, is_edge, is_filler, written_name
from quizgen.engine.lanes import Lane
from quizgen.engine.movement import PLAY_SIDE, BlockerMove
from quizgen.football.pressure import Exchange, Trigger
from quizgen.football.rules import EdgeRule, LeadRule, PullFirst, PullSecond
from quizgen.football.scheme import Intent, Job, Place
from quizgen.football.sides import Gap, Side
from quizgen.football.team import Situation


class Read(Enum):
    """Why a man is where he is. The sentence a player reads is made from this."""

    KEEP = "keep"  # his gap is still between the same two blockers
    HIP = "hip"  # a blocker beside him pulled: on the puller's hip, the merged lane is his
    SQUAT = "squat"  # the same, told to stay
    OVER_THE_TOP = "over the top"  # to the play side
    NO_ROOM = "no room"  # would go over the top, but every lane there is owned
    TOLD_TO_STAY = "told to stay"  # second man, told to stay in the merged lane
    BOX = "box"
    SPILL = "spill"
    CLOSE = "close"  # edge, blocked down on: close with the block
    SET_EDGE = "set the edge"
    CHASE = "chase"  # back-side edge, unblocked
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
    by_call = {written_name(man): man for man in men}
    for exchange in s.pressure.exchanges:
        first, second = by_call[exchange.first], by_call[exchange.second]
        if _is_triggered(exchange, first, moves):
            gaps[first.position], gaps[second.position] = gaps[second.position], gaps[first.position]
    return gaps


def _is_triggered(exchange: Exchange, first: Man, moves: tuple[BlockerMove, ...]) -> bool:
    side = first.gaps[0].side
    jobs = {job for trigger in exchange.triggers for job in TRIGGER_JOBS[trigger]}
    return any(m.player.role.value == exchange.blocker and m.player.side is side and m.job in jobs for m in moves)


def claims(
    s: Situation, men: tuple[Man, ...], moves: tuple[BlockerMove, ...], lanes: tuple[Lane, ...]
) -> tuple[Claim, ...]:
    """Every gap owner's claim, in the order of ``men``; men without a gap have none."""
    gaps = exchange_gaps(s, men, moves)
    owners = [man for man in men if man.position in gaps]
    stay: dict[str, Claim] = {}
    goers: list[Man] = []
    for man in owners:
        traded = gaps[man.position] != man.gaps
        claim = _claim(s, man, gaps[man.position], lanes, traded=traded)
        puller = _puller_beside(moves, lanes, claim, gaps[man.position][0])
        if puller is not None and _goes_over(s, man, gaps[man.position]):
            goers.append(man)
        stay[man.position] = _with_pull(s, claim, puller, gaps[man.position])
    taken = {index for man in owners if man not in goers for index in stay[man.position].lanes}
    for man in sorted(goers, key=lambda man: (man.order, -man.x, man.depth_yd)):
        stay[man.position] = _over_the_top(stay[man.position], lanes, taken)
        taken.update(stay[man.position].lanes)
    return tuple(stay[man.position] for man in owners)


def _claim(
    s: Situation,
    man: Man,
    gaps: tuple[Gap, ...],
    lanes: tuple[Lane, ...],
    *,
    traded: bool,
) -> Claim:
    picks: list[int] = []
    read = Read.KEEP
    block = None
    for gap in gaps:
        index, read = _portion(s, man, gap, _portions_of(s, gap, lanes), lanes)
        picks.append(index)
        if index == picks[0] and read in TAKES_ON:
            block = read
    if len(set(picks)) > 1:
        read = Read.TWO_GAP
    elif traded and read is Read.KEEP:
        read = Read.EXCHANGE
    return Claim(man, tuple(dict.fromkeys(picks)), read, block=block, traded=traded)


def _portions_of(s: Situation, gap: Gap, lanes: tuple[Lane, ...]) -> list[int]:
    """The lanes that a gap has become, from the inside out: where a lane of merged gaps is split, those between the
    men who arrived in other gaps of it."""
    order = s.formation.gaps.index
    here = [index for index, lane in enumerate(lanes) if gap in lane.gaps]
    walls = [block.gap for index in here[:-1] if (block := lanes[index].right) and block.gap]
    first = sum(order(wall) < order(gap) for wall in walls)
    found = here[first : first + walls.count(gap) + 1]
    return found if gap.side is Side.RIGHT else found[::-1]


def _portion(s: Situation, man: Man, gap: Gap, portions: list[int], lanes: tuple[Lane, ...]) -> tuple[int, Read]:
    """Which portion of his gap a man takes; ``portions`` run from the inside out."""
    edge = gap == s.formation.outermost(gap.side)
    if len(portions) == 1:
        return portions[0], _edge_read(gap, lanes[portions[0]]) if edge and man.rush else Read.KEEP
    inserts = [_outer_blocker(lanes[index], gap.side) for index in portions[:-1]]
    kicks = [i for i, m in enumerate(inserts) if m and m.intent is Intent.KICK and m.rule.place is not Place.TRAP]
    if edge and kicks:
        rule = man.edge if gap.side is PLAY_SIDE else s.rules.back_edge
        at = kicks[0]
        return (portions[at + 1], Read.BOX) if rule is EdgeRule.BOX else (portions[at], Read.SPILL)
    if edge and inserts[0] and inserts[0].rule.place in (Place.EDGE, Place.BACK_EDGE):
        return portions[0], _edge_read(gap, lanes[portions[0]])
    first = inserts[0]
    rule_lead = s.rules.trap if first and first.rule.place is Place.TRAP else s.rules.lead
    if rule_lead is LeadRule.INSIDE:
        return portions[0], Read.INSIDE_LEAD
    return portions[1], Read.OUTSIDE_LEAD


def _outer_blocker(lane: Lane, side: Side) -> BlockerMove | None:
    return lane.right if side is Side.RIGHT else lane.left


def _edge_read(gap: Gap, lane: Lane) -> Read:
    if gap.side is not PLAY_SIDE:
        return Read.CHASE
    return Read.CLOSE if lane.left and lane.left.intent is Intent.WASH else Read.SET_EDGE


def _puller_beside(
    moves: tuple[BlockerMove, ...], lanes: tuple[Lane, ...], claim: Claim, own: Gap
) -> BlockerMove | None:
    """The blocker who left between the gaps of the man's lane by pulling: of several one who stood beside his own gap,
    then the innermost; None if nobody did."""
    if len(claim.lanes) != 1 or not lanes[claim.lanes[0]].is_merged:
        return None
    gaps = lanes[claim.lanes[0]].gaps
    pulled = [m for m in moves if m.left and m.rule.pulls and _is_between(m, gaps)]
    return min(pulled, key=lambda m: (not _is_beside(m, own), m.player.order)) if pulled else None


def _is_beside(m: BlockerMove, gap: Gap) -> bool:
    """Whether that lineman stood beside this gap before the snap."""
    if m.player.order == 0:
        return gap.letter.index == 0
    return m.player.side is gap.side and m.player.order in (gap.letter.index, gap.letter.index + 1)


def _is_between(m: BlockerMove, gaps: tuple[Gap, ...]) -> bool:
    """Whether that lineman stood between two of these gaps before the snap."""
    if m.player.order == 0:
        return len({gap.side for gap in gaps}) > 1
    inside, outside = m.player.order - 1, m.player.order
    letters = {gap.letter.index for gap in gaps if gap.side is m.player.side}
    return inside in letters and outside in letters


def _goes_over(s: Situation, man: Man, gaps: tuple[Gap, ...]) -> bool:
    """Whether the team's rules send him over the top when a blocker beside him pulls."""
    if is_edge(man, s.formation, gaps):
        return False
    if is_filler(man):
        return s.rules.pull_backer is PullSecond.OVER_THE_TOP
    return not man.is_first and s.rules.pull_second is PullSecond.OVER_THE_TOP


def _with_pull(s: Situation, claim: Claim, puller: BlockerMove | None, gaps: tuple[Gap, ...]) -> Claim:
    """The claim of a man who stays, with the read that a puller beside him gives."""
    if puller is None:
        return claim
    if is_edge(claim.man, s.formation, gaps) and claim.read is not Read.KEEP:
        return replace(claim, puller=puller)
    if is_filler(claim.man) or not claim.man.is_first:
        return replace(claim, read=Read.TOLD_TO_STAY, puller=puller)
    read = Read.HIP if s.rules.pull_first is PullFirst.HIP else Read.SQUAT
    return replace(claim, read=read, puller=puller)


def _over_the_top(claim: Claim, lanes: tuple[Lane, ...], taken: set[int]) -> Claim:
    for index, lane in enumerate(lanes):
        if lane.side is PLAY_SIDE and index not in taken:
            return replace(claim, lanes=(index,), read=Read.OVER_THE_TOP, left_lane=claim.lanes[0], block=None)
    return replace(claim, read=Read.NO_ROOM)
