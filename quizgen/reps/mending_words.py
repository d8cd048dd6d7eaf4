"""What would mend a call, said to a coach: each change in his words, and the runs that it makes sound or short.

Must not know: how a change is found, pages.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from quizgen.engine.mending import CallChange, ContentChange, Mending, NewJob, NewOrder, NewPlace, NewRule, WeightedSnap
from quizgen.football.pressure import Exchange, RunJob, Trigger
from quizgen.football.rules import EdgeRule, PullFirst, PullSecond
from quizgen.football.terms import Term
from quizgen.reps.wording import Wording, to_say

RULE_SENTENCES: Mapping[Term, str] = MappingProxyType(
    {
        EdgeRule.BOX: to_say("{man} boxes the kick-out"),
        EdgeRule.SPILL: to_say("{man} spills the kick-out"),
        PullFirst.HIP: to_say("{man} goes on the puller's hip"),
        PullFirst.STAY: to_say("{man} stays when a blocker pulls"),
        PullSecond.OVER_THE_TOP: to_say("{man} goes over the top when a blocker pulls"),
        PullSecond.FRONT_SHOULDER: to_say("{man} meets the puller on his far shoulder"),
        PullSecond.STAY: to_say("{man} stays when a blocker pulls"),
    }
)
JOB_NAMES: Mapping[RunJob, str] = MappingProxyType(
    {
        RunJob.FILL: to_say("a gap of his own"),
        RunJob.FORCE: to_say("force"),
        RunJob.ALLEY: to_say("alley"),
        RunJob.FOLD: to_say("fold"),
        RunJob.FREE: to_say("free"),
        RunJob.CUTBACK: to_say("cutback"),
        RunJob.COVER: to_say("pass first"),
    }
)
TRADE_SENTENCES: Mapping[Trigger, str] = MappingProxyType(
    {
        Trigger.DOWN: to_say("{man} and {other} trade gaps when the {blocker} blocks down"),
        Trigger.PULL: to_say("{man} and {other} trade gaps when the {blocker} pulls"),
        Trigger.REACH: to_say("{man} and {other} trade gaps when the {blocker} reaches"),
    }
)
BLOCKER_NAMES = MappingProxyType({"guard": to_say("guard"), "tackle": to_say("tackle"), "end": to_say("tight end")})


@dataclass(frozen=True, slots=True)
class MendedRun:
    """A run at the call or away from it, and how many of its snaps change."""

    play: str
    is_at_call: bool
    snaps: float


@dataclass(frozen=True, slots=True)
class SaidMending:
    """One mending: its changes as sentences and as values of the files, the runs won and lost, the most first."""

    sentences: tuple[str, ...]
    changes: tuple[ContentChange, ...]
    won: tuple[MendedRun, ...]
    lost: tuple[MendedRun, ...]
    gains: float
    costs: float
    sound_before: float
    sound_after: float

    @property
    def net(self) -> float:
        """What is left of the gains."""
        return self.gains - self.costs


def say_mendings(wording: Wording, found: Iterable[Mending]) -> list[SaidMending]:
    """These mendings in a coach's words."""
    return [
        SaidMending(
            tuple(change_sentence(wording, change.what) for change in one.changes),
            one.changes,
            _runs(one.won),
            _runs(one.lost),
            one.gains,
            one.costs,
            one.sound_before,
            one.sound_after,
        )
        for one in found
    ]


def change_sentence(wording: Wording, what: CallChange) -> str:
    """A change as a sentence without its full stop: "Hawk: alley, not force"."""
    match what:
        case NewRule(position, _, rule):
            return wording.say(RULE_SENTENCES[rule], man=position)
        case NewJob(position, was, job):
            names = {"job": wording.phrase(JOB_NAMES[job]), "was": wording.phrase(JOB_NAMES[was])}
            return wording.say("{man}: {job}, not {was}", man=position, **names)
        case NewPlace():
            return _place_sentence(wording, what)
        case NewOrder(first, second):
            return wording.say("{man} goes first, {other} second", man=first, other=second)
        case Exchange(first, second, blocker, triggers):
            names = {"man": first, "other": second, "blocker": wording.phrase(BLOCKER_NAMES[blocker])}
            return wording.say(TRADE_SENTENCES[triggers[0]], **names)


def _place_sentence(wording: Wording, what: NewPlace) -> str:
    man, was, place = what.position, what.was, what.place
    if place.depth_yd != was.depth_yd:
        yards = {"yards": f"{place.depth_yd:g}", "was": f"{was.depth_yd:g}"}
        return wording.say("{man} at {yards} yd, not {was}", man=man, **yards)
    if place.out_yd != was.out_yd:
        out, inside = to_say("{man} a yard further out"), to_say("{man} a yard further in")
        return wording.say(out if place.out_yd > was.out_yd else inside, man=man)
    return wording.say("{man} in a {technique} technique", man=man, technique=what.technique)


def _runs(snaps: Sequence[WeightedSnap]) -> tuple[MendedRun, ...]:
    counts: dict[tuple[str, bool], float] = defaultdict(float)
    for one in snaps:
        s = one.situation
        counts[s.play.name, s.play_to is s.called[1]] += one.weight
    return tuple(MendedRun(*run, n) for run, n in sorted(counts.items(), key=lambda one: (-one[1], one[0])))
