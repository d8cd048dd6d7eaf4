"""What staffs differ on: team rules, measures, times and words. Every one has a default and can be set by the team."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields, replace
from types import MappingProxyType

from quizgen.football.coverage import Coverage
from quizgen.football.defense import Numbering, PlayerClass
from quizgen.football.errors import FootballValueError
from quizgen.football.formation import Role, RuleBook
from quizgen.football.motion import DEFAULT_MOTION_RULES, MotionKind, MotionRule
from quizgen.football.scheme import OPTION_PHASES, Phase, SchemeFamily
from quizgen.football.terms import Term


class PullFirst(Term):
    """Down linemen and the first rusher when a boundary blocker pulls."""

    HIP = "hip", "goes flat on the puller's hip and owns the merged lane"
    STAY = "stay", "keeps his own gap"


class PullSecond(Term):
    """The second rusher (or a filling backer) when a boundary blocker pulls."""

    OVER_THE_TOP = (
        "over the top",
        "goes behind the traffic to the play side, to the innermost lane there without an owner",
    )
    FRONT_SHOULDER = (
        "front shoulder",
        "goes to the play side and meets the puller on his far shoulder, in the lane just outside him",
    )
    STAY = "stay", "keeps his own gap"


class PullOwnSide(Term):
    """A filling backer when a blocker beside his gap pulls to the backer's own side."""

    AS_AWAY = "as away", "as when he pulls away"
    OUTSIDE = "outside", "trails him and fills outside the last man left in the line"
    HOLE = "hole", "hits the hole that the puller left"


class FlowRule(Term):
    """Which gap a filling backer has when the ball goes away from him."""

    GAP = "gap", "the same gap, wherever the ball goes"
    BOTH_SIDES = "both sides", "runs to the A gap on the side of the ball at once"
    SHUFFLE = "shuffle", "shuffles with the ball and owns no gap; he is there for the cutback"


class SplitFlowRule(Term):
    """A filling backer on the play side of a zone run, when a back or wing comes back across."""

    GAP = "gap", "the same gap as without him"
    INSIDE = "inside", "fits inside the block on him, in the next lane inside, if nobody has it"


class SlantRule(Term):
    """A lineman who slants to the play side into a blocker who reaches outward."""

    GAP = "gap", "keeps the gap that the call gives him"
    JUMP = "jump", "crosses that blocker's face to the next gap outside"


class LooksRule(Term):
    """What an edge looks for, and in which order, when the man inside him blocks down and nobody is on him."""

    PULLER_BACK_AWAY = "puller, back, away, reverse", "the puller, the lead back, the ball away, the reverse"
    PULLER_KICK_MESH = "puller, kick, mesh", "the puller, a back who kicks out, the mesh of quarterback and back"


class DownRule(Term):
    """A filling backer on the play side whose inside neighbour in the line blocks down."""

    INSIDE = "inside", "hits down too and keeps his gap"
    SPILL = "spill", "goes outside the down blocks, inside the first man who leads or kicks there"


class KickRule(Term):
    """What the nearest filling backer does when the play-side edge is kicked."""

    SUPPORT = "support", "keeps his gap; support takes the lanes that the edge leaves"
    BACKER = "backer", "goes over the top to the next lane beside the edge: outside a spill, inside a box"
    SPILL_AGAIN = (
        "spill again",
        "the edge gets inside every blocker who comes and the backer inside the next: the ball bounces twice",
    )


class AwayRule(Term):
    """The unblocked edge on the back side, when the ball goes away."""

    CHASE = "chase", "chases flat down the line"
    TRAIL = "trail", "trails at the depth of the ball"
    SQUEEZE = "squeeze", "squeezes into the space of a lineman beside him who goes inside, else trails"


class EdgeRule(Term):
    """How the edge takes a kick-out block."""

    BOX = "box", "takes the kick-out with the outside shoulder and keeps the ball inside him"
    SPILL = "spill", "takes it with the inside shoulder and makes the ball bounce outside him"


class LeadRule(Term):
    """Which side of a lead blocker the gap's owner takes."""

    INSIDE = "inside", "takes the lead blocker from his inside"
    OUTSIDE = "outside", "takes him from his outside"
    BY_BLOCK = (
        "by the block",
        "from his inside where the lineman inside the gap blocks down, from his outside where he doubles outward",
    )


class CrackRule(Term):
    """What the corner does when a receiver cracks the force man."""

    REPLACE = "replace", "a man whose outside neighbour is cracked takes over that neighbour's job outside"
    STAY = "stay", "keeps his own job"


class ReadPlay(Term):
    """How the man whom an option reads plays the quarterback."""

    FAST = "fast", "goes straight at the quarterback, so that the pitch comes early"
    SLOW = "slow", "stays flat on the line and goes to the quarterback when he has given the ball or kept it"


class AttachedRule(Term):
    """What the man does who is read by a run with a pass attached; the next man has the other one."""

    THROW = "throw", "he keeps his drop, and the next man has his fit"
    RUN = "run", "he fits the run, and the next man in coverage has the throw"


LINEMAN_IN_B = ", lineman in B"
READ_MAN = "read man"


@dataclass(frozen=True, slots=True)
class OptionRule:
    """Who takes which phase: the read man, the next man, and force. A team may add a second rule under the option's
    name and ``LINEMAN_IN_B`` for the read side whose B gap a down lineman holds.

    ``owners`` names men for a phase in an order of preference, by position or by run job; the first who can have it
    does, and where none can there is no rule. ``plays`` is how the man read plays.
    """

    read_man: Phase
    scrape: Phase
    force: Phase
    owners: tuple[tuple[Phase, tuple[str, ...]], ...] = ()
    plays: ReadPlay = ReadPlay.FAST

    def named(self, phase: Phase) -> tuple[str, ...]:
        """Whom the rule names for a phase, the first choice first; nobody where it leaves the phase to the jobs."""
        return next((names for one, names in self.owners if one is phase), ())

    def __post_init__(self) -> None:
        if {self.read_man, self.scrape, self.force} != set(OPTION_PHASES):
            raise FootballValueError(
                "options", (self.read_man.value, self.scrape.value, self.force.value), "each phase once"
            )


# Common practice: the read man takes the quarterback with the fold player to the pitch, or they switch.
DEFAULT_OPTIONS: Mapping[str, OptionRule] = MappingProxyType(
    {
        "zone read": OptionRule(Phase.DIVE, Phase.QUARTERBACK, Phase.PITCH),
        "midline": OptionRule(Phase.DIVE, Phase.QUARTERBACK, Phase.PITCH),
        "veer": OptionRule(Phase.DIVE, Phase.QUARTERBACK, Phase.PITCH),
        "speed option": OptionRule(Phase.QUARTERBACK, Phase.DIVE, Phase.PITCH),
    }
)


@dataclass(frozen=True, slots=True)
class Measures:
    """Splits between linemen and the width of a man, in yards. Defaults: 2 ft guards and tackles, 3 ft tight end as
    taught; 0.9 yd a man makes 1.57 yd from center to guard, the median of tracked professional plays 2017-19."""

    guard_split_yd: float = 2 / 3
    tackle_split_yd: float = 2 / 3
    end_split_yd: float = 1.0
    man_width_yd: float = 0.9

    def pitch_yd(self, role: Role) -> float:
        """Center to center, from the next man inside to a man of that role."""
        split = {Role.GUARD: self.guard_split_yd, Role.TACKLE: self.tackle_split_yd}.get(role, self.end_split_yd)
        return split + self.man_width_yd


@dataclass(frozen=True, slots=True)
class Pace:
    """Seconds before a man moves with purpose, and his yards a second after that."""

    reaction_s: float
    speed_yd_s: float

    def __post_init__(self) -> None:
        if not 0 <= self.reaction_s <= 3:
            raise FootballValueError("reaction_s", self.reaction_s, "seconds between 0 and 3")
        if not 0.5 <= self.speed_yd_s <= 11:
            raise FootballValueError("speed_yd_s", self.speed_yd_s, "yards a second between 0.5 and 11")


# A backer's first half yard takes 0.7 s and four yards 2.0 s (medians of tracked professional plays 2017-19): 0.5 s,
# then 2.7 yd/s. The others are common practice, set so that a lineman is in his gap well before the ball; high-school
# times are not known to us.
DEFAULT_READ_PACE: Mapping[PlayerClass, Pace] = MappingProxyType(
    {
        PlayerClass.LINEMAN: Pace(0.3, 3.0),
        PlayerClass.EDGE: Pace(0.3, 3.6),
        PlayerClass.BACKER: Pace(0.5, 2.7),
        PlayerClass.SAFETY: Pace(0.7, 4.2),
        PlayerClass.CORNER: Pace(0.9, 4.2),
    }
)
# A rusher on a called pressure has nothing to read before he moves (common practice).
DEFAULT_RUSH_PACE: Mapping[PlayerClass, Pace] = MappingProxyType(
    {
        PlayerClass.LINEMAN: Pace(0.2, 3.0),
        PlayerClass.EDGE: Pace(0.2, 3.6),
        PlayerClass.BACKER: Pace(0.2, 3.6),
        PlayerClass.SAFETY: Pace(0.2, 4.2),
        PlayerClass.CORNER: Pace(0.2, 4.2),
    }
)

# Snap to the ball crossing the line: 2.4-2.5 s on tracked professional plays; the spread over families is common
# practice.
DEFAULT_BALL_S: Mapping[SchemeFamily, float] = MappingProxyType(
    {
        SchemeFamily.INSIDE_ZONE: 2.3,
        SchemeFamily.SPLIT_ZONE: 2.4,
        SchemeFamily.OUTSIDE_ZONE: 2.7,
        SchemeFamily.BASE: 2.2,
        SchemeFamily.DUO: 2.3,
        SchemeFamily.LEAD: 2.3,
        SchemeFamily.POWER: 2.5,
        SchemeFamily.GUARD_KICK: 2.5,
        SchemeFamily.COUNTER: 2.7,
        SchemeFamily.TRAP: 2.1,
        SchemeFamily.DART: 2.4,
        SchemeFamily.DOWN: 2.4,
        SchemeFamily.SWEEP: 2.9,
        SchemeFamily.PIN_AND_PULL: 2.8,
        SchemeFamily.TOSS: 2.9,
        SchemeFamily.MIDLINE: 1.6,
        SchemeFamily.VEER: 1.7,
        SchemeFamily.ZONE_READ: 2.4,
        SchemeFamily.SPEED_OPTION: 2.6,
        SchemeFamily.QUARTERBACK_RUN: 2.4,
        SchemeFamily.DRAW: 2.7,
        SchemeFamily.JET_SWEEP: 2.1,
    }
)


@dataclass(frozen=True, slots=True)
class Timing:
    """Times in seconds, speeds in yards a second; every value can be set by the team.

    ``puller_yd_s``: 4.5 yd sideways in 1.6 s on tracked professional plays. ``line_move_s``: when zone steps and down
    blocks are done. ``late_after_s``: slack after the ball before a fit is late; ``never_after_s``: after which he
    cannot get there.
    """

    read: Mapping[PlayerClass, Pace] = field(default_factory=lambda: DEFAULT_READ_PACE)
    rush: Mapping[PlayerClass, Pace] = field(default_factory=lambda: DEFAULT_RUSH_PACE)
    order_delay_s: float = 0.25
    ball_s: Mapping[SchemeFamily, float] = field(default_factory=lambda: DEFAULT_BALL_S)
    ball_lateral_yd_s: float = 5.0
    puller_yd_s: float = 4.5 / 1.6
    line_move_s: float = 1.0
    late_after_s: float = 0.2
    never_after_s: float = 1.2
    cross_clearance_s: float = 0.15


@dataclass(frozen=True, slots=True)
class FitRules:
    """How one man plays what staffs teach differently. Set for the team, and where a staff does so for a position, a
    call, or a position in a call; the more particular one holds."""

    pull_first: PullFirst = PullFirst.HIP
    pull_second: PullSecond = PullSecond.OVER_THE_TOP
    pull_backer: PullSecond = PullSecond.OVER_THE_TOP
    pull_own_side: PullOwnSide = PullOwnSide.AS_AWAY
    flow: FlowRule = FlowRule.GAP
    split_flow: SplitFlowRule = SplitFlowRule.GAP
    slant: SlantRule = SlantRule.GAP
    down: DownRule = DownRule.INSIDE
    looks: LooksRule = LooksRule.PULLER_BACK_AWAY
    edge: EdgeRule = EdgeRule.BOX
    back_edge: EdgeRule = EdgeRule.BOX
    kick: KickRule = KickRule.SUPPORT
    away: AwayRule = AwayRule.CHASE
    lead: LeadRule = LeadRule.INSIDE
    trap: LeadRule = LeadRule.INSIDE
    crack: CrackRule = CrackRule.REPLACE
    attached: AttachedRule = AttachedRule.THROW


Changes = tuple[tuple[str, Term], ...]
"""Some of the fit rules by field name: what a position or a call has of its own."""


@dataclass(frozen=True, slots=True)
class TeamRules(FitRules):
    """The team's answers to every question that staffs differ on; ``by_position`` holds what single positions have of
    their own."""

    by_position: Mapping[str, Changes] = field(default_factory=lambda: MappingProxyType({}))
    options: Mapping[str, OptionRule] = field(default_factory=lambda: DEFAULT_OPTIONS)
    motion: tuple[MotionRule, ...] = ()
    numbering: Numbering = Numbering.ONE_TO_NINE
    rule_book: RuleBook = RuleBook.HIGH_SCHOOL
    measures: Measures = Measures()
    timing: Timing = field(default_factory=Timing)

    def motion_rule(self, kind: MotionKind, coverage: Coverage) -> MotionRule:
        """What the defense does against this motion in this coverage: the team's first row that fits, else the
        default."""
        rows = (*self.motion, *DEFAULT_MOTION_RULES)
        return next(row for row in rows if row.fits(kind, coverage.name, is_man=coverage.is_man))

    @property
    def all_stay(self) -> TeamRules:
        """The same team with every man told to stay, whoever pulls and wherever the ball goes."""
        moving = ("pull_first", "pull_second", "pull_backer", "flow")
        kept = {name: tuple(one for one in own if one[0] not in moving) for name, own in self.by_position.items()}
        return replace(
            self,
            pull_first=PullFirst.STAY,
            pull_second=PullSecond.STAY,
            pull_backer=PullSecond.STAY,
            flow=FlowRule.GAP,
            by_position=MappingProxyType(kept),
        )

    def for_man(self, position: str, *called: Changes) -> FitRules:
        """The rules of one man: the team's, then his position's, then what the call says, the later overruling."""
        changes = [self.by_position.get(position, ()), *called]
        if not any(changes):
            return self
        own = {one.name: getattr(self, one.name) for one in fields(FitRules)}
        for change in changes:
            own.update(change)
        return FitRules(**own)


@dataclass(frozen=True, slots=True)
class Words:
    """A team's own words. Every term has a plain default; ``gaps`` renames letters ("A" to what the team says)."""

    gaps: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
    terms: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
