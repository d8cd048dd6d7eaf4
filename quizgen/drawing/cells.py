"""Tap cells: what may be tapped gets a place a thumb can hit, at least 44 pixels each way, none over another.

Why it exists: a gap can be a yard wide on the field and less. Where the thing itself is large enough and free, the cell
lies on it. Where it is not, the cells are spread in a row nearby and each is joined to its thing. What it must not
know: SVG, which choice is right.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations, count

from quizgen.drawing.boxes import Box, spread, text_width
from quizgen.drawing.frame import EDGE_LANE_YD, WIDTH_PX, Frame
from quizgen.drawing.scene import Scene
from quizgen.drawing.values import OnHalf, OnMan, OnTrack, ScreenHalf, Span, Tap

SMALLEST_PX = 44.0
LIKED_PX = 48.0
FARTHEST_SHIFT_PX = 10.0
CHIP_HEIGHT_PX = 30.0
ROW_LIMIT = int(WIDTH_PX // SMALLEST_PX)
STEP_PX = 6.0


@dataclass(frozen=True, slots=True)
class TapCell:
    """One tap in pixels: ``hit`` is its area, ``anchor`` the place on the field it stands for.

    ``chip`` is the drawn button, None where the thing itself is tapped. ``gap`` holds the edges of a lane, else None.
    """

    tap: Tap
    hit: Box
    anchor: tuple[float, float]
    chip: Box | None = None
    gap: tuple[float, float] | None = None


def cells_of(scene: Scene, frame: Frame, obstacles: Sequence[Box]) -> tuple[TapCell, ...]:
    """The cells of all taps, in the order of the taps; chips keep clear of ``obstacles`` (symbols, in pixels)."""
    on_things = [_cell_on_thing(tap, scene, frame) for tap in scene.taps if not isinstance(tap.target, Span)]
    lanes = [_cell_of_lane(tap, tap.target, scene, frame) for tap in scene.taps if isinstance(tap.target, Span)]
    cells: list[TapCell] = []
    direct, crowded = _settled(on_things)
    cells += direct
    for row in crowded:
        cells += _chip_row(row, cells, obstacles, _outward(row))
    if lanes:
        cells += _chip_row(lanes, cells, obstacles, _around_line(frame.scale))
    order = {tap.id: index for index, tap in enumerate(scene.taps)}
    return tuple(sorted(cells, key=lambda cell: order[cell.tap.id]))


def _cell_on_thing(tap: Tap, scene: Scene, frame: Frame) -> TapCell:
    if isinstance(tap.target, OnMan):
        x, y = frame.px(scene.place(tap.target.of))
        return TapCell(tap, Box(x, y, LIKED_PX, LIKED_PX), (x, y))
    if isinstance(tap.target, OnHalf):
        x, y = frame.px(scene.place(tap.target.of))
        way = -1.0 if (tap.target.half is ScreenHalf.LEFT) != frame.is_turned else 1.0
        return TapCell(tap, Box(x + way * SMALLEST_PX / 2, y, SMALLEST_PX, LIKED_PX), (x + way * 6.0, y))
    assert isinstance(tap.target, OnTrack)
    track = next(track for track in scene.tracks if track.id == tap.target.of)
    (x, y), (from_x, from_y) = frame.px(track.points[-1]), frame.px(track.points[-2])
    length = max(1.0, ((x - from_x) ** 2 + (y - from_y) ** 2) ** 0.5)
    beyond = (x + (x - from_x) / length * 20.0, y + (y - from_y) / length * 20.0)
    chip = _chip(tap, *beyond, SMALLEST_PX)
    return TapCell(tap, Box(*beyond, LIKED_PX, LIKED_PX), (x, y), chip)


def _cell_of_lane(tap: Tap, span: Span, scene: Scene, frame: Frame) -> TapCell:
    x_from, x_to = scene.span_x(span)
    ends = (frame.window.x_from, frame.window.x_to)
    low = x_from if x_from is not None else max(ends[0], (x_to if x_to is not None else ends[1]) - EDGE_LANE_YD)
    high = x_to if x_to is not None else min(ends[1], (x_from if x_from is not None else ends[0]) + EDGE_LANE_YD)
    left, right = sorted((frame.x_px(low), frame.x_px(high)))
    middle = (left + right) / 2
    return TapCell(tap, Box(middle, 0.0, LIKED_PX, LIKED_PX), (middle, 0.0), None, (left, right))


def _chip(tap: Tap, x: float, y: float, cell_width: float) -> Box:
    width = min(cell_width - 4.0, max(32.0, text_width(tap.mark, 14.0) + 10.0))
    return Box(x, y, width, CHIP_HEIGHT_PX)


def _settled(cells: list[TapCell]) -> tuple[list[TapCell], list[list[TapCell]]]:
    """The cells that can lie on their things, and rows of those that are too close together for it."""
    for size in (LIKED_PX, SMALLEST_PX):
        resized = [_on_hit(cell, Box(*_inside(cell.hit), min(size, cell.hit.width), size)) for cell in cells]
        if not any(one.hit.overlaps(two.hit) for one, two in combinations(resized, 2)):
            return resized, []
    kept: list[list[TapCell]] = []
    crowded: list[list[TapCell]] = []
    for row in _rows(resized):
        shifted = _shifted_row(row)
        (kept if shifted else crowded).append(shifted or row)
    means = [sum(cell.hit.y for cell in row) / len(row) for row in kept]
    heights = spread(means, SMALLEST_PX, min(means, default=0.0) - 400.0, max(means, default=0.0) + 400.0)
    settled = [
        [_on_hit(cell, Box(cell.hit.x, height, cell.hit.width, cell.hit.height)) for cell in row]
        for row, height in zip(kept, heights, strict=True)
    ]
    if all(
        abs(new.hit.y - old.hit.y) <= FARTHEST_SHIFT_PX
        for new_row, old_row in zip(settled, kept, strict=True)
        for new, old in zip(new_row, old_row, strict=True)
    ):
        return [cell for row in settled for cell in row], crowded
    return [], sorted(kept + crowded, key=lambda row: row[0].hit.y)


def _on_hit(cell: TapCell, hit: Box) -> TapCell:
    """The cell with another area, its chip (if it has one) in the middle of it."""
    chip = None if cell.chip is None else Box(hit.x, hit.y, cell.chip.width, cell.chip.height)
    return replace(cell, hit=hit, chip=chip)


def _inside(box: Box) -> tuple[float, float]:
    return min(max(box.x, box.width / 2), WIDTH_PX - box.width / 2), box.y


def _rows(cells: list[TapCell]) -> list[list[TapCell]]:
    rows: list[list[TapCell]] = []
    for cell in sorted(cells, key=lambda cell: (cell.hit.y, cell.hit.x)):
        if rows and cell.hit.y - rows[-1][0].hit.y <= SMALLEST_PX / 2:
            rows[-1].append(cell)
        else:
            rows.append([cell])
    return rows


def _shifted_row(row: list[TapCell]) -> list[TapCell]:
    """The row pushed apart sideways, or [] when somebody would be pushed too far."""
    if len(row) > ROW_LIMIT:
        return []
    ordered = sorted(row, key=lambda cell: cell.hit.x)
    half = SMALLEST_PX / 2
    places = spread([cell.hit.x for cell in ordered], SMALLEST_PX, half, WIDTH_PX - half)
    if any(abs(cell.hit.x - x) > FARTHEST_SHIFT_PX for cell, x in zip(ordered, places, strict=True)):
        return []
    return [
        _on_hit(cell, Box(x, cell.hit.y, SMALLEST_PX, cell.hit.height)) for cell, x in zip(ordered, places, strict=True)
    ]


def _outward(row: list[TapCell]) -> Iterator[float]:
    """Heights for a row of chips beside a row of men: away from the line of scrimmage."""
    start = sum(cell.hit.y for cell in row) / len(row)
    way = -1.0 if start < 1.0 else 1.0
    return (start + way * (SMALLEST_PX + STEP_PX * step) for step in count())


def _around_line(scale: float) -> Iterator[float]:
    """Heights for the row of lane chips: just behind the offense's line, else in front of the defense, else far up."""
    near, far = 1.95 * scale, 4.5 * scale
    yield from (-height for height in _steps(near, far))
    yield from _steps(near, 3.6 * scale)
    yield from (-(far + STEP_PX * step) for step in count())


def _steps(start: float, stop: float) -> Iterator[float]:
    return (start + STEP_PX * step for step in range(int((stop - start) / STEP_PX) + 1))


def _chip_row(
    cells: list[TapCell], placed: Sequence[TapCell], obstacles: Sequence[Box], heights: Iterator[float]
) -> list[TapCell]:
    """The cells as chips in one row (more when they are many) at the first height that is free."""
    ordered = sorted(cells, key=lambda cell: (cell.anchor[0], cell.hit.x))
    rows = -(-len(ordered) // ROW_LIMIT)
    width = max(SMALLEST_PX, min(LIKED_PX, WIDTH_PX / -(-len(ordered) // rows)))
    laid: list[TapCell] = []
    for row in range(rows):
        members = ordered[row::rows]
        places = spread([cell.anchor[0] for cell in members], width, width / 2, WIDTH_PX - width / 2)
        lay = _row_layer(members, places, width)
        for height in heights:
            trial = lay(height)
            if _is_free(trial, [*placed, *laid], obstacles):
                laid += trial
                break
    return laid


def _row_layer(members: list[TapCell], places: list[float], width: float) -> Callable[[float], list[TapCell]]:
    def lay(height: float) -> list[TapCell]:
        return [
            replace(cell, hit=Box(x, height, width, LIKED_PX), chip=_chip(cell.tap, x, height, width))
            for cell, x in zip(members, places, strict=True)
        ]

    return lay


def _is_free(trial: Sequence[TapCell], placed: Sequence[TapCell], obstacles: Sequence[Box]) -> bool:
    if any(cell.hit.overlaps(other.hit) for cell in trial for other in placed):
        return False
    return not any(
        cell.chip is not None and cell.chip.overlaps(obstacle, gap=3.0) for cell in trial for obstacle in obstacles
    )
