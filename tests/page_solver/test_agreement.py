"""The engine against the solver written from the design page alone, on a sample of the demo team's table.

The long form, every situation and what differs: `python -m tests.bench.page_agreement`.
"""

from __future__ import annotations

from tests.bench.page_agreement import Tally, compare_team
from tests.page_solver.snaps import DEMO

EVERY = 37
#: The share of situations in which both must say the same. Less than all where the page leaves a question open
#: (`questions`).
LEAST = {"owners": 0.99, "threat": 0.99, "phase": 0.99, "sound": 0.99}


def test_both_solvers_say_the_same() -> None:
    tallies = compare_team(DEMO, every=EVERY)
    assert tallies["lanes"].compared > 300
    assert [problem for name, tally in tallies.items() if (problem := lack(name, tally))] == []


def lack(name: str, tally: Tally) -> str | None:
    """What is said of a field in which they agree too rarely."""
    if tally.agreed >= LEAST.get(name, 1.0) * tally.compared:
        return None
    return f"{name}: {tally.agreed} of {tally.compared}, {tally.kinds.most_common(5)} {tally.examples}"
