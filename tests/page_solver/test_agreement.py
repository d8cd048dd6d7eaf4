"""The engine against the solver written from the design page alone, on a sample of the demo team's table and on
generated snaps.

The long form, every situation and what differs: `python -m tests.bench.page_agreement`, with `--random` on the latter.
"""

from __future__ import annotations

from tests.bench.page_agreement import SEED, Tally, compare_all, compare_team
from tests.engine.generate import random_situations
from tests.page_solver.snaps import DEMO

EVERY = 37
#: The share of situations in which both must say the same. Less than all where the page leaves a question open
#: (`questions`).
LEAST = {"owners": 0.99, "threat": 0.99, "phase": 0.99, "arrival": 0.99, "sound": 0.99}


#: The same on snaps that nobody would call: five men in one lane, rushers who meet three at once, a dive that only
#: support could have.
LEAST_RANDOM = {"answered": 0.95, "lanes": 0.97, "owners": 0.9, "threat": 0.92, "phase": 0.9, "arrival": 0.9}
RANDOM, COVERED = 200, 0.68


def test_both_solvers_say_the_same() -> None:
    tallies = compare_team(DEMO, every=EVERY)
    assert tallies["lanes"].compared > 300
    assert [problem for name, tally in tallies.items() if (problem := lack(name, tally, LEAST))] == []


def test_both_solvers_say_the_same_on_generated_snaps() -> None:
    tallies = compare_all(random_situations(SEED, RANDOM))
    assert tallies["lanes"].compared > COVERED * RANDOM
    assert [problem for name, tally in tallies.items() if (problem := lack(name, tally, LEAST_RANDOM))] == []


def lack(name: str, tally: Tally, least: dict[str, float]) -> str | None:
    """What is said of a field in which they agree too rarely."""
    if tally.agreed >= least.get(name, 1.0) * tally.compared:
        return None
    return f"{name}: {tally.agreed} of {tally.compared}, {tally.kinds.most_common(5)} {tally.examples}"
