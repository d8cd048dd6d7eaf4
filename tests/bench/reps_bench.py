"""Reps per second on one core, cost by stage, against one board drawing of a well-known chess library in the same run.

Run: python tests/bench/reps_bench.py, with the project installed. It prints; it asserts nothing. The works take turns,
and the lower quartile of each is compared, because a shared machine takes its cores away for milliseconds at a time:
read the ratios.
"""

import statistics
import time
from collections import defaultdict
from collections.abc import Callable
from itertools import islice
from pathlib import Path

import chess
import chess.svg

from quizgen.content import load_team_dir
from quizgen.drawing.svg import draw
from quizgen.reps.catalogue import Catalogue, Filter, make
from quizgen.reps.families import families

SETUPS = 150
SEED = Path(__file__).parents[2] / "seed_content" / "tarrow_falls"


def timed(work: Callable[[], object]) -> tuple[float, object]:
    start = time.perf_counter()
    result = work()
    return time.perf_counter() - start, result


def main() -> None:
    team = load_team_dir(SEED)
    took, catalogue = timed(lambda: _ready(Catalogue(team)))
    assert isinstance(catalogue, Catalogue)
    print(f"{len(catalogue.setups)} setups, ids and order ready in {took:.2f} s")
    took, first = timed(lambda: list(islice(catalogue.reps(positions=["Mike"]), 8)))
    print(f"first 8 reps of one position in {took * 1000:.1f} ms ({len({rep.play for rep in first})} plays)")
    took, _ = timed(lambda: families(catalogue))
    print(f"families of like calls in {took:.2f} s")
    _by_stage(catalogue)


def _ready(catalogue: Catalogue) -> Catalogue:
    next(catalogue.reps())
    return catalogue


def _by_stage(catalogue: Catalogue) -> None:
    spells: dict[str, list[float]] = defaultdict(list)
    by_kind: dict[str, list[float]] = defaultdict(list)
    everything = Filter()
    for setup in sorted(catalogue.setups.values(), key=lambda one: one.digest)[:SETUPS]:
        took, snap = timed(lambda setup=setup: catalogue.find_listed(setup))
        if snap is None:
            continue
        spells["solve a setup"].append(took)
        took, asked = timed(lambda setup=setup: catalogue.asked(setup, everything))
        spells["decide what to ask"].append(took)
        for kind, position in asked[:6]:
            took, rep = timed(lambda k=kind, s=setup, p=position: make(k, s, catalogue.find_snap(s), p))
            spells["make a rep"].append(took)
            by_kind[kind.id].append(took)
            spells["draw its question"].append(timed(lambda rep=rep: draw(rep.scene))[0])
            spells["draw it moved"].append(timed(lambda rep=rep: draw(rep.moved))[0])
            spells["chess board"].append(timed(lambda: chess.svg.board(chess.Board()))[0])
    quick = {name: statistics.quantiles(times, n=4)[0] for name, times in spells.items()}
    print(f"{'':24}{'ms':>8}{'a second':>10}{'x board':>9}")
    for name, took in quick.items():
        print(f"{name:24}{took * 1000:8.2f}{1 / took:10.0f}{took / quick['chess board']:9.2f}")
    whole = quick["make a rep"] + quick["draw its question"]
    print(f"{'made and drawn':24}{whole * 1000:8.2f}{1 / whole:10.0f}{whole / quick['chess board']:9.2f}")
    print(
        "make a rep, by kind (ms): " + ", ".join(f"{k} {statistics.median(t) * 1000:.2f}" for k, t in by_kind.items())
    )


if __name__ == "__main__":
    main()
