"""The crowd: everything already in the picture, over time, that a new label must keep clear of.

Why it exists: the placing of labels is simple and always the same. Each label tries a fixed list of places against what
is there at a few moments and takes the first free one. What it must not know: SVG, words, who anybody is.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from quizgen.drawing.boxes import Box
from quizgen.drawing.labels import Label, Thing, at, kept_inside, moved

STEPS = 8
AIR_PX = 2.0

Edges = tuple[float, float, float, float]
"""Left, upper, right and lower edge."""


class Crowd:
    """What is in the picture at each of a few moments: the snap, the end, evenly between, and whenever something comes.

    ``end_s`` is when everything has moved, ``comes_s`` the times at which labels come; in seconds after the snap.
    """

    def __init__(self, end_s: float, comes_s: Iterable[float]) -> None:
        self.end_s = end_s
        self.moments = sorted({0.0, end_s, *comes_s, *(end_s * step / STEPS for step in range(STEPS))})
        self._at: dict[float, list[Edges]] = {t_s: [] for t_s in self.moments}
        self._always: list[Edges] = []

    def add(self, thing: Label | Thing) -> None:
        """Put one more thing in the picture."""
        if len(thing.path) == 1 and thing.from_s == 0.0 and thing.to_s is None:
            self._always.append(_edges(thing.box(0.0)))
            return
        for t_s in self.moments:
            if thing.is_shown(t_s):
                self._at[t_s].append(_edges(thing.box(t_s)))

    def place(
        self,
        label: Label,
        offsets: Iterable[tuple[float, float]],
        *,
        beads: Sequence[Edges] = (),
        is_at_rest: bool = False,
    ) -> tuple[Label, float]:
        """The label at the first offset where it is free, or else freest, and how many square pixels it still shares.

        ``beads`` are further boxes to keep clear of. ``is_at_rest`` looks only at the moment it comes and at the end.
        """
        best, least = label.path, float("inf")
        groups = self._in_the_way(label, beads, is_at_rest)
        for dx, dy in offsets:
            trial = kept_inside(moved(label.path, dx, dy), label.width)
            clash = 0.0
            for t_s, everything in groups:
                clash += _shared(at(trial, t_s), label, everything)
                if clash >= least:
                    break
            if clash < least:
                best, least = trial, clash
            if clash == 0.0:
                break
        return replace(label, path=best), least

    def settle(self, label: Label, offsets: Sequence[tuple[float, float]], beads: Sequence[Edges] = ()) -> Label:
        """The label in its place, which the crowd then knows: clear of everything, lines too, all the time; or else of
        everything all the time; or else of everything when it comes and at the end."""
        found, clash = self.place(label, offsets, beads=beads)
        if clash > 0.0 and beads:
            found, clash = self.place(label, offsets)
        if clash > 0.0:
            found, clash = self.place(label, offsets, is_at_rest=True)
        self.add(found)
        return found

    def _in_the_way(
        self, label: Label, beads: Sequence[Edges], is_at_rest: bool
    ) -> list[tuple[float, Sequence[Edges]]]:
        """Boxes by the moment at which they are in the label's way; all in one when the label stands still."""
        shown = [t_s for t_s in self.moments if label.is_shown(t_s)] or [label.from_s]
        if is_at_rest:
            shown = sorted({shown[0], shown[-1]})
        if len(label.path) == 1:
            boxes = dict.fromkeys(box for t_s in shown for box in self._at.get(t_s, ()))
            return [(shown[0], [*boxes, *self._always, *beads])]
        return [(t_s, [*self._at.get(t_s, ()), *self._always, *beads]) for t_s in shown]


def _edges(box: Box) -> Edges:
    return box.left, box.top, box.right, box.bottom


def bead(x: float, y: float, size: float) -> Edges:
    """A small square around a point."""
    return x - size / 2, y - size / 2, x + size / 2, y + size / 2


def _shared(middle: tuple[float, float], label: Label, others: Sequence[Edges]) -> float:
    """How many square pixels the label's box, with some air, around a middle shares with all the others."""
    half_width, half_height = label.width / 2 + AIR_PX, label.height / 2 + AIR_PX
    left, right = middle[0] - half_width, middle[0] + half_width
    top, bottom = middle[1] - half_height, middle[1] + half_height
    total = 0.0
    for other_left, other_top, other_right, other_bottom in others:
        if left < other_right and other_left < right and top < other_bottom and other_top < bottom:
            across = min(right, other_right) - max(left, other_left)
            total += across * (min(bottom, other_bottom) - max(top, other_top))
    return total
