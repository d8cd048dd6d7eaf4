"""Every rep of the demo as a phone 360 px wide shows it: what can be tapped, what is read, what is sent.

Run: python -m tests.bench.every_rep, with the project installed. It takes about an hour on two cores; `--every 50`
checks each fiftieth setup, `--calls Moraine` one call. Exit code 1 when it has found a fault. The tests run the same
checks on a sample (tests/reps/test_every_rep.py).
"""

from __future__ import annotations

import argparse
import multiprocessing
import os
import re
import sys
import time
from collections import Counter, defaultdict
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from itertools import combinations
from pathlib import Path

from defusedxml.ElementTree import fromstring
from lxml import etree

from quizgen.content import load_team_dir
from quizgen.drawing.picture import Picture, compose
from quizgen.drawing.scene import Scene
from quizgen.drawing.svg import draw
from quizgen.drawing.values import Defender
from quizgen.reps.catalogue import Catalogue, make
from quizgen.reps.rep import Rep
from tests.drawing.valid import faults_in

DEMO = Path(__file__).parents[2] / "seed_content" / "tarrow_falls"
WIDTH_PX = 360.0
TARGET_PX = 44.0 * 360 / 320
"""source: WCAG 2.2, success criterion 2.5.5 Target Size (Enhanced): 44 by 44 CSS pixels, on a phone 320
pixels wide."""
STEM_MAX = 140
QUESTION_MAX_BYTES = 12_000
SLACK_PX = 1e-6
END_OF_SENTENCE = re.compile(r"[.!?](?=\s|$)")
TELLING = re.compile(r'\bgs-[fs]-(?:right|wrong)\b|\bdata-(?:k|kw|end|from|to)=|visibility="hidden"')
MAY_HIDE = 0.25
"""How much of another man's letter his own man's sign may cover before the snap, as a share of its width."""
SETUPS_A_TASK = 40
EXAMPLES = 5
NOT_DRAWN = "his own man is not drawn"


def faults_of(rep: Rep, *, is_checked: bool = True) -> Iterator[str]:
    """The faults of a rep, one line per kind; ``is_checked`` also has svgwrite validate its question, and checks the
    pictures of wrong answers."""
    yield from _faults_of_words(rep)
    shown = (*faults_of_picture(compose(rep.scene)),)
    yield from (f"question: {fault}" for fault in shown if rep.kind != "adjust" or fault != NOT_DRAWN)
    if rep.kind == "adjust" and rep.scene.defenders:
        yield "question: ours are drawn, which tells the side of the call"
    yield from (f"question: {fault}" for fault in _faults_of_bytes(rep, is_checked=is_checked))
    yield from (f"answer: {fault}" for fault in faults_of_picture(compose(rep.moved)))
    for scene in _misses(rep) if is_checked else ():
        yield from (f"miss: {fault}" for fault in faults_of_picture(compose(scene)))


def _misses(rep: Rep) -> Iterator[Scene]:
    """The picture of the first wrong answer of each part that has its own."""
    rights = [min(part.right) for part in rep.parts]
    for number, part in enumerate(rep.parts):
        wrong = next(choice.id for choice in part.choices if choice.id not in part.right)
        scene = rep.after([*rights[:number], wrong, *rights[number + 1 :]])
        if scene is not rep.moved:
            yield scene


def _faults_of_words(rep: Rep) -> Iterator[str]:
    if len(rep.stem) > STEM_MAX:
        yield "stem too long"
    if not 1 <= len(END_OF_SENTENCE.findall(rep.because)) <= 2:
        yield "reason not one or two sentences"


def faults_of_picture(picture: Picture) -> Iterator[str]:
    """The faults of a picture's layout."""
    yield from _faults_of_targets(picture)
    yield from _faults_of_labels(picture)
    yield from _faults_of_men(picture)


def _faults_of_targets(picture: Picture) -> Iterator[str]:
    if [cell.tap for cell in picture.cells] != list(picture.scene.taps):
        yield "a tap is not drawn"
    for cell in picture.cells:
        hit = cell.hit
        if min(hit.width, hit.height) < TARGET_PX - SLACK_PX:
            yield "target under 44 px"
        if hit.left < -SLACK_PX or hit.right > WIDTH_PX + SLACK_PX:
            yield "target beside the view"
        if hit.top < picture.top or hit.bottom > picture.bottom:
            yield "target above or below the view"
    for one, two in combinations(picture.cells, 2):
        if one.tap.part == two.tap.part and one.hit.overlaps(two.hit):
            yield "targets overlap"


def _faults_of_labels(picture: Picture) -> Iterator[str]:
    for t_s in sorted({0.0, picture.scene.end_s}):
        seen = [label for label in picture.labels if label.is_shown(t_s)]
        boxes = [label.box(t_s) for label in seen]
        if any(box.left < 0 or box.right > WIDTH_PX for box in boxes):
            yield "label beside the view"
        if any(box.top < picture.top or box.bottom > picture.bottom for box in boxes):
            yield "label above or below the view"
        if any(one.overlaps(two) for one, two in combinations(boxes, 2)):
            yield "labels overlap"
        if any(box.overlaps(man.box(t_s)) for box in boxes for man in picture.men):
            yield "label on a man"
        if any(cell.hit.overlaps(box) for cell in picture.cells for box in boxes):
            yield "label on a target"


def _faults_of_men(picture: Picture) -> Iterator[str]:
    own = next((man for man in picture.men if isinstance(man.man, Defender) and man.man.is_own), None)
    if own is None:
        yield NOT_DRAWN
        return
    sign = own.box()
    for man in picture.men:
        letter = man.box()
        if man is own or not isinstance(man.man, Defender) or not sign.overlaps(letter):
            continue
        if min(sign.right, letter.right) - max(sign.left, letter.left) > MAY_HIDE * letter.width:
            yield "his own man hides another"


def _faults_of_bytes(rep: Rep, *, is_checked: bool) -> Iterator[str]:
    drawing = draw(rep.scene)
    if len(drawing.encode()) > QUESTION_MAX_BYTES:
        yield "more than 12 kB"
    said = [rep.because, *(choice.leaves for part in rep.parts for choice in part.choices if choice.leaves)]
    if TELLING.search(drawing) or any(words in drawing for words in said):
        yield "the answer is in the bytes"
    for name, parse in (("defusedxml", fromstring), ("lxml", lambda text: etree.fromstring(text.encode()))):
        try:
            if not parse(drawing).tag.endswith("}svg"):
                yield f"not SVG to {name}"
        except (SyntaxError, ValueError):  # lxml's XMLSyntaxError is a SyntaxError, and so is ElementTree's ParseError
            yield f"not XML to {name}"
    if is_checked and faults_in(drawing):
        yield "svgwrite refuses it"


@dataclass
class Seen:
    """Reps checked by kind, faults by kind, the first few reps with each."""

    reps: Counter[str] = field(default_factory=Counter)
    checked: int = 0
    faults: Counter[str] = field(default_factory=Counter)
    examples: dict[str, list[str]] = field(default_factory=lambda: defaultdict(list))

    def add(self, other: Seen) -> None:
        """Add another process's results."""
        self.reps.update(other.reps)
        self.checked += other.checked
        self.faults.update(other.faults)
        for fault, ids in other.examples.items():
            self.examples[fault] = (self.examples[fault] + ids)[:EXAMPLES]


_catalogue: Catalogue | None = None


def _load() -> None:
    global _catalogue
    _catalogue = Catalogue(load_team_dir(DEMO))


def look_at(digests: list[str], checked_every: int) -> Seen:
    """Check every rep of these setups."""
    assert _catalogue is not None
    seen = Seen()
    for digest in digests:
        setup = _catalogue.setups[digest]
        for kind, position in _catalogue.asked(setup):
            snap = _catalogue.find_snap(setup)
            assert snap is not None  # it was just asked
            rep = make(kind, setup, snap, position)
            is_checked = int(rep.id[:8], 16) % checked_every == 0
            seen.reps[rep.kind] += 1
            seen.checked += is_checked
            for fault in set(faults_of(rep, is_checked=is_checked)):
                seen.faults[fault] += 1
                if len(seen.examples[fault]) < EXAMPLES:
                    seen.examples[fault].append(f"{rep.id} ({rep.kind}, {rep.position})")
    return seen


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--jobs", type=int, default=os.cpu_count() or 1, help="processes (default: one a core)")
    parser.add_argument("--every", type=int, default=1, help="look at each N-th setup only")
    parser.add_argument(
        "--checked-every", type=int, default=20, help="svgwrite validates one in N, whose misses are drawn"
    )
    parser.add_argument("--calls", nargs="*", help="these calls only")
    wanted = parser.parse_args()
    setups = sorted(Catalogue(load_team_dir(DEMO)).setups.values(), key=lambda setup: setup.digest)[:: wanted.every]
    digests = [setup.digest for setup in setups if not wanted.calls or setup.pressure.name in wanted.calls]
    tasks = [digests[start : start + SETUPS_A_TASK] for start in range(0, len(digests), SETUPS_A_TASK)]
    seen, start, told = Seen(), time.monotonic(), 0.0
    with ProcessPoolExecutor(wanted.jobs, multiprocessing.get_context("fork"), initializer=_load) as pool:
        results = pool.map(look_at, tasks, [wanted.checked_every] * len(tasks))
        for number, result in enumerate(results, 1):
            seen.add(result)
            if time.monotonic() - told > 5 or number == len(tasks):
                told = time.monotonic()
                print(f"{number / len(tasks):4.0%}  {seen.reps.total()} reps, {seen.faults.total()} faults", flush=True)
    print(f"{len(digests)} setups, {seen.reps.total()} reps looked at in {time.monotonic() - start:.0f} s,", end=" ")
    print(f"{seen.checked} of them validated by svgwrite too, with a miss of each part")
    print(", ".join(f"{kind} {count}" for kind, count in sorted(seen.reps.items())))
    for fault, count in seen.faults.most_common():
        print(f"{count:8} {fault}: {', '.join(seen.examples[fault])}")
    print("no fault found" if not seen.faults else f"{seen.faults.total()} faults found")
    return 1 if seen.faults else 0


if __name__ == "__main__":
    sys.exit(main())
