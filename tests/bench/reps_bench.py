"""Reps made and drawn per second on one core, cost by stage, and bytes, compared with one board drawing of a well-known
chess library in the same run.

Run: python -m tests.bench.reps_bench, with the project installed. It prints; it asserts nothing. The cases alternate,
and their lower quartiles are compared, because a shared machine takes its cores away for milliseconds at a time: read
the ratios.
"""

import gzip
import statistics
import time
from collections import defaultdict
from collections.abc import Callable
from dataclasses import replace
from itertools import islice
from pathlib import Path

import chess
import chess.svg

from quizgen.content import load_team_dir
from quizgen.drawing.svg import draw
from quizgen.reps.catalogue import Catalogue, Filter, make
from quizgen.reps.families import families
from quizgen.reps.rep import Rep
from quizgen.reps.wording import Wording

SETUPS = 150
OF_A_SETUP = 6
SEED = Path(__file__).parents[2] / "seed_content" / "tarrow_falls"
BOARD = "chess board"
WHOLE = ("solve, a rep's share", "make a rep", "draw its question", "draw it moved")


class Silent(Wording):
    """Uses one word for everything: the cost of making a rep without its words."""


for name in [one for one in vars(Wording) if not one.startswith("_")]:
    setattr(Silent, name, lambda *_, **__: "word")


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


def _misses(rep: Rep) -> list[object]:
    """The scenes after the first wrong answer of each part."""
    rights = [min(part.right) for part in rep.parts]
    found: list[object] = []
    for number, part in enumerate(rep.parts):
        wrong = next(choice.id for choice in part.choices if choice.id not in part.right)
        found.append(rep.after([*rights[:number], wrong, *rights[number + 1 :]]))
    return found


def _by_stage(catalogue: Catalogue) -> None:
    spells: dict[str, list[float]] = defaultdict(list)
    by_kind: dict[str, list[float]] = defaultdict(list)
    sizes: dict[str, list[tuple[int, int]]] = defaultdict(list)
    everything = Filter()
    for setup in sorted(catalogue.setups.values(), key=lambda one: one.digest)[:SETUPS]:
        took, snap = timed(lambda setup=setup: catalogue.find_listed(setup))
        if snap is None:
            continue
        spells["solve a setup"].append(took)
        took, asked = timed(lambda setup=setup: catalogue.asked(setup, everything))
        spells["decide what to ask"].append(took)
        spells[WHOLE[0]].append((spells["solve a setup"][-1] + took) / max(1, len(asked)))
        silent = replace(snap, wording=Silent())
        for kind, position in asked[:OF_A_SETUP]:
            took, rep = timed(lambda k=kind, s=setup, n=snap, p=position: make(k, s, n, p))
            assert isinstance(rep, Rep)
            spells["make a rep"].append(took)
            by_kind[kind.id].append(took)
            spells["make it without words"].append(
                timed(lambda k=kind, s=setup, n=silent, p=position: make(k, s, n, p))[0]
            )
            spells["scenes of its misses"].append(timed(lambda rep=rep: _misses(rep))[0])
            works = {
                "draw its question": lambda rep=rep: draw(rep.scene),
                "draw it moved": lambda rep=rep: draw(rep.moved),
                BOARD: lambda: chess.svg.board(chess.Board()),
            }
            for what, work in works.items():
                took, text = timed(work)
                spells[what].append(took)
                sizes[what].append((len(str(text).encode()), len(gzip.compress(str(text).encode(), mtime=0))))
    _print(spells, sizes)
    medians = {kind: statistics.median(times) * 1000 for kind, times in by_kind.items()}
    print("make a rep, by kind (ms): " + ", ".join(f"{kind} {ms:.2f}" for kind, ms in medians.items()))


def _print(spells: dict[str, list[float]], sizes: dict[str, list[tuple[int, int]]]) -> None:
    quick = {name: statistics.quantiles(times, n=4)[0] for name, times in spells.items()}
    quick["its words alone"] = quick["make a rep"] - quick["make it without words"]
    quick["question made and drawn"] = quick["make a rep"] + quick["draw its question"]
    quick["everything for one rep"] = sum(quick[name] for name in WHOLE)
    print(f"{'':24}{'ms':>8}{'a second':>10}{'x board':>9}{'bytes':>8}{'gzip':>7}")
    for name, took in quick.items():
        plain, packed = (statistics.median(column) for column in zip(*sizes.get(name, [(0, 0)]), strict=True))
        size = f"{plain:8.0f}{packed:7.0f}" if plain else ""
        print(f"{name:24}{took * 1000:8.2f}{1 / took:10.0f}{took / quick[BOARD]:9.2f}{size}")


if __name__ == "__main__":
    main()
