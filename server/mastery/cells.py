"""From the fifteen parts behind a call to its ten cells (five stages, two sides) and to P(can), many calls at a time.

Array arithmetic only, so that a whole board takes one pass. Cells are ordered stage 1 left, stage 1 right, stage 2 left
and so on. Knows nothing of players, answers, states or wording.
"""

import math
from collections.abc import Sequence
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from server.mastery.model import PRIORS, Key, PartKind, Vector, observe, team_keys_of
from server.mastery.values import DAY_S, SIDES, STAGES

CELLS = [(stage, side) for stage in STAGES for side in SIDES]
KINDS = (
    [PartKind.PLAYER, PartKind.FAMILY]
    + [PartKind.STAGE] * 5
    + [PartKind.CALL]
    + [PartKind.CALL_STAGE] * 5
    + [PartKind.CALL_SIDE] * 2
)
PRIOR_VARIANCE = np.array([PRIORS[kind].sd ** 2 for kind in KINDS])
TAU_S = np.array([PRIORS[kind].tau_days * DAY_S for kind in KINDS])


def _design() -> Vector:
    design = np.zeros((10, 15))
    for row, (stage, side) in enumerate(CELLS):
        design[row, [0, 1, 1 + stage, 7, 7 + stage, 13 + SIDES.index(side)]] = 1.0
    return design


#: Which of the fifteen parts are in each cell.
DESIGN = _design()


class TeamCells(NamedTuple):
    """How hard calls are for the team, by cell: mean (n, 10) and covariance (n, 10, 10)."""

    mean: Vector
    cov: Vector


@lru_cache(maxsize=4096)
def team_keys_of_call(call: str) -> tuple[tuple[Key, ...], Vector]:
    """All parts of how hard a call is for the team, and which of them (10, parts) are in each cell."""
    keys = list(dict.fromkeys(key for cell in CELLS for key in team_keys_of(call, *cell)))
    design = np.zeros((len(CELLS), len(keys)))
    for row, cell in enumerate(CELLS):
        design[row, [keys.index(key) for key in team_keys_of(call, *cell)]] = 1.0
    return tuple(keys), design


def forget(mean: Vector, cov: Vector, elapsed_s: Vector) -> tuple[Vector, Vector]:
    """Means (n, 15) and covariances (n, 15, 15) of parts after another `elapsed_s` (n) seconds without an answer."""
    keep = np.exp(-np.maximum(elapsed_s, 0.0)[:, None] / TAU_S)
    faded = cov * keep[:, :, None] * keep[:, None, :]
    faded[:, range(15), range(15)] += (1.0 - keep * keep) * PRIOR_VARIANCE
    return mean * keep, faded


def cell_moments(mean: Vector, cov: Vector, team: TeamCells) -> tuple[Vector, Vector]:
    """Theta of the ten cells (n, 10) and its covariance (n, 10, 10)."""
    return mean @ DESIGN.T + team.mean, DESIGN @ cov @ DESIGN.T + team.cov


def known(theta: Vector, variance: Vector) -> tuple[Vector, Vector]:
    """Chance of knowing a cell, E logistic(theta), and its slope in theta.

    Uses the probit-like closed form logistic(theta / sqrt(1 + pi * variance / 8)) (MacKay 1992).
    """
    from scipy.special import expit

    squeeze = 1.0 / np.sqrt(1.0 + math.pi / 8.0 * variance)
    chance = expit(squeeze * theta)
    return chance, squeeze * chance * (1.0 - chance)


class UpdatedCells(NamedTuple):
    """Theta of the ten cells and its covariance after an answer, and how likely that answer was."""

    chance: float
    theta: Vector
    cov: Vector


def outcomes(theta: Vector, cov: Vector, cell: int, guess: float) -> tuple[UpdatedCells, UpdatedCells]:
    """What a right and a wrong answer on one cell would do to `theta` (10) and `cov` (10, 10), ignoring feedback."""
    variance = float(cov[cell, cell])
    gain = cov[cell] / variance
    square = np.outer(gain, gain)
    right, wrong = (observe(float(theta[cell]), variance, guess, answer) for answer in (True, False))
    return (
        UpdatedCells(right.predicted, theta + gain * right.shift, cov - square * (variance - right.variance)),
        UpdatedCells(1.0 - wrong.predicted, theta + gain * wrong.shift, cov - square * (variance - wrong.variance)),
    )


def beta_above(mean: Vector, variance: Vector, share: float) -> Vector:
    """Chance above `share` under the Beta distribution with this mean and variance."""
    from scipy.special import betainc

    size = np.maximum(mean * (1.0 - mean) / np.maximum(variance, 1e-12) - 1.0, 1e-6)
    above: Vector = 1.0 - betainc(mean * size, (1.0 - mean) * size, share)
    return above


def cell_shares(weights: Sequence[float], side: str | None = None) -> Vector:
    """Share of each of the ten cells, from the shares of the five stages: half to each side, or all to `side`."""
    by_side = [0.5 if side is None else float(one == side) for one in SIDES]
    return np.outer(weights, by_side).ravel()


def p_can(theta: Vector, cov: Vector, shares: Vector, known_share: float) -> tuple[Vector, Vector, Vector]:
    """P(can), chance of knowing (mean over the cells by their share) and its standard deviation, each (n).

    `theta` (n, 10) and `cov` (n, 10, 10) describe the cells, `shares` (10) comes from `cell_shares`. The variance uses
    the delta method; P(can) is the chance above `known_share` under a Beta with that mean and variance.
    """
    chance, slope = known(theta, np.diagonal(cov, axis1=1, axis2=2))
    mean = chance @ shares
    lever = slope * shares
    variance = np.einsum("ni,nij,nj->n", lever, cov, lever)
    return beta_above(mean, variance, known_share), mean, np.sqrt(variance)
