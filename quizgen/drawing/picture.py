"""The picture: a scene laid out in pixels, ready to be written down. It can be checked without reading any SVG.

Why it exists: layout and writing are two thoughts. Tests look at the boxes here. What it must not know: SVG elements,
colours, football.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from quizgen.drawing import labels
from quizgen.drawing.boxes import Box
from quizgen.drawing.cells import TapCell, cells_of, neck
from quizgen.drawing.crowd import Crowd, bead
from quizgen.drawing.frame import WIDTH_PX, Frame, frame_of
from quizgen.drawing.key import SIGNS, TONES, Caption, Corner, DrawnLine, Strip, captions_of, corner_of, is_told
from quizgen.drawing.labels import Label, Path, Thing
from quizgen.drawing.lines import XY, along, trimmed
from quizgen.drawing.places import RADIUS_PX, DrawnMan, Spread, men_of
from quizgen.drawing.scene import Scene
from quizgen.drawing.values import (
    Band,
    BandState,
    Blocker,
    Defender,
    End,
    Motion,
    Point,
    Track,
    TrackPhase,
)

TOP_PX = -132.0
BOTTOM_PX = 180.0
EDGE_PX = 8.0
CORNER_PX = 12.0
CORNER_WIDE_PX = 96.0
STEM_FROM_PX = 20.0
HERE_PX = 10.0
ON_LINE_PX = 44.0
NEAR_STEPS = 5
GHOST_PX = 10.0
OWN_FROM_PX = 14.0
GHOST_FROM_PX = 9.0
"""Who has moved less than this left no place that could be seen beside him."""
LINE_FROM_PX = 24.0
RUN_FROM_PX = 40.0
NUMBER_FROM_PX = 34.0
"""A way shorter than this lies under the signs at its ends."""
HIP_PX = (17.0, 10.0)
GROUND_PX = 16.0
HANDED_S = 0.2
BOX_PX: Mapping[BandState, tuple[float, float]] = {
    BandState.PLAIN: (-21.0, 21.0),
    BandState.OPEN: (-27.0, 31.0),
    BandState.RIGHT: (-34.0, 42.0),
    BandState.WRONG: (-20.0, 30.0),
}
"""Upper and lower edge of a lane's box."""


@dataclass(frozen=True, slots=True)
class Picture:
    """Everything drawn, in pixels of a picture 360 wide whose line of scrimmage is at height 0."""

    scene: Scene
    frame: Frame
    men: tuple[DrawnMan, ...]
    cells: tuple[TapCell, ...]
    lines: tuple[DrawnLine, ...]
    strips: tuple[Strip, ...]
    labels: tuple[Label, ...]
    ghosts: tuple[tuple[XY, bool], ...]
    ball: Path
    corners: tuple[Corner, ...]
    captions: tuple[Caption, ...]
    top: float
    bottom: float

    @property
    def height(self) -> float:
        """The picture's height in pixels."""
        return self.bottom - self.top


def compose(scene: Scene, *, is_turned: bool = False) -> Picture:
    """Lay a scene out in pixels; ``is_turned`` shows it from the offense's side (without taps, with its scout team's
    ways)."""
    if not is_turned and any(track.is_scout for track in scene.tracks):
        scene = replace(scene, tracks=tuple(track for track in scene.tracks if not track.is_scout))
    frame = frame_of(scene, is_turned=is_turned)
    men, spread = men_of(scene, frame)
    drawn = {man.man.id: man for man in men}
    motions = {motion.of: motion for motion in scene.motions}
    cells = () if is_turned else cells_of(scene, frame, drawn)
    found = (_line(track, men, drawn.get(track.of), frame, spread, motions) for track in scene.tracks)
    lines = tuple(line for line in found if line is not None)
    strips = tuple(_strip(band, scene, frame, drawn) for band in scene.bands)
    corners = tuple(corner_of(strip, scene.end_s) for strip in strips if strip.band.number or strip.band.state in SIGNS)
    words = _labels(scene, frame, men, cells, lines, strips)
    ball = _ball(scene, drawn)
    top, bottom = _edges(scene, frame, men, cells, lines, words)
    if scene.captions.left and _stands_in_a_corner(men, bottom):
        bottom += CORNER_PX
    captions = captions_of(scene, men, lines, strips, bottom)
    ghosts = _ghosts(men, frame)
    return Picture(scene, frame, men, cells, lines, strips, words, ghosts, ball, corners, captions, top, bottom)


def _line(
    track: Track,
    men: tuple[DrawnMan, ...],
    man: DrawnMan | None,
    frame: Frame,
    spread: Spread,
    motions: Mapping[str, Motion],
) -> DrawnLine | None:
    """A track in pixels; None for the short step of a man, which his own sign hides."""
    points = [frame.px(point) for point in track.points]
    points = [points[0], *(spread.px(*point) for point in points[1:])]
    if track.of and man is None:
        return None  # he is outside the picture
    if man is not None:
        moves, is_there = len(man.path) > 1, track.points[-1] == _end_of(man, motions)
        if moves and track.points[0] == Point(man.man.x, man.man.y):
            points[0] = man.path[0][1:]
        if is_there:
            points[-1] = man.path[-1][1:]
        least = RUN_FROM_PX if isinstance(man.man, Defender) and not man.is_own else LINE_FROM_PX
        if track.end is not End.T and math.dist(points[0], points[-1]) < least:
            return None
        grown = _grown(track, points, motions.get(track.of))
        if man.is_own and moves:
            return DrawnLine(track, tuple(trimmed(points, OWN_FROM_PX, 0.0)), grown)
        if track.end is End.T:
            return DrawnLine(track, (*points[:-1], _ahead(points)), grown)
        start = GHOST_PX if isinstance(man.man, Blocker) else 12.0
        end = _half(man) + (0.0 if track.end is End.PLAIN else 3.0) if is_there else 0.0
        return DrawnLine(track, tuple(trimmed(points, start + 1.0, end)), grown, is_ahead=not is_there)
    here = [one for one in men if _distance(one, points[0]) < HERE_PX]
    start = max((_half(one) + 3.0 for one in here), default=0.0)
    end = 0.0
    if track.end is not End.PLAIN:
        others = [one for one in men if one not in here]
        end = max((_half(one) + 4.0 - _distance(one, points[-1]) for one in others), default=0.0)
    return DrawnLine(track, tuple(trimmed(points, start, max(0.0, end))))


def _end_of(man: DrawnMan, motions: Mapping[str, Motion]) -> Point:
    motion = motions.get(man.man.id)
    return Point(man.man.x, man.man.y) if motion is None else Point(motion.keys[-1].x, motion.keys[-1].y)


def _ahead(points: Sequence[XY]) -> XY:
    """The point in front of a blocker at the end of his way where his block is drawn, past his own sign."""
    (x, y), before = points[-1], points[-2]
    length = math.dist(before, (x, y)) or 1.0
    reach = RADIUS_PX + 7.0
    return x + (x - before[0]) / length * reach, y + (y - before[1]) / length * reach


def _grown(track: Track, points: Sequence[XY], motion: Motion | None) -> tuple[tuple[float, float], ...]:
    """How much of a way has been run, as its man runs it."""
    if motion is None or track.phase is TrackPhase.SECOND:
        return ()
    lengths = [math.dist(one, two) for one, two in pairwise(points)]
    total, gone, index = sum(lengths) or 1.0, 0.0, 0
    found: list[tuple[float, float]] = []
    for key in motion.keys:
        place = Point(key.x, key.y)
        if found and index + 1 < len(points) and place == track.points[index + 1]:
            gone += lengths[index]
            index += 1
        elif place != track.points[index]:
            continue
        if len(found) > 1 and found[-1][1] == found[-2][1] == gone / total:
            found.pop()
        found.append((key.t_s, gone / total))
    return tuple(found) if len(found) > 1 else ()


def _half(man: DrawnMan) -> float:
    return max(man.width, man.height) / 2 if man.is_own else man.height / 2


def _distance(man: DrawnMan, point: XY) -> float:
    return math.dist(man.path[0][1:], point)


def _strip(band: Band, scene: Scene, frame: Frame, men: Mapping[str, DrawnMan]) -> Strip:
    times = {0.0}
    for name in (band.span.left, band.span.right):
        if name is not None:
            times |= {t_s for t_s, _, _ in men[name].path}
    keys = []
    for t_s in sorted(times):
        left, right = neck(band.span, men, frame, t_s)
        keys.append((t_s, (left + right) / 2, max(0.0, right - left)))
    top, bottom = BOX_PX[band.state]
    return Strip(band, tuple(keys), *((-bottom, -top) if frame.is_turned else (top, bottom)))


def _ghosts(men: tuple[DrawnMan, ...], frame: Frame) -> tuple[tuple[XY, bool], ...]:
    """Where men stood who have moved, and whether it was his own man; of the others on the defense only who is said to
    have been elsewhere."""
    found: list[tuple[XY, bool]] = []
    for man in men:
        here = man.path[-1][1:]
        if man.man.was is not None:
            start = frame.px(man.man.was)
        elif isinstance(man.man, Blocker) or man.is_own:
            start = man.path[0][1:]
        else:
            continue
        if math.dist(start, here) >= GHOST_FROM_PX:
            found.append((start, man.is_own))
    return tuple(found)


def _ball(scene: Scene, men: Mapping[str, DrawnMan]) -> Path:
    """Where the ball is over time: on the ground before the center, else at the hip of who has it."""
    if scene.ball is None or any(name not in men for _, name in scene.ball.holders):
        return ()
    keys: list[tuple[float, float, float]] = []
    holders = scene.ball.holders
    for number, (from_s, name) in enumerate(holders):
        to_s = holders[number + 1][0] if number + 1 < len(holders) else math.inf
        path = men[name].path
        times = [from_s, *(t_s for t_s, _, _ in path if from_s < t_s < to_s - HANDED_S)]
        if to_s < math.inf and to_s - HANDED_S > times[-1]:
            times.append(to_s - HANDED_S)
        keys += [(t_s, *_carried(men[name], t_s)) for t_s in times]
    while len(keys) > 1 and keys[-1][1:] == keys[-2][1:]:
        keys.pop()
    return tuple(keys)


def _carried(man: DrawnMan, t_s: float) -> XY:
    x, y = labels.at(man.path, t_s)
    if abs(y) < RADIUS_PX:
        return x, y + GROUND_PX
    out = HIP_PX[0] if x + HIP_PX[0] < WIDTH_PX - 8.0 else -HIP_PX[0]
    return x + out, y + HIP_PX[1]


def _labels(
    scene: Scene,
    frame: Frame,
    men: tuple[DrawnMan, ...],
    cells: tuple[TapCell, ...],
    lines: tuple[DrawnLine, ...],
    strips: tuple[Strip, ...],
) -> tuple[Label, ...]:
    """Every label in its place; the ones that can move least are placed first."""
    numbered = any(line.track.order is not None for line in lines)
    if not (scene.notes or numbered or (strips and scene.over is None)):
        return ()
    crowd = Crowd(scene.end_s, [*(band.from_s for band in scene.bands), *(note.from_s for note in scene.notes)])
    for man in men:
        crowd.add(Thing(man.path, man.width, man.height))
    for cell in cells:
        crowd.add(Thing(((0.0, cell.hit.x, cell.hit.y),), cell.hit.width, cell.hit.height))
    done: list[Label] = []
    for strip in strips if scene.over is None else ():
        label = _strip_label(strip)
        if label is not None:
            done.append(_with_stem(_settled(crowd, label, _levels(strip, frame)), strip, scene.end_s))
    beads = {line.track.id: [bead(x, y, 3.0) for x, y in _beads(line)] for line in lines}
    for line in lines:
        if line.track.order is not None and math.dist(line.points[0], line.points[-1]) >= NUMBER_FROM_PX:
            others = [one for name, some in beads.items() if name != line.track.id for one in some]
            number, _ = crowd.place(*_order_label(line), beads=others, is_at_rest=True)
            crowd.add(number)
            done.append(number)
    every = [one for some in beads.values() for one in some]
    return (*done, *(crowd.settle(label, offsets, every) for label, offsets in _notes(scene, frame, men)))


def _settled(crowd: Crowd, label: Label, levels: list[tuple[float, float]]) -> Label:
    """The band's label near its band: clear of everything all the time, else when it comes and at the end; far off
    only where neither can be had."""
    near = levels[: 2 * NEAR_STEPS]
    for is_at_rest in (False, True):
        found, clash = crowd.place(label, near, is_at_rest=is_at_rest)
        if clash == 0.0:
            crowd.add(found)
            return found
    return crowd.settle(label, levels)


def _strip_label(strip: Strip) -> Label | None:
    if not strip.band.label:
        return None
    path = tuple((t, x, 0.0) for t, x, _ in strip.path)
    width, height = labels.size_of(strip.band.label)
    return Label(strip.band.label, path, width, height, None, False, strip.band.from_s, strip.band.to_s)


def _levels(strip: Strip, frame: Frame) -> list[tuple[float, float]]:
    """Heights to try for a band's label: at its end behind the offense, at its end before the defense, then farther."""
    behind, ahead = (strip.bottom, strip.top) if frame.is_turned else (strip.top, strip.bottom)
    out = 1.0 if frame.is_turned else -1.0
    levels = []
    for step in range(NEAR_STEPS):
        away = 10.0 + 9.0 * step
        levels += [(0.0, behind + out * away), (0.0, ahead - out * away)]
    return levels + [(0.0, behind + out * (55.0 + 9.0 * step)) for step in range(40)]


def _with_stem(label: Label, strip: Strip, end_s: float) -> Label:
    """The band's label with a thin line to the band when it stands apart from it."""
    box = label.box(end_s)
    edge = strip.top if box.y < strip.top else strip.bottom
    if abs(edge - box.y) < STEM_FROM_PX:
        return label
    return replace(label, stem=(labels.at(strip.path, end_s)[0] - box.x, edge - box.y))


def _order_label(line: DrawnLine) -> tuple[Label, list[tuple[float, float]]]:
    """The number of a track: on its line, where that is long enough to be seen on either side, else beside it."""
    label = Label(str(line.track.order), ((0.0, 0.0, 0.0),), 17.0, 17.0, None, True)
    is_long = math.dist(line.points[0], line.points[-1]) >= ON_LINE_PX
    offsets = [along(line.points, share)[0] for share in (0.35, 0.25, 0.45, 0.55)] if is_long else []
    for share in (0.15, 0.25, 0.35, 0.5, 0.65, 0.05):
        for aside in (12.0, -12.0, 16.0, -16.0, 22.0, -22.0, 30.0, -30.0, 42.0, -42.0):
            (x, y), (dx, dy) = along(line.points, share)
            offsets.append((x - dy * aside, y + dx * aside))
    x, y = line.points[0]
    return label, [*offsets, *((x + dx, y + dy) for dx, dy in labels.around(0.0, 0.0, first=20.0))]


def _beads(line: DrawnLine) -> list[XY]:
    length = sum(math.dist(a, b) for a, b in pairwise(line.points))
    count = max(2, int(length / 8.0))
    return [along(line.points, step / count)[0] for step in range(count + 1)]


def _notes(scene: Scene, frame: Frame, men: tuple[DrawnMan, ...]) -> list[tuple[Label, list[tuple[float, float]]]]:
    drawn = {man.man.id: man for man in men}
    found = []
    for note in scene.notes:
        if is_told(scene, note):
            continue
        sign = TONES[note.tone]
        width, height = labels.size_of(note.text, sign)
        if isinstance(note.at, Point):
            path: Path = ((0.0, *frame.px(note.at)),)
            offsets = labels.around(width, height)
        elif note.at in drawn:
            man = drawn[note.at]
            path = man.path
            offsets = labels.around(width, height, first=max(man.width, man.height) / 2 + 3.0)
        else:
            continue
        found.append((Label(note.text, path, width, height, sign, False, note.from_s), offsets))
    return found


def _stands_in_a_corner(men: tuple[DrawnMan, ...], bottom: float) -> bool:
    """Whether somebody is where the words in the lower corners go."""
    places = ((x, y, man) for man in men for _, x, y in (man.path[0], man.path[-1]))
    return any(
        y + man.height / 2 > bottom - CORNER_PX - 8.0 and (x < CORNER_WIDE_PX or x > WIDTH_PX - CORNER_WIDE_PX)
        for x, y, man in places
    )


def _edges(
    scene: Scene,
    frame: Frame,
    men: tuple[DrawnMan, ...],
    cells: tuple[TapCell, ...],
    lines: tuple[DrawnLine, ...],
    words: tuple[Label, ...],
) -> tuple[float, float]:
    """Upper and lower edge of the picture, so that everything is in it at any time; the same for most pictures."""
    lowest = BOTTOM_PX + (frame.y_px(-60.0) - Frame.y_px(replace(frame, has_two_rows=False), -60.0))
    edges = (TOP_PX, lowest) if not frame.is_turned else (-lowest, -TOP_PX)
    boxes = [Box(x, y, man.width + 6.0, man.height + 6.0) for man in men for _, x, y in man.path]
    boxes += [cell.hit for cell in cells]
    boxes += [Box(x, y, 8.0, 8.0) for line in lines for x, y in line.points]
    boxes += [Box(x, y, label.width, label.height) for label in words for _, x, y in label.path]
    top = min(min((box.top for box in boxes), default=0.0) - EDGE_PX, edges[0])
    bottom = max(max((box.bottom for box in boxes), default=0.0) + EDGE_PX, edges[1])
    return math.floor(top), math.ceil(bottom)
