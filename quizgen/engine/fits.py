"""Each defender's answer: his lane, who threatens it, where he ends up if he loses. Written for a play to the right
only.

Threats, for every man in a lane of his own. At the moment of the fit each blocker threatens at most one man beside him:
the least distance across (men who share a lane stand side by side in it, in the order of their gaps), then the
shallower, then the one who fits further out. A blocker who has arrived: a kick or trap only a man who boxes, spills, or
fits inside or outside a lead or trap; an arc, which passes the edge by, only a man who drops; a lead or wrap any man;
beaten, he ends up on the other side of that blocker. A man of the line: a reach (zone, reach, cut off) hooks in the
lane that it moves into, lost to the lane beyond that blocker; a block down or back or a double washes there, lost to
the next lane away from him (none past the last); a hinge is on the first man outside, and moves him to no lane. Base
and climb: no threat. Of several blocks on one man the kick counts, then the lead (the nearest), then two of the line
from both sides (a double team, lost to none), then one. A man with two lanes is examined in both: beaten to one side,
he leaves the other. Nobody threatens the man whom an option reads.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from enum import Enum
from types import MappingProxyType

from quizgen.engine.alignment import Man
from quizgen.engine.lanes import Lane
from quizgen.engine.movement import BlockerMove
from quizgen.engine.option import OptionAnswer
from quizgen.engine.reads import TAKES_ON, Claim, Read
from quizgen.engine.support import READS, assign
from quizgen.engine.surface import Surface
from quizgen.engine.timing import Arrival, Clock, arrival_s, clock, late_by
from quizgen.football.pressure import RunJob
from quizgen.football.scheme import Intent, Job, Phase
from quizgen.football.sides import Side
from quizgen.football.team import Situation

STILL_YD = 0.05


class Threat(Enum):
    """What may take a man out of his lane."""

    HOOK = "hook"
    WASH = "wash"
    DOUBLE = "double team"
    KICK = "kick"
    LEAD = "lead"
    HINGE = "hinge"


@dataclass(frozen=True, slots=True)
class Fit:
    """One defender's answer. Lanes are indices from left to right.

    ``lane`` is None for a man with no fit against this run; ``owns`` is False for support whom no open lane needs;
    ``threats`` are the blockers who may beat him and ``lost_to`` the lane he ends up in then (None: driven back where
    he stands, or out of the play); ``puller`` is the blocker whose leaving made him move and ``left_lane`` the lane
    he left; ``phase`` is his of an option, and ``is_read`` says that the quarterback reads him, so nobody blocks him;
    ``block`` is how he takes an arriving blocker in his first lane, whatever else his read is.
    """

    man: Man
    lane: int | None
    lanes: tuple[int, ...]
    owns: bool
    read: Read
    threat: Threat | None = None
    threats: tuple[BlockerMove, ...] = ()
    lost_to: int | None = None
    clock: Clock | None = None
    puller: BlockerMove | None = None
    left_lane: int | None = None
    phase: Phase | None = None
    is_read: bool = False
    block: Read | None = None

    @property
    def job(self) -> str:
        """His part in words: a rusher's part or a dropper's run job."""
        if self.man.rush is not None:
            return self.man.rush.part.value
        assert self.man.drop is not None  # a man who does not rush drops
        return self.man.drop.run.value

    @property
    def gets_there(self) -> bool:
        """Whether he owns a lane and can reach it at all."""
        return self.owns and self.clock is not None and self.clock.arrival is not Arrival.NEVER

    @property
    def is_on_time(self) -> bool:
        """Whether he owns a lane and is there in time."""
        return self.owns and self.clock is not None and self.clock.arrival is Arrival.ON_TIME

    def mirrored(self, lane_count: int, turned: Mapping[str, BlockerMove]) -> Fit:
        """The same fit turned round among ``lane_count`` lanes; ``turned`` as for ``Lane.mirrored``."""
        last = lane_count - 1
        return Fit(
            self.man.mirrored,
            None if self.lane is None else last - self.lane,
            tuple(last - index for index in self.lanes),
            self.owns,
            self.read,
            self.threat,
            tuple(turned[m.player.key] for m in reversed(self.threats)),
            None if self.lost_to is None else last - self.lost_to,
            self.clock,
            turned[self.puller.player.key] if self.puller else None,
            None if self.left_lane is None else last - self.left_lane,
            self.phase,
            self.is_read,
            self.block,
        )


@dataclass(frozen=True, slots=True)
class Way:
    """What a blocker does in a lane beside him, and where a man whom he beats there ends up (None: in no lane)."""

    block: BlockerMove
    threat: Threat
    lane: int
    lost_to: int | None


def threaten(fits: tuple[Fit, ...], lanes: tuple[Lane, ...]) -> tuple[Fit, ...]:
    """The fits with who may beat each man, how, and the lane he ends up in: worked out from how the blockers move."""
    places = _places(fits, lanes)
    found: dict[str, list[Way]] = {}
    for index, lane in enumerate(lanes):
        if lane.right is None:
            continue
        victims = [
            (fit, way)
            for way in _ways(lane.right, index, lanes)
            for fit in fits
            if fit.owns and way.lane in fit.lanes and _meets(fit, way) and not fit.is_read
        ]
        if victims:
            fit, way = min(victims, key=lambda one: _nearness(one[0], one[1], places))
            found.setdefault(fit.man.position, []).append(way)
    return tuple(_threatened(fit, found.get(fit.man.position, [])) for fit in fits)


def _places(fits: tuple[Fit, ...], lanes: tuple[Lane, ...]) -> dict[tuple[str, int], float]:
    """Where each man stands in each of his lanes at the fit, in yards: men who share one stand side by side in it, in
    the order of their gaps."""
    found = {}
    for index, lane in enumerate(lanes):
        there = [fit for fit in fits if fit.owns and index in fit.lanes]
        there.sort(key=lambda fit: (_across(fit.man, lane), fit.man.x))
        for number, fit in enumerate(there, 1):
            share = number / (len(there) + 1)
            x = lane.middle_x if len(there) == 1 else lane.x_from + share * (lane.x_to - lane.x_from)
            found[fit.man.position, index] = x
    return found


def _across(man: Man, lane: Lane) -> int:
    """Where a man's gap lies among all; of two the one that this lane is made of. Support has none: in the middle."""
    gaps = [gap for gap in man.gaps if gap in lane.gaps] or man.gaps
    return min((gap.across for gap in gaps), default=0)


def _nearness(fit: Fit, way: Way, places: Mapping[tuple[str, int], float]) -> tuple[float, float, float, float]:
    """Whom a blocker gets to first: the least distance across, then the shallower, then the outer."""
    x = places[fit.man.position, way.lane]
    return round(abs(x - way.block.x_to), 6), fit.man.depth_yd, -round(abs(x), 6), -x


def _ways(block: BlockerMove, index: int, lanes: tuple[Lane, ...]) -> list[Way]:
    """What the blocker between lane ``index`` and the next one does in either."""
    left, right = index, index + 1
    if block.word:
        threat = Threat.KICK if block.intent is Intent.KICK else Threat.LEAD
        return [Way(block, threat, left, right), Way(block, threat, right, left)]
    if block.intent is Intent.HINGE:
        outside = right if block.player.side is Side.RIGHT else left
        return [Way(block, Threat.HINGE, outside, None)]
    if abs(block.dx) <= STILL_YD or block.intent not in (Intent.REACH, Intent.WASH):
        return []
    into, behind = (right, left) if block.dx > 0 else (left, right)
    if block.intent is Intent.REACH:
        return [Way(block, Threat.HOOK, into, behind)]
    beyond = into + (into - behind)
    return [Way(block, Threat.WASH, into, beyond if 0 <= beyond < len(lanes) else None)]


def _meets(fit: Fit, way: Way) -> bool:
    """Whether a block is for this man: a kick or a trap only for one who takes it on in that lane, an arc only for one
    who comes from behind the edge (source: flexbonenation.com, toss part 2: the slot takes the third man, the corner).
    """
    if way.block.job is Job.ARC:
        return fit.man.rush is None
    return way.threat is not Threat.KICK or (fit.block in TAKES_ON and way.lane == fit.lanes[0])


def _threatened(fit: Fit, ways: list[Way]) -> Fit:
    """A man's fit with the block that counts: the kick, then the lead, come before what the line does."""
    kicks = [way for way in ways if way.threat is Threat.KICK]
    leads = [way for way in ways if way.threat is Threat.LEAD]
    if kicks:
        outward = -1 if fit.block in (Read.BOX, Read.OUTSIDE_LEAD) else +1
        side = fit.man.gaps[0].side  # only a gap owner reads a kick or a lead
        chosen = max(kicks, key=lambda way: outward * side.sign * way.block.x_to)
        return _with(fit, chosen)
    if leads:
        return _with(fit, min(leads, key=lambda way: abs(way.block.x_to - fit.man.x)))
    for way in ways:
        for other in ways:
            if way.lane == other.lane and way.block.x_to < other.block.x_to:
                return replace(fit, threat=Threat.DOUBLE, threats=(way.block, other.block), lost_to=None)
    if not ways:
        return fit
    return _with(fit, min(ways, key=lambda way: (way.lost_to is None, fit.lanes.index(way.lane))))


def _with(fit: Fit, way: Way) -> Fit:
    return replace(fit, threat=way.threat, threats=(way.block,), lost_to=way.lost_to)


def fit_all(
    s: Situation,
    men: tuple[Man, ...],
    surface: Surface,
    owners: tuple[Claim, ...],
    conceded: frozenset[int],
    option: OptionAnswer | None = None,
    waits: Mapping[str, float] = MappingProxyType({}),
) -> tuple[Fit, ...]:
    """Every defender's fit, from left to right as they line up, without what threatens it: gap owners first decided,
    support assigned to what is left; ``waits`` are the seconds that rushers lose where their paths cross."""
    timing, lanes, ball, middles = s.rules.timing, surface.lanes, surface.ball_s, surface.middles
    phases = {owner.position: owner.phase for owner in option.phases} if option else {}
    read_man = option.read if option else None

    def clocks(man: Man, index: int, *, reads: bool = True) -> Clock:
        return clock(arrival_s(man, middles[index], timing, reads=reads), ball[index], timing)

    fits: dict[str, Fit] = {}
    for claim in owners:
        reads = claim.man.rush is None or claim.traded
        at = clocks(claim.man, claim.lanes[0], reads=reads)
        for other in claim.lanes[1:]:
            at = max(at, clocks(claim.man, other, reads=reads), key=lambda c: c.at_s - c.ball_s)
        if claim.man.position in waits:
            at = late_by(at, waits[claim.man.position], timing)
        fits[claim.man.position] = Fit(
            claim.man,
            claim.lanes[0],
            claim.lanes,
            claim.owns,
            claim.read,
            clock=at,
            puller=claim.puller,
            left_lane=claim.left_lane,
            phase=phases.get(claim.man.position),
            is_read=claim.man.position == read_man,
            block=claim.block if claim.block in TAKES_ON else None,
        )
    owned = {index for fit in fits.values() if fit.gets_there for index in fit.lanes}
    unowned = tuple(i for i in range(len(lanes)) if i not in owned and i not in conceded)
    vacated = frozenset(i for i in unowned if lanes[i].is_merged)  # a lane that a man left over the top is merged too
    support = tuple(man for man in men if man.position not in fits)
    picked = {man.position: index for index, man in assign(lanes, unowned, support, vacated, clocks, option).items()}
    for man in support:
        position = man.position
        fits[position] = _support_fit(
            man, picked.get(position), len(lanes), clocks, phases.get(position), is_read=position == read_man
        )
    return tuple(fits[man.position] for man in men)


def _support_fit(
    man: Man,
    index: int | None,
    count: int,
    clocks: Callable[[Man, int], Clock],
    phase: Phase | None,
    *,
    is_read: bool,
) -> Fit:
    """The fit of a man without a gap among ``count`` lanes; ``index`` is the lane that he fills, if one needs him."""
    assert man.drop is not None  # a man without a gap drops
    run = man.drop.run
    if index is not None:
        read = Read.CRACK_REPLACE if man.replaces else READS[run]
        return Fit(man, index, (index,), True, read, clock=clocks(man, index), phase=phase, is_read=is_read)
    if run in (RunJob.FORCE, RunJob.ALLEY) and man.side is not None:
        extra = 0 if man.side is Side.LEFT else count - 1
        at = clocks(man, extra)
        return Fit(man, extra, (extra,), False, Read.EXTRA, clock=at, phase=phase, is_read=is_read)
    read = Read.COVER if run is RunJob.COVER else Read.EXTRA
    return Fit(man, None, (), False, read, phase=phase, is_read=is_read)
