"""The learner model: what an answer changes, in which direction, and what time changes."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.mastery.cells import DESIGN, PRIOR_VARIANCE, cell_moments, forget, outcomes
from server.mastery.model import Belief, guess_chance, keys_of, keys_of_call, observe
from server.mastery.readout import board, parts_now
from server.mastery.values import DAY_S, SIDES, STAGES, AnswerFact, MasteryError
from tests.mastery.mastery_examples import SETTINGS, after, cell, fact, histories


@pytest.mark.parametrize(("choices", "expected"), [(1, 0.60), (2, 0.5), (4, 0.25), (100, 0.02)])
def test_guess_chance_is_one_in_the_choices_within_bounds(choices: int, expected: float) -> None:
    assert guess_chance(choices) == expected


@pytest.mark.parametrize(("rate", "expected"), [(0.0, 0.25), (0.37, 0.37), (0.9, 0.60), (0.001, 0.02)])
def test_a_call_blind_rate_takes_the_place_of_one_in_the_choices(rate: float, expected: float) -> None:
    assert guess_chance(4, rate) == expected


def test_a_right_answer_that_the_picture_gives_away_proves_less() -> None:
    told, guessed = (after([replace(fact(True), guess=rate)]) for rate in (0.1, 0.6))
    assert cell(told, told.last_at or 0.0).p_can > cell(guessed, guessed.last_at or 0.0).p_can


@given(st.floats(-4, 4), st.floats(0.05, 6), st.sampled_from((0.05, 0.2, 0.35)))
def test_one_update_agrees_with_a_fine_grid(theta: float, variance: float, guess: float) -> None:
    """The same integral as a plain sum over 20,001 equal steps."""
    f = np.linspace(-8, 8, 20_001) * np.sqrt(variance)
    density = np.exp(-f * f / (2 * variance))
    density /= density.sum()
    chance = guess + (0.99 - guess) / (1 + np.exp(-theta - f))
    for right in (True, False):
        weight = density * (chance if right else 1 - chance)
        mean = (weight * f).sum() / weight.sum()
        spread = (weight * f * f).sum() / weight.sum() - mean * mean
        update = observe(theta, variance, guess, right)
        assert update.predicted == pytest.approx((density * chance).sum(), abs=2e-4)
        assert update.shift == pytest.approx(mean, abs=5e-3)
        assert update.variance == pytest.approx(spread, abs=2e-2)


@given(histories(max_size=30), st.sampled_from(STAGES), st.sampled_from(SIDES), st.integers(2, 12))
def test_a_right_answer_never_lowers_its_cell(facts: list[AnswerFact], stage: int, side: str, choices: int) -> None:
    state = after(facts)
    now = state.last_at or 0.0
    before = cell(state, now), cell(state, now, stage)
    state.update(fact(True, at=now, stage=stage, side=side, choices=choices))
    later = cell(state, now), cell(state, now, stage)
    for old, new in zip(before, later, strict=True):
        assert new.p_can >= old.p_can - 1e-12
        assert new.chance >= old.chance - 1e-12


@given(histories(max_size=30))
def test_covariances_stay_valid_and_close_to_the_prior_at_most(
    facts: list[AnswerFact],
) -> None:
    for belief in after(facts).beliefs.values():
        _, cov = belief.gather([keys_of_call("", "storm", "edge")])
        assert np.linalg.eigvalsh(cov[0]).min() > 0
        assert (cov[0] == cov[0].T).all()
        assert (np.diagonal(cov[0]) < PRIOR_VARIANCE + 0.13 * len(facts)).all()


@given(histories(max_size=20), st.floats(0, 400), st.floats(0, 400))
def test_forgetting_in_two_steps_equals_one(facts: list[AnswerFact], first: float, second: float) -> None:
    state = after([*facts, fact(at=1e8)])
    mean, cov = state.beliefs["p1"].gather([keys_of_call("", "storm", "edge")])
    steps = forget(*forget(mean, cov, np.array([first * DAY_S])), np.array([second * DAY_S]))
    whole = forget(mean, cov, np.array([(first + second) * DAY_S]))
    for one, other in zip(steps, whole, strict=True):
        np.testing.assert_allclose(one, other, rtol=1e-9, atol=1e-12)


def test_a_long_silence_returns_to_the_prior() -> None:
    state = after([fact(True)] * 8)
    mean, cov = state.beliefs["p1"].gather([keys_of_call("", "storm", "edge")])
    mean, cov = forget(mean, cov, np.array([5000 * DAY_S]))
    np.testing.assert_allclose(mean[0], np.zeros(15), atol=1e-9)
    np.testing.assert_allclose(cov[0], np.diag(PRIOR_VARIANCE), atol=1e-9)


@given(histories(max_size=20), st.integers(0, 9), st.sampled_from((0.05, 0.2, 0.35)))
def test_outcomes_obey_the_laws_of_total_mean_and_variance(facts: list[AnswerFact], place: int, guess: float) -> None:
    state = after(facts)
    means, covs = cell_moments(*parts_now(state, "p1", ["storm"], (state.last_at or 0.0) + DAY_S))
    theta, cov = means[0], covs[0]
    right, wrong = outcomes(theta, cov, place, guess)
    assert right.chance + wrong.chance == pytest.approx(1.0)
    assert right.theta[place] > theta[place] > wrong.theta[place]
    mean = right.chance * right.theta + wrong.chance * wrong.theta
    np.testing.assert_allclose(mean, theta, atol=1e-9)
    between = sum(end.chance * np.outer(end.theta - theta, end.theta - theta) for end in (right, wrong))
    within = right.chance * right.cov + wrong.chance * wrong.cov
    np.testing.assert_allclose(between + within, cov, atol=1e-9)


def test_each_question_is_made_of_its_six_parts() -> None:
    keys = keys_of_call("", "storm", "edge")
    for row, (stage, side) in zip(DESIGN, ((s, d) for s in STAGES for d in SIDES), strict=True):
        assert {keys[i] for i in np.flatnonzero(row)} == set(keys_of("", "storm", "edge", stage, side))


def test_an_answer_informs_like_calls_more_than_others() -> None:
    state = after([fact(True)] * 5)
    cells = board(state, ["p1"], ["thunder", "anvil"], 0.0, SETTINGS)
    state = after([])
    untouched = board(state, ["p1"], ["thunder"], 0.0, SETTINGS)["p1", "thunder"].chance
    assert cells["p1", "thunder"].chance > cells["p1", "anvil"].chance > untouched


def test_an_earlier_answer_is_refused_and_changes_nothing() -> None:
    belief = Belief()
    belief.forget_until(100.0)
    with pytest.raises(MasteryError, match="replay the answers in order of time"):
        belief.forget_until(99.0)
    assert belief.at == 100.0
