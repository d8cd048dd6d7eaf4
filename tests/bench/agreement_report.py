"""The engine against the slow solver: random snaps by seed, and every snap of the teams shipped.

    python -m tests.bench.agreement_report [--count 20000] [--seed 1]

Prints seeds, counts, what both refuse, and every difference; exit code 1 if there is one.
"""

import argparse
import sys
import time
from collections import Counter
from collections.abc import Iterable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from quizgen.engine.verdict import solve
from quizgen.football.team import Situation
from tests.second_solver.compare import differences, find_answer
from tests.second_solver.demo import demo_situations, team_dirs
from tests.second_solver.generate import random_situations

BATCH = 5_000
SHOWN = 10


def run(title: str, snaps: Iterable[Situation]) -> int:
    """Compare them all, print a line of counts, and return how many differ."""
    kinds: Counter[str] = Counter()
    different: list[tuple[int, list[str]]] = []
    start = time.perf_counter()
    for number, s in enumerate(snaps):
        answer = find_answer(solve, s)
        kinds[answer if isinstance(answer, str) else "sound" if answer.sound else "not sound"] += 1
        if found := differences(s):
            different.append((number, found))
    counts = ", ".join(f"{count} {kind}" for kind, count in sorted(kinds.items()))
    print(f"{title}: {kinds.total()} snaps ({counts}), {len(different)} differ, {time.perf_counter() - start:.0f} s")
    for number, found in different[:SHOWN]:
        print(f"  number {number}: {'; '.join(found)}")
    return len(different)


def main() -> int:
    """Run both comparisons."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=20_000)
    parser.add_argument("--seed", type=int, default=1)
    chosen = parser.parse_args()
    bad = 0
    for batch, done in enumerate(range(0, chosen.count, BATCH)):
        seed, count = chosen.seed + batch, min(BATCH, chosen.count - done)
        bad += run(f"seed {seed}", random_situations(seed, count))
    if team_dirs():
        bad += run("teams shipped", demo_situations())
    print(f"{bad} differ in all" if bad else "the two solvers agree")
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
