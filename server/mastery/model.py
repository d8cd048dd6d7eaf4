"""The learner model: a hierarchical item-response model, updated answer by answer as a filter.

An answer on call c, stage s, side d by player p is right with probability g + (1 - g - slip) * logistic(theta), where
theta is a sum of normal beliefs: six of how hard the question is for the team (`TeamPart`), and six of the player: the
player himself, the family of like calls, the stage, the call, the call at that stage, the call from that side. Each
answer's surprise is shared among all twelve by their variance: what a new team's first answers teach about the team
is not counted for the player again. The player's parts drift back to their prior as days pass. Only parts that were
asked about are stored; all others are still at their prior and independent of the rest.

The team's parts are taken to be independent of the player's. In truth an answer ties them together; leaving that out
makes an estimate less sure than the exact one, never surer (`tests/mastery/test_exact.py`). Rejected: Elo steps without
a variance (a player's own answers counted twice, by the team's difficulty and by his ability); one joint filter over a
team (its covariance has thousands of parts).

Knows nothing of where answers come from, weights, states or wording. Time is an argument, in seconds since 1970 UTC.

Here and in `cells` and `confusions`, scipy is imported inside the functions that use it, to keep the server's start
short.

The constants were compared on three open data sets of real people (`tests/bench/mastery_report.py`): slip .01 instead
of .05 and a third of the former shift of the mean by feedback predict all three better or as well; a spread of players
of 1.5 instead of .8 predicts two better and the learning trials a little worse (log loss .506, .503). Feedback mainly
widens the belief: whether it taught anything is for the next answer to say.
"""

import math
from collections.abc import Iterable
from copy import copy
from dataclasses import dataclass, field
from enum import StrEnum
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.polynomial.hermite_e import hermegauss
from numpy.typing import NDArray

from server.mastery.values import DAY_S, SIDES, STAGES, MasteryError

Vector = NDArray[np.float64]
Key = tuple[str, ...]

SLIP = 0.01
GUESS_LOW, GUESS_HIGH = 0.02, 0.60
#: Log odds of an unknown question for an unknown player of an unknown team.
LEVEL_START = 0.3
#: What feedback teaches (log odds, mean and variance), shared among the player's six parts.
TAUGHT, TAUGHT_VARIANCE = 0.03, 0.35**2

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
    PartKind.PLAYER: Prior(1.5, 120.0),
    PartKind.FAMILY: Prior(0.3, 120.0),
    PartKind.STAGE: Prior(0.7, 120.0),
    PartKind.CALL: Prior(1.0, 60.0),
    PartKind.CALL_STAGE: Prior(0.4, 60.0),
    PartKind.CALL_SIDE: Prior(1.0, 60.0),
}


class TeamPart(StrEnum):
    """The six parts of how hard a question is for the team."""

    LEVEL = "level"
    CALL = "call"
    STAGE = "stage"
    CALL_STAGE = "call and stage"
    CALL_SIDE = "call and side"
    QUESTION = "question"


#: Prior standard deviation (log odds) of each part for the team.
TEAM_SD = {
    TeamPart.LEVEL: 0.7,
    TeamPart.CALL: 0.6,
    TeamPart.STAGE: 0.5,
    TeamPart.CALL_STAGE: 0.4,
    TeamPart.CALL_SIDE: 0.4,
    TeamPart.QUESTION: 0.5,
}


def guess_chance(choices: int, rate: float = 0.0) -> float:
    """The chance of being right without knowing the call, clamped to .02 to .60: the call-blind `rate` of such
    questions; 0 where that is unknown, then that of guessing among `choices`."""
    return min(max(rate or 1.0 / choices, GUESS_LOW), GUESS_HIGH)


def chance_right(theta: Vector, guess: float) -> Vector:
    """Chance of a right answer at ability theta (log odds): guess at the bottom, 1 - slip at the top."""
    from scipy.special import expit

    chance: Vector = guess + (1.0 - guess - SLIP) * expit(theta)
    return chance


def keys_of(position: str, call: str, family: str, stage: int, side: str) -> tuple[Key, ...]:
    """The six parts behind one question, in the order of PartKind."""
    return (
        (PartKind.PLAYER,),
        (PartKind.FAMILY, family),
        (PartKind.STAGE, str(stage)),
        (PartKind.CALL, position, call),
        (PartKind.CALL_STAGE, position, call, str(stage)),
        (PartKind.CALL_SIDE, position, call, side),
    )


@lru_cache(maxsize=65_536)
def keys_of_call(position: str, call: str, family: str) -> tuple[Key, ...]:
    """All fifteen parts behind a call: player, family, five stages, call, call at five stages, call from two sides."""
    return (
        (PartKind.PLAYER,),
        (PartKind.FAMILY, family),
        *((PartKind.STAGE, str(stage)) for stage in STAGES),
        (PartKind.CALL, position, call),
        *((PartKind.CALL_STAGE, position, call, str(stage)) for stage in STAGES),
        *((PartKind.CALL_SIDE, position, call, side) for side in SIDES),
    )


def team_keys_of(call: str, stage: int, side: str) -> tuple[Key, ...]:
    """The six parts of how hard one question is for the team, in the order of TeamPart."""
    return (
        (TeamPart.LEVEL,),
        (TeamPart.CALL, call),
        (TeamPart.STAGE, str(stage)),
        (TeamPart.CALL_STAGE, call, str(stage)),
        (TeamPart.CALL_SIDE, call, side),
        (TeamPart.QUESTION, call, str(stage), side),
    )


class Moments(NamedTuple):
    """Mean and variance of a sum of parts."""

    mean: float
    variance: float


class Update(NamedTuple):
    """The effect of one answer: the predicted chance of being right; the shift of theta, and its variance before and
    after."""

    predicted: float
    shift: float
    before: float
    variance: float


@dataclass(slots=True)
class Difficulty:
    """How hard questions are for the team, in log odds of being right: mean and variance of each part that was asked
    about, and how often each player's answers have told of it."""

    parts: dict[Key, Moments] = field(default_factory=dict)
    told: dict[str, dict[Key, int]] = field(default_factory=dict)

    def copy(self, players: Iterable[str]) -> "Difficulty":
        """Another one with the same values, for answers of these players."""
        own = {player: dict(self.told[player]) for player in players if player in self.told}
        return Difficulty(dict(self.parts), {**self.told, **own})

    def part(self, key: Key) -> Moments:
        """One part; at its prior when nobody was asked about it."""
        return self.parts.get(key) or _team_prior(TeamPart(key[0]))

    def theta(self, keys: Iterable[Key]) -> Moments:
        """Mean and variance of the sum of these parts."""
        found = [self.part(key) for key in keys]
        return Moments(sum(one.mean for one in found), sum(one.variance for one in found))

    def move(self, keys: Iterable[Key], player: str, update: Update) -> None:
        """Move each part by its share of the surprise.

        A player's second answer tells the team half as much as his first, his third a third: his own parts, which the
        filter of the team takes to be new each time, stand behind all of them.
        """
        told = self.told.setdefault(player, {})
        for key in keys:
            told[key] = times = told.get(key, 0) + 1
            mean, variance = self.part(key)
            share = variance / update.before
            mean += share * update.shift / times
            variance -= share * share * (update.before - update.variance) / times
            self.parts[key] = Moments(mean, min(variance, TEAM_SD[TeamPart(key[0])] ** 2))


@lru_cache(maxsize=len(TeamPart))
def _team_prior(part: TeamPart) -> Moments:
    return Moments(LEVEL_START if part is TeamPart.LEVEL else 0.0, TEAM_SD[part] ** 2)


def observe(theta: float, variance: float, guess: float, right: bool, weight: float = 1.0) -> Update:
    """Update theta ~ N(theta, variance) with one answer, by 21-point Gauss-Hermite quadrature.

    An answer of less weight counts as that part of an answer: its likelihood is raised to that power.
    """
    offset = math.sqrt(variance) * NODES
    chance = chance_right(theta + offset, guess)
    predicted = float(WEIGHTS @ chance)
    likely = WEIGHTS * (chance if right else 1.0 - chance) ** weight
    likely /= likely.sum()
    shift = float(likely @ offset)
    return Update(predicted, shift, variance, float(likely @ (offset * offset)) - shift * shift)


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

    def answer(self, slots: list[int], team: Moments, guess: float, right: bool, weight: float = 1.0) -> Update:
        """Update with one answer to the question made of these six parts, `team` being how hard it is; its feedback
        teaches, and widens them."""
        n = len(self.index)
        mean, cov = self._mean[:n], self._cov[:n, :n]
        gain = cov[slots].sum(axis=0)
        variance = float(gain[slots].sum()) + team.variance
        gain /= variance
        update = observe(team.mean + float(mean[slots].sum()), variance, guess, right, weight)
        mean += gain * update.shift
        learned = variance - update.variance
        gain *= math.sqrt(abs(learned))
        work = np.multiply(gain[:, None], gain, out=self._work[:n, :n])
        cov -= work if learned >= 0.0 else -work
        share = self._sd[slots] ** 2
        share /= share.sum()
        mean[slots] += TAUGHT * share
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
