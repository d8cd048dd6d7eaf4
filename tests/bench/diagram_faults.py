"""Faults of the diagrams that a measure can find, over a sample of the demo's reps of every kind: men who hide each
other, lanes narrower than a finger, small text, guards over the center, crossing captions, no ball, his own man who
does not go where he is told, kinds without a replay, too many elements.

Run: python -m tests.bench.diagram_faults [--each 60] [--seed S], with the project installed. It prints a table and the
first ids; exit code 1 when it has found a fault. tests/drawing/test_faults.py holds a small sample.
"""

from __future__ import annotations

import argparse
import re
import sys
from collections import defaultdict
from collections.abc import Iterator
from itertools import combinations, islice
from pathlib import Path

from quizgen.content import load_team_dir
from quizgen.drawing.picture import Picture, compose
from quizgen.drawing.scene import BandState, Blocker, Defender, Scene, Span, Symbol
from quizgen.drawing.svg import draw
from quizgen.reps.catalogue import Catalogue
from quizgen.reps.kinds import KINDS
from quizgen.reps.rep import Rep

DEMO = Path(__file__).parents[2] / "seed_content" / "tarrow_falls"
NARROWEST_PX = 320 / 360
FINGER_PX = 44.0
TEXT_PX = 11.0
APART_PX = 17.9
SEEN_PX = 24.0
MOST_ELEMENTS = 90
SMALL_YD = 0.3
SIZE = re.compile(r'font-size="([\d.]+)"')


def faults_of(rep: Rep) -> Iterator[str]:
    """The faults of a rep's question and of its picture after a wrong answer."""
    wrong = rep.after([next(one.id for one in part.choices if one.id not in part.right) for part in rep.parts])
    for what, scene in (("question", rep.scene), ("answer", rep.moved), ("miss", wrong)):
        yield from (f"{what}: {fault}" for fault in _faults_of(scene))
    yield from _faults_of_replay(rep)


def _faults_of(scene: Scene) -> Iterator[str]:
    picture, drawing = compose(scene), draw(scene)
    for t_s in (0.0, scene.end_s):
        yield from _hidden(picture, t_s)
    for cell in picture.cells:
        if min(cell.hit.width, cell.hit.height) * NARROWEST_PX < FINGER_PX:
            yield "target under 44 px at 320"
        if isinstance(cell.tap.target, Span) and cell.gap is not None and cell.gap[1] - cell.gap[0] < SEEN_PX:
            yield "sliver lane"
    if min(map(float, SIZE.findall(drawing)), default=TEXT_PX) * NARROWEST_PX < TEXT_PX:
        yield "text under 11 px at 320"
    if not picture.ball:
        yield "no ball"
    boxes = [caption.box() for caption in picture.captions]
    if any(one.overlaps(two) for one, two in combinations(boxes, 2)):
        yield "captions overlap"
    if any(box.overlaps(man.box(t_s)) for box in boxes for man in picture.men for t_s in (0.0, scene.end_s)):
        yield "a caption on a man"
    if scene.taps and drawing.count("<") - drawing.count("</") > MOST_ELEMENTS:
        yield f"more than {MOST_ELEMENTS} elements"


def _hidden(picture: Picture, t_s: float) -> Iterator[str]:
    """Men who cover each other: two of one side, or anybody and the center."""
    for one, two in combinations(picture.men, 2):
        a, b = one.box(t_s), two.box(t_s)
        if max(abs(a.x - b.x), abs(a.y - b.y)) >= APART_PX:
            continue
        if isinstance(one.man, Defender) and isinstance(two.man, Defender):
            yield "two of ours under 18 apart"
        elif isinstance(one.man, Blocker) and isinstance(two.man, Blocker):
            over = Symbol.SQUARE in (one.man.symbol, two.man.symbol)
            yield "a man over the center" if over else "two of theirs under 18 apart"


def _faults_of_replay(rep: Rep) -> Iterator[str]:
    moved, own = rep.moved, rep.moved.find_own()
    if moved.end_s <= 0:
        yield "no replay"
    if own is None:
        yield "his own man is not there"
        return
    if rep.kind not in ("track", "moved-gap", "pull-read", "edge", "support"):
        return
    bands = [band for band in moved.bands if band.state is BandState.RIGHT]
    x = moved.place(own.id, moved.end_s).x
    spans = [moved.span_x(band.span, moved.end_s) for band in bands]
    if bands and not any((low is None or low < x) and (high is None or x < high) for low, high in spans):
        yield "his own man does not go where he is told"


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--each", type=int, default=60)
    parser.add_argument("--seed", default="faults")
    wanted = parser.parse_args()
    catalogue = Catalogue(load_team_dir(DEMO))
    found: dict[str, list[str]] = defaultdict(list)
    total = 0
    for kind in KINDS:
        for rep in islice(catalogue.reps(kinds=[kind], seed=wanted.seed), wanted.each):
            total += 1
            for fault in set(faults_of(rep)):
                found[fault].append(f"{rep.kind} {rep.id[:8]}")
    print(f"{total} reps, seed {wanted.seed!r}")
    for fault, reps in sorted(found.items(), key=lambda entry: -len(entry[1])):
        print(f"{len(reps):6} {fault}: {', '.join(reps[:4])}")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
