"""The filter beside the exact posterior of its own prior, worked out the slow way: by weighing draws from the prior.

source: Bayes' rule by self-normalized importance sampling over 400,000 draws of all parts of a player and a team (no
code of the filter but its constants and which parts are in which cell). The figures hold to about .005.
"""

import numpy as np
import pytest

from server.mastery.cells import CELLS, DESIGN, PRIOR_VARIANCE, cell_shares, team_keys_of_call
from server.mastery.model import LEVEL_START, SLIP, TEAM_SD, TeamPart
from server.mastery.values import LEFT, RIGHT, SIDES, State
from tests.mastery.mastery_examples import SETTINGS, after, cell, fact

DRAWS = 400_000
GUESS = 1 / 6
Question = tuple[int, str, bool]


@pytest.fixture(scope="module")
def thetas() -> np.ndarray:
    """Log odds of the ten cells of a call for 400,000 players of as many teams."""
    rng = np.random.default_rng(20261130)
    keys, design = team_keys_of_call("storm")
    own = rng.standard_normal((DRAWS, len(PRIOR_VARIANCE))) * np.sqrt(PRIOR_VARIANCE)
    team = rng.standard_normal((DRAWS, len(keys))) * np.array([TEAM_SD[TeamPart(key[0])] for key in keys])
    return np.asarray(own @ DESIGN.T + team @ design.T + LEVEL_START)


def exact(thetas: np.ndarray, questions: list[Question]) -> tuple[float, float]:
    """P(can) and the expected share of the call that he knows, after these answers on one day."""
    weight = np.ones(len(thetas))
    for stage, side, right in questions:
        theta = thetas[:, CELLS.index((stage, side))]
        chance = GUESS + (1 - GUESS - SLIP) / (1 + np.exp(-theta))
        weight *= chance if right else 1 - chance
    weight /= weight.sum()
    share = (1 / (1 + np.exp(-thetas))) @ cell_shares(SETTINGS.weights())
    return float(weight @ (share >= SETTINGS.rules.known_share)), float(weight @ share)


def filtered(questions: list[Question]) -> tuple[float, float]:
    """The same by the filter."""
    facts = [fact(right, at=20.0 * i, stage=stage, side=side) for i, (stage, side, right) in enumerate(questions)]
    found = cell(after(facts), 500.0)
    return found.p_can, found.chance


def in_order(rights: list[bool]) -> list[Question]:
    """Left and right in turn, two at each stage."""
    return [(i // 2 % 5 + 1, SIDES[i % 2], right) for i, right in enumerate(rights)]


HISTORIES = {
    "nothing": [],
    "one right": in_order([True]),
    "six right": in_order([True] * 6),
    "ten right": in_order([True] * 10),
    "one wrong": in_order([False]),
    "four wrong": in_order([False] * 4),
    "three right, one wrong, two right": in_order([True, True, True, False, True, True]),
    "six right from one side": [(stage, LEFT, True) for stage in (1, 2, 3, 4, 5, 1)],
    "right from the left, wrong from the right": [(s, d, d == LEFT) for s in (1, 2, 3) for d in (LEFT, RIGHT)],
}


@pytest.mark.parametrize("name", HISTORIES)
def test_the_filter_is_near_the_exact_posterior(thetas: np.ndarray, name: str) -> None:
    expected, found = exact(thetas, HISTORIES[name]), filtered(HISTORIES[name])
    assert found[0] == pytest.approx(expected[0], abs=0.07)
    assert found[1] == pytest.approx(expected[1], abs=0.04)


@pytest.mark.parametrize("count", range(2, 11))
def test_it_is_never_surer_than_the_exact_posterior_that_he_can(thetas: np.ndarray, count: int) -> None:
    """Six right answers on a new team gave .92 when they were counted for the team and for the player."""
    assert filtered(in_order([True] * count))[0] <= exact(thetas, in_order([True] * count))[0] + 0.005


def test_first_day_verdicts_are_never_more_often_than_the_exact_ones(thetas: np.ndarray) -> None:
    """300 sessions of nine answers drawn from the prior itself: who passes .90 or falls to the bound of *can't*."""
    rng = np.random.default_rng(7)
    rules = SETTINGS.rules
    ours = theirs = 0
    truly = []
    for theta in thetas[:300]:
        asked = [(int(rng.integers(1, 6)), SIDES[i % 2]) for i in range(9)]
        chance = GUESS + (1 - GUESS - SLIP) / (1 + np.exp(-theta[[CELLS.index(one) for one in asked]]))
        questions = [(*one, bool(rng.random() < p)) for one, p in zip(asked, chance, strict=True)]
        facts = [fact(r, at=20.0 * i, stage=s, side=d) for i, (s, d, r) in enumerate(questions)]
        found = cell(after(facts), 500.0)
        assert found.state is not State.CAN, "on a first day nobody has shown it on two days"
        exactly = exact(thetas[:40_000], questions)[0]
        ours += found.p_can >= rules.can_at or found.state is State.CANNOT
        theirs += exactly >= rules.can_at or exactly <= rules.cannot_at
        if found.state is State.CANNOT:
            share = float((1 / (1 + np.exp(-theta))) @ cell_shares(SETTINGS.weights()))
            truly.append(share < rules.known_share)
    assert ours <= theirs
    assert len(truly) >= 60
    assert np.mean(truly) >= 0.95
