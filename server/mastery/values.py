"""The plain values that mastery works on.

Knows nothing of tables, pages, the current time or football rules. Calls, gaps, positions and relations are the
caller's names and come back unchanged.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from enum import StrEnum
from typing import TypeVar

K = TypeVar("K")

DAY_S = 86_400.0
STAGES = (1, 2, 3, 4, 5)
#: Share of each stage when the opponent's tendencies are unknown: runs (stages 1 to 4) 85 %, passes (stage 5) 15 %.
#: Found by trial: the only mix in steps of .05, with passes at .15, that reproduces all reference figures of the
#: readout. Rejected: leaving it unset until a coach types one in.
DEFAULT_STAGE_MIX = {1: 0.30, 2: 0.25, 3: 0.10, 4: 0.20, 5: 0.15}


class MasteryError(ValueError):
    """A bad value; the message names it and says what was expected."""


#: Sides are plain keys here, like calls and positions; what they mean on the field is football.
LEFT, RIGHT = "left", "right"
SIDES = (LEFT, RIGHT)


class State(StrEnum):
    """What a coach may conclude about a player and a call."""

    CAN = "can"
    CANNOT = "can't"
    FADED = "faded"
    NOT_PROVEN = "not proven"


def to_seconds(moment: datetime) -> float:
    """A moment in seconds since 1970 UTC.

    Raises: MasteryError when the moment has no time zone.
    """
    if moment.tzinfo is None:
        raise MasteryError(f"moment {moment.isoformat()} has no time zone; expected one, such as UTC")
    return moment.timestamp()


@dataclass(frozen=True, slots=True)
class AnswerFact:
    """One stored answer.

    `at` is in seconds since 1970 UTC, `day` a number of the day where the team is (None: the day in UTC); `choices` is
    the number of choices offered, `guess` how often such questions are answered right without knowing the call (0:
    unknown). `chosen`, `right_answer` and `relation` (how the chosen answer relates to the right
    one) are the caller's names and only needed for confusions; empty means not recorded. `position` is the position he
    answered for, `kind` what kind of question it was, `snap` which snap it showed. `weight` (above 0, up to 1) is how
    much it counts: less than 1 is no proof of knowing.
    """

    player: str
    call: str
    stage: int
    side: str
    choices: int
    right: bool
    at: float
    chosen: str = ""
    right_answer: str = ""
    relation: str = ""
    position: str = ""
    kind: str = ""
    snap: str = ""
    weight: float = 1.0
    guess: float = 0.0
    day: int | None = None

    def __post_init__(self) -> None:
        if not self.player or not self.call:
            raise MasteryError("an answer needs a player and a call; one of them is empty")
        if self.stage not in STAGES:
            raise MasteryError(f"stage {self.stage!r} of an answer is not one of 1 to 5")
        if self.side not in SIDES:
            raise MasteryError(f"side {self.side!r} of an answer is not left or right")
        if self.choices < 2:
            raise MasteryError(f"choices {self.choices!r} of an answer; expected 2 or more")
        if not math.isfinite(self.at):
            raise MasteryError(f"time {self.at!r} of an answer is not a finite number of seconds")
        if not 0.0 <= self.guess <= 1.0:
            raise MasteryError(f"guess {self.guess!r} of an answer; expected 0 to 1")
        if not 0.0 < self.weight <= 1.0:
            raise MasteryError(f"weight {self.weight!r} of an answer; expected above 0, 1 at most")

    @property
    def on_day(self) -> int:
        """The number of the day it was given on."""
        return int(self.at // DAY_S) if self.day is None else self.day


@dataclass(frozen=True, slots=True)
class Families:
    """Groups of calls that ask much the same of a player, by call, or by position and call where positions differ.

    A call that is not listed is its own family.
    """

    by_call: Mapping[str, str] = field(default_factory=dict)
    by_position: Mapping[str, Mapping[str, str]] = field(default_factory=dict)

    def family_of(self, position: str, call: str) -> str:
        """The family of a call for a position."""
        own = self.by_position.get(position)
        if own is not None and call in own:
            return f"{position}/{own[call]}"
        return self.by_call.get(call, call)


def from_families(families: "Families | Mapping[str, str]") -> Families:
    """Families from themselves or from a plain mapping of call to family."""
    return families if isinstance(families, Families) else Families(by_call=dict(families))


@dataclass(frozen=True, slots=True)
class StateRules:
    """The thresholds behind the four states. Changing them needs a replay; changing weights does not.

    *Can* needs P(can) of `can_at`, right answers on `can_days` different days, the last answer from each side right,
    and the last right answer no older than a number of days: the first of `fresh_days`, and the next one each time he
    is right again after at least half of those days. *Can't* needs P(can) of `cannot_at` at most after
    `cannot_answers` answers on `cannot_snaps` different snaps in `cannot_days` days, one of the `last_few` wrong.
    """

    can_at: float = 0.90
    #: At .10 a simulated team that learns fast had moved on in one of twelve such cells, at .03 in one of 25.
    cannot_at: float = 0.03
    can_days: int = 2
    cannot_answers: int = 4
    cannot_snaps: int = 2
    cannot_days: float = 21.0
    fresh_days: tuple[float, ...] = (14.0, 28.0, 42.0)
    last_few: int = 4
    known_share: float = 0.80
    hint_days: float = 21.0


@dataclass(frozen=True, slots=True)
class TeamSettings:
    """What a coach may set for the team and the next opponent. It changes what is read out, never a stored answer.

    `stage_mix` is the share of each stage in what the next opponent runs; `taught` the stages that count (None: all);
    `call_weights` how much each call matters (an unlisted call gets the mean of the listed ones).
    """

    stage_mix: Mapping[int, float] = field(default_factory=lambda: dict(DEFAULT_STAGE_MIX))
    taught: frozenset[int] | None = None
    call_weights: Mapping[str, float] = field(default_factory=dict)
    rules: StateRules = StateRules()

    def __post_init__(self) -> None:
        if any(stage not in STAGES for stage in self.stage_mix):
            raise MasteryError(f"stage mix names stages {sorted(self.stage_mix)}; expected only 1 to 5")
        if any(not math.isfinite(w) or w < 0 for w in (*self.stage_mix.values(), *self.call_weights.values())):
            raise MasteryError("a weight is negative or not a number; expected 0 or more")
        if not sum(self.weights()) > 0:
            raise MasteryError("the stage mix has no weight on any stage that is taught")

    def weights(self, stage: int | None = None) -> tuple[float, ...]:
        """Weights of stages 1 to 5, summing to 1; all on `stage` when given."""
        if stage is not None:
            return tuple(1.0 if s == stage else 0.0 for s in STAGES)
        raw = [self.stage_mix.get(s, 0.0) if self.taught is None or s in self.taught else 0.0 for s in STAGES]
        total = sum(raw)
        return tuple(w / total for w in raw) if total > 0 else tuple(raw)

    def call_weight(self, call: str) -> float:
        """How much a call matters; 1 when no weights are set."""
        if not self.call_weights:
            return 1.0
        return self.call_weights.get(call, sum(self.call_weights.values()) / len(self.call_weights))

    def with_opponent(
        self, stage_counts: Mapping[int, float] | None = None, call_counts: Mapping[str, float] | None = None
    ) -> "TeamSettings":
        """These settings, weighted by how often the next opponent runs each stage, or how often we run each call.

        None keeps the current weights.
        """
        mix = self.stage_mix if stage_counts is None else shares({s: stage_counts.get(s, 0.0) for s in STAGES})
        calls = self.call_weights if call_counts is None else shares(call_counts)
        return replace(self, stage_mix=mix, call_weights=calls)


def shares(counts: Mapping[K, float], floor: float = 0.03) -> dict[K, float]:
    """Shares from counts: one is added to each count, and no share is below `floor` before they are scaled to sum to 1.

    Raises: MasteryError when a count is negative or not a number.
    """
    if any(not math.isfinite(n) or n < 0 for n in counts.values()):
        raise MasteryError("a count is negative or not a number; expected 0 or more")
    total = sum(counts.values()) + len(counts)
    floored = {key: max((n + 1.0) / total, floor) for key, n in counts.items()}
    whole = sum(floored.values())
    return {key: share / whole for key, share in floored.items()}
