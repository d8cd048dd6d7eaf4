"""One snap, solved, with the team's words beside it: what every kind of rep is made from. Knows no question."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum

from quizgen.engine.alignment import Man
from quizgen.engine.fits import Fit
from quizgen.engine.protection import PassAnswer
from quizgen.engine.reads import AWAY_READS, Read
from quizgen.engine.verdict import RunAnswer
from quizgen.football.pressure import Pressure
from quizgen.football.scheme import Job, JobRow, Scheme, SchemeFamily, Who
from quizgen.football.sides import Gap
from quizgen.reps.rep import Stage
from quizgen.reps.wording import Wording

PERIMETER = frozenset({SchemeFamily.SWEEP, SchemeFamily.PIN_AND_PULL, SchemeFamily.TOSS, SchemeFamily.JET_SWEEP})

# On air nobody leaves his place: every lane is the gap it was before the snap.
ON_AIR = Scheme("on air", SchemeFamily.BASE, (JobRow((Who(None),), Job.BASE),), ball_s=2.2)


class Ground(Enum):
    """What a kind of rep is asked on: a call on air, a call against a run, a call against a pass."""

    AIR = "air"
    RUN = "run"
    PASS = "pass"  # noqa: S105 - a forward pass


@dataclass(frozen=True, slots=True)
class Snap:
    """One solved situation. ``id`` is the digest of everything that decides it. ``elsewhere`` says which gaps a
    position has on the other calls from the same front to the same side: what a wrong answer may come from. ``made`` is
    the call as it was made, before their formation changed it; ``calls`` are the keys of the team's calls by name."""

    id: str
    ground: Ground
    answer: RunAnswer
    wording: Wording
    made: Pressure
    elsewhere: Mapping[str, frozenset[Gap]] = field(default_factory=dict)
    calls: Mapping[str, str] = field(default_factory=dict)

    @property
    def stage(self) -> Stage:
        """Where this snap stands in the teaching order."""
        if self.ground is Ground.AIR:
            return Stage.TRACK
        return stage_of(self.answer.situation.play)

    def find_fit(self, position: str) -> Fit | None:
        """That position's fit, or None where it is not on the field."""
        return next((fit for fit in self.answer.fits if fit.man.position == position), None)

    def key_of_call(self, name: str) -> str:
        """The key of one of the team's calls."""
        return self.calls[name]

    @property
    def heading(self) -> str:
        """The call with its side: "Hammer right"."""
        s = self.answer.situation
        return self.wording.call(*s.called)

    @property
    def adjusted_words(self) -> str:
        """What their formation makes of the call, in words without a stop; empty where it is played as called."""
        return self.wording.adjusted(s.adjusted) if (s := self.answer.situation).adjusted else ""

    @property
    def adjusted_head(self) -> str:
        """The same in a few words and a blank, before a reason; empty where the call is played as called."""
        return self.wording.checked(s.adjusted) if (s := self.answer.situation).adjusted else ""

    @property
    def play_words(self) -> str:
        """What the offense does, as one sentence; a motion before it as another one."""
        s = self.answer.situation
        return self.wording.motion(s.formation) + self.wording.play(s.play.family, s.play_to)


@dataclass(frozen=True, slots=True)
class PassSnap:
    """One solved situation against a protection. ``id`` is the digest of everything that decides it."""

    id: str
    answer: PassAnswer
    wording: Wording
    ground: Ground = Ground.PASS

    @property
    def stage(self) -> Stage:
        """Passes come last in the teaching order."""
        return Stage.PASS

    def find_man(self, position: str) -> Man | None:
        """That position's man, or None where it is not on the field."""
        return next((man for man in self.answer.men if man.position == position), None)

    @property
    def heading(self) -> str:
        """The call with its side."""
        s = self.answer.situation
        return self.wording.call(*s.called)

    @property
    def adjusted_words(self) -> str:
        """What their formation makes of the call, in words without a stop; empty where it is played as called."""
        return self.wording.adjusted(s.adjusted) if (s := self.answer.situation).adjusted else ""

    @property
    def adjusted_head(self) -> str:
        """The same in a few words and a blank, before a reason; empty where the call is played as called."""
        return self.wording.checked(s.adjusted) if (s := self.answer.situation).adjusted else ""


def stage_of(play: Scheme) -> Stage:
    """Where a run stands in the teaching order: options, attached passes and the perimeter last, pulls before them."""
    if play.option is not None or play.attached is not None or play.family in PERIMETER:
        return Stage.OPTION
    return Stage.PULLS if play.pulls else Stage.RUNS


def owns_a_gap(fit: Fit) -> bool:
    """Whether the call gives him a gap, rushing or filling, and he has a lane now."""
    return bool(fit.man.gaps) and fit.owns


def is_his_alone(snap: Snap, fit: Fit) -> bool:
    """Whether the engine leaves a man's duty to him alone and in time: nobody else owns a lane of his, or, where he
    comes last, no lane is open. A rep about the duty of another man asks nothing."""
    if fit.owns:
        return fit.is_on_time and all(snap.answer.owners(index) == (fit,) for index in fit.lanes)
    return fit.phase is not None or fit.read is Read.COVER or (not fit.man.gaps and not snap.answer.open)


def is_in_his_gap(snap: Snap, fit: Fit) -> bool:
    """Whether every lane that he owns is made of his own gaps: he has not gone over the top or traded."""
    return all(set(fit.man.gaps) & set(snap.answer.lanes[index].gaps) for index in fit.lanes)


STEADY = AWAY_READS | {Read.KEEP, Read.CLOSE, Read.SET_EDGE, Read.TWO_GAP}
