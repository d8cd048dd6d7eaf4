"""The picture: a scene laid out in pixels, ready to be written down. It can be checked without reading any SVG.

Why it exists: layout and writing are two thoughts. Tests look at the boxes here. What it must not know: SVG elements,
colours, football.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import combinations, pairwise

from quizgen.drawing import labels
from quizgen.drawing.boxes import Box, text_width
from quizgen.drawing.cells import TapCell, cells_of
from quizgen.drawing.crowd import Crowd, bead
from quizgen.drawing.frame import WIDTH_PX, Frame, frame_of
from quizgen.drawing.labels import Label, Path, Sign, Thing
from quizgen.drawing.lines import XY, along, trimmed
from quizgen.drawing.motion import man_path, span_path
from quizgen.drawing.scene import Scene
from quizgen.drawing.values import (
    Band,
    BandState,
    Blocker,
    Defender,
    End,
    MarkKind,
    Point,
    Tone,
    Track,
)

LETTER_PX = 15.0
OWN_HEIGHT_PX = 30.0
EDGE_PX = 10.0
SMALLEST_HEIGHT_PX = 150.0
STEM_FROM_PX = 20.0
HERE_PX = 10.0
CROWDED_PX = 9.0
CROWDED_DEEP_PX = 22.0
DEEP_PX = 60.0
SIDE_PX = 45.0
APART_ROUNDS = 8
ON_LINE_PX = 44.0
NEAR_STEPS = 5
BAND_TOP_YD = 1.3
BAND_BOTTOM_YD = 1.55


@dataclass(frozen=True, slots=True)
class DrawnMan:
    """A man in pixels: the box of his symbol (centred on his place) and where he is over time."""

    man: Blocker | Defender
    width: float
    height: float
    path: Path
    marks: tuple[MarkKind, ...] = ()

    def box(self, t_s: float = 0.0) -> Box:
        """The box of his symbol at a time."""
        return Box(*labels.at(self.path, t_s), self.width, self.height)


@dataclass(frozen=True, slots=True)
class DrawnLine:
    """A track in pixels, cut back to the edges of the symbols it joins."""

    track: Track
    points: tuple[XY, ...]


@dataclass(frozen=True, slots=True)
class Strip:
    """A gap band in pixels: middle and width over time (see `span_path`), upper and lower edge."""

    band: Band
    path: Path
    top: float
    bottom: float


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
    sights: tuple[tuple[XY, XY], ...]
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
    men = apart(tuple(_man(man, scene, frame) for man in scene.men if _is_in(scene, frame, man.id)), frame)
    cells = () if is_turned else cells_of(scene, frame, [man.box(t) for man in men for t in (0.0, scene.end_s)])
    lines = tuple(_line(track, men, frame) for track in scene.tracks)
    strips = tuple(_strip(band, scene, frame) for band in scene.bands)
    words = _labels(scene, frame, men, cells, lines, strips)
    top, bottom = _edges(scene, frame, men, cells, lines, words)
    return Picture(scene, frame, men, cells, lines, strips, words, _sights(scene, men), top, bottom)


def _is_in(scene: Scene, frame: Frame, man_id: str) -> bool:
    """Whether a man is in the part of the field that is shown, all the time."""
    return all(frame.holds(scene.place(man_id, t)) for t in scene.times_s(man_id))


def _man(man: Blocker | Defender, scene: Scene, frame: Frame) -> DrawnMan:
    marks = tuple(mark.kind for mark in scene.marks if mark.of == man.id)
    if isinstance(man, Blocker):
        width = height = 2 * radius_px(frame)
    else:
        width, height = text_width(man.label, letter_px(man)), letter_px(man) + 1.0
        if man.is_own:
            width, height = max(28.0, width + 8.0), OWN_HEIGHT_PX
    return DrawnMan(man, width, height, labels.kept_inside(man_path(scene, frame, man.id), width), marks)


def apart(men: tuple[DrawnMan, ...], frame: Frame) -> tuple[DrawnMan, ...]:
    """The men, with defenders who would stand on one another before the snap set a little to either side: who lines up
    a foot from the next man is still read, and hides nobody. Deep and wide, not drawn to scale, it may be more. Two
    whom the picture's edge has pushed onto one place go apart the way they stand."""
    defenders = (man for man in men if isinstance(man.man, Defender))
    row = sorted(defenders, key=lambda man: (man.path[0][1], frame.x_px(man.man.x)))
    close = [
        (one.man.id, two.man.id, (one.width + two.width) / 2 - (two.path[0][1] - one.path[0][1]))
        for one, two in combinations(row, 2)
        if abs(one.path[0][2] - two.path[0][2]) < (one.height + two.height) / 2 - 2.0
    ]
    shift = {man.man.id: 0.0 for man in row}
    limits = {man.man.id: _limits(man) for man in row}
    for _ in range(APART_ROUNDS):
        if not any(lacking + shift[one] - shift[two] > 0.1 for one, two, lacking in close):
            break
        pushes = dict.fromkeys(shift, 0.0)
        for one, two, lacking in close:
            push = max(0.0, lacking + shift[one] - shift[two]) / 2
            pushes[one] -= push
            pushes[two] += push
        for name, (low, high) in limits.items():
            shift[name] = min(max(shift[name] + pushes[name], low), high)
    return tuple(_set_aside(man, shift.get(man.man.id, 0.0)) for man in men)


def _limits(man: DrawnMan) -> tuple[float, float]:
    """How far a man may be set to the left (negative) and to the right, within the picture."""
    x, y = man.path[0][1:]
    is_to_scale = abs(y) < DEEP_PX and SIDE_PX < x < WIDTH_PX - SIDE_PX
    most, half = CROWDED_PX if is_to_scale else CROWDED_DEEP_PX, man.width / 2 + 2.0
    return min(0.0, max(-most, half - x)), max(0.0, min(most, WIDTH_PX - half - x))


def _set_aside(man: DrawnMan, dx: float) -> DrawnMan:
    """The man with the place where he starts moved sideways; where he gets to stays."""
    start = man.path[0][1:]
    path = tuple((t_s, x + dx, y) if (x, y) == start else (t_s, x, y) for t_s, x, y in man.path)
    return replace(man, path=labels.kept_inside(path, man.width)) if dx else man


def radius_px(frame: Frame) -> float:
    """The radius of a blocker's symbol, in pixels."""
    return min(12.0, max(10.0, 0.38 * frame.scale))


def letter_px(man: Defender) -> float:
    """The size of a defender's letters, in pixels: three letters are set a little smaller."""
    return LETTER_PX if len(man.label) < 3 else LETTER_PX - 2.0


def _line(track: Track, men: tuple[DrawnMan, ...], frame: Frame) -> DrawnLine:
    points = [frame.px(point) for point in track.points]
    here = [man for man in men if _distance(man, points[0]) < HERE_PX]
    start = max((_half(man) + 3.0 for man in here), default=0.0)
    end = 0.0
    if track.end is not End.PLAIN:
        others = [man for man in men if man not in here]
        end = max((_half(man) + 4.0 - _distance(man, points[-1]) for man in others), default=0.0)
    return DrawnLine(track, tuple(trimmed(points, start, max(0.0, end))))


def _half(man: DrawnMan) -> float:
    return max(man.width, man.height) / 2 if isinstance(man.man, Defender) and man.man.is_own else man.height / 2


def _distance(man: DrawnMan, point: XY) -> float:
    return math.dist(man.path[0][1:], point)


def _strip(band: Band, scene: Scene, frame: Frame) -> Strip:
    edges = (frame.y_px(BAND_TOP_YD), frame.y_px(-BAND_BOTTOM_YD))
    return Strip(band, span_path(scene, frame, band.span), min(edges), max(edges))


def _sights(scene: Scene, men: tuple[DrawnMan, ...]) -> tuple[tuple[XY, XY], ...]:
    own = next((man for man in men if isinstance(man.man, Defender) and man.man.is_own), None)
    watched = [man for man in men if MarkKind.EYES in man.marks and man is not own]
    if own is None:
        return ()
    sights = []
    for man in watched:
        ends = trimmed([own.path[0][1:], man.path[0][1:]], _half(own) + 4.0, _half(man) + 5.0)
        sights.append((ends[0], ends[1]))
    return tuple(sights)


def _labels(
    scene: Scene,
    frame: Frame,
    men: tuple[DrawnMan, ...],
    cells: tuple[TapCell, ...],
    lines: tuple[DrawnLine, ...],
    strips: tuple[Strip, ...],
) -> tuple[Label, ...]:
    """Every label in its place; the ones that can move least are placed first."""
    crowd = Crowd(scene.end_s, [*(band.from_s for band in scene.bands), *(note.from_s for note in scene.notes)])
    for man in men:
        crowd.add(Thing(man.path, man.width, man.height))
    for cell in cells:
        box = cell.chip or Box(cell.anchor[0], cell.anchor[1], 34.0, 34.0)
        crowd.add(Thing(((0.0, box.x, box.y),), box.width, box.height))
    done: list[Label] = []
    for strip in strips:
        label = _strip_label(strip)
        if label is not None:
            done.append(_with_stem(_settled(crowd, label, _levels(strip, frame)), strip, scene.end_s))
    for line in lines:
        if line.track.tone is not Tone.NEUTRAL:
            sign, _ = crowd.place(*_verdict_label(line), is_at_rest=True)
            crowd.add(sign)
            done.append(sign)
    beads = {line.track.id: [bead(x, y, 3.0) for x, y in _beads(line)] for line in lines}
    for line in lines:
        if line.track.order is not None:
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


_SIGNS = {BandState.RIGHT: Sign.TICK, BandState.WRONG: Sign.CROSS}


def _strip_label(strip: Strip) -> Label | None:
    sign = _SIGNS.get(strip.band.state)
    if not strip.band.label and sign is None:
        return None
    path = tuple((t, x, 0.0) for t, x, _ in strip.path)
    width, height = labels.size_of(strip.band.label, sign)
    return Label(strip.band.label, path, width, height, sign, False, strip.band.from_s, strip.band.to_s)


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


def _verdict_label(line: DrawnLine) -> tuple[Label, list[tuple[float, float]]]:
    sign = Sign.TICK if line.track.tone is Tone.RIGHT else Sign.CROSS
    label = Label("", ((0.0, 0.0, 0.0),), labels.ICON_PX, labels.ICON_PX, sign)
    on_line = [along(line.points, share)[0] for share in (0.6, 0.5, 0.7, 0.4, 0.8, 0.3, 0.9)]
    x, y = line.points[-1]
    return label, [*on_line, *((x + dx, y + dy) for dx, dy in labels.around(0.0, 0.0, first=13.0))]


def _beads(line: DrawnLine) -> list[XY]:
    length = sum(math.dist(a, b) for a, b in pairwise(line.points))
    count = max(2, int(length / 8.0))
    return [along(line.points, step / count)[0] for step in range(count + 1)]


def _notes(scene: Scene, frame: Frame, men: tuple[DrawnMan, ...]) -> list[tuple[Label, list[tuple[float, float]]]]:
    signs = {Tone.RIGHT: Sign.TICK, Tone.WRONG: Sign.CROSS, Tone.NEUTRAL: None}
    drawn = {man.man.id: man for man in men}
    found = []
    for note in scene.notes:
        sign = signs[note.tone]
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


def _edges(
    scene: Scene,
    frame: Frame,
    men: tuple[DrawnMan, ...],
    cells: tuple[TapCell, ...],
    lines: tuple[DrawnLine, ...],
    words: tuple[Label, ...],
) -> tuple[float, float]:
    """Upper and lower edge of the picture, so that everything is in it at any time."""
    boxes = [Box(x, y, man.width + 8.0, man.height + 8.0) for man in men for _, x, y in man.path]
    boxes += [cell.hit for cell in cells] + [cell.chip for cell in cells if cell.chip is not None]
    boxes += [Box(x, y, 8.0, 8.0) for line in lines for x, y in line.points]
    boxes += [Box(x, y, label.width, label.height) for label in words for _, x, y in label.path]
    if scene.window is not None or scene.over is not None:
        for y in (frame.window.y_from, frame.window.y_to):
            boxes.append(Box(WIDTH_PX / 2, frame.y_px(y), 1.0, 1.0))
    top = min((box.top for box in boxes), default=0.0) - EDGE_PX
    bottom = max((box.bottom for box in boxes), default=0.0) + EDGE_PX
    lacking = max(0.0, SMALLEST_HEIGHT_PX - (bottom - top))
    return math.floor(top - lacking / 2), math.ceil(bottom + lacking / 2)
