"""Labels: words, numbers and signs with their size and where they are over time.

Why it exists: a word on top of another is read by nobody, so each is known by the box it takes up. What it must not
know: SVG, what the words mean, what else is in the picture (see `crowd`).
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from quizgen.drawing.boxes import Box, text_width
from quizgen.drawing.frame import WIDTH_PX

TEXT_PX = 12.75
NUMBER_PX = 12.5
ICON_PX = 16.0

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
