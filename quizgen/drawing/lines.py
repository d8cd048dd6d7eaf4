"""Lines in pixels: tracks cut back to the edge of a symbol, rounded, with an arrowhead or a T, as path data.

Why it exists: the signs of the trade (source: common practice) are drawn the same way everywhere. What it must not
know: yards, football, SVG beyond the letters of path data.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

XY = tuple[float, float]

HEAD_PX = 6.5
BALL_HEAD_PX = 12.0
OWN_HEAD_PX = 14.0
T_PX = 8.0


def number(value: float) -> str:
    """A pixel or a second as text with at most two decimals, always the same for the same value.

    >>> number(12.0), number(-0.001), number(3.14159)
    ('12', '0', '3.14')
    """
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def px(value: float) -> str:
    """A pixel as text with at most one decimal."""
    text = f"{value:.1f}".removesuffix(".0")
    return "0" if text == "-0" else text


def path(points: Sequence[XY], *, is_curved: bool = False) -> str:
    """Path data through the points: straight from one to the next, or rounded (a Catmull-Rom curve)."""
    data = f"M{px(points[0][0])} {px(points[0][1])}"
    if not is_curved or len(points) < 3:
        return data + "".join(f"L{px(x)} {px(y)}" for x, y in points[1:])
    padded = [points[0], *points, points[-1]]
    for p0, p1, p2, p3 in zip(padded, padded[1:], padded[2:], padded[3:], strict=False):
        c1 = (p1[0] + (p2[0] - p0[0]) / 6, p1[1] + (p2[1] - p0[1]) / 6)
        c2 = (p2[0] - (p3[0] - p1[0]) / 6, p2[1] - (p3[1] - p1[1]) / 6)
        data += "C" + " ".join(f"{px(x)} {px(y)}" for x, y in (c1, c2, p2))
    return data


def trimmed(points: Sequence[XY], start_px: float, end_px: float) -> list[XY]:
    """The line with so much cut off its first and its last stretch; at least a quarter of each stretch is left."""
    cut = list(points)
    cut[0] = _toward(cut[0], cut[1], start_px)
    cut[-1] = _toward(cut[-1], cut[-2], end_px)
    return cut


def _toward(point: XY, goal: XY, by: float) -> XY:
    length = math.dist(point, goal)
    share = min(by / length, 0.75) if length > 0 else 0.0
    return point[0] + share * (goal[0] - point[0]), point[1] + share * (goal[1] - point[1])


def _heading(points: Sequence[XY]) -> XY:
    """The direction of the last stretch that has a length, as a unit vector; straight up for a line of no length."""
    tip = points[-1]
    for point in reversed(points[:-1]):
        length = math.dist(point, tip)
        if length > 1e-6:
            return (tip[0] - point[0]) / length, (tip[1] - point[1]) / length
    return 0.0, -1.0


def arrow(points: Sequence[XY], size: float = HEAD_PX) -> str:
    """Path data of a filled arrowhead at the end of the line."""
    (x, y), (dx, dy) = points[-1], _heading(points)
    base = (x - dx * size, y - dy * size)
    half = size * 0.45
    corners = [(x, y), (base[0] - dy * half, base[1] + dx * half), (base[0] + dy * half, base[1] - dx * half)]
    return path(corners) + "Z"


def tee(points: Sequence[XY], size: float = T_PX) -> str:
    """Path data of the bar of a T across the end of the line."""
    (x, y), (dx, dy) = points[-1], _heading(points)
    return path([(x - dy * size, y + dx * size), (x + dy * size, y - dx * size)])


def along(points: Sequence[XY], share: float) -> tuple[XY, XY]:
    """The point at that share (0 to 1) of the line's length, and its direction there as a unit vector."""
    lengths = [math.dist(a, b) for a, b in pairwise(points)]
    left = share * sum(lengths)
    for (a, b), length in zip(pairwise(points), lengths, strict=True):
        if length > 1e-6 and (left <= length or b == points[-1]):
            way = ((b[0] - a[0]) / length, (b[1] - a[1]) / length)
            return (a[0] + way[0] * left, a[1] + way[1] * left), way
        left -= length
    return points[-1], _heading(points)
