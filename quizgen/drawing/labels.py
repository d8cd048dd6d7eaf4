"""Labels: where words, numbers and signs go so that none lies on another or on a man, at any time they are shown.

Why it exists: a word on top of another is read by nobody. The placing is simple and always the same: each label tries a
fixed list of places and takes the first free one. What it must not know: SVG, what the words mean.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from enum import Enum

from quizgen.drawing.boxes import Box, text_width
from quizgen.drawing.frame import WIDTH_PX

TEXT_PX = 12.0
NUMBER_PX = 11.0
ICON_PX = 16.0
AIR_PX = 2.0
MOMENTS = 8

Path = tuple[tuple[float, float, float], ...]
"""Where a thing is over time: (second, x pixel, y pixel), in order of time; between two it moves evenly."""


class Sign(Enum):
    """A small disc with a sign in it, so that right and wrong are told by shape."""

    TICK = "tick"
    CROSS = "cross"


@dataclass(frozen=True, slots=True)
class Label:
    """Words or a number (or only a sign) in pixels: ``path`` is where its centre is over time.

    ``is_number`` draws it on a disc. ``stem`` is the point, as seen from its centre, to which a thin line runs from it
    (None: no line). ``from_s`` and ``to_s`` (None: to the end) say when it is shown.
    """

    text: str
    path: Path
    width: float
    height: float
    sign: Sign | None = None
    is_number: bool = False
    from_s: float = 0.0
    to_s: float | None = None
    stem: tuple[float, float] | None = None

    def box(self, t_s: float) -> Box:
        """The box it takes up at a time."""
        return Box(*at(self.path, t_s), self.width, self.height)

    def is_shown(self, t_s: float) -> bool:
        """Whether it is to be seen at a time."""
        return self.from_s <= t_s and (self.to_s is None or t_s < self.to_s)


@dataclass(frozen=True, slots=True)
class Thing:
    """Something a label must keep clear of: a box that moves along a path, from ``from_s`` to ``to_s``."""

    path: Path
    width: float
    height: float
    from_s: float = 0.0
    to_s: float | None = None

    def box(self, t_s: float) -> Box:
        """The box it takes up at a time."""
        return Box(*at(self.path, t_s), self.width, self.height)

    def is_shown(self, t_s: float) -> bool:
        """Whether it is there at a time."""
        return self.from_s <= t_s and (self.to_s is None or t_s < self.to_s)


def at(path: Path, t_s: float) -> tuple[float, float]:
    """The place on a path at a time; before its first and after its last key the thing stands still."""
    before = path[0]
    for after in path[1:]:
        if t_s < after[0]:
            share = max(0.0, t_s - before[0]) / (after[0] - before[0])
            return before[1] + share * (after[1] - before[1]), before[2] + share * (after[2] - before[2])
        before = after
    return before[1], before[2]


def moved(path: Path, dx: float, dy: float) -> Path:
    """The same path elsewhere."""
    return tuple((t, x + dx, y + dy) for t, x, y in path)


def size_of(text: str, sign: Sign | None = None) -> tuple[float, float]:
    """Width and height of words with an optional sign before them, in pixels."""
    width = text_width(text, TEXT_PX)
    if sign is not None:
        width += ICON_PX + (3.0 if text else 0.0)
    return width + 2.0, ICON_PX if sign is not None else TEXT_PX + 3.0


def placed(label: Label, offsets: Iterable[tuple[float, float]], things: Sequence[Label | Thing]) -> Label:
    """The label at the first offset where it is free of all things whenever both are shown; else where it is freest."""
    best: Path | None = None
    least = float("inf")
    in_the_way = _in_the_way(label, things)
    for dx, dy in offsets:
        trial = kept_inside(moved(label.path, dx, dy), label.width)
        clash = 0.0
        for t_s, edges in in_the_way:
            clash += _shared(at(trial, t_s), label.width / 2 + AIR_PX, label.height / 2 + AIR_PX, edges)
            if clash >= least:
                break
        if clash < least:
            best, least = trial, clash
        if clash == 0.0:
            break
    assert best is not None
    return replace(label, path=best)


Edges = tuple[float, float, float, float]
"""Left, upper, right and lower edge."""


def _in_the_way(label: Label, things: Sequence[Label | Thing]) -> list[tuple[float, list[Edges]]]:
    """What the label must keep clear of, by the time at which it does; all in one when the label stands still."""
    last = max(path[-1][0] for path in (label.path, *(thing.path for thing in things)))
    times = sorted({label.from_s, *(last * step / MOMENTS for step in range(MOMENTS + 1))})
    found = [
        (t_s, [_edges(thing.box(t_s)) for thing in things if thing.is_shown(t_s)])
        for t_s in times
        if label.is_shown(t_s)
    ] or [(label.from_s, [_edges(thing.box(label.from_s)) for thing in things])]
    if len(label.path) > 1:
        return found
    return [(label.from_s, list(dict.fromkeys(edges for _, everything in found for edges in everything)))]


def _edges(box: Box) -> Edges:
    return box.left, box.top, box.right, box.bottom


def _shared(middle: tuple[float, float], half_width: float, half_height: float, others: list[Edges]) -> float:
    """How many square pixels a box around a middle shares with all the others."""
    left, right = middle[0] - half_width, middle[0] + half_width
    top, bottom = middle[1] - half_height, middle[1] + half_height
    total = 0.0
    for other_left, other_top, other_right, other_bottom in others:
        if left < other_right and other_left < right and top < other_bottom and other_top < bottom:
            across = min(right, other_right) - max(left, other_left)
            total += across * (min(bottom, other_bottom) - max(top, other_top))
    return total


def kept_inside(path: Path, width: float) -> Path:
    """The path of a thing so wide, pushed in where it would stick out of the picture at the left or right."""
    half = width / 2 + 2.0
    return tuple((t, min(max(x, half), WIDTH_PX - half), y) for t, x, y in path)


def around(width: float, height: float, *, first: float = 0.0) -> list[tuple[float, float]]:
    """Offsets to try around a point, nearest first: beside it, above, below, the corners, then farther out."""
    offsets = [(0.0, 0.0)] if first == 0.0 else []
    for ring in range(14):
        away = first + ring * 8.0
        across, down = width / 2 + away, height / 2 + away
        offsets += [(across, 0.0), (-across, 0.0), (0.0, -down), (0.0, down)]
        offsets += [(across, -down), (-across, -down), (across, down), (-across, down)]
        offsets += [(across * 0.5, -down), (-across * 0.5, -down), (across * 0.5, down), (-across * 0.5, down)]
    return offsets
