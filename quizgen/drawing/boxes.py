"""Boxes in pixels: rectangles, how wide words are, how to spread things along a line so that none overlap.

Why it exists: tap cells and labels are laid out by the same few exact operations. What it must not know: yards, SVG.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

_NARROW = frozenset("iIl.,:;'|!jtfr()[]/- ")
_BROAD = frozenset("mMwW%&@")


@dataclass(frozen=True, slots=True)
class Box:
    """An upright rectangle: centre, width and height in pixels."""

    x: float
    y: float
    width: float
    height: float

    @property
    def left(self) -> float:
        """The left edge."""
        return self.x - self.width / 2

    @property
    def right(self) -> float:
        """The right edge."""
        return self.x + self.width / 2

    @property
    def top(self) -> float:
        """The upper edge (the smaller y)."""
        return self.y - self.height / 2

    @property
    def bottom(self) -> float:
        """The lower edge (the larger y)."""
        return self.y + self.height / 2

    def overlaps(self, other: Box, *, gap: float = 0.0) -> bool:
        """Whether the two share more than an edge, or come closer than ``gap`` pixels."""
        return (
            abs(self.x - other.x) < (self.width + other.width) / 2 + gap - 1e-6
            and abs(self.y - other.y) < (self.height + other.height) / 2 + gap - 1e-6
        )

    def moved(self, dx: float, dy: float) -> Box:
        """The same box elsewhere."""
        return Box(self.x + dx, self.y + dy, self.width, self.height)


def text_width(text: str, size: float) -> float:
    """How wide a text is at most, in pixels, bold, in any of the usual sans-serif faces (measured on a broad one)."""
    return size * sum(map(_share, text))


def _share(sign: str) -> float:
    """How wide a sign is at most, as a share of the size of the type."""
    if sign in _NARROW:
        return 0.5
    if sign in _BROAD:
        return 1.12
    return 0.87 if sign.isupper() else 0.74


def spread(targets: Sequence[float], step: float, low: float, high: float) -> list[float]:
    """Centres at least ``step`` apart within ``low`` and ``high``, in the order given, as near the targets as can be.

    ``targets`` grow; the sum of squared moves is least (pooling of adjacent violators). Raises ValueError when they
    can't fit.

    >>> spread([10.0, 12.0, 60.0], 10.0, 0.0, 100.0)
    [6.0, 16.0, 60.0]
    """
    room = high - low - step * (len(targets) - 1)
    if room < -1e-9:
        raise ValueError(f"{len(targets)} things {step:g} px apart need more than the {high - low:g} px there are")
    pools: list[tuple[float, int]] = []
    for index, target in enumerate(targets):
        total, count = target - index * step, 1
        while pools and pools[-1][0] / pools[-1][1] >= total / count:
            before_total, before_count = pools.pop()
            total, count = total + before_total, count + before_count
        pools.append((total, count))
    places: list[float] = []
    for total, count in pools:
        start = min(max(total / count, low), low + max(room, 0.0))
        places += [start + (len(places) + offset) * step for offset in range(count)]
    return places
