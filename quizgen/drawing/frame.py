"""The frame: the one place where yards become pixels, and the crop that decides what part of the field is seen.

Why it exists: a picture is 360 units wide whatever it shows, so that a width in these pixels is a width on a small
phone. What it must not know: SVG, taps' cells, words.

The line of scrimmage is at pixel 0, the offense's backfield above it (negative pixels), the defense below. Across the
field the picture is to scale near the ball; what is wider than the core of the line is drawn closer in than it is.
Depth is drawn in steps, as on any whiteboard: the line, a free stretch for the heads of lanes, then backers, then
whoever is deep; never out of order. Every picture has the same steps, so that pictures follow one another without a
jump.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from quizgen.drawing.scene import Scene
from quizgen.drawing.values import FARTHEST_YD, Blocker, Defender, Key, OnHalf, OnMan, OnTrack, Point, Span, Tap, Window

WIDTH_PX = 360.0
MARGIN_PX = 6.0
ONE_ROW = 7
"""The most heads of lanes in one row: 50 pixels each, which is 44 on a phone 320 wide."""
Steps = tuple[tuple[float, float], ...]
BEHIND: Steps = ((0.0, 0.0), (1.0, 27.0), (4.0, 70.0), (7.0, 106.0), (12.0, 114.0), (60.0, 118.0))
"""Yards behind the offense's line, and pixels."""
AHEAD: Steps = ((0.0, 0.0), (1.5, 40.0), (2.6, 110.0), (5.0, 128.0), (8.0, 140.0), (14.0, 148.0), (60.0, 150.0))
"""Yards from the line toward the defense, and pixels."""
AHEAD_OF_TWO_ROWS: Steps = (
    (0.0, 0.0),
    (1.5, 40.0),
    (2.6, 166.0),
    (5.0, 174.0),
    (8.0, 182.0),
    (14.0, 187.0),
    (60.0, 189.0),
)
WIDE_SHARE = 0.25
CORE_YD = 13.0
LARGEST_SCALE = 33.0
EDGE_LANE_YD = 1.7
NEAR_YD = 2.6
ON_LINE_YD = 1.2


@dataclass(frozen=True, slots=True)
class Frame:
    """Turns yards into pixels for one picture. ``is_turned`` shows it from the offense's side instead.

    ``core_from`` and ``core_to`` bound the stretch drawn to scale, ``scale`` is its pixels per yard.
    """

    window: Window
    core_from: float
    core_to: float
    scale: float
    left_px: float
    is_turned: bool = False
    has_two_rows: bool = False

    def px(self, point: Point) -> tuple[float, float]:
        """The pixel of a point in yards."""
        return self.x_px(point.x), self.y_px(point.y)

    def x_px(self, x: float) -> float:
        """The horizontal pixel of ``x`` yards."""
        raw = _wide(x, self.core_from, self.core_to) - _wide(self.window.x_from, self.core_from, self.core_to)
        across = min(max(self.left_px + raw * self.scale, 0.0), WIDTH_PX)
        return WIDTH_PX - across if self.is_turned else across

    def y_px(self, y: float) -> float:
        """The vertical pixel of ``y`` yards; 0 is the line of scrimmage, negative is up."""
        up = _stepped(BEHIND, y) if y > 0 else -_stepped(AHEAD_OF_TWO_ROWS if self.has_two_rows else AHEAD, -y)
        return up if self.is_turned else -up

    def holds(self, point: Point | Key | Blocker | Defender) -> bool:
        """Whether the point lies in the part of the field that is shown."""
        window = self.window
        return window.x_from <= point.x <= window.x_to and window.y_from <= point.y <= window.y_to


def _stepped(steps: Steps, depth_yd: float) -> float:
    index = min(bisect_right(steps, (depth_yd, FARTHEST_YD * 10)), len(steps) - 1)
    (from_yd, from_px), (to_yd, to_px) = steps[index - 1], steps[index]
    return from_px + (to_px - from_px) * (depth_yd - from_yd) / (to_yd - from_yd)


def _wide(x: float, core_from: float, core_to: float) -> float:
    inside = min(max(x, core_from), core_to)
    return inside + WIDE_SHARE * (x - inside)


def frame_of(scene: Scene, *, is_turned: bool = False) -> Frame:
    """The frame for a scene: that of the picture it is laid over; its own window when it has one; else a crop around
    everything that matters in it."""
    if scene.over is not None:
        return _widened(frame_of(scene.over, is_turned=is_turned), _crop(scene, _line_of(scene)))
    if scene.window is not None:
        window = scene.window
        core = (window.x_from, window.x_to)
    else:
        line = _line_of(scene)
        window = _crop(scene, line)
        core = (window.x_from, window.x_to)
        if window.x_to - window.x_from > CORE_YD:
            edges = _lane_edges(scene, line)
            core = (min(edges), max(edges))
    raw = _wide(window.x_to, *core) - _wide(window.x_from, *core)
    scale = min(LARGEST_SCALE, (WIDTH_PX - 2 * MARGIN_PX) / raw)
    lanes = sum(isinstance(tap.target, Span) for tap in scene.taps)
    return Frame(window, core[0], core[1], scale, (WIDTH_PX - raw * scale) / 2, is_turned, lanes > ONE_ROW)


def _widened(frame: Frame, window: Window) -> Frame:
    """The same frame with whatever lies in ``window`` shown too: every place keeps its pixel, and what is farther out
    than the picture stands at its edge."""
    both = Window(
        min(frame.window.x_from, window.x_from),
        max(frame.window.x_to, window.x_to),
        min(frame.window.y_from, window.y_from),
        max(frame.window.y_to, window.y_to),
    )
    core = frame.core_from, frame.core_to
    wider = _wide(frame.window.x_from, *core) - _wide(both.x_from, *core)
    return replace(frame, window=both, left_px=frame.left_px - wider * frame.scale)


def _line_of(scene: Scene) -> tuple[float, float]:
    """The leftmost and rightmost x of the men who stand shoulder to shoulder around the ball, in yards, or stood there
    where a track starts; where they leave the ball's place empty, of those on both sides of it alike."""
    starts = [track.points[0] for track in scene.tracks]
    men = [man.x for man in scene.blockers if abs(man.y) <= ON_LINE_YD]
    on_line = sorted([*men, *(point.x for point in starts if 0.0 <= point.y <= ON_LINE_YD)])
    if not on_line:
        return -3.2, 3.2
    runs = [[on_line[0]]]
    for before, after in pairwise(on_line):
        if after - before <= NEAR_YD:
            runs[-1].append(after)
        else:
            runs.append([after])
    nearest = min(map(_from_ball, runs))
    around = [x for run in runs if _from_ball(run) == nearest for x in run]
    return around[0], around[-1]


def _from_ball(run: list[float]) -> tuple[float, int]:
    """How far from the ball a row of men is, in yards; of two as far the one of more men comes first."""
    return max(run[0], -run[-1], 0.0), -len(run)


def _crop(scene: Scene, line: tuple[float, float]) -> Window:
    """The window around the line, everybody near it, and whatever the picture speaks of, wherever it is."""
    xs = _lane_edges(scene, line)
    ys = [-1.5, 1.5]
    named = _men_spoken_of(scene)
    ways: dict[str, Sequence[Key | Blocker | Defender]] = {motion.of: motion.keys for motion in scene.motions}
    for man in scene.men:
        places = ways.get(man.id, (man,))
        is_near = any(line[0] - NEAR_YD <= place.x <= line[1] + NEAR_YD for place in places)
        if is_near or scene.shows_all or man.id in named:
            xs += [edge for place in places for edge in (place.x - 0.8, place.x + 0.8)]
            ys += [place.y for place in places]
    points = [point for track in scene.tracks for point in track.points]
    points += [note.at for note in scene.notes if isinstance(note.at, Point)]
    xs += [edge for point in points for edge in (point.x - 0.3, point.x + 0.3)]
    ys += [point.y for point in points]
    middle = (min(xs) + max(xs)) / 2
    xs += [middle - 3.0, middle + 3.0]
    return Window(*(min(max(edge, -FARTHEST_YD), FARTHEST_YD) for edge in (min(xs), max(xs), min(ys), max(ys))))


def _lane_edges(scene: Scene, line: tuple[float, float]) -> list[float]:
    """The edges of all lanes, before and after motion, and room for an outside lane at either end, in yards."""
    xs = [line[0] - EDGE_LANE_YD, line[1] + EDGE_LANE_YD]
    for span in _spans_of(scene):
        for t in (0.0, scene.end_s):
            x_from, x_to = scene.span_x(span, t)
            if x_from is not None:
                xs += [x_from] if x_to is not None else [x_from, x_from + EDGE_LANE_YD]
            if x_to is not None:
                xs += [x_to] if x_from is not None else [x_to, x_to - EDGE_LANE_YD]
    return xs


def _spans_of(scene: Scene) -> list[Span]:
    return [band.span for band in scene.bands] + [tap.target for tap in scene.taps if isinstance(tap.target, Span)]


def _men_spoken_of(scene: Scene) -> set[str]:
    """The ids of the men whom the picture marks, names, taps or shows as the player's own."""
    named = {man.id for man in scene.defenders if man.is_own}
    named |= {mark.of for mark in scene.marks}
    named |= {note.at for note in scene.notes if isinstance(note.at, str)}
    named |= {target.of for target in map(_target, scene.taps) if isinstance(target, OnMan | OnHalf)}
    return named


def _target(tap: Tap) -> Span | OnMan | OnHalf | OnTrack:
    return tap.target
