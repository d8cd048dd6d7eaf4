"""Signs: the shapes of the trade and of the answer as path data around their own centre.

Why it exists: shapes are told apart from where they stand. What it must not know: yards, SVG elements, colours.
"""

from __future__ import annotations

from quizgen.drawing.lines import path, px
from quizgen.drawing.values import ScreenHalf

SQUARE = "M-8 -8H8V8H-8Z"
OCTAGON = "M-3.4 -8H3.4L8 -3.4V3.4L3.4 8H-3.4L-8 3.4V-3.4Z"
TICK = "M-4 0.4L-1.2 3.2L4 -3"
CROSS = "M-3 -3L3 3M3 -3L-3 3"
BALL = "M-7.5 4C-7.4 -3.3 1.4 -8 7.5 -4C7.4 3.3 -1.4 8 -7.5 4Z"
LACE = "M-3.1 1.6L3.1 -1.6M-2.3 -0.6L-0.8 2.3M0.8 -2.3L2.3 0.6"
"""A pointed oval, 17 by 10, turned by 28 degrees as in a man's arm, and its lace."""


def own_man(width: float, height: float, *, is_turned: bool = False) -> str:
    """The player's own man: a solid shape with a point toward the offense."""
    half, up = width / 2, height / 2
    flip = -1.0 if is_turned else 1.0
    corners = [(-half, up), (-half, -up * 0.2), (0.0, -up), (half, -up * 0.2), (half, up)]
    return path([(x, y * flip) for x, y in corners]) + "Z"


def half_ring(radius: float, half: ScreenHalf) -> str:
    """Half a ring around a man, open toward his other half."""
    sweep = 0 if half is ScreenHalf.LEFT else 1
    side = -1.5 if half is ScreenHalf.LEFT else 1.5
    return f"M{px(side)} {px(-radius)}A{px(radius)} {px(radius)} 0 0 {sweep} {px(side)} {px(radius)}"
