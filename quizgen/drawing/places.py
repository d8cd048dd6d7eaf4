"""Places: every man in pixels, set a little apart from whoever would hide him, at the snap and at the end.

Why it exists: men stand closer on a field than their signs do on a phone. Nobody changes sides with anybody: order from
left to right stays. What it must not know: SVG, lanes, words.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations, pairwise, product

from quizgen.drawing import labels
from quizgen.drawing.boxes import Box, spread, text_width
from quizgen.drawing.frame import WIDTH_PX, Frame
from quizgen.drawing.labels import Path
from quizgen.drawing.motion import man_path
from quizgen.drawing.scene import Scene
from quizgen.drawing.values import Blocker, Defender, Key, MarkKind, OnMan, ScreenHalf

RADIUS_PX = 11.0
LETTER_PX = 17.0
THREE_LETTERS_PX = 14.0
OWN_WIDTH_PX = 30.0
OWN_HEIGHT_PX = 33.0
LINE_ROW_PX = 22.0
WING_ROW_PX = 30.0
SECOND_ROW_PX = 48.0
NEAR_LINE_PX = 46.0
BEHIND_PX = 8.0
BACK_STEP_PX = 25.5
LINE_STEP_PX = 28.0
"""How close two men of the offense's line are drawn: a lane between them is seen, however narrow it is."""
PLATE_STEP_PX = 51.0
PLATE_ROWS_PX = (55.0, 106.0, 157.0)
PLATE_ROWS_YD = (1.6, 6.0)
LETTER_STEP_PX = 20.0
PLATE_SHARE = 0.8
NAME_PX = 8.0
"""How far a man stands above the middle of his plate, when his name stands under him."""
APART_PX = 18.0
MIDDLE_PX = WIDTH_PX / 2
MOST_ASIDE_PX = 60.0
ROUNDS = 40


@dataclass(frozen=True, slots=True)
class DrawnMan:
    """A man in pixels: the box of his symbol (centred on his place) and where he is over time."""

    man: Blocker | Defender
    width: float
    height: float
    path: Path
    marks: tuple[tuple[MarkKind, ScreenHalf | None], ...] = ()

    @property
    def is_own(self) -> bool:
        """Whether he is the player's own man."""
        return isinstance(self.man, Defender) and self.man.is_own

    def box(self, t_s: float = 0.0) -> Box:
        """The box of his symbol at a time."""
        return Box(*labels.at(self.path, t_s), self.width, self.height)


def letter_px(man: Defender) -> float:
    """The size of a defender's letters, in pixels: three letters are set smaller."""
    return LETTER_PX if len(man.label) < 3 else THREE_LETTERS_PX


def men_of(scene: Scene, frame: Frame) -> tuple[tuple[DrawnMan, ...], Spread]:
    """Everybody who is in the part of the field that is shown, apart from each other; and how far the line has been
    spread for it at the end."""
    ways: dict[str, Sequence[Key | Blocker | Defender]] = {motion.of: motion.keys for motion in scene.motions}
    marks: dict[str, list[tuple[MarkKind, ScreenHalf | None]]] = {}
    for mark in scene.marks:
        marks.setdefault(mark.of, []).append((mark.kind, mark.half))
    tapped = {tap.target.of for tap in scene.taps if isinstance(tap.target, OnMan)}
    men = [
        _man(man, scene, frame, tuple(marks.get(man.id, ())), is_on_plate=man.id in tapped)
        for man in scene.men
        if all(map(frame.holds, ways.get(man.id, (man,))))
    ]
    named = {tap.target.of for tap in scene.taps if isinstance(tap.target, OnMan) and tap.words}
    places, spread_out = _apart(men, 0, frozenset(), {})
    starts = _on_plates(men, places, tapped)
    starts |= {name: (starts[name][0], starts[name][1] - NAME_PX) for name in named}
    moving = frozenset(man.man.id for man in men if len(man.path) > 1)
    ends: Places = {}
    if moving:
        ends, spread_out = _apart(men, -1, moving, starts)
    return tuple(_put(man, starts[man.man.id], ends.get(man.man.id)) for man in men), spread_out


def _man(
    man: Blocker | Defender,
    scene: Scene,
    frame: Frame,
    marks: tuple[tuple[MarkKind, ScreenHalf | None], ...],
    *,
    is_on_plate: bool,
) -> DrawnMan:
    if isinstance(man, Blocker):
        width = height = 2 * RADIUS_PX
    else:
        width, height = text_width(man.label, letter_px(man)), letter_px(man)
        if man.is_own:
            share = PLATE_SHARE if is_on_plate else 1.0
            width, height = share * max(OWN_WIDTH_PX, width + 8.0), share * OWN_HEIGHT_PX
    return DrawnMan(man, width, height, labels.kept_inside(man_path(scene, frame, man.id), width), marks)


@dataclass(frozen=True, slots=True)
class Spread:
    """How the offense's line has been spread: whoever stands near it, or between two of its men, is still there."""

    xs: tuple[float, ...] = ()
    spread_xs: tuple[float, ...] = ()

    def px(self, x: float, y: float) -> tuple[float, float]:
        """Where a place is after it."""
        if not self.xs or abs(y) > NEAR_LINE_PX:
            return x, y
        index = bisect_right(self.xs, x)
        if index == 0:
            return x + self.spread_xs[0] - self.xs[0], y
        if index == len(self.xs):
            return x + self.spread_xs[-1] - self.xs[-1], y
        low, high = self.xs[index - 1], self.xs[index]
        share = (x - low) / (high - low)
        return self.spread_xs[index - 1] + share * (self.spread_xs[index] - self.spread_xs[index - 1]), y


Places = dict[str, tuple[float, float]]


def _apart(
    men: Sequence[DrawnMan], moment: int, free: frozenset[str], fixed: Mapping[str, tuple[float, float]]
) -> tuple[Places, Spread]:
    """Where everybody stands at the first (0) or the last (-1) of his keys; with ``fixed`` only those who are ``free``
    give way, and the others stand there."""
    at: Places = {
        man.man.id: fixed[man.man.id] if fixed and man.man.id not in free else man.path[moment][1:] for man in men
    }
    offense = sorted((man.man.id for man in men if isinstance(man.man, Blocker)), key=lambda name: at[name][0])
    found = Spread()
    line = _line_of(offense, at)
    second = [name for name in offense if name not in line and abs(at[name][1]) <= SECOND_ROW_PX]
    for row in (line, second):
        xs = [at[name][0] for name in row]
        if any(two - one < LINE_STEP_PX for one, two in pairwise(xs)):
            half = RADIUS_PX + 2.0
            spread_xs = spread(xs, LINE_STEP_PX, half, WIDTH_PX - half)
            at |= {name: (x, at[name][1]) for name, x in zip(row, spread_xs, strict=True)}
            if row is line and all(one < two for one, two in pairwise(xs)):
                found = Spread(tuple(xs), tuple(spread_xs))
    for man in men if found.xs else ():
        if isinstance(man.man, Defender) and not (fixed and man.man.id not in free):
            half = man.width / 2 + 2.0
            x, y = found.px(*at[man.man.id])
            at[man.man.id] = min(max(x, half), WIDTH_PX - half), y
    _backs_apart([name for name in offense if name not in line], line, at)
    defenders = [man for man in men if isinstance(man.man, Defender)]
    close = []
    for one, two in combinations((*defenders, *(man for man in men if isinstance(man.man, Blocker))), 2):
        if isinstance(one.man, Blocker):
            break
        need_y = max((one.height + two.height) / 2 - 2.0, APART_PX if isinstance(two.man, Defender) else 0.0)
        if abs(at[one.man.id][1] - at[two.man.id][1]) >= need_y:
            continue
        close.append((one, two, max(APART_PX, (one.width + two.width) / 2 + 1.0)))
    return _pushed(at, close, free if fixed else frozenset(at)), found


def _line_of(offense: Sequence[str], at: Places) -> list[str]:
    """Who is drawn on the line, from left to right: also a wing, but not the man right behind another."""
    line = [name for name in offense if abs(at[name][1]) <= LINE_ROW_PX]
    wings = [
        name
        for name in offense
        if LINE_ROW_PX < abs(at[name][1]) <= WING_ROW_PX
        and all(abs(at[name][0] - at[other][0]) >= BEHIND_PX for other in line)
    ]
    return [name for name in offense if name in line or name in wings]


def _backs_apart(backs: Sequence[str], line: Sequence[str], at: Places) -> None:
    """Two backs who would lie on each other, as when a man in motion passes the passer, set aside from each other; a
    back on whom a puller comes out stands a little deeper."""
    for back, name in product(backs, line):
        (x, y), (other_x, other_y) = at[back], at[name]
        across = abs(x - other_x)
        if across < BACK_STEP_PX and y < other_y:
            at[back] = x, min(y, other_y - math.sqrt(BACK_STEP_PX**2 - across**2))
    for one, two in combinations(backs, 2):
        (left, y), (right, other_y) = at[one], at[two]
        away = abs(y - other_y)
        lacking = (math.sqrt(BACK_STEP_PX**2 - away**2) if away < BACK_STEP_PX else 0.0) - (right - left)
        if lacking > 0 and right > left:
            at[one], at[two] = (left - lacking / 2, y), (right + lacking / 2, other_y)


def _pushed(at: Places, close: Sequence[tuple[DrawnMan, DrawnMan, float]], free: frozenset[str]) -> Places:
    """The places after whoever is too close has been pushed sideways; his own man and the offense stand."""
    if not close:
        return at
    x = {name: place[0] for name, place in at.items()}
    stands = {man.man.id for one, two, _ in close for man in (one, two) if man.is_own or isinstance(man.man, Blocker)}
    half = {man.man.id: man.width / 2 + 2.0 for one, two, _ in close for man in (one, two)}
    for _ in range(ROUNDS):
        pushes: dict[str, float] = {}
        for one, two, need in close:
            left, right = one.man.id, two.man.id
            away = x[right] - x[left]
            if away == 0.0:
                away = two.man.x - one.man.x or at[right][1] - at[left][1]
            lacking = need - abs(x[right] - x[left])
            if lacking <= 0.1:
                continue
            may = [name for name in (left, right) if name in free and name not in stands]
            if may and all(abs(x[name] - MIDDLE_PX) >= MIDDLE_PX - half[name] - 0.1 for name in may):
                may = [man.man.id for man in (one, two) if man.is_own and man.man.id in free] or may
            way = 1.0 if away >= 0 else -1.0
            for name in may:
                sign = way if name == right else -way
                pushes[name] = pushes.get(name, 0.0) + sign * lacking / len(may)
        if not pushes:
            break
        for name, push in pushes.items():
            start = at[name][0]
            x[name] = min(max(x[name] + push, start - MOST_ASIDE_PX, half[name]), start + MOST_ASIDE_PX)
            x[name] = min(x[name], WIDTH_PX - half[name])
    return {name: (x[name], place[1]) for name, place in at.items()}


def _on_plates(men: Sequence[DrawnMan], at: Places, tapped: set[str]) -> Places:
    """Who is tapped stands in a row of plates as wide as a finger, in three rows of depth; the others of his row among
    them, in order."""
    if not tapped:
        return at
    at = dict(at)
    blockers = [man.man.id for man in men if isinstance(man.man, Blocker)]
    if tapped & set(blockers):
        line = _line_of(sorted(blockers, key=lambda name: at[name][0]), at)
        _in_row(at, line, tapped, None, LINE_STEP_PX)
        backs = sorted(
            (name for name in blockers if name not in line and name in tapped), key=lambda name: -at[name][1]
        )
        level = -PLATE_STEP_PX
        for name in backs:
            level = min(at[name][1], level)
            at[name] = min(max(at[name][0], 26.0), WIDTH_PX - 26.0), level
            level -= PLATE_STEP_PX
    defenders = [man for man in men if isinstance(man.man, Defender)]
    if tapped & {man.man.id for man in defenders}:
        rows: list[list[str]] = [[], [], []]
        for man in defenders:
            depth = -man.man.y
            rows[sum(depth > edge for edge in PLATE_ROWS_YD)].append(man.man.id)
        for row, level in zip(rows, PLATE_ROWS_PX, strict=True):
            _in_row(at, row, tapped, level, LETTER_STEP_PX)
    return at


def _in_row(at: Places, row: Sequence[str], tapped: set[str], level: float | None, step: float) -> None:
    if level is not None:
        at |= {name: (at[name][0], level) for name in row}
    if not any(name in tapped for name in row):
        return
    order = sorted(row, key=lambda name: at[name][0])
    widths = [PLATE_STEP_PX if name in tapped else step for name in order]
    if sum(widths) > WIDTH_PX:  # the others of the row stay where they are
        order = [name for name in order if name in tapped]
        widths = [min(PLATE_STEP_PX, WIDTH_PX / len(order))] * len(order)
    for name, x in zip(order, spread_widths([at[name][0] for name in order], widths), strict=True):
        at[name] = x, at[name][1]


def spread_widths(targets: Sequence[float], widths: Sequence[float]) -> list[float]:
    """Centres of things so wide, side by side in the picture in the order given, as near the targets as can be."""
    offsets = [0.0]
    for one, two in pairwise(widths):
        offsets.append(offsets[-1] + (one + two) / 2)
    low, high = widths[0] / 2, WIDTH_PX - widths[-1] / 2 - offsets[-1]
    moved = spread([x - offset for x, offset in zip(targets, offsets, strict=True)], 0.0, low, max(low, high))
    return [x + offset for x, offset in zip(moved, offsets, strict=True)]


def _put(man: DrawnMan, start: tuple[float, float], end: tuple[float, float] | None) -> DrawnMan:
    """The man with the places where he starts and ends moved."""
    first, last = man.path[0][1:], man.path[-1][1:]
    if first == start and (end is None or last == end):
        return man
    path = tuple((t_s, *start) if (x, y) == first else (t_s, x, y) for t_s, x, y in man.path)
    if end is not None:
        path = (*path[:-1], (path[-1][0], *end))
    return replace(man, path=path)
