"""Motion before the snap: who moves, how, and to which side. Knows no formation in particular and no defense."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from quizgen.football.coverage import RECEIVER_WORDS
from quizgen.football.errors import FootballValueError
from quizgen.football.keys import slug
from quizgen.football.sides import Side
from quizgen.football.terms import Term


class MotionKind(Term):
    """How a man moves before the snap."""

    JET = "jet", "at full speed across the formation, close to the quarterback at the snap"
    ORBIT = "orbit", "across behind the backs, so that he is outside on the other side after the snap"
    RETURN = "return", "in toward the ball and back out to where he came from"
    SHORT = "short", "in toward the ball, to stop outside the last attached man on his side"
    TRADE = "trade", "the end changes sides and is set again"

    @property
    def crosses(self) -> bool:
        """Whether he goes to the side where he did not start."""
        return self in (MotionKind.JET, MotionKind.ORBIT, MotionKind.TRADE)

    @property
    def is_threat(self) -> bool:
        """Whether he is at full speed in the backfield at the snap, so that he may have the ball."""
        return self in (MotionKind.JET, MotionKind.ORBIT)


@dataclass(frozen=True, slots=True)
class FormationMotion:
    """One man's motion from one formation. ``who`` is a receiver counted from the sideline on the side he starts on,
    or a role; ``to`` the side he goes to. ``split_yd`` is where a short motion stops, outside the last attached man;
    ``attached`` says that he stops as a wing. ``used_with`` names the plays run with it (empty: all).

    Raises:
        FootballValueError: values that this kind of motion cannot have.
    """

    name: str
    kind: MotionKind
    who: str
    to: Side
    split_yd: float | None = None
    attached: bool = False
    used_with: tuple[str, ...] = ()
    key: str = ""
    _twin: FormationMotion | None = field(default=None, init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "key", self.key or slug(self.name))
        if self.who not in RECEIVER_WORDS:
            raise FootballValueError("who", self.who, f"one of {', '.join(RECEIVER_WORDS)}")
        if self.kind is MotionKind.TRADE and self.who != "end":
            raise FootballValueError("who", self.who, f"'end' for the motion {self.kind.value!r}")
        if self.kind is not MotionKind.SHORT and (self.split_yd is not None or self.attached):
            key, found = ("attached", self.attached) if self.attached else ("split", self.split_yd)
            raise FootballValueError(key, found, "no such key beside another kind than 'short'")
        if self.attached and self.split_yd is not None:
            raise FootballValueError("split", self.split_yd, "no split for a man who stops attached")

    @property
    def start(self) -> Side:
        """The side on which he starts."""
        return self.to.other if self.kind.crosses else self.to

    @property
    def mirrored(self) -> FormationMotion:
        """The same motion turned round; made once."""
        if self._twin is None:
            twin = replace(self, to=self.to.other)
            object.__setattr__(twin, "_twin", self)
            object.__setattr__(self, "_twin", twin)
        assert self._twin is not None
        return self._twin


class MotionAnswer(Term):
    """What a defense does when a man goes in motion."""

    BUMP = "bump the backers", "the backers at depth slide one man toward it; everybody keeps his job"
    RUN = "run with him", "the man who has him in man coverage goes with him"
    ROTATE = "rotate the safeties", "the safety on that side comes down for him, the other goes to the deep middle"
    ANEW = "make the call anew", "everybody lines up again for what stands there"
    NOTHING = "nothing", "everybody stays where he is"


MAN_COVERAGES = "man"
ZONE_COVERAGES = "zone"
EDGE_OWNER = "edge"
DEFAULT_OWNERS = ("force", "alley", EDGE_OWNER)


@dataclass(frozen=True, slots=True)
class MotionRule:
    """What the defense does against a kind of motion in a coverage, and who has the man in motion.

    ``kind`` None is any motion; ``coverage`` a family's name, "man", "zone", or empty for any. ``owner`` are run jobs,
    "edge" (the rusher on that edge) or positions in an order of preference; empty: who runs with him or comes down for
    him, else force, alley, edge.
    """

    answer: MotionAnswer
    kind: MotionKind | None = None
    coverage: str = ""
    owner: tuple[str, ...] = ()

    def fits(self, kind: MotionKind, coverage: str, *, is_man: bool) -> bool:
        """Whether the row speaks of this motion in this coverage."""
        group = MAN_COVERAGES if is_man else ZONE_COVERAGES
        return self.kind in (None, kind) and self.coverage in ("", group, coverage)


# source: matchquarters.com, "Defending jet motion": rotating the safeties keeps up with it, bumping the backers does
# not. The other rows are common practice: man coverage runs with him, an end who trades sides is set again in time.
DEFAULT_MOTION_RULES = (
    MotionRule(MotionAnswer.ANEW, MotionKind.TRADE),
    MotionRule(MotionAnswer.RUN, coverage=MAN_COVERAGES),
    MotionRule(MotionAnswer.ROTATE, MotionKind.JET),
    MotionRule(MotionAnswer.ROTATE, MotionKind.ORBIT),
    MotionRule(MotionAnswer.NOTHING),
)
