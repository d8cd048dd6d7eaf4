"""The speed of mastery: seconds on one core, and ratios to the bare arithmetic of one answer in a loop."""

import random
import time

import numpy as np
from numpy.polynomial.hermite_e import hermegauss

from server.mastery.readout import board
from server.mastery.replay import replay
from server.mastery.values import SIDES, AnswerFact, TeamSettings
from tests.bench.mastery_sims import CALLS, FAMILY
from tests.bench.mastery_table import Row, at_most, told

ANSWERS = 18_000
SETTINGS = TeamSettings()
PLAYERS = [f"p{i}" for i in range(60)]


def season_of_answers() -> list[AnswerFact]:
    """A season of random answers, a minute apart."""
    rng = random.Random(1)
    return [
        AnswerFact(
            rng.choice(PLAYERS),
            rng.choice(CALLS),
            rng.randrange(1, 6),
            rng.choice(SIDES),
            6,
            rng.random() < 0.6,
            60.0 * i,
        )
        for i in range(ANSWERS)
    ]


def bare_seconds() -> float:
    """A season's number of answers on six parts of one player, in plain numpy: forget, weight by 21 points, update.

    The least that any program for the model must do; the real one has up to 200 parts per player.
    """
    nodes, weights = hermegauss(21)
    weights = weights / weights.sum()
    prior = np.diag([0.64, 0.09, 0.49, 1.0, 0.16, 1.0])
    keep = np.exp(-1e-3 / np.array([120.0, 120, 120, 60, 60, 60]))
    mean, cov, ones = np.zeros(6), prior.copy(), np.ones(6)
    start = time.process_time()
    for i in range(ANSWERS):
        mean = mean * keep
        cov = cov * np.outer(keep, keep) + (1.0 - keep * keep) * prior
        gain = cov @ ones
        variance = ones @ gain
        offset = np.sqrt(variance) * nodes
        chance = 0.17 + 0.78 / (1.0 + np.exp(-mean.sum() - offset))
        weight = weights * (chance if i % 2 else 1.0 - chance)
        weight = weight / weight.sum()
        shift = weight @ offset
        left = weight @ (offset * offset) - shift * shift
        gain = gain / variance
        mean = mean + gain * shift
        cov = cov - np.outer(gain, gain) * (variance - left)
    return time.process_time() - start


def speed() -> list[Row]:
    """Replay, one answer, one board."""
    facts = season_of_answers()
    bare = bare_seconds()
    start = time.process_time()
    state = replay(facts, SETTINGS, FAMILY)
    replayed = time.process_time() - start
    bare = (bare + bare_seconds()) / 2
    start = time.perf_counter()
    board(state, PLAYERS, CALLS, facts[-1].at, SETTINGS)
    boarded = time.perf_counter() - start
    times = []
    for i, f in enumerate(facts[-500:]):
        late = AnswerFact(f.player, f.call, f.stage, f.side, 6, f.right, facts[-1].at + 60.0 * i)
        start = time.perf_counter()
        state.update(late)
        times.append(time.perf_counter() - start)
    times.sort()
    return [
        at_most("replay of 18,000 answers, s", replayed, 5.0, f"{replayed / bare:.2f} x bare six-part numpy", digits=2),
        at_most("one answer, median, ms", 1e3 * times[250], 1.0, f"99th percentile {1e3 * times[495]:.3f}", digits=3),
        told("board of 60 players and 20 calls, ms", 1e3 * boarded, digits=1),
    ]
