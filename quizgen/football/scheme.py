"""The offense's plays: what each blocker does, as data. Knows no formation in particular and no defense.

A play is written once, for the play side; the engine turns it to either side. Who blocks how is a list of rows, the
more particular row overruling the more general; the jobs themselves are rows of ``JOBS``.
"""

from __future__ import annotations

from dataclasses import dataclass

from quizgen.football.errors import FootballValueError
from quizgen.football.formation import Role
from quizgen.football.keys import slug
from quizgen.football.sides import Letter
from quizgen.football.terms import Term


class Intent(Term):
    """What a block does to the man in the lane it enters."""

    REACH = "reach", "works for the far shoulder; the man may be hooked"
    WASH = "wash", "blocks down or back; the man may be washed out of his lane"
    DRIVE = "drive", "straight ahead"
    KICK = "kick", "from the inside out, on the edge"
    LEAD = "lead", "turns up through a lane ahead of the ball"
    HINGE = "hinge", "steps inside, then swings back on the first man outside"
    NONE = "none", "leaves the man alone"


class Place(Term):
    """Where a blocker ends up at the time of the fit."""

    LINE = "line", "stays in the order of the line"
    EDGE = "edge", "outside the last man on the play side"
    BACK_EDGE = "back edge", "outside the last man on the back side"
    TRAP = "trap", "on the first down lineman past a given man"
    BUBBLE = "bubble", "the first inside gap without a down lineman"
    AIM = "aim", "the gap the play aims at"
    AWAY = "away", "no part at the surface"


@dataclass(frozen=True, slots=True)
class JobRule:
    """One blocking job. ``gaps_moved`` is in gaps, positive toward the play; ``word`` names the man who splits a
    lane; ``rank`` orders men who arrive at the same edge from the inside out; ``pulls`` says that he leaves the line
    behind it."""

    gaps_moved: float
    intent: Intent
    place: Place
    word: str = ""
    rank: int = 0
    pulls: bool = False


class Job(Term):
    """A blocker's job, as plays name it."""

    ZONE = "zone", "steps to the play, about half a gap to a gap"
    REACH = "reach", "gets to the far shoulder of the next man, a gap or more"
    CUTOFF = "cut off", "keeps a back-side man from crossing to the ball"
    BASE = "base", "blocks the man on him, straight ahead"
    DOUBLE = "double", "two blockers on one man"
    DOWN = "down", "blocks the next man inside"
    BACK = "back", "blocks away from the play, for a man who pulled"
    HINGE = "hinge", "takes the inside step, then turns out on the back side"
    CLIMB = "climb", "goes to the linebackers at once"
    PULL_KICK = "pull and kick", "leaves the line and kicks out the edge"
    PULL_WRAP = "pull and wrap", "leaves the line and turns up inside the kick"
    PULL_LEAD = "pull and lead", "leaves the line and leads outside"
    PULL_TRAP = "pull and trap", "leaves the line and kicks the first lineman past a given man"
    KICK = "kick", "a back or wing kicks out the edge"
    CROSS_KICK = "kick across", "comes back across the formation and kicks the back-side edge"
    LEAD = "lead", "a back inserts where there is no down lineman"
    LEAD_AIM = "lead to the aim", "a back leads through the gap the play aims at"
    ARC = "arc", "goes round the edge for a man in support"
    CRACK = "crack", "a wide man blocks back inside"
    FAKE = "fake", "carries out a fake and blocks nobody"


# Common practice throughout. Lateral movement in gaps: inside zone about half a gap to a gap, outside zone a gap or
# more, down and back blocks most of a gap, a hinge a fifth of the narrower gap beside him at most; base blocks and
# doubles stay where they are.
JOBS: dict[Job, JobRule] = {
    Job.ZONE: JobRule(+0.6, Intent.REACH, Place.LINE),
    Job.REACH: JobRule(+1.1, Intent.REACH, Place.LINE),
    Job.CUTOFF: JobRule(+0.6, Intent.REACH, Place.LINE),
    Job.BASE: JobRule(0.0, Intent.DRIVE, Place.LINE),
    Job.DOUBLE: JobRule(0.2, Intent.WASH, Place.LINE),  # toward the man doubled, whichever side he is on
    Job.DOWN: JobRule(-0.6, Intent.WASH, Place.LINE),  # inside; so on the back side toward the play
    Job.BACK: JobRule(-0.6, Intent.WASH, Place.LINE),
    Job.HINGE: JobRule(+0.2, Intent.HINGE, Place.LINE),
    Job.CLIMB: JobRule(0.0, Intent.NONE, Place.LINE),
    Job.PULL_KICK: JobRule(0.0, Intent.KICK, Place.EDGE, "kick", 2, pulls=True),
    Job.PULL_WRAP: JobRule(0.0, Intent.LEAD, Place.EDGE, "wrap", 1, pulls=True),
    Job.PULL_LEAD: JobRule(0.0, Intent.LEAD, Place.EDGE, "lead", 3, pulls=True),
    Job.PULL_TRAP: JobRule(0.0, Intent.KICK, Place.TRAP, "trap", 0, pulls=True),
    Job.KICK: JobRule(0.0, Intent.KICK, Place.EDGE, "kick", 2),
    Job.CROSS_KICK: JobRule(0.0, Intent.KICK, Place.BACK_EDGE, "kick", 2),
    Job.LEAD: JobRule(0.0, Intent.LEAD, Place.BUBBLE, "lead", 0),
    Job.LEAD_AIM: JobRule(0.0, Intent.LEAD, Place.AIM, "lead", 0),
    Job.ARC: JobRule(0.0, Intent.LEAD, Place.EDGE, "arc", 4),
    Job.CRACK: JobRule(0.0, Intent.NONE, Place.AWAY),
    Job.FAKE: JobRule(0.0, Intent.NONE, Place.AWAY),
}


NAMED_PLACES = (Place.EDGE, Place.BUBBLE, Place.AIM)
"""Where a man who arrives may be sent to another gap on the play side by name."""


class Flow(Term):
    """The side of the play that a man is on."""

    PLAY_SIDE = "play side", "the side the play goes to"
    BACK_SIDE = "back side", "the other one"


LINE_GROUP = "line"


@dataclass(frozen=True, slots=True)
class Who:
    """Whom a row speaks of: a role (None: every attached man), on the play side, the back side or either (None)."""

    role: Role | None
    flow: Flow | None = None

    @property
    def detail(self) -> int:
        """How particular this is: the greater number overrules."""
        return (2 if self.role else 0) + (1 if self.flow else 0)

    @property
    def word(self) -> str:
        """In words: "back side guard", "line"."""
        name = self.role.value if self.role else LINE_GROUP
        return f"{self.flow.value} {name}" if self.flow else name


def parse_who(text: str) -> Who:
    """Read "back side guard", "center", "play side line", "line" ….

    Raises:
        FootballValueError: no such man.
    """
    words = text.strip().lower()
    for flow in Flow:
        if words.startswith(flow.value + " "):
            return Who(_parse_role(words.removeprefix(flow.value + " "), text), flow)
    return Who(_parse_role(words, text))


def _parse_role(words: str, text: str) -> Role | None:
    if words == LINE_GROUP:
        return None
    try:
        return Role(words)
    except ValueError:
        names = ", ".join([LINE_GROUP, *(role.value for role in Role)])
        raise FootballValueError("who", text, f"one of {names}, with 'play side' or 'back side' before it") from None


@dataclass(frozen=True, slots=True)
class JobRow:
    """One row of a play. ``who`` is tried in order and the first man whom the formation has takes the job; ``past``
    is the man whom a trap passes before it hits (None: the center); an ``optional`` row may find nobody; ``gap`` is the
    play-side gap that a man who arrives turns up in (None: where his job takes him)."""

    who: tuple[Who, ...]
    job: Job
    past: Role | None = None
    optional: bool = False
    gap: Letter | None = None

    def __post_init__(self) -> None:
        if not self.who:
            raise FootballValueError("who", (), "at least one man")
        if self.gap is not None and JOBS[self.job].place not in NAMED_PLACES:
            raise FootballValueError(
                "gap", self.gap.value, "no gap but for a man who kicks, wraps or leads on the play side"
            )


class Phase(Term):
    """A threat that one man must own: a phase of an option, the man in motion, the run and the throw of a run with a
    pass attached."""

    DIVE = "dive", "the first back, straight ahead"
    QUARTERBACK = "quarterback", "the quarterback keeps it"
    PITCH = "pitch", "the back outside him"
    MOTION = "man in motion", "the man in jet or orbit motion, whether he has the ball or fakes"
    RUN = "run", "the run that a pass is attached to"
    THROW = "throw", "the pass that is attached to a run"


OPTION_PHASES = (Phase.DIVE, Phase.QUARTERBACK, Phase.PITCH)


class ReadMan(Term):
    """Whom the quarterback reads instead of blocking."""

    BACK_EDGE = "back side edge", "the last man on the line on the back side"
    FIRST_OUTSIDE_B = "first man outside play side B", "the first man outside that gap"
    FIRST_PAST_CENTER = "first lineman play side of the center", "the first down lineman there"
    PLAY_EDGE = "play side edge", "the last man on the line on the play side"


@dataclass(frozen=True, slots=True)
class Option:
    """An option's read and its phases; ``name`` is the key of the team's rule for it."""

    name: str
    read: ReadMan
    phases: tuple[Phase, ...]

    def __post_init__(self) -> None:
        if len(set(self.phases)) != len(self.phases) or not self.phases:
            raise FootballValueError("phases", [p.value for p in self.phases], "each phase once, at least one")
        others = [phase.value for phase in self.phases if phase not in OPTION_PHASES]
        if others:
            expected = f"phases of an option: {', '.join(phase.value for phase in OPTION_PHASES)}"
            raise FootballValueError("phases", others, expected)


class ThrowZone(Term):
    """Where the pass goes that is attached to a run; whose drop is there is in conflict, and he is read."""

    FLAT = "flat", "outside, at or behind the line: a bubble, an arrow, an out"
    SEAM = "seam", "over the man who covers the slot"
    HOOK = "hook", "inside, behind a backer who fills: a slant, a glance, the end over the ball"


@dataclass(frozen=True, slots=True)
class AttachedPass:
    """A pass attached to a run: the zone it is thrown to, and on which side of the run."""

    zone: ThrowZone
    flow: Flow


class SchemeFamily(Term):
    """Families of plays, for stages, filters and the time the ball takes."""

    INSIDE_ZONE = "inside zone", "every lineman steps to the play; it may hit anywhere inside"
    SPLIT_ZONE = "split zone", "inside zone, with a man who comes back across to kick the back-side edge"
    OUTSIDE_ZONE = "outside zone", "every lineman reaches; it stretches to the edge"
    BASE = "base", "man on man"
    DUO = "duo", "two double teams, no puller"
    LEAD = "lead", "a back inserts ahead of the ball"
    POWER = "power", "down blocks, a kick by a back, and the back-side guard wraps"
    GUARD_KICK = "guard pull and kick", "down blocks, and the pulling guard himself kicks"
    COUNTER = "counter", "one puller kicks and a second man wraps"
    TRAP = "trap", "a guard pulls short and traps an inside man"
    DART = "dart", "a tackle pulls short"
    DOWN = "down", "the play-side guard pulls outside on his own side and kicks"
    SWEEP = "sweep", "pullers lead around the edge"
    PIN_AND_PULL = "pin and pull", "covered men block down, uncovered men pull"
    TOSS = "toss", "the ball is pitched outside at once"
    MIDLINE = "midline", "the option on the first lineman past the center"
    VEER = "veer", "the option on the first man outside the B gap"
    ZONE_READ = "zone read", "inside zone with the back-side edge read"
    SPEED_OPTION = "speed option", "the option on the edge with no dive"
    QUARTERBACK_RUN = "quarterback run", "the quarterback carries, so the back is one more blocker"
    DRAW = "draw", "a pass set first, then the run"
    JET_SWEEP = "jet sweep", "the man in jet or orbit motion carries it round the edge"


@dataclass(frozen=True, slots=True)
class Scheme:
    """A run: rows of jobs, the gap it aims at (None: the edge), its option if it has one, the ball's time to the line
    in seconds (None: the team's default)."""

    name: str
    family: SchemeFamily
    rows: tuple[JobRow, ...]
    aim: Letter | None = Letter.A
    option: Option | None = None
    ball_s: float | None = None
    carrier: Role = Role.TAILBACK
    key: str = ""
    attached: AttachedPass | None = None

    def __post_init__(self) -> None:
        object.__setattr__(self, "key", self.key or slug(self.name))
        if not any(row.who[0].role is None and not row.who[0].flow for row in self.rows):
            raise FootballValueError("block", self.name, "a row for 'line', so that every lineman has a job")
        if self.ball_s is not None and not 0.5 <= self.ball_s <= 6:
            raise FootballValueError("ball_s", self.ball_s, "seconds between 0.5 and 6")
        if self.family is SchemeFamily.JET_SWEEP and self.carrier is not Role.IN_MOTION:
            expected = f"{Role.IN_MOTION.value!r} for the family {self.family.value!r}"
            raise FootballValueError("carrier", self.carrier.value, expected)
        if self.option is not None and self.attached is not None:
            raise FootballValueError("attached", self.attached.zone.value, "either an option or an attached pass")

    @property
    def pulls(self) -> bool:
        """Whether anybody leaves the line behind it."""
        return any(JOBS[row.job].pulls for row in self.rows)


class LeftFree(Term):
    """Which rusher a protection leaves to the quarterback when it has one man too few on a side."""

    WIDEST = "the widest", "men in man protection take rushers from the inside out"
    INSIDE = "the innermost", "men in man protection take rushers from the outside in"


class Slide(Term):
    """How a protection sorts its blockers."""

    FULL = "full slide", "every blocker takes the gap to one side"
    HALF = "half slide", "one side takes gaps, the other side takes men"
    MAN = "man", "everybody takes a man"
    SPRINT = "sprint-out", "the pocket moves outside with the quarterback"
    BOOT = "boot", "the quarterback comes back opposite a run fake"


@dataclass(frozen=True, slots=True)
class Protection:
    """A pass protection: who slides, which way the center turns (toward the play's side), which backs and ends stay
    in, and whom it leaves ``free`` when it is a man short."""

    name: str
    slide: Slide
    stay_in: tuple[Who, ...] = ()
    release: tuple[Who, ...] = ()
    free: LeftFree = LeftFree.WIDEST
    key: str = ""

    def __post_init__(self) -> None:
        object.__setattr__(self, "key", self.key or slug(self.name))
        if set(self.stay_in) & set(self.release):
            raise FootballValueError("stay_in", self.name, "nobody who both stays in and releases")


Play = Scheme | Protection
