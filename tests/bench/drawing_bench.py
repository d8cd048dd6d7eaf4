"""Diagrams per second on one core, compared with one board drawing of a well-known chess library in the same run.

Run: python -m tests.bench.drawing_bench, with the project installed. It prints; it asserts nothing. The two alternate,
and their lower quartiles are compared, because a shared machine takes its cores away for milliseconds at a time: read
the ratios.
"""

import gzip
import runpy
import statistics
import time
from collections.abc import Callable
from pathlib import Path

import chess
import chess.svg

from quizgen.drawing.picture import compose
from quizgen.drawing.svg import draw, draw_print

ROUNDS = 40
SAMPLES = runpy.run_path(str(Path(__file__).parents[1] / "drawing" / "samples.py"))["ALL"]


def board() -> str:
    return chess.svg.board(chess.Board())


def once(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def main() -> None:
    works: dict[str, Callable[[], object]] = {"chess board": board}
    for name in ("track", "narrow", "who", "pressure", "pull"):
        scene = SAMPLES[name]
        works[name] = lambda scene=scene: draw(scene)
        works[f"{name}: layout only"] = lambda scene=scene: compose(scene)
    works["pull: print"] = lambda: draw_print(SAMPLES["pull"])
    spells: dict[str, list[float]] = {name: [] for name in works}
    for _ in range(ROUNDS):
        for name, work in works.items():
            spells[name].append(once(work))
    quick = {name: statistics.quantiles(times, n=4)[0] for name, times in spells.items()}
    print(f"{'':24}{'ms':>8}{'a second':>10}{'x board':>9}{'bytes':>8}{'gzip':>7}")
    for name, took in quick.items():
        text = works[name]()
        sizes = ""
        if isinstance(text, str):
            sizes = f"{len(text.encode()):8}{len(gzip.compress(text.encode(), mtime=0)):7}"
        print(f"{name:24}{took * 1000:8.2f}{1 / took:10.0f}{took / quick['chess board']:9.2f}{sizes}")


if __name__ == "__main__":
    main()
