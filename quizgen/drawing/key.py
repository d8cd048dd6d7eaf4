"""The key: what a picture says of an answer beside its shapes. The signs and numbers on the corners of boxes, the words
in the lower corners, and what the signs mean, in the emptier of the two.

Why it exists: an answer is read by its signs first. What it must not know: SVG, colours, football.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from quizgen.drawing.boxes import Box, text_width
from quizgen.drawing.frame import WIDTH_PX
from quizgen.drawing.labels import Path, Sign
from quizgen.drawing.lines import XY, along
from quizgen.drawing.places import DrawnMan
from quizgen.drawing.scene import Scene
from quizgen.drawing.values import Band, BandState, MarkKind, Note, Tone, Track

CAPTION_PX = 12.5
CAPTION_UP_PX = 8.0
KEY_PX = 38.0
NARROW = 0.8
"""How wide our own face is at most, as a share of what a text is taken for."""
KEY_UP_PX = 46.0
KEY_IN_PX = 76.0
KEY_HIGHER_PX = (0.0, 16.0, 32.0, 48.0)
KEY_TEXT_PX = 13.5

SIGNS = {BandState.RIGHT: Sign.TICK, BandState.WRONG: Sign.CROSS}
TONES = {Tone.RIGHT: Sign.TICK, Tone.WRONG: Sign.CROSS, Tone.NEUTRAL: None}


@dataclass(frozen=True, slots=True)
class DrawnLine:
    """A track in pixels, cut back to the edges of the symbols it joins; ``grown`` says how much of it has been run:
    (second, share), () where it is there all the time."""

    track: Track
    points: tuple[XY, ...]
    grown: tuple[tuple[float, float], ...] = ()
    is_ahead: bool = False
    """Whether it is the way of a man who is not at its end in this picture."""


@dataclass(frozen=True, slots=True)
class Strip:
    """A gap band in pixels: middle and width over time, upper and lower edge."""

    band: Band
    path: Path
    top: float
    bottom: float


@dataclass(frozen=True, slots=True)
class Corner:
    """The sign, or the number, on the corner of a lane's box, from a second on."""

    sign: Sign | None
    x: float
    y: float
    from_s: float
    number: int | None = None


@dataclass(frozen=True, slots=True)
class Caption:
    """A caption in pixels: the left end of its line where ``anchor`` is "start", else the right end; with a sign
    before it."""

    text: str
    x: float
    y: float
    size: float
    anchor: str = "start"
    sign: Sign | None = None

    def box(self) -> Box:
        """The box it takes up."""
        width = text_width(self.text, self.size) * NARROW
        return Box(self.x + (width / 2 if self.anchor == "start" else -width / 2), self.y - 4.0, width, self.size)


def corner_of(strip: Strip, end_s: float) -> Corner:
    """The sign on the corner of a marked box: that of who is right above, that of a tap below."""
    _, middle, width = strip.path[-1]
    if strip.band.number:
        return Corner(None, middle, strip.top - 1.0, end_s, strip.band.number)
    is_right = strip.band.state is BandState.RIGHT
    x = middle + (width / 2 if is_right else -width / 2)
    x = min(max(x, 9.0), WIDTH_PX - 9.0)
    return Corner(SIGNS[strip.band.state], x, strip.top if is_right else strip.bottom, end_s)


def is_told(scene: Scene, note: Note) -> bool:
    """Whether a note says what his own man is to do: it then stands in the key."""
    own = scene.find_own()
    return own is not None and note.at == own.id and note.tone is not Tone.NEUTRAL


def captions_of(
    scene: Scene, men: tuple[DrawnMan, ...], lines: tuple[DrawnLine, ...], strips: tuple[Strip, ...], bottom: float
) -> tuple[Caption, ...]:
    """The words in the lower corners, and the key to the signs in the emptier of them."""
    said, base = scene.captions, bottom - CAPTION_UP_PX
    found = []
    if said.left:
        found.append(Caption(said.left, 8.0, base, CAPTION_PX))
    if said.right:
        found.append(Caption(said.right, WIDTH_PX - 8.0, base, CAPTION_PX, "end"))
    states = {strip.band.state for strip in strips if not strip.band.number}
    kinds = {kind for man in men for kind, _ in man.marks}
    key: list[tuple[Sign | None, str]] = []
    key += [(Sign.TICK, said.yours)] if states & {BandState.RIGHT} or MarkKind.RIGHT in kinds else []
    key += [(Sign.CROSS, said.tapped)] if states & {BandState.WRONG} or MarkKind.MISSED in kinds else []
    told = [(TONES[note.tone], note.text) for note in scene.notes if is_told(scene, note)]
    key = told or [(sign, text) for sign, text in key if text]
    if not key:
        return tuple(found)
    start, up = _emptiest(men, lines, base, 24.0 + max(text_width(text, KEY_TEXT_PX) * NARROW for _, text in key))
    for row, (sign, text) in enumerate(key):
        y = up + 20.0 * (row + 2 - len(key))
        found.append(Caption(text, start + 22.0, y, KEY_TEXT_PX, "start", sign))
    return tuple(found)


def _emptiest(
    men: tuple[DrawnMan, ...], lines: tuple[DrawnLine, ...], base: float, width: float
) -> tuple[float, float]:
    """Where the key stands, its left edge and its first line: in the emptier lower corner, higher where both are
    taken."""
    lowest = base - KEY_UP_PX - max(KEY_HIGHER_PX) - KEY_PX
    ends = {(at[1], at[2], man) for man in men for at in (man.path[0], man.path[-1]) if at[2] > lowest}
    boxes = [Box(x, y, man.width, man.height) for x, y, man in ends]
    low = [line for line in lines if max(y for _, y in line.points) > lowest]
    ways = [Box(*along(line.points, share / 6)[0], 4.0, 4.0) for line in low for share in range(7)]
    best, least = (0.0, 0.0), math.inf
    for higher in KEY_HIGHER_PX:
        for left in (WIDTH_PX - 8.0 - width, 8.0, WIDTH_PX - KEY_IN_PX - width, KEY_IN_PX):
            up = base - KEY_UP_PX - higher
            here = Box(left + width / 2, up + 6.0, width, KEY_PX)
            taken = 9.0 * sum(here.overlaps(box, gap=2.0) for box in boxes) + sum(here.overlaps(box) for box in ways)
            if taken < least:
                best, least = (left, up), taken
            if not taken:
                return best
    return best
