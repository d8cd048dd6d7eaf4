"""Signs: the shapes of the trade and of the answer as path data around their own centre.

Why it exists: shapes are told apart from where they stand. What it must not know: yards, SVG elements, colours.
"""

from __future__ import annotations

from quizgen.drawing.lines import path, px
from quizgen.drawing.values import ScreenHalf

TICK = "M-4 0.2L-1.2 3.2L4.2 -3.2"
CROSS = "M-3.2 -3.2L3.2 3.2M3.2 -3.2L-3.2 3.2"
EYE = "M-7.5 0Q0 -7.5 7.5 0Q0 7.5 -7.5 0Z"


def own_man(width: float, height: float, *, is_turned: bool = False) -> str:
    """The player's own man: a solid shape with a point toward the offense."""
    half, up = width / 2, height / 2
    flip = -1.0 if is_turned else 1.0
    corners = [(-half, up), (-half, -up * 0.45), (0.0, -up - 5.0), (half, -up * 0.45), (half, up)]
    return path([(x, y * flip) for x, y in corners]) + "Z"


def half_ring(radius: float, half: ScreenHalf) -> str:
    """Half a ring around a man, open toward his other half."""
    sweep = 0 if half is ScreenHalf.LEFT else 1
    side = -2.0 if half is ScreenHalf.LEFT else 2.0
    return f"M{px(side)} {px(-radius)}A{px(radius)} {px(radius)} 0 0 {sweep} {px(side)} {px(radius)}"


def funnel(gap: tuple[float, float], line: float, chip: tuple[float, float], chip_edge: float) -> str:
    """A lane joined to its chip: from the gap at the line of scrimmage to the near edge of the chip.

    ``line`` is half the depth of the gap's mouth; ``chip_edge`` is the height at which the chip begins.
    """
    way = -1.0 if chip_edge < 0 else 1.0
    left, right = gap
    near, far = line * way, -line * way
    return (
        path([(chip[0], chip_edge), (chip[1], chip_edge), (right, near), (right, far), (left, far), (left, near)]) + "Z"
    )
