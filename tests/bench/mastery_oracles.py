"""The best possible predictions on simulated teams: oracles that know a simulator's law and its team, not its players.

Each predicts an answer from the player's earlier ones by Bayes' rule under the law that made them, which no real model
can know: a floor for log loss. The graded oracle is a filter over the 73 normal parts of a player (one quadrature per
answer, so nearly exact); those of the bits weigh a few thousand imagined players, so theirs is a little above the true
floor. Knows nothing of our model (except the quadrature of one answer).
"""

import math

import numpy as np

from server.mastery.model import observe
from server.mastery.values import DAY_S
from tests.bench.mastery_sims import (
    ABLE_SD,
    BITS,
    BITS_SPREAD,
    CALLS,
    FAMILY_SD,
    GAIN_RIGHT,
    GAIN_WRONG,
    GRADED_SPREAD,
    PUT_IN_AT,
    SLIP,
    STAGE_EASE,
    Ask,
    GradedTeam,
    QuestionBitsTeam,
    SharedBitsTeam,
)

FAMILIES = (len(CALLS) + 2) // 3


def _logistic(x: np.ndarray) -> np.ndarray:
    return np.asarray(1.0 / (1.0 + np.exp(-x)))


class GradedOracle:
    """Knows the graded team's spreads, what all its players share, and how reps feed a skill."""

    def __init__(self, team: GradedTeam) -> None:
        player, call, family, stage, side = (sd * team.scale for sd in GRADED_SPREAD)
        n = len(CALLS)
        sds = np.array([player, *[family] * FAMILIES, *[stage] * 5, *[call] * n, *[side] * (2 * n)])
        self.team = team
        self.means = np.zeros((team.players, len(sds)))
        self.covs = np.tile(np.diag(sds**2), (team.players, 1, 1))

    @staticmethod
    def parts(call: int, stage: int, side: int) -> list[int]:
        """The indices of a question's five parts."""
        first_call = 1 + FAMILIES + 5
        return [
            0,
            1 + call // 3,
            1 + FAMILIES + stage,
            first_call + call,
            first_call + len(CALLS) + 2 * call + side,
        ]

    def level(self, player: int, call: int, at: float) -> np.ndarray:
        """The known part of a call's skills (5, 2)."""
        return self.team.level + self.team.scale * self.team.shared[call][:, None] + self.team.fed(player, call, at)

    def predict(self, ask: Ask, right: bool) -> float:
        """The chance of a right answer before it; then learn from it. Call it before the team learns."""
        mean, cov = self.means[ask.player], self.covs[ask.player]
        places = self.parts(ask.call, ask.stage, ask.side)
        gain = cov[places].sum(axis=0)
        variance = float(gain[places].sum())
        known = float(self.level(ask.player, ask.call, ask.at)[ask.stage, ask.side])
        update = observe(known + float(mean[places].sum()), variance, 1.0 / ask.choices, right)
        gain /= variance
        mean += gain * update.shift
        cov -= np.outer(gain, gain) * (variance - update.variance)
        return update.predicted

    def draws(self, player: int, call: int, at: float, count: int, rng: np.random.Generator) -> np.ndarray:
        """Possible skills of a call (count, 5, 2)."""
        rows = [self.parts(call, stage, side) for stage in range(5) for side in range(2)]
        design = np.zeros((10, self.means.shape[1]))
        for row, places in enumerate(rows):
            design[row, places] = 1.0
        mean, cov = design @ self.means[player], design @ self.covs[player] @ design.T
        skills = rng.multivariate_normal(mean, cov, size=count)
        return skills.reshape(count, 5, 2) + self.level(player, call, at)


class QuestionBitsOracle:
    """Knows the spreads and what players share; weighs imagined players, and imagined exceptions for each call."""

    def __init__(self, team: QuestionBitsTeam, rng: np.random.Generator, outer: int = 1000, inner: int = 24) -> None:
        self.team, self.rng, self.shape = team, rng, (outer, inner)
        self.players: dict[int, _Imagined] = {}

    def predict(self, ask: Ask, right: bool) -> float:
        """The chance of a right answer before it; then learn from it."""
        imagined = self.players.get(ask.player)
        if imagined is None:
            imagined = self.players[ask.player] = _Imagined(self.rng, self.shape)
        known, weight = imagined.call(self.team, ask.call, self.rng)
        days = (ask.at - imagined.seen_at[ask.call]) / DAY_S
        imagined.seen_at[ask.call] = ask.at
        known *= math.exp(-days / self.team.hazard_days)
        guess = 1.0 / ask.choices
        bit = known[:, :, ask.stage, ask.side]
        seen = guess + (1.0 - SLIP - guess) * bit
        within = (weight * seen).sum(axis=1)
        chance = float(imagined.weight @ within)
        like = seen if right else 1.0 - seen
        bit *= (1.0 - SLIP if right else SLIP) / like
        imagined.weight *= within if right else 1.0 - within
        imagined.weight /= imagined.weight.sum()
        weight *= like
        weight /= weight.sum(axis=1, keepdims=True)
        known += (1.0 - known) * self.team.gains(ask, right)
        return chance


class _Imagined:
    """Imagined versions of one player: their weights, and for each call asked their bits and exceptions' weights."""

    def __init__(self, rng: np.random.Generator, shape: tuple[int, int]) -> None:
        player, _, family, stage, _ = BITS_SPREAD
        outer = shape[0]
        self.shape = shape
        self.base = rng.normal(0, player, outer)
        self.family = rng.normal(0, family, (outer, FAMILIES))
        self.stage = rng.normal(0, stage, (outer, 5))
        self.weight = np.full(outer, 1.0 / outer)
        self.seen_at = PUT_IN_AT.copy()
        self.calls: dict[int, tuple[np.ndarray, np.ndarray]] = {}

    def call(self, team: QuestionBitsTeam, call: int, rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
        """Chances that the ten bits of a call are known (outer, inner, 5, 2), and the weights of the exceptions."""
        if call not in self.calls:
            own = self.base + self.family[:, call // 3]
            prone = own[:, None, None, None] + self.stage[:, None, :, None] + team.shared[call][:, None]
            prone = prone + rng.normal(0, BITS_SPREAD[1], self.shape)[:, :, None, None]
            prone = prone + rng.normal(0, BITS_SPREAD[4], (*self.shape, 1, 2))
            known = _logistic(team.scale * prone + team.level)
            self.calls[call] = known, np.full(self.shape, 1.0 / self.shape[1])
        return self.calls[call]


class SharedBitsOracle:
    """Knows the spreads and what players share; imagined players with stage bits, and exact bits of each call."""

    def __init__(self, team: SharedBitsTeam, rng: np.random.Generator, imagined: int = 2000) -> None:
        self.team, self.rng, self.count = team, rng, imagined
        self.players: dict[int, _Learners] = {}

    def predict(self, ask: Ask, right: bool) -> float:
        """The chance of a right answer before it; then learn from it."""
        who = self.players.get(ask.player)
        if who is None:
            who = self.players[ask.player] = _Learners(self.team, self.rng, self.count)
        who.settle(ask.call, ask.at, self.rng)
        guess = 1.0 / ask.choices
        joint = who.joint[:, ask.call]
        side = joint[:, 1, 1, :].sum(axis=1) if ask.side == 0 else joint[:, 1, :, 1].sum(axis=1)
        seen = guess + (1.0 - SLIP - guess) * side * who.stages[:, ask.stage]
        chance = float(who.weight @ seen)
        who.weigh(ask, right, guess, seen if right else 1.0 - seen)
        who.learn(ask, GAIN_RIGHT if right else GAIN_WRONG, self.rng)
        return chance


class _Learners:
    """Imagined versions of one player: stage bits drawn, bits of call, left and right as exact joint chances."""

    def __init__(self, team: SharedBitsTeam, rng: np.random.Generator, count: int) -> None:
        n = len(CALLS)
        able = rng.normal(0, ABLE_SD, (count, 1))
        family = rng.normal(0, FAMILY_SD, (count, FAMILIES))[:, [i // 3 for i in range(n)]]
        call = _logistic(able + family + team.shared + BITS["call"][0])
        side = _logistic(able + BITS["side"][0])
        self.stages = rng.random((count, 5)) < _logistic(able + STAGE_EASE + BITS["stage"][0])
        pair = np.stack([1.0 - side, side], axis=-1)
        self.joint = np.stack([1.0 - call, call], axis=-1)[:, :, :, None, None] * (
            pair[:, :, None, :, None] * pair[:, :, None, None, :]
        )
        self.weight = np.full(count, 1.0 / count)
        self.seen_at = PUT_IN_AT.copy()

    def settle(self, call: int, at: float, rng: np.random.Generator) -> None:
        """Forget as the team does."""
        days = (at - self.seen_at[call]) / DAY_S
        self.seen_at[call] = at
        self.stages &= rng.random(self.stages.shape) >= 1.0 - math.exp(-days / len(CALLS) / BITS["stage"][1])
        joint = self.joint[:, call]
        for axis, kind in ((1, "call"), (2, "side"), (3, "side")):
            _flow(joint, axis, 1, 0, 1.0 - math.exp(-days / BITS[kind][1]))

    def weigh(self, ask: Ask, right: bool, guess: float, like: np.ndarray) -> None:
        """Bayes' rule for the bits of the call and for the imagined players; resample if too few carry weight."""
        has = np.zeros((2, 2, 2))
        has[1, 1 if ask.side == 0 else slice(None), 1 if ask.side == 1 else slice(None)] = 1.0
        seen = guess + (1.0 - SLIP - guess) * has * self.stages[:, ask.stage][:, None, None, None]
        self.joint[:, ask.call] *= seen if right else 1.0 - seen
        self.joint[:, ask.call] /= like[:, None, None, None]
        self.weight *= like
        self.weight /= self.weight.sum()

    def learn(self, ask: Ask, gain: float, rng: np.random.Generator) -> None:
        """Learn from feedback as the team does; then resample the imagined players if few carry the weight."""
        joint = self.joint[:, ask.call]
        _flow(joint, 1, 0, 1, gain)
        _flow(joint, 2 + ask.side, 0, 1, gain)
        self.stages[:, ask.stage] |= rng.random(len(self.stages)) < gain
        if 1.0 / (self.weight @ self.weight) < len(self.weight) / 4:
            kept = rng.choice(len(self.weight), len(self.weight), p=self.weight)
            self.stages, self.joint = self.stages[kept], self.joint[kept]
            self.weight[:] = 1.0 / len(self.weight)


def _flow(joint: np.ndarray, axis: int, source: int, target: int, share: float) -> None:
    """Move a share of the chance of one bit's value to the other, in place."""
    view = np.moveaxis(joint, axis, 0)
    moved = view[source] * share
    view[source] -= moved
    view[target] += moved


def oracle_of(
    team: QuestionBitsTeam | SharedBitsTeam | GradedTeam, rng: np.random.Generator
) -> QuestionBitsOracle | SharedBitsOracle | GradedOracle:
    """The oracle of a team. It must see each answer before the team learns from it."""
    if isinstance(team, GradedTeam):
        return GradedOracle(team)
    if isinstance(team, SharedBitsTeam):
        return SharedBitsOracle(team, rng)
    return QuestionBitsOracle(team, rng)
