"""Motion in pixels: how the paths of men and the edges of bands are written for the page's script.

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
``data-from="1.2"`` and ``data-to="2"``
    on anything: it is seen from that second on, and until (not at) that second. Show it by setting ``visibility`` to
    ``visible`` or ``hidden``.

Numbers are plain decimals (at most two places for seconds, one for pixels of the viewBox). What an element shows as it
is sent is the moment that was asked for when it was drawn.
"""

from __future__ import annotations

from quizgen.drawing.frame import Frame
from quizgen.drawing.labels import Path, at
from quizgen.drawing.lines import number, px
from quizgen.drawing.scene import Scene
from quizgen.drawing.values import Point, Span


def man_path(scene: Scene, frame: Frame, man_id: str) -> Path:
    """Where a man is over time, in pixels; one key when he does not move."""
    for motion in scene.motions:
        if motion.of == man_id:
            return tuple((key.t_s, *frame.px(Point(key.x, key.y))) for key in motion.keys)
    return ((0.0, *frame.px(scene.place(man_id))),)


def span_path(scene: Scene, frame: Frame, span: Span) -> Path:
    """The middle and the width of a stretch over time, as (second, x pixel of the middle, width in pixels).

    An open side reaches to the edge of the picture. Where its edges have crossed the width is 0.
    """
    times = {0.0}
    for motion in scene.motions:
        if motion.of in (span.left, span.right):
            times |= {key.t_s for key in motion.keys}
    keys = []
    for t in sorted(times):
        x_from, x_to = scene.span_x(span, t)
        edges = (
            frame.x_px(frame.window.x_from if x_from is None else x_from),
            frame.x_px(frame.window.x_to if x_to is None else x_to),
        )
        left, right = (edges[1], edges[0]) if frame.is_turned else edges
        keys.append((t, (left + right) / 2, max(0.0, right - left)))
    return tuple(keys)


def keys_text(path: Path) -> str | None:
    """A path as the text of ``data-k``, or None when the thing stands still."""
    if len(path) < 2:
        return None
    return ";".join(f"{number(t)} {px(x)} {px(y)}" for t, x, y in path)


def widths_text(path: Path) -> str | None:
    """A stretch as the text of ``data-kw`` (left edge and width), or None when it stands still."""
    return keys_text(tuple((t, middle - width / 2, width) for t, middle, width in path))


def stretch(path: Path, t_s: float) -> tuple[float, float]:
    """Left edge and width of a stretch at a time, in pixels."""
    middle, width = at(path, t_s)
    return middle - width / 2, width
