"""Each defender's answer: his lane, who threatens it, where he ends up if he loses. Written for a play to the right
only.

Threat, for a man in a lane (his first lane): 1. an arrived kicker/trapper beside the lane threatens only a man who
boxes, spills, or fits inside/outside a lead or trap (whatever else his read is: two-gap, hip, told to stay): the
threat is `kick`, lost to the lane on the other side of that blocker (box/outside: the inner one of the kickers beside
him, spill/inside: the outer one); 2. an arrived lead/wrap/arc beside the lane threatens any man there: `lead`, lost
to the other side of him (nearest to the man's pre-snap x if one on each side); 3. else line men who move into the
lane: from both sides = double team, lost to none; a reaching one (zone, reach, cut off) = hook, lost to the lane
beyond that blocker; one who washes (down, back, hinge, double) = lost to the next lane away from him (none past the
last). Base and climb: no threat.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from enum import Enum

from quizgen.engine.alignment import Man
from quizgen.engine.lanes import Lane
from quizgen.engine.movement import BlockerMove
from quizgen.engine.option import OptionAnswer
from quizgen.engine.reads import Claim, Read
from quizgen.engine.support import READS, assign
from quizgen.engine.timing import Arrival, Clock, arrival_s, ball_s, clock
from quizgen.football.pressure import RunJob
from quizgen.football.scheme import Intent, Phase
from quizgen.football.sides import Side
from quizgen.football.team import Situation

STILL_YD = 0.05
READING = frozenset({Read.OVER_THE_TOP, Read.NO_ROOM, Read.TOLD_TO_STAY, Read.EXCHANGE, Read.SCRAPE})


class Threat(Enum):
    """What may take a man out of his lane."""

    HOOK = "hook"
    WASH = "wash"
    DOUBLE = "double team"
    KICK = "kick"
    LEAD = "lead"


@dataclass(frozen=True, slots=True)
class Fit:
    """One defender's answer. Lanes are indices from left to right.

    ``lane`` is None for a man with no fit against this run; ``owns`` is False for support whom no open lane needs;
    ``threats`` are the blockers who may beat him and ``lost_to`` the lane he ends up in then (None: driven back where
    he stands, or out of the play); ``puller`` is the blocker whose leaving made him move and ``left_lane`` the lane
    he left; ``phase`` is his of an option, and ``is_read`` says that the quarterback reads him, so nobody blocks him.
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

    def mirrored(self, lane_count: int, turned: Mapping[str, BlockerMove]) -> Fit:
        """The same fit turned round among ``lane_count`` lanes; ``turned`` as for ``Lane.mirrored``."""

        def turn(index: int | None) -> int | None:
            return None if index is None else lane_count - 1 - index

        return Fit(
            self.man.mirrored,
            turn(self.lane),
            tuple(lane_count - 1 - index for index in self.lanes),
            self.owns,
            self.read,
            self.threat,
            tuple(turned[m.player.key] for m in reversed(self.threats)),
            turn(self.lost_to),
            self.clock,
            turned[self.puller.player.key] if self.puller else None,
            turn(self.left_lane),
            self.phase,
            self.is_read,
        )


def threaten(
    lanes: tuple[Lane, ...], index: int, man: Man, read: Read
) -> tuple[Threat | None, tuple[BlockerMove, ...], int | None]:
    """Who may beat a man in a lane, how, and the lane he ends up in: worked out from how the two blockers beside it
    move.

    A blocker who arrives from outside and kicks threatens only the man who boxes or spills him; a lead threatens both
    neighbours; then comes what the line does: a neighbour coming into the lane to reach may hook him, one coming down
    or back may wash him.
    """
    lane = lanes[index]
    inserted = _inserted_threat(lane, man, read)
    if inserted is not None:
        block = inserted
        beyond = index - 1 if block is lane.left else index + 1
        return (Threat.KICK if block.intent is Intent.KICK else Threat.LEAD), (block,), beyond
    from_left = lane.left if lane.left and _comes_in(lane.left, +1) else None
    from_right = lane.right if lane.right and _comes_in(lane.right, -1) else None
    if from_left and from_right:
        return Threat.DOUBLE, (from_left, from_right), None
    block_in = from_left or from_right
    if block_in is None:
        return None, (), None
    toward_block = -1 if block_in is from_left else +1
    if block_in.intent is Intent.REACH:
        return Threat.HOOK, (block_in,), index + toward_block
    beyond = index - toward_block
    return Threat.WASH, (block_in,), beyond if 0 <= beyond < len(lanes) else None


def _comes_in(block: BlockerMove, sign: int) -> bool:
    moves_in = block.dx * sign > STILL_YD
    return block.in_line and moves_in and block.intent in (Intent.REACH, Intent.WASH)


def _inserted_threat(lane: Lane, man: Man, read: Read) -> BlockerMove | None:
    beside = [m for m in (lane.left, lane.right) if m is not None and m.word]
    kicked = read in (Read.BOX, Read.SPILL, Read.INSIDE_LEAD, Read.OUTSIDE_LEAD)
    kicks = [m for m in beside if m.intent is Intent.KICK]
    leads = [m for m in beside if m.intent is Intent.LEAD]
    if kicked and kicks:
        side = lane.side or man.gaps[0].side  # only a gap owner reads a kick or a lead
        outward = max(kicks, key=lambda m: side.sign * m.x_to)
        inward = min(kicks, key=lambda m: side.sign * m.x_to)
        return inward if read in (Read.BOX, Read.OUTSIDE_LEAD) else outward
    return leads[0] if len(leads) == 1 else (min(leads, key=lambda m: abs(m.x_to - man.x)) if leads else None)


def fit_all(
    s: Situation,
    men: tuple[Man, ...],
    lanes: tuple[Lane, ...],
    owners: tuple[Claim, ...],
    aim_x: float,
    conceded: frozenset[int],
    option: OptionAnswer | None = None,
) -> tuple[Fit, ...]:
    """Every defender's fit, from left to right as they line up: gap owners first decided, support assigned to what is
    left."""
    timing = s.rules.timing
    ball = tuple(ball_s(s, lane, aim_x) for lane in lanes)

    def clocks(man: Man, index: int, *, reads: bool = True) -> Clock:
        return clock(arrival_s(man, lanes[index].middle_x, timing, reads=reads), ball[index], timing)

    fits: dict[str, Fit] = {}
    for claim in owners:
        reads = claim.man.rush is None or claim.traded
        at = max((clocks(claim.man, i, reads=reads) for i in claim.lanes), key=lambda c: c.at_s - c.ball_s)
        threat, threats, lost_to = threaten(lanes, claim.lanes[0], claim.man, claim.block or claim.read)
        fits[claim.man.position] = Fit(
            claim.man,
            claim.lanes[0],
            claim.lanes,
            claim.owns,
            claim.read,
            threat,
            threats,
            lost_to,
            at,
            claim.puller,
            claim.left_lane,
        )
    owned = {index for fit in fits.values() if fit.gets_there for index in fit.lanes}
    unowned = tuple(i for i in range(len(lanes)) if i not in owned and i not in conceded)
    vacated = frozenset(i for i in unowned if lanes[i].is_merged)  # a lane that a man left over the top is merged too
    support = tuple(man for man in men if man.position not in fits)
    picked = {man.position: index for index, man in assign(lanes, unowned, support, vacated, clocks, option).items()}
    for man in support:
        fits[man.position] = _support_fit(man, picked.get(man.position), lanes, clocks)
    return tuple(_on_option(fits[man.position], option) for man in men)


def _on_option(fit: Fit, option: OptionAnswer | None) -> Fit:
    """The fit with the man's phase; whom the quarterback reads, nobody threatens."""
    if option is None:
        return fit
    phase = option.phase_of(fit.man.position)
    if option.read == fit.man.position:
        return replace(fit, phase=phase, is_read=True, threat=None, threats=(), lost_to=None)
    if not fit.owns:
        return replace(fit, phase=phase, threat=None, threats=(), lost_to=None)
    return replace(fit, phase=phase)


def _support_fit(man: Man, index: int | None, lanes: tuple[Lane, ...], clocks: Callable[[Man, int], Clock]) -> Fit:
    assert man.drop is not None  # a man without a gap drops
    if index is not None:
        read = Read.CRACK_REPLACE if man.replaces else READS[man.drop.run]
        threat, threats, lost_to = threaten(lanes, index, man, read)
        return Fit(man, index, (index,), True, read, threat, threats, lost_to, clocks(man, index))
    if man.drop.run is RunJob.COVER:
        return Fit(man, None, (), False, Read.COVER)
    if man.drop.run in (RunJob.FORCE, RunJob.ALLEY) and man.side is not None:
        extra = 0 if man.side is Side.LEFT else len(lanes) - 1
        return Fit(man, extra, (extra,), False, Read.EXTRA, clock=clocks(man, extra))
    return Fit(man, None, (), False, Read.EXTRA)
