"""Motion in pixels: how the paths of men, their ways and the edges of bands are written for the page's script.

Why it exists: the picture after the answer moves; the page's own script plays, steps and scrubs it. What it must not
know: the script, SVG elements, football. The format, all of it:

``data-end="2.4"``
    on the svg element: when the last thing has happened, in seconds after the snap. Not there: nothing moves.
``data-snap="1.2"``
    beside it: when the ball is snapped, where somebody moves before that. Not there: at second 0.
``data-k="0 120 200;0.8 131.5 190;1.6 140 170"``
    on a g element: keys "second x y", separated by ";", seconds growing, the first 0. Between two keys go evenly; after
    the last stand still. Show it by setting ``transform="translate(x y)"``.
``data-kw="0 98 47;1.2 130 47"``
    on a rect: keys "second x width". Show it by setting its ``x`` and ``width``.
``data-g="0.3 0;0.9 0.4;1.6 1"``
    on a path with ``pathLength="1"``: keys "second share"; so much of it has been run by then. Show it by setting
    ``stroke-dasharray`` to "share 1" and hiding the path while the share is 0.
``data-from="1.2"`` and ``data-to="2"``
    on anything: it is seen from that second on, and until (not at) that second. Show it by setting ``visibility`` to
    ``visible`` or ``hidden``.

Numbers are plain decimals (at most two places for seconds, one for pixels of the viewBox). What an element shows as it
is sent is the moment that was asked for when it was drawn.
"""

from __future__ import annotations

from collections.abc import Sequence

from quizgen.drawing.frame import Frame
from quizgen.drawing.labels import Path, at
from quizgen.drawing.lines import number, px
from quizgen.drawing.scene import Scene


def man_path(scene: Scene, frame: Frame, man_id: str) -> Path:
    """Where a man is over time, in pixels; one key when he does not move."""
    for motion in scene.motions:
        if motion.of == man_id:
            return tuple((key.t_s, frame.x_px(key.x), frame.y_px(key.y)) for key in motion.keys)
    man = scene.man(man_id)
    return ((0.0, frame.x_px(man.x), frame.y_px(man.y)),)


def keys_text(path: Path) -> str | None:
    """A path as the text of ``data-k``, or None when the thing stands still."""
    if len(path) < 2:
        return None
    return ";".join(f"{number(t)} {px(x)} {px(y)}" for t, x, y in path)


def grown_text(grown: Sequence[tuple[float, float]]) -> str:
    """How much of a way has been run, as the text of ``data-g``."""
    return ";".join(f"{number(t)} {number(share)}" for t, share in grown)


def share_at(grown: Sequence[tuple[float, float]], t_s: float) -> float:
    """The share of a way that has been run at a time."""
    return at(tuple((t, share, 0.0) for t, share in grown), t_s)[0]


def widths_text(path: Path) -> str | None:
    """A stretch as the text of ``data-kw`` (left edge and width), or None when it stands still."""
    return keys_text(tuple((t, middle - width / 2, width) for t, middle, width in path))


def stretch(path: Path, t_s: float) -> tuple[float, float]:
    """Left edge and width of a stretch at a time, in pixels."""
    middle, width = at(path, t_s)
    return middle - width / 2, width
