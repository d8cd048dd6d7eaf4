"""Simple models to compare ours with: a Beta count per player and call, Bayesian knowledge tracing in closed form, a
plain filter with one part for the person and one for the item, and a logistic regression on counts.

source: Corbett and Anderson 1995 for knowledge tracing (known, guess, slip, learn); forgetting is a constant hazard.
Each is scored twice: with settings chosen in advance, as ours are, and with the best of a small grid fitted to the very
answers that are scored, which no team could have on its first day.
"""

import itertools
import math
from collections import defaultdict
from collections.abc import Callable, Hashable, Iterable, Sequence

import numpy as np

from server.mastery.model import SLIP, guess_chance, observe
from server.mastery.values import DAY_S, AnswerFact
from tests.bench.mastery_scores import Scores, score

CellOf = Callable[[AnswerFact], Hashable]


def by_call(fact: AnswerFact) -> Hashable:
    """Player and call."""
    return fact.player, fact.call


def by_cell(fact: AnswerFact) -> Hashable:
    """Player, call, stage and side."""
    return fact.player, fact.call, fact.stage, fact.side


def beta_predictions(facts: Iterable[AnswerFact], cell_of: CellOf, strength: float) -> list[float]:
    """The share right so far in the cell, with the team's share so far counted as `strength` answers."""
    team_right, team_all = 1.0, 2.0
    cells: dict[Hashable, list[float]] = defaultdict(lambda: [0.0, 0.0])
    predicted = []
    for fact in facts:
        right, answered = cells[cell_of(fact)]
        predicted.append((right + strength * team_right / team_all) / (answered + strength))
        cells[cell_of(fact)] = [right + fact.right, answered + 1.0]
        team_right, team_all = team_right + fact.right, team_all + 1.0
    return predicted


def item_mean(facts: Sequence[AnswerFact]) -> Scores:
    """Each answer from the mean of the team's earlier ones on that call at that stage (one right, one wrong added)."""
    seen: dict[Hashable, list[float]] = defaultdict(lambda: [1.0, 2.0])
    predicted = []
    for fact in facts:
        counts = seen[fact.call, fact.stage]
        predicted.append(counts[0] / counts[1])
        counts[0] += fact.right
        counts[1] += 1.0
    return score(predicted, [fact.right for fact in facts])


def tracing_predictions(
    facts: Iterable[AnswerFact], cell_of: CellOf, start: float, learn: float, lasts_days: float
) -> list[float]:
    """Knowledge tracing: the chance that the cell is known, by Bayes' rule; learned after each answer, lost by
    hazard."""
    cells: dict[Hashable, tuple[float, float]] = {}
    predicted = []
    for fact in facts:
        known, at = cells.get(cell_of(fact), (start, fact.at))
        known *= math.exp(-(fact.at - at) / DAY_S / lasts_days)
        guess = guess_chance(fact.choices)
        chance = known * (1.0 - SLIP) + (1.0 - known) * guess
        predicted.append(chance)
        after = known * (1.0 - SLIP) / chance if fact.right else known * SLIP / (1.0 - chance)
        cells[cell_of(fact)] = (after + (1.0 - after) * learn, fact.at)
    return predicted


def _best(tries: Iterable[list[float]], right: Sequence[bool]) -> Scores:
    return min((score(predicted, right) for predicted in tries), key=lambda s: s.log_loss)


def plain_beta(facts: Sequence[AnswerFact]) -> Scores:
    """The Beta count per player and call that counts the team's share as two answers."""
    return score(beta_predictions(facts, by_call, 2.0), [fact.right for fact in facts])


def plain_tracing(facts: Sequence[AnswerFact]) -> Scores:
    """Knowledge tracing per player and call: half known at the start, a tenth learned per answer, lasting 90 days."""
    return score(tracing_predictions(facts, by_call, 0.5, 0.1, 90.0), [fact.right for fact in facts])


def best_beta(facts: Sequence[AnswerFact]) -> Scores:
    """The best Beta count over both kinds of cell and three strengths."""
    right = [fact.right for fact in facts]
    grid = itertools.product((by_call, by_cell), (1.0, 2.0, 4.0))
    return _best((beta_predictions(facts, cell_of, strength) for cell_of, strength in grid), right)


def best_tracing(facts: Sequence[AnswerFact]) -> Scores:
    """The best knowledge tracing over both kinds of cell and a grid of start, learning and lasting."""
    right = [fact.right for fact in facts]
    grid = itertools.product((by_call, by_cell), (0.3, 0.5, 0.7), (0.02, 0.1, 0.2), (30.0, 90.0, 1e6))
    return _best((tracing_predictions(facts, *setting) for setting in grid), right)


def plain_filter(answers: Iterable[tuple[str, Hashable, bool]], guess: float = 0.02) -> Scores:
    """The plain person + item filter: (person, item, right) one by one, each person and each item one normal belief
    that shares an answer's surprise by variance; no topics, no time. The baseline to beat."""
    people: dict[str, tuple[float, float]] = {}
    items: dict[Hashable, tuple[float, float]] = {}
    predicted, right = [], []
    for person, item, was_right in answers:
        able, spread = people.get(person, (0.0, 1.0))
        ease, doubt = items.get(item, (0.3, 1.44))
        update = observe(able + ease, spread + doubt, guess, was_right)
        learned = (update.before - update.variance) / update.before**2
        people[person] = (able + update.shift * spread / update.before, spread - spread**2 * learned)
        items[item] = (ease + update.shift * doubt / update.before, doubt - doubt**2 * learned)
        predicted.append(update.predicted)
        right.append(was_right)
    return score(predicted, right)


def plain_filter_of(facts: Iterable[AnswerFact], guess: float = 0.02) -> Scores:
    """The plain filter on answers; an item is a call at a stage from a side."""
    return plain_filter(((f.player, (f.call, f.stage, f.side), f.right) for f in facts), guess)


def fitted_logistic(facts: Sequence[AnswerFact]) -> Scores:
    """Logistic regression on counts (right and wrong so far by player, by player and call, by call, stage and side),
    fitted to the first half and scored on the second, by Newton's method with a small ridge."""
    counts: dict[Hashable, list[float]] = defaultdict(lambda: [0.0, 0.0])
    rows = []
    for fact in facts:
        keys = (("p", fact.player), ("pc", fact.player, fact.call), ("q", fact.call, fact.stage, fact.side))
        rows.append([1.0, *(math.log1p(count) for key in keys for count in counts[key])])
        for key in keys:
            counts[key][fact.right] += 1.0
    x, y = np.array(rows), np.array([fact.right for fact in facts], dtype=float)
    half, weights = len(y) // 2, np.zeros(len(rows[0]))
    for _ in range(25):
        chance = 1.0 / (1.0 + np.exp(-x[:half] @ weights))
        slope = x[:half].T @ (chance - y[:half]) + weights
        bend = (x[:half] * (chance * (1.0 - chance))[:, None]).T @ x[:half] + np.eye(len(weights))
        weights -= np.linalg.solve(bend, slope)
    chance = 1.0 / (1.0 + np.exp(-x[half:] @ weights))
    return score(chance.tolist(), [bool(one) for one in y[half:]])
