"""Layers: what is drawn over what, and how each thing looks, from the ground up to the words.

Why it exists: the look of the picture is in one place. What it must not know: where things go, football.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from quizgen.drawing import labels, lines, motion, places, signs
from quizgen.drawing.labels import Label, Sign
from quizgen.drawing.lines import XY, px
from quizgen.drawing.values import (
    BandState,
    Blocker,
    Defender,
    End,
    MarkKind,
    OnHalf,
    OnMan,
    ScreenHalf,
    Span,
    Symbol,
    Tone,
    TrackPhase,
)

if TYPE_CHECKING:
    from quizgen.drawing.cells import TapCell
    from quizgen.drawing.key import DrawnLine, Strip
    from quizgen.drawing.places import DrawnMan
    from quizgen.drawing.svg import Pen

BAND_INSET_PX = 1.5
BLOCKER_TEXT_PX = 12.75
HEAD_TEXT_PX = 12.75
HEAD_LINE_PX = 15.0
SQUARE_PX = 10.5
MARK_PX = 3.5
DASH = ' stroke-dasharray="5 3"'
SIGN_IDS = {Sign.TICK: "y", Sign.CROSS: "n"}
OWN_TRACK = "w"


def define(pen: Pen) -> Iterator[str]:
    """The shapes that are used more than once."""
    shown = pen.picture
    yield f'<circle id="{pen.prefix}o" r="{px(places.RADIUS_PX)}"/>'
    side = px(2 * SQUARE_PX)
    yield f'<rect id="{pen.prefix}c" x="{px(-SQUARE_PX)}" y="{px(-SQUARE_PX)}" width="{side}" height="{side}"/>'
    used = {one.sign for one in shown.corners} | {one.sign for one in shown.captions}
    used |= {one.sign for one in shown.labels}
    kinds = {kind for man in shown.men for kind, _ in man.marks}
    for sign, shape, line, colour, kind in (
        (Sign.TICK, signs.SQUARE, signs.TICK, "right", MarkKind.RIGHT),
        (Sign.CROSS, signs.OCTAGON, signs.CROSS, "wrong", MarkKind.MISSED),
    ):
        if sign in used or kind in kinds:
            ground = f'<path d="{shape}"{pen.paint(colour, "field")} stroke-width="2" paint-order="stroke"/>'
            drawn = f'<path d="{line}" fill="none"{pen.paint("", "field")} stroke-width="2.2" stroke-linecap="round"/>'
            yield f'<g id="{pen.prefix}{SIGN_IDS[sign]}">{ground}{drawn}</g>'
    for number, line_ in enumerate(shown.lines):
        if _is_marked(line_):
            data = lines.path(line_.points, is_curved=line_.track.is_curved)
            yield f'<path id="{pen.prefix}{OWN_TRACK}{number}" d="{data}"{pen.growing(line_.grown)}/>'


def _is_marked(line: DrawnLine) -> bool:
    """Whether a way is drawn with the marker: his own, where it is right."""
    return line.track.is_own and line.track.tone is not Tone.WRONG


def field(pen: Pen) -> Iterator[str]:
    """The ground, and discreetly the yard lines and hash marks."""
    shown, frame = pen.picture, pen.picture.frame
    size = f'width="360" height="{px(shown.height)}"'
    yield f'<rect y="{px(shown.top)}" {size} rx="6"{pen.paint("field")}/>'
    data = ""
    for yard in (-10, -5, 5):
        y = frame.y_px(yard)
        if shown.top + 4 < y < shown.bottom - 4:
            data += f"M0 {px(y)}H360"
    for x in shown.scene.hash_xs:
        if frame.window.x_from < x < frame.window.x_to:
            data += "".join(f"M{px(frame.x_px(x) - 6)} {px(frame.y_px(yard))}h12" for yard in (-10, -5, 5))
    yield f'<path d="{data}" fill="none"{pen.paint("", "grass")} stroke-width="1.5"/>'


def strips(pen: Pen) -> Iterator[str]:
    """The gap bands: the plain ones faint, where they are in the end, then the marked ones."""
    plain = [strip for strip in pen.picture.strips if strip.band.state is BandState.PLAIN and strip.band.to_s is None]
    data = ""
    for strip in plain:
        _, middle, width = strip.path[-1]
        left, across = middle - width / 2 + BAND_INSET_PX, width - 2 * BAND_INSET_PX
        if across > 0:
            data += f"M{px(left)} {px(strip.top)}h{px(across)}V{px(strip.bottom)}h{px(-across)}Z"
    if data:
        yield f'<path d="{data}"{pen.paint("", "rule")} fill="none" stroke-width="1.5"/>'
    for strip in pen.picture.strips:
        if strip not in plain and not pen.is_gone(strip.band.from_s, strip.band.to_s):
            yield _strip(pen, strip)


_BAND_LOOKS: dict[BandState, tuple[str, str, str]] = {
    BandState.PLAIN: ("", "rule", ' fill="none" stroke-width="1.5"'),
    BandState.RIGHT: ("right", "right", ' fill-opacity="0.15" stroke-width="3"'),
    BandState.WRONG: ("wrong", "wrong", f' fill-opacity="0.12" stroke-width="2.5"{DASH}'),
    BandState.OPEN: ("", "ink", ' fill="none" stroke-width="2.5" stroke-dasharray="1 5" stroke-linecap="round"'),
}


def _strip(pen: Pen, strip: Strip) -> str:
    inset = tuple((t, x, max(0.0, width - 2 * BAND_INSET_PX)) for t, x, width in strip.path)
    left, width = motion.stretch(inset, pen.at_s)
    fill, stroke, look = _BAND_LOOKS[strip.band.state]
    keys = motion.widths_text(inset) if pen.has_motion else None
    moves = f' data-kw="{keys}"' if keys else ""
    size = f'x="{px(left)}" y="{px(strip.top)}" width="{px(width)}" height="{px(strip.bottom - strip.top)}"'
    return f"<rect {size}{pen.paint(fill, stroke)}{look}{moves}{pen.times(strip.band.from_s, strip.band.to_s)}/>"


def line_of_scrimmage(pen: Pen) -> Iterator[str]:
    """The line of scrimmage, over the lanes."""
    yield f'<path d="M0 0H360"{pen.paint("", "scrimmage")} stroke-width="2.5"/>'


def ghosts(pen: Pen) -> Iterator[str]:
    """Dashed rings where men were."""
    own = ""
    rings = []
    for (x, y), is_own in pen.picture.ghosts:
        if is_own:
            man = next(man for man in pen.picture.men if man.is_own)
            shape = signs.own_man(man.width, man.height, is_turned=pen.picture.frame.is_turned)
            own = f'<path d="{shape}" transform="translate({px(x)} {px(y)})" stroke-width="1.75"/>'
        else:
            rings.append(f"M{px(x - 10.0)} {px(y)}a10 10 0 1 0 20 0a10 10 0 1 0 -20 0")
    if own or rings:
        look = pen.paint("field", "dim")
        drawn = f'<path d="{"".join(rings)}"/>' if rings else ""
        yield f'<g{look} stroke-width="1.5" stroke-dasharray="2.5 2.5">{drawn}{own}</g>'


def tracks(pen: Pen) -> Iterator[str]:
    """Ways with their arrows, blocks with their T; a second phase is dashed; his own with the marker, over the rest."""
    plain, quiet, marked = [], [], []
    for number, line in enumerate(pen.picture.lines):
        if _is_marked(line):
            shape = f"{OWN_TRACK}{number}"
            marked.append(pen.use(shape, f'{pen.paint("", "on_own")} stroke-width="9"'))
            marked.append(pen.use(shape, f'{pen.paint("", "own")} stroke-width="5"'))
            if line.track.end is End.ARROW and not line.grown:
                marked.append(_arrow(pen, line, lines.OWN_HEAD_PX, "on_own"))
        elif _is_ours(pen, line):
            quiet.append(_track(pen, line, "dim"))
        else:
            plain.append(_track(pen, line, "ink"))
    for colour, ways in (("dim", quiet), ("ink", plain), ("", marked)):
        if ways:
            look = pen.paint("", colour) if colour else ""
            ends = 'stroke-linecap="round" stroke-linejoin="round"'
            yield f'<g fill="none"{look} stroke-width="2" {ends}>{"".join(ways)}</g>'


def _is_ours(pen: Pen, line: DrawnLine) -> bool:
    of = line.track.of
    return bool(of) and any(man.id == of for man in pen.picture.scene.defenders) and line.track.tone is Tone.NEUTRAL


def _track(pen: Pen, line: DrawnLine, colour: str) -> str:
    track = line.track
    is_toned = track.tone is not Tone.NEUTRAL
    if is_toned:
        colour = track.tone.value
    look = pen.paint("", colour) if is_toned else ""
    if track.is_ball:
        look += ' stroke-width="3.25"'
    elif is_toned:
        look += ' stroke-width="2.5"'
    if track.tone is Tone.WRONG and not line.grown:
        look += DASH
    elif track.phase is TrackPhase.SECOND:
        look += ' stroke-dasharray="6 5"'
    is_theirs = bool(track.of) and any(man.id == track.of for man in pen.picture.scene.blockers)
    has_head = track.end is End.ARROW and (line.is_ahead or not is_theirs or pen.picture.frame.is_turned)
    head = lines.BALL_HEAD_PX if track.is_ball else lines.HEAD_PX if not is_toned else lines.HEAD_PX + 3.0
    shaft = lines.trimmed(line.points, 0.0, head * 0.7) if has_head else line.points
    data = lines.path(shaft, is_curved=track.is_curved)
    drawn = f'<path d="{data}"{look}{pen.growing(line.grown)}/>'
    if track.end is End.T:
        times = pen.times(line.grown[-1][0], None) if line.grown else ""
        drawn += f'<path d="{lines.tee(line.points)}" stroke-width="3.5"{times}/>'
    elif has_head:
        drawn += _arrow(pen, line, head, colour)
    return drawn


def _arrow(pen: Pen, line: DrawnLine, size: float, colour: str) -> str:
    times = pen.times(line.grown[-1][0], None) if line.grown else ""
    return f'<path d="{lines.arrow(line.points, size)}" stroke="none"{pen.paint(colour)}{times}/>'


def taps(pen: Pen) -> Iterator[str]:
    """What may be tapped, each with its area, in the order of the taps; where a man is tapped in two parts of a
    question, the first part's plate lies over the second's, which shows only when the first is put away."""
    cells = pen.picture.cells
    if not cells:
        return
    look = f'{pen.paint("chip", "tap")} stroke-width="1.25" stroke-linejoin="round"'
    inside = "".join(_tap(pen, cell) for cell in sorted(cells, key=lambda cell: -cell.tap.part))
    yield f"<g{look}>{inside}</g>"


def _tap(pen: Pen, cell: TapCell) -> str:
    tap, hit = cell.tap, cell.hit
    part = f' data-part="{tap.part}"' if tap.part > 1 else ""
    chosen = " is-chosen" if tap.is_chosen else ""
    opened = f'<g class="tap{chosen}" data-choice="{tap.id}"{part}>'
    inset = f'x="{px(hit.left + 2)}" y="{px(hit.top + 2)}" width="{px(hit.width - 4)}" height="{px(hit.height - 4)}"'
    if isinstance(tap.target, Span):
        shape = lines.path(cell.outline) + "Z"
        area = f'<rect class="gs-hit gs-head" {inset} fill="none" stroke="none" stroke-width="4" pointer-events="all"/>'
        return f'{opened}<path class="gs-chip" d="{shape}"/>{area}{_head_words(pen, cell)}</g>'
    if isinstance(tap.target, OnHalf):
        way = -1.0 if tap.target.half is ScreenHalf.LEFT else 1.0
        edge = hit.x - way * (hit.width / 2 - 1.5)
        sweep = 0 if way < 0 else 1
        radius = hit.width - 2.0
        arc = f"A{px(radius)} {px(radius)} 0 0 {sweep} {px(edge)} {px(hit.y + radius)}"
        shape = f"M{px(edge)} {px(hit.y - radius)}{arc}Z"
        return f'{opened}<path class="gs-chip gs-head gs-hit" d="{shape}"/>{_head_words(pen, cell)}</g>'
    plate = f'<rect class="gs-chip gs-head gs-hit" {inset} rx="4"/>'
    return f"{opened}{plate}{_plate_words(pen, cell)}</g>"


def _head_words(pen: Pen, cell: TapCell) -> str:
    said = (cell.tap.mark,) if cell.tap.mark else cell.tap.words
    size = 15.0 if cell.tap.mark else HEAD_TEXT_PX
    first = cell.hit.y - HEAD_LINE_PX * (len(said) - 1) / 2
    return "".join(
        pen.letters(line, cell.hit.x, first + HEAD_LINE_PX * number, size, ' stroke="none"', "ink", "gs-chip-mark")
        for number, line in enumerate(said)
    )


def _plate_words(pen: Pen, cell: TapCell) -> str:
    """A plate's name under its man, and its short text in its upper corner, the left one for the first part."""
    tap, hit = cell.tap, cell.hit
    drawn = ""
    if tap.words:
        drawn += pen.letters(
            " ".join(tap.words), hit.x, hit.bottom - 10.0, HEAD_TEXT_PX, ' stroke="none"', "ink", "gs-chip-mark"
        )
    if tap.mark:
        x = hit.left + 12.0 if tap.part == 1 else hit.right - 12.0
        drawn += pen.letters(tap.mark, x, hit.top + 11.0, HEAD_TEXT_PX, ' stroke="none"', "ink", "gs-chip-mark")
    return drawn


def men(pen: Pen) -> Iterator[str]:
    """Everybody: the offense first, then the defense, the player's own man on top."""
    offense, defense, own = [], [], ""
    plates = {cell.tap.target.of for cell in pen.picture.cells if isinstance(cell.tap.target, OnMan)}
    for man in pen.picture.men:
        if isinstance(man.man, Blocker):
            offense.append(_blocker(pen, man, man.man))
        elif man.man.is_own:
            own = _own(pen, man, man.man)
        else:
            defense.append(_defender(pen, man, man.man, is_on_plate=man.man.id in plates))
    yield f'<g font-weight="bold"{pen.paint("field", "ink")} stroke-width="2.25">{"".join(offense)}</g>'
    halo = 'stroke-width="4" stroke-linejoin="round" paint-order="stroke"'
    letters = f'font-weight="bold" font-size="{px(places.LETTER_PX)}"'
    yield f"<g {letters}{pen.paint('ink', 'field')} {halo}>{''.join(defense)}</g>"
    yield own


def _blocker(pen: Pen, man: DrawnMan, who: Blocker) -> str:
    look = f'{pen.paint("", "dim")} stroke-width="1.75"' if who.is_dim else ""
    if who.is_puller:
        look = ' stroke-width="4"'
    shape = "o" if who.symbol is Symbol.CIRCLE else "c"
    if not who.label and not man.marks:
        return pen.use(shape, look + pen.moving(man.path))
    parts = pen.use(shape, look)
    if who.label:
        parts += pen.letters(who.label, 0, 0, BLOCKER_TEXT_PX, ' stroke="none"', "dim" if who.is_dim else "ink")
    return f"<g{pen.moving(man.path)}>{parts}{_marks(pen, man)}</g>"


def _own(pen: Pen, man: DrawnMan, who: Defender) -> str:
    turned = pen.picture.frame.is_turned
    shape = signs.own_man(man.width, man.height, is_turned=turned)
    parts = f'<path d="{shape}"{pen.paint("field", "field")} stroke-width="8" stroke-linejoin="round"/>'
    parts += f'<path d="{shape}"{pen.paint("own", "on_own")} stroke-width="2.5" stroke-linejoin="round"/>'
    size = min(places.letter_px(who), man.height / 2)
    parts += pen.letters(who.label, 0, -3 if turned else 4, size, ' font-weight="bold"', "on_own")
    return f"<g{pen.moving(man.path)}>{parts}{_marks(pen, man)}</g>"


def _defender(pen: Pen, man: DrawnMan, who: Defender, *, is_on_plate: bool) -> str:
    size = places.letter_px(who)
    more = "" if size == places.LETTER_PX else f' font-size="{px(size)}"'
    if who.is_dim:
        more += pen.paint("dim")
    if is_on_plate:
        more += ' stroke="none"'
    if man.marks:
        text = f'<text y="{px(size * 0.36)}"{more}>{pen.escape(who.label)}</text>'
        return f"<g{pen.moving(man.path)}>{text}{_marks(pen, man)}</g>"
    down = tuple((t_s, x, y + size * 0.36) for t_s, x, y in man.path)
    return f"<text{pen.moving(down)}{more}>{pen.escape(who.label)}</text>"


def _marks(pen: Pen, man: DrawnMan) -> str:
    radius = max(man.width, man.height) / 2 + MARK_PX
    kinds = {kind for kind, _ in man.marks}
    drawn = ""
    for kind, half in man.marks:
        if half is not None:
            colour, dash = ("right", "") if kind is MarkKind.RIGHT else ("wrong", DASH)
            ring = signs.half_ring(radius + 2.0, half)
            drawn += f'<path d="{ring}" fill="none"{pen.paint("", colour)} stroke-width="4"{dash}/>'
            way = -1.0 if half is ScreenHalf.LEFT else 1.0
            drawn += _sign(pen, kind, (way * (radius + 8.0), -radius))
        elif kind in (MarkKind.EYES, MarkKind.READ):
            dash = ' stroke-dasharray="4 3"' if kind is MarkKind.READ else ""
            ring = f'<circle r="{px(radius - 1.0)}" fill="none"{pen.paint("", "ink")} stroke-width="1.5"{dash}/>'
            drawn += ring
        elif kind is not MarkKind.FREE or MarkKind.RIGHT not in kinds:
            drawn += _boxed(pen, kind, radius)
    return drawn


_BOXES = {MarkKind.RIGHT: ("right", ' stroke-width="3"'), MarkKind.MISSED: ("wrong", f' stroke-width="2.5"{DASH}')}


def _boxed(pen: Pen, kind: MarkKind, half: float) -> str:
    """A box around a man, as around a lane: solid for who is right, dashed for who was tapped, ink for who is free."""
    colour, look = _BOXES.get(kind, ("ink", ' stroke-width="2.5"'))
    size = f'x="{px(-half)}" y="{px(-half)}" width="{px(2 * half)}" height="{px(2 * half)}"'
    box = f'<rect {size} fill="none"{pen.paint("", colour)}{look}/>'
    return box + _sign(pen, kind, (half, -half if kind is MarkKind.RIGHT else half))


def _sign(pen: Pen, kind: MarkKind, at: XY) -> str:
    if kind not in (MarkKind.RIGHT, MarkKind.MISSED):
        return ""
    sign = Sign.TICK if kind is MarkKind.RIGHT else Sign.CROSS
    return pen.use(SIGN_IDS[sign], f' x="{px(at[0])}" y="{px(at[1])}"')


def ball(pen: Pen) -> Iterator[str]:
    """The ball, at the hip of who has it or on the ground."""
    path = pen.picture.ball
    if path:
        shape = f'<path d="{signs.BALL}"{pen.paint("ink", "field")} stroke-width="1.5"/>'
        lace = f'<path d="{signs.LACE}" fill="none"{pen.paint("", "field")} stroke-width="1.4" stroke-linecap="round"/>'
        yield f"<g{pen.moving(path)}>{shape}{lace}</g>"


def corners(pen: Pen) -> Iterator[str]:
    """The signs on the corners of boxes."""
    for one in pen.picture.corners:
        if pen.is_gone(one.from_s, None):
            continue
        if one.number is not None:
            yield _disc(pen, str(one.number), one.x, one.y, pen.times(one.from_s, None))
        elif one.sign is not None:
            yield pen.use(SIGN_IDS[one.sign], f' x="{px(one.x)}" y="{px(one.y)}"{pen.times(one.from_s, None)}')


def captions(pen: Pen) -> Iterator[str]:
    """The words in the lower corners and the key to the signs."""
    for said in pen.picture.captions:
        colour = "dim" if said.sign is None else "ink"
        halo = f'{pen.paint(colour, "field")} stroke-width="3" stroke-linejoin="round" paint-order="stroke"'
        weight = pen.paint(colour) if said.sign is None else f' font-weight="bold"{halo}'
        at = f'x="{px(said.x)}" y="{px(said.y)}" font-size="{px(said.size)}" text-anchor="{said.anchor}"'
        yield f"<text {at}{weight}>{pen.escape(said.text)}</text>"
        if said.sign is not None:
            yield pen.use(SIGN_IDS[said.sign], f' x="{px(said.x - 14.0)}" y="{px(said.y - 4.5)}"')


def words(pen: Pen) -> Iterator[str]:
    """Notes, order numbers and the signs beside words, on top of everything."""
    inside = "".join(_label(pen, label) for label in pen.picture.labels if not pen.is_gone(label.from_s, label.to_s))
    if inside:
        yield f'<g font-weight="bold"{pen.paint("ink")} font-size="{px(labels.TEXT_PX)}">{inside}</g>'


def _label(pen: Pen, label: Label) -> str:
    parts = ""
    if label.stem is not None:
        start = (0.0, label.height / 2 if label.stem[1] > 0 else -label.height / 2)
        line = lines.path([start, label.stem])
        parts += f'<path d="{line}" fill="none"{pen.paint("", "ink")} stroke-width="1"/>'
    if label.is_number:
        parts += _disc(pen, label.text, 0.0, 0.0, "")
    elif label.sign is not None:
        at_x = -(label.width - labels.ICON_PX) / 2 if label.text else 0.0
        parts += pen.use(SIGN_IDS[label.sign], f' x="{px(at_x)}"')
    if label.text and not label.is_number:
        middle = (labels.ICON_PX + 3.0) / 2 if label.sign is not None else 0.0
        halo = f'{pen.paint("", "field")} stroke-width="4" stroke-linejoin="round" paint-order="stroke"'
        parts += pen.letters(label.text, middle, 0, 0, halo)
    return f"<g{pen.moving(label.path)}{pen.times(label.from_s, label.to_s)}>{parts}</g>"


def _disc(pen: Pen, number: str, x: float, y: float, times: str) -> str:
    """A number on a disc of ink."""
    disc = f'<circle cx="{px(x)}" cy="{px(y)}" r="9"{pen.paint("ink", "field")} stroke-width="1.5"{times}/>'
    return disc + pen.letters(number, x, y, labels.NUMBER_PX, f' font-weight="bold"{times}', "field")


UNDER = (field, strips)
OVER = (line_of_scrimmage, ghosts, tracks, men, ball, corners, captions, words)
"""What lies under and over the things that are tapped, from the ground up; none of it is in a finger's way."""
