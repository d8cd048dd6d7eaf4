"""Tap cells: what may be tapped gets a place a thumb can hit, at least 50 pixels each way, none over another.

Why it exists: 50 pixels of a picture are 44 on a phone 320 wide, and a gap can be a yard wide on the field and less. A
lane opens toward the defense into a head; a man stands on a plate; a block has two half discs. What it must not know:
SVG, which choice is right.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from quizgen.drawing.boxes import Box, spread
from quizgen.drawing.frame import ONE_ROW, WIDTH_PX, Frame
from quizgen.drawing.lines import XY
from quizgen.drawing.places import NAME_PX, DrawnMan, spread_widths
from quizgen.drawing.scene import Scene
from quizgen.drawing.values import OnHalf, OnMan, OnTrack, ScreenHalf, Span, Tap

SMALLEST_PX = 50.0
WIDEST_PX = 84.0
CHANNEL_PX = 18.0
OPEN_PX = 100.0
"""How much of an open side belongs to its lane."""
NECK_TOP_PX = -20.0
NECK_END_PX = 20.0
HEAD_TOP_PX = 46.0
HEAD_PX = 54.0
HALF_PX = 52.0
MIDDLE = WIDTH_PX / 2


@dataclass(frozen=True, slots=True)
class TapCell:
    """One tap in pixels: ``hit`` is its area, ``anchor`` the place on the field it stands for.

    ``gap`` holds the edges of a lane, else None; ``outline`` are the corners of a lane's shape.
    """

    tap: Tap
    hit: Box
    anchor: XY
    gap: tuple[float, float] | None = None
    outline: tuple[XY, ...] = ()


def cells_of(scene: Scene, frame: Frame, men: Mapping[str, DrawnMan]) -> tuple[TapCell, ...]:
    """The cells of all taps, in the order of the taps."""
    found: dict[str, TapCell] = {}
    lanes = []
    for tap in scene.taps:
        if isinstance(tap.target, Span):
            lanes.append(TapCell(tap, Box(0, 0, 0, 0), (0.0, 0.0), neck(tap.target, men, frame)))
        elif isinstance(tap.target, OnTrack):
            found[tap.id] = _at_end(tap, tap.target, scene, frame)
        else:
            found[tap.id] = _on_man(tap, tap.target, men[tap.target.of].box())
    found |= {cell.tap.id: cell for cell in _heads(lanes)}
    paths = [found[tap.id] for tap in scene.taps if isinstance(tap.target, OnTrack)]
    for cell, x in zip(sorted(paths, key=lambda one: one.anchor[0]), _paths_apart(paths), strict=True):
        found[cell.tap.id] = replace(cell, hit=Box(x, cell.hit.y, SMALLEST_PX, SMALLEST_PX))
    return tuple(found[tap.id] for tap in scene.taps)


def neck(span: Span, men: Mapping[str, DrawnMan], frame: Frame, t_s: float = 0.0) -> tuple[float, float]:
    """Where a stretch is at the line of scrimmage, in pixels, between its men as they are drawn."""
    edges: list[float | None] = []
    for man, x in ((span.left, span.x_from), (span.right, span.x_to)):
        if man is not None:
            edges.append(men[man].box(t_s).x)
        else:
            edges.append(None if x is None else frame.x_px(x))
    low, high = reversed(edges) if frame.is_turned else edges
    left = low if low is not None else max(1.5, (high if high is not None else WIDTH_PX) - OPEN_PX)
    right = high if high is not None else min(WIDTH_PX - 1.5, left + OPEN_PX)
    return left, right


def _heads(lanes: Sequence[TapCell]) -> list[TapCell]:
    """Lanes with their heads side by side, in one row; those of more than seven in two, the second ones reached
    between the first."""
    if not lanes:
        return []
    order = sorted(lanes, key=_middle)
    middles = [_middle(cell) for cell in order]
    if len(order) <= ONE_ROW:
        widths = _widths([_wide(cell) for cell in order], WIDTH_PX)
        sides = _touching(order, spread_widths(middles, widths), widths)
        return [_laid(cell, *side, side, 0) for cell, side in zip(order, sides, strict=True)]
    upper, lower = order[::2], order[1::2]
    room = WIDTH_PX - CHANNEL_PX * len(lower)
    wide = iter(_widths([_wide(cell) for cell in upper], room))
    widths = [next(wide) if index % 2 == 0 else CHANNEL_PX for index in range(len(order))]
    places = spread_widths(middles, widths)
    found = [
        _laid(cell, x - width / 2, x + width / 2, None, 0)
        for cell, x, width in list(zip(order, places, widths, strict=True))[::2]
    ]
    heads = _widths([_wide(cell) for cell in lower], WIDTH_PX)
    at = spread_widths(places[1::2], heads)
    for cell, x, channel, width in zip(lower, at, places[1::2], heads, strict=True):
        inside = channel - CHANNEL_PX / 2, channel + CHANNEL_PX / 2
        found.append(_laid(cell, x - width / 2, x + width / 2, inside, 1))
    return found


def _middle(cell: TapCell) -> float:
    assert cell.gap is not None
    return sum(cell.gap) / 2


def _wide(cell: TapCell) -> float:
    assert cell.gap is not None
    return cell.gap[1] - cell.gap[0]


def _widths(wanted: Sequence[float], room: float) -> list[float]:
    """How wide each head is: as its lane, but no narrower than a finger; what lacks comes from the widest."""
    widths = [min(max(width, SMALLEST_PX), WIDEST_PX) for width in wanted]
    over = sum(widths) - room
    if over > 0:
        spare = sum(widths) - SMALLEST_PX * len(widths)
        share = min(1.0, over / spare) if spare > 0 else 1.0
        widths = [width - (width - SMALLEST_PX) * share for width in widths]
    return widths


def _touching(order: Sequence[TapCell], places: Sequence[float], widths: Sequence[float]) -> list[tuple[float, float]]:
    """The sides of heads; those of neighbouring lanes meet."""
    sides = [[x - width / 2, x + width / 2] for x, width in zip(places, widths, strict=True)]
    for index, (one, two) in enumerate(pairwise(order)):
        assert one.gap is not None
        assert two.gap is not None
        if abs(one.gap[1] - two.gap[0]) < 1.0:
            sides[index][1] = sides[index + 1][0] = (sides[index][1] + sides[index + 1][0]) / 2
    return [(left, right) for left, right in sides]


def _laid(cell: TapCell, left: float, right: float, channel: tuple[float, float] | None, row: int) -> TapCell:
    """A lane with its head in a row; one of the second row goes down between the heads of the first."""
    assert cell.gap is not None
    low, high = cell.gap[0] + 1.5, cell.gap[1] - 1.5
    if high - low < 4.0:
        low, high = _middle(cell) - 2.0, _middle(cell) + 2.0
    top = HEAD_TOP_PX + row * HEAD_PX
    hit = Box((left + right) / 2, top + HEAD_PX / 2, right - left, HEAD_PX)
    a, b = left + 1.5, right - 1.5
    right_side: list[XY] = [(high, NECK_TOP_PX), (high, NECK_END_PX)]
    left_side: list[XY] = [(low, NECK_END_PX), (low, NECK_TOP_PX)]
    if row and channel is not None:
        inner = channel[0] + 1.5, channel[1] - 1.5
        right_side += [(inner[1], HEAD_TOP_PX), (inner[1], top + 1.5)]
        left_side = [(inner[0], top + 1.5), (inner[0], HEAD_TOP_PX), *left_side]
        right_side.append((b, top + 1.5))
        left_side = [(a, top + 1.5), *left_side]
    else:
        right_side.append((b, top))
        left_side = [(a, top), *left_side]
    bottom = top + HEAD_PX - 1.5
    outline = (*right_side, (b, bottom), (a, bottom), *left_side)
    return replace(cell, hit=hit, anchor=(_middle(cell), 0.0), outline=outline)


def _on_man(tap: Tap, target: OnMan | OnHalf, at: Box) -> TapCell:
    if isinstance(target, OnMan):
        return TapCell(tap, Box(at.x, at.y + (NAME_PX if tap.words else 0.0), SMALLEST_PX, SMALLEST_PX), (at.x, at.y))
    way = -1.0 if target.half is ScreenHalf.LEFT else 1.0
    x = min(max(at.x, HALF_PX), WIDTH_PX - HALF_PX)
    return TapCell(tap, Box(x + way * HALF_PX / 2, at.y, HALF_PX, 2 * HALF_PX), (at.x + way * 6.0, at.y))


def _at_end(tap: Tap, target: OnTrack, scene: Scene, frame: Frame) -> TapCell:
    track = next(track for track in scene.tracks if track.id == target.of)
    x, y = frame.px(track.points[-1])
    return TapCell(tap, Box(x, y - SMALLEST_PX / 2 - 4.0, SMALLEST_PX, SMALLEST_PX), (x, y))


def _paths_apart(paths: Sequence[TapCell]) -> list[float]:
    xs = sorted(cell.anchor[0] for cell in paths)
    return spread(xs, SMALLEST_PX, SMALLEST_PX / 2, WIDTH_PX - SMALLEST_PX / 2)
