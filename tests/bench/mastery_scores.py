"""How good predictions are: log loss, area under the curve, calibration error. Knows no model."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.stats import rankdata


@dataclass(frozen=True, slots=True)
class Scores:
    """Scores of predictions, each made before its answer."""

    log_loss: float
    auc: float
    calibration: float
    answers: int


def score(predicted: Sequence[float], right: Sequence[bool]) -> Scores:
    """Mean log loss, area under the curve by ranks, and mean gap between predicted and seen in ten equal groups."""
    p, y = np.asarray(predicted), np.asarray(right, dtype=float)
    loss = -np.mean(y * np.log(p) + (1.0 - y) * np.log1p(-p))
    hits = y.sum()
    auc = (rankdata(p)[y == 1.0].sum() - hits * (hits + 1.0) / 2.0) / (hits * (len(y) - hits))
    groups = np.array_split(np.argsort(p, kind="stable"), 10)
    gap = sum(len(g) * abs(p[g].mean() - y[g].mean()) for g in groups) / len(p)
    return Scores(float(loss), float(auc), float(gap), len(p))
