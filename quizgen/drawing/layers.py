"""Layers: what is drawn over what, and how each thing looks, from the ground up to the words.

Why it exists: the look of the picture is in one place. What it must not know: svgwrite (the pen makes the elements),
where things go, football.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from quizgen.drawing import labels, lines, motion, picture, signs
from quizgen.drawing.frame import WIDTH_PX
from quizgen.drawing.labels import Label, Sign
from quizgen.drawing.lines import px
from quizgen.drawing.values import (
    BandState,
    Blocker,
    Defender,
    End,
    MarkKind,
    OnHalf,
    OnMan,
    Span,
    Symbol,
    Tone,
    TrackPhase,
)

if TYPE_CHECKING:
    from quizgen.drawing.cells import TapCell
    from quizgen.drawing.picture import DrawnLine, DrawnMan, Strip
    from quizgen.drawing.svg import Pen

BAND_INSET_PX = 3.0
SIGHT_UNTIL_S = 0.3


def define(pen: Pen, defs: Any) -> None:
    """The shapes and fillings that are used more than once."""
    radius = picture.radius_px(pen.picture.frame)
    side = radius * 0.92
    defs.add(pen.circle(0, 0, radius, id=f"{pen.prefix}o"))
    defs.add(pen.rect(-side, -side, 2 * side, 2 * side, id=f"{pen.prefix}c"))
    states = {strip.band.state for strip in pen.picture.strips}
    if BandState.WRONG in states:
        hatch = pen.tiles("h", 8, 45)
        hatch.add(pen.path("M0 0V8", stroke="wrong", stroke_width=3))
        defs.add(hatch)
    if BandState.OPEN in states:
        dots = pen.tiles("p", 8, 0)
        dots.add(pen.circle(2, 2, 1.3, fill="ink"))
        defs.add(dots)


def field(pen: Pen) -> Any:
    """The ground, the line of scrimmage, and discreetly the yard lines and hash marks."""
    shown, frame = pen.picture, pen.picture.frame
    group = pen.group(pointer_events="none", fill="none")
    group.add(pen.rect(0, shown.top, 360, shown.height, rx=6, fill="field"))
    data = ""
    for yard in range(-60, 61):
        y = frame.y_px(yard)
        if yard == 0 or not shown.top + 4 < y < shown.bottom - 4:
            continue
        if yard % 5 == 0:
            data += f"M0 {px(y)}H360"
        for x in pen.picture.scene.hash_xs:
            if frame.window.x_from < x < frame.window.x_to:
                data += f"M{px(frame.x_px(x) - 6)} {px(y)}h12"
    if data:
        group.add(pen.path(data, stroke="grass", stroke_width=1.5))
    group.add(pen.path("M0 0H360", stroke="scrimmage", stroke_width=2))
    return group


def strips(pen: Pen) -> Any:
    """The gap bands."""
    group = pen.group(pointer_events="none")
    for strip in pen.picture.strips:
        if not pen.is_gone(strip.band.from_s, strip.band.to_s):
            group.add(_strip(pen, strip))
    return group


_BAND_LOOKS: dict[BandState, dict[str, Any]] = {
    BandState.PLAIN: {"fill": "tap", "stroke": "tap", "stroke_width": 1, "fill_opacity": 0.1},
    BandState.RIGHT: {"fill": "right", "stroke": "right", "stroke_width": 3, "fill_opacity": 0.22},
    BandState.WRONG: {"fill": "url(#{}h)", "stroke": "wrong", "stroke_width": 3, "fill_opacity": 0.3},
    BandState.OPEN: {"fill": "url(#{}p)", "stroke": "ink", "stroke_width": 2, "stroke_dasharray": "2 4"},
}


def _strip(pen: Pen, strip: Strip) -> Any:
    inset = tuple((t, x, max(0.0, width - 2 * BAND_INSET_PX)) for t, x, width in strip.path)
    left, width = motion.stretch(inset, pen.at_s)
    look = dict(_BAND_LOOKS[strip.band.state])
    look["fill"] = look["fill"].format(pen.prefix)
    box = pen.rect(left, strip.top, width, strip.bottom - strip.top, rx=4, **look)
    return pen.stretching(box, inset, pen.times(box, strip.band.from_s, strip.band.to_s))


def sights(pen: Pen) -> Any:
    """Lines from the player's own man to whom he watches; in a moving picture only until everybody has left."""
    group = pen.group(pointer_events="none", fill="none", stroke="ink", stroke_width=1.5, stroke_dasharray="1.5 4")
    until = SIGHT_UNTIL_S if pen.picture.scene.motions else None
    for sight in pen.picture.sights:
        line = pen.path(lines.path(sight))
        if not pen.is_gone(0.0, until):
            group.add(pen.timed(line, pen.times(line, 0.0, until)))
    return group


def tracks(pen: Pen) -> Any:
    """Paths with their arrows, blocks with their T ends; a second phase is dashed."""
    group = pen.group(
        pointer_events="none",
        fill="none",
        stroke="ink",
        stroke_width=2,
        stroke_linecap="round",
        stroke_linejoin="round",
    )
    for line in sorted(pen.picture.lines, key=lambda line: (line.track.tone is not Tone.NEUTRAL, line.track.is_own)):
        for part in _track(pen, line):
            group.add(part)
    return group


def _track(pen: Pen, line: DrawnLine) -> list[Any]:
    track = line.track
    is_heavy = track.is_own or track.tone is not Tone.NEUTRAL
    colour = "ink" if track.tone is Tone.NEUTRAL else track.tone.value
    look: dict[str, Any] = {"stroke": colour, "stroke_width": 4} if is_heavy else {}
    dash: dict[str, Any] = (
        {"stroke_dasharray": "8 6" if is_heavy else "6 5"} if track.phase is TrackPhase.SECOND else {}
    )
    shaft = list(line.points)
    if track.end is End.ARROW:
        shaft = lines.trimmed(shaft, 0.0, lines.HEAD_PX * 0.7)
    parts = [pen.path(lines.path(shaft, is_curved=track.is_curved), **look, **dash)]
    if track.end is End.T:
        parts.append(pen.path(lines.tee(line.points), **{"stroke_width": 3, **look}))
    elif track.end is End.ARROW:
        size = lines.HEAD_PX + (4.0 if is_heavy else 0.0)
        parts.append(pen.path(lines.arrow(line.points, size), fill=colour, stroke_width=0))
    return parts


def taps(pen: Pen) -> Any:
    """What may be tapped, each with its area, in the order of the taps."""
    group = pen.group(font_weight="bold")
    is_all_lanes = all(isinstance(cell.tap.target, Span) for cell in pen.picture.cells)
    for cell in pen.picture.cells:
        tap = pen.group(class_="tap is-chosen" if cell.tap.is_chosen else "tap")
        if cell.chip is not None:
            tap.add(_leader(pen, cell, is_live=is_all_lanes))
        hit = cell.hit
        area = pen.rect(hit.left, hit.top, hit.width, hit.height, class_="gs-hit", fill="none", pointer_events="all")
        tap.add(area)
        for part in _chip(pen, cell) if cell.chip is not None else _ring(pen, cell):
            tap.add(part)
        group.add(pen.choice(tap, cell.tap.id, cell.tap.part))
    return group


def _ring(pen: Pen, cell: TapCell) -> list[Any]:
    look: dict[str, Any] = {"class_": "gs-ring", "fill": "none", "stroke": "tap", "stroke_width": 2.5}
    target, own = cell.tap.target, pen.picture.scene.find_own()
    assert isinstance(target, OnMan | OnHalf)
    radius = 22.0 if own is not None and target.of == own.id else 18.0
    if isinstance(target, OnMan):
        x, y = cell.anchor
        return [pen.circle(min(max(x, radius + 2.0), WIDTH_PX - radius - 2.0), y, radius, **look)]
    move = f"translate({' '.join(map(px, pen.picture.frame.px(pen.picture.scene.place(target.of))))})"
    return [pen.path(signs.half_ring(radius, target.half), transform=move, **look)]


def _leader(pen: Pen, cell: TapCell, *, is_live: bool) -> Any:
    """What joins a chip to its thing: a funnel from a lane, a line from a man."""
    chip = cell.chip
    assert chip is not None
    if cell.gap is None:
        ends = lines.trimmed([(chip.x, chip.y), cell.anchor], chip.height / 2, picture.radius_px(pen.picture.frame))
        return pen.path(lines.path(ends), class_="gs-leader", fill="none", stroke="tap", stroke_width=2)
    gap = (cell.gap[0] + BAND_INSET_PX, cell.gap[1] - BAND_INSET_PX)
    edge = chip.bottom if chip.y < 0 else chip.top
    data = signs.funnel(gap, 16.0, (chip.left + 3.0, chip.right - 3.0), edge)
    events: dict[str, Any] = {} if is_live else {"pointer_events": "none"}
    return pen.path(data, class_="gs-funnel", fill="chip", stroke="tap", stroke_width=1.25, **events)


def _is_shared(pen: Pen, cell: TapCell) -> bool:
    """Whether the thing is tapped in more than one part of the question, so that its chips must be told apart."""
    return any(other.tap.target == cell.tap.target and other.tap.part != cell.tap.part for other in pen.picture.cells)


def _chip(pen: Pen, cell: TapCell) -> list[Any]:
    chip, mark = cell.chip, cell.tap.mark
    assert chip is not None
    if not mark and _is_shared(pen, cell):
        mark = str(cell.tap.part)
    look: dict[str, Any] = {"class_": "gs-chip", "fill": "chip", "stroke": "tap", "stroke_width": 2}
    button = pen.rect(chip.left, chip.top, chip.width, chip.height, rx=9, **look)
    if not mark:
        dot = pen.circle(chip.x, chip.y, 5, class_="gs-chip-dot", fill="none", stroke="tap", stroke_width=2)
        return [button, dot]
    size = 14.0 if len(mark) < 3 else 12.0
    return [button, pen.letters(mark, chip.x, chip.y, size, class_="gs-chip-mark", fill="ink")]


def men(pen: Pen) -> Any:
    """Everybody: the offense first, then the defense, the player's own man on top."""
    group = pen.group(pointer_events="none")
    blockers = pen.group(fill="field", stroke="ink", stroke_width=2, font_weight="bold")
    defenders = pen.group(fill="ink", font_weight="bold")
    for man in sorted(pen.picture.men, key=lambda man: isinstance(man.man, Defender) and man.man.is_own):
        if isinstance(man.man, Blocker):
            blockers.add(_blocker(pen, man, man.man))
        else:
            defenders.add(_defender(pen, man, man.man))
    group.add(blockers)
    group.add(defenders)
    return group


def _blocker(pen: Pen, man: DrawnMan, who: Blocker) -> Any:
    look: dict[str, Any] = {"stroke": "dim", "stroke_width": 1.5} if who.is_dim else {}
    if who.is_puller:
        look = {"stroke_width": 3.5}
    shape = pen.use("o" if who.symbol is Symbol.CIRCLE else "c", **look)
    if not who.label and not man.marks:
        return pen.moving(shape, man.path)
    group = pen.group()
    group.add(shape)
    if who.label:
        colour = "dim" if who.is_dim else "ink"
        group.add(pen.letters(who.label, 0, 0, 11.0, fill=colour, stroke="none"))
    for part in _marks(pen, man):
        group.add(part)
    return pen.moving(group, man.path)


def _defender(pen: Pen, man: DrawnMan, who: Defender) -> Any:
    group = pen.group()
    size = picture.letter_px(who)
    if who.is_own:
        turned = pen.picture.frame.is_turned
        shape = signs.own_man(man.width, man.height, is_turned=turned)
        group.add(pen.path(shape, fill="field", stroke="field", stroke_width=7, stroke_linejoin="round"))
        group.add(pen.path(shape, fill="own", stroke="on_own", stroke_width=2.5, stroke_linejoin="round"))
        group.add(pen.letters(who.label, 0, -1 if turned else 1, size, fill="on_own"))
    elif who.is_dim:
        group.add(pen.with_halo(pen.letters(who.label, 0, 0, size - 1.0, fill="dim", font_weight="normal")))
    else:
        group.add(pen.with_halo(pen.letters(who.label, 0, 0, size)))
    for part in _marks(pen, man):
        group.add(part)
    return pen.moving(group, man.path)


def _marks(pen: Pen, man: DrawnMan) -> list[Any]:
    radius = max(man.width, man.height) / 2 + 4.0
    parts: list[Any] = []
    for kind in man.marks:
        if kind is MarkKind.EYES:
            eye = pen.group(transform=f"translate(0 {px(-radius - 4.0)})")
            eye.add(pen.path(signs.EYE, fill="field", stroke="ink", stroke_width=1.5))
            eye.add(pen.circle(0, 0, 2.2, fill="ink", stroke_width=0))
            parts.append(eye)
        elif kind is MarkKind.FREE:
            parts.append(pen.circle(0, 0, radius, fill="none", stroke="ink", stroke_width=2.5))
        elif kind is MarkKind.MISSED:
            parts.append(pen.circle(0, 0, radius, fill="none", stroke="wrong", stroke_width=3))
            cross = pen.group(transform=f"translate({px(radius * 0.75)} {px(-radius * 0.75)})")
            for part in _sign(pen, Sign.CROSS, 0.0):
                cross.add(part)
            parts.append(cross)
        else:
            dash = {"stroke_dasharray": "4 3"}
            parts.append(pen.circle(0, 0, radius, fill="none", stroke="ink", stroke_width=1.5, **dash))
    return parts


def words(pen: Pen) -> Any:
    """Notes, order numbers, and the signs for right and wrong, on top of everything."""
    group = pen.group(pointer_events="none", font_weight="bold", fill="ink", font_size=px(labels.TEXT_PX))
    for label in pen.picture.labels:
        if not pen.is_gone(label.from_s, label.to_s):
            group.add(_label(pen, label))
    return group


def _label(pen: Pen, label: Label) -> Any:
    group = pen.group()
    if label.stem is not None:
        start = (0.0, label.height / 2 if label.stem[1] > 0 else -label.height / 2)
        group.add(pen.path(lines.path([start, label.stem]), fill="none", stroke="ink", stroke_width=1))
    if label.is_number:
        group.add(pen.circle(0, 0, 8.5, fill="ink", stroke="field", stroke_width=1.5))
        group.add(pen.letters(label.text, 0, 0, labels.NUMBER_PX, fill="field"))
    elif label.sign is not None:
        at_x = -(label.width - labels.ICON_PX) / 2 if label.text else 0.0
        for part in _sign(pen, label.sign, at_x):
            group.add(part)
    if label.text and not label.is_number:
        middle = (labels.ICON_PX + 3.0) / 2 if label.sign is not None else 0.0
        group.add(pen.with_halo(pen.letters(label.text, middle, 0, labels.TEXT_PX)))
    return pen.moving(group, label.path, pen.times(group, label.from_s, label.to_s))


def _sign(pen: Pen, sign: Sign, at_x: float) -> list[Any]:
    colour, data = ("right", signs.TICK) if sign is Sign.TICK else ("wrong", signs.CROSS)
    radius = labels.ICON_PX / 2
    shape: dict[str, Any] = {"fill": colour, "stroke": "field", "stroke_width": 1.5}
    if sign is Sign.TICK:
        ground = pen.circle(at_x, 0, radius, **shape)
    else:
        ground = pen.rect(at_x - radius, -radius, 2 * radius, 2 * radius, rx=2, **shape)
    move: dict[str, Any] = {"transform": f"translate({px(at_x)} 0)"} if at_x else {}
    line = pen.path(data, fill="none", stroke="field", stroke_width=2.2, stroke_linecap="round", **move)
    return [ground, line]


ALL = (field, strips, sights, tracks, taps, men, words)
"""The layers, from the ground up."""
