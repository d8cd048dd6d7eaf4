"""The learner model: a hierarchical item-response model, updated answer by answer as a filter.

An answer on call c, stage s, side d by player p is right with probability g + (1 - g - slip) * logistic(theta), where
theta = mu + b[c] + e[s] (how hard it is for the team) plus six parts of the player: the player himself, the family of
like calls, the stage, the call, the call at that stage, the call from that side. Each part is a normal belief that
drifts back to its prior as days pass. Only parts that were asked about are stored; all others are still at their prior
and independent of the rest.

Knows nothing of where answers come from, weights, states or wording. Time is an argument, in seconds since 1970 UTC.

Here and in `cells` and `confusions`, scipy is imported inside the functions that use it, to keep the server's start
short.

The constants are not tuned further. On our graded simulator, an oracle that knows its law and its team but not the
players reaches a log loss of .507, this model .517. What it loses lies in first answers on a call and in answers after
more than 14 days away, since it drifts to the team's mean and not to ignorance. Rejected: a drift below the mean (it
moves the reference figures, and would be tuned to simulators we wrote ourselves).
"""

import base64
import math
from copy import copy
from dataclasses import dataclass, field, replace
from enum import StrEnum
from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np
from numpy.polynomial.hermite_e import hermegauss
from numpy.typing import NDArray

from server.mastery.values import DAY_S, SIDES, STAGES, MasteryError

Vector = NDArray[np.float64]
Key = tuple[str, ...]

SLIP = 0.05
GUESS_LOW, GUESS_HIGH = 0.05, 0.35
MU_START = 0.3
ELO_STEP, ELO_SLOWING = 0.5, 0.1
TAUGHT_RIGHT, TAUGHT_WRONG, TAUGHT_VARIANCE = 0.05, 0.10, 0.30**2

#: 21-point Gauss-Hermite rule for a standard normal; the weights sum to 1.
NODES: Vector
WEIGHTS: Vector
NODES, _raw = hermegauss(21)
WEIGHTS = _raw / _raw.sum()


class PartKind(StrEnum):
    """The six parts that explain an estimate."""

    PLAYER = "player"
    FAMILY = "family"
    STAGE = "stage"
    CALL = "call"
    CALL_STAGE = "call and stage"
    CALL_SIDE = "call and side"


class Prior(NamedTuple):
    """Prior standard deviation (log odds) and time constant (days) of a part."""

    sd: float
    tau_days: float


PRIORS = {
    PartKind.PLAYER: Prior(0.8, 120.0),
    PartKind.FAMILY: Prior(0.3, 120.0),
    PartKind.STAGE: Prior(0.7, 120.0),
    PartKind.CALL: Prior(1.0, 60.0),
    PartKind.CALL_STAGE: Prior(0.4, 60.0),
    PartKind.CALL_SIDE: Prior(1.0, 60.0),
}


def guess_chance(choices: int) -> float:
    """The chance of guessing right among `choices`, clamped to .05 to .35."""
    return min(max(1.0 / choices, GUESS_LOW), GUESS_HIGH)


def chance_right(theta: Vector, guess: float) -> Vector:
    """Chance of a right answer at ability theta (log odds): guess at the bottom, 1 - slip at the top."""
    from scipy.special import expit

    chance: Vector = guess + (1.0 - guess - SLIP) * expit(theta)
    return chance


def keys_of(call: str, family: str, stage: int, side: str) -> tuple[Key, ...]:
    """The six parts behind one question, in the order of PartKind."""
    return (
        (PartKind.PLAYER,),
        (PartKind.FAMILY, family),
        (PartKind.STAGE, str(stage)),
        (PartKind.CALL, call),
        (PartKind.CALL_STAGE, call, str(stage)),
        (PartKind.CALL_SIDE, call, side),
    )


@lru_cache(maxsize=65_536)
def keys_of_call(call: str, family: str) -> tuple[Key, ...]:
    """All fifteen parts behind a call: player, family, five stages, call, call at five stages, call from two sides."""
    return (
        (PartKind.PLAYER,),
        (PartKind.FAMILY, family),
        *((PartKind.STAGE, str(stage)) for stage in STAGES),
        (PartKind.CALL, call),
        *((PartKind.CALL_STAGE, call, str(stage)) for stage in STAGES),
        *((PartKind.CALL_SIDE, call, side) for side in SIDES),
    )


@dataclass(slots=True)
class Step:
    """One team difficulty and how many answers have moved it."""

    value: float = 0.0
    answers: int = 0

    def move(self, surprise: float) -> None:
        """Move by the surprise (right minus predicted); the step shrinks with every answer."""
        self.answers += 1
        self.value += ELO_STEP / (1.0 + ELO_SLOWING * self.answers) * surprise


@dataclass(slots=True)
class Difficulty:
    """How hard questions are for the team: overall (mu), by call (b) and by stage (e), in log odds of being right."""

    mu: Step = field(default_factory=lambda: Step(MU_START))
    calls: dict[str, Step] = field(default_factory=dict)
    stages: dict[int, Step] = field(default_factory=dict)

    def copy(self) -> "Difficulty":
        """Another one with the same values."""
        calls, stages = self.calls.items(), self.stages.items()
        return Difficulty(
            replace(self.mu),
            {call: replace(one) for call, one in calls},
            {stage: replace(one) for stage, one in stages},
        )

    def theta(self, call: str, stage: int) -> float:
        """mu + b + e of a question; calls and stages never asked count as 0."""
        b, e = self.calls.get(call), self.stages.get(stage)
        return self.mu.value + (b.value if b else 0.0) + (e.value if e else 0.0)

    def move(self, call: str, stage: int, surprise: float) -> None:
        """Move all three by the surprise of one answer."""
        self.mu.move(surprise)
        self.calls.setdefault(call, Step()).move(surprise)
        self.stages.setdefault(stage, Step()).move(surprise)


class Update(NamedTuple):
    """The effect of one answer: the predicted chance of being right, and the shift and new variance of theta."""

    predicted: float
    shift: float
    variance: float


def observe(theta: float, variance: float, guess: float, right: bool) -> Update:
    """Update theta ~ N(theta, variance) with one answer, by 21-point Gauss-Hermite quadrature."""
    offset = math.sqrt(variance) * NODES
    chance = chance_right(theta + offset, guess)
    predicted = float(WEIGHTS @ chance)
    weight = WEIGHTS * (chance if right else 1.0 - chance)
    weight /= weight.sum()
    shift = float(weight @ offset)
    return Update(predicted, shift, float(weight @ (offset * offset)) - shift * shift)


class Belief:
    """Mean and covariance of the parts that one player was asked about."""

    __slots__ = ("_cov", "_mean", "_sd", "_tau", "_work", "at", "index")

    _mean: Vector
    _sd: Vector
    _tau: Vector
    _cov: Vector
    _work: Vector

    def __init__(self) -> None:
        self.index: dict[Key, int] = {}
        self.at: float | None = None
        self._allocate(16)

    def copy(self) -> "Belief":
        """The same, apart from this one."""
        other = copy(self)
        other.index = dict(self.index)
        other._allocate(len(self._mean))
        return other

    def _allocate(self, capacity: int) -> None:
        n = len(self.index)
        mean, sd, tau, cov = np.zeros(capacity), np.zeros(capacity), np.ones(capacity), np.zeros((capacity, capacity))
        if n:
            mean[:n], sd[:n], tau[:n] = self._mean[:n], self._sd[:n], self._tau[:n]
            cov[:n, :n] = self._cov[:n, :n]
        self._mean, self._sd, self._tau, self._cov = mean, sd, tau, cov
        self._work = np.zeros((capacity, capacity))

    def slots_for(self, keys: tuple[Key, ...]) -> list[int]:
        """Indexes of these parts; new ones are added at their prior."""
        slots = []
        for key in keys:
            slot = self.index.get(key)
            if slot is None:
                slot = len(self.index)
                if slot == len(self._mean):
                    self._allocate(2 * slot)
                prior = PRIORS[PartKind(key[0])]
                self.index[key] = slot
                self._sd[slot], self._tau[slot] = prior.sd, prior.tau_days
                self._cov[slot, slot] = prior.sd**2
            slots.append(slot)
        return slots

    def forget_until(self, at: float) -> None:
        """Let the parts drift back toward their priors until `at` (seconds).

        Raises: MasteryError when `at` is before the last answer.
        """
        last, self.at = self.at, at
        if last is None or at == last:
            return
        if at < last:
            self.at = last
            raise MasteryError(f"an answer at {at} comes after one at {last}; replay the answers in order of time")
        n = len(self.index)
        keep = np.exp((last - at) / DAY_S / self._tau[:n])
        cov = self._cov[:n, :n]
        self._mean[:n] *= keep
        cov *= np.multiply(keep[:, None], keep, out=self._work[:n, :n])
        cov.flat[:: n + 1] += (1.0 - keep * keep) * self._sd[:n] ** 2

    def answer(self, slots: list[int], difficulty: float, guess: float, right: bool) -> Update:
        """Update with one answer to the question made of these six parts, and with what its feedback teaches."""
        n = len(self.index)
        mean, cov = self._mean[:n], self._cov[:n, :n]
        gain = cov[slots].sum(axis=0)
        variance = float(gain[slots].sum())
        gain /= variance
        update = observe(difficulty + float(mean[slots].sum()), variance, guess, right)
        mean += gain * update.shift
        learned = variance - update.variance
        gain *= math.sqrt(abs(learned))
        work = np.multiply(gain[:, None], gain, out=self._work[:n, :n])
        cov -= work if learned >= 0.0 else -work
        share = self._sd[slots] ** 2
        share /= share.sum()
        mean[slots] += (TAUGHT_RIGHT if right else TAUGHT_WRONG) * share
        cov[slots, slots] += TAUGHT_VARIANCE * share
        return update

    def gather(self, groups: list[tuple[Key, ...]]) -> tuple[Vector, Vector]:
        """Means (n, m) and covariances (n, m, m) of n groups of m parts at the time of the last answer.

        Parts never asked about are at their prior.
        """
        n = len(self.index)
        if n == len(self._mean):
            self._allocate(2 * n)
        find = self.index.get
        slots = np.array([[find(key, n) for key in group] for group in groups])
        cov = self._cov[slots[:, :, None], slots[:, None, :]]
        group, place = np.nonzero(slots == n)
        cov[group, place, place] = [
            PRIORS[PartKind(groups[g][p][0])].sd ** 2 for g, p in zip(group, place, strict=True)
        ]
        return self._mean[slots], cov

    def to_dict(self) -> dict[str, Any]:
        """The belief as plain values that JSON preserves exactly; numbers as base64 of little-endian doubles.

        Only the lower triangle of the covariance is stored, row by row: it is symmetric to the last bit.
        """
        n = len(self.index)
        return {
            "at": self.at,
            "parts": [list(key) for key in self.index],
            "mean": _packed(self._mean[:n]),
            "cov": _packed(self._cov[:n, :n][np.tril_indices(n)]),
        }

    @classmethod
    def from_dict(cls, data: dict[str, Any]) -> "Belief":
        """The belief from `to_dict`."""
        belief = cls()
        belief.slots_for(tuple(tuple(key) for key in data["parts"]))
        n = len(belief.index)
        belief.at = data["at"]
        if n:
            belief._mean[:n] = _unpacked(data["mean"])
            rows, columns = np.tril_indices(n)
            belief._cov[rows, columns] = belief._cov[columns, rows] = _unpacked(data["cov"])
        return belief


def _packed(numbers: Vector) -> str:
    return base64.b64encode(numbers.astype("<f8").tobytes()).decode("ascii")


def _unpacked(text: str) -> Vector:
    return np.frombuffer(base64.b64decode(text), dtype="<f8").astype(np.float64)
