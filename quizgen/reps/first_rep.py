"""The first rep: five linemen, four lanes, and a man who taps the one in front of him. It shows how to tap and counts
for nothing.

Drawn with the marks of every other rep, in the team's own words for its gaps. It asks nothing about football: no call,
no engine, and the lane in front of him is the one he stands below.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from quizgen.drawing.scene import (
    Band,
    BandState,
    Blocker,
    Defender,
    End,
    Key,
    Motion,
    Point,
    Scene,
    Span,
    Symbol,
    Tap,
    Tone,
    Track,
)
from quizgen.football.sides import Gap, Letter, Side
from quizgen.reps import pictures
from quizgen.reps.choices import ids
from quizgen.reps.wording import Wording, first_up

LINE_X_YD = (-3.2, -1.6, 0.0, 1.6, 3.2)
LANES = (
    Gap(Side.LEFT, Letter.B),
    Gap(Side.LEFT, Letter.A),
    Gap(Side.RIGHT, Letter.A),
    Gap(Side.RIGHT, Letter.B),
)
IN_FRONT = 3
"""He stands below the last lane, so that the one on the other side of the same name can be tapped by mistake."""
OWN_YD = Point(2.4, -3.5)
FIT_YD = Point(2.4, -0.6)
START_S, FIT_S = 0.3, 1.3


@dataclass(frozen=True, slots=True)
class FirstRep:
    """The lanes as (choice id, words) from left to right, the picture to tap, the one after the answer, and whether
    the lane in front of him was the one chosen (None: none chosen yet)."""

    lanes: tuple[tuple[str, str], ...]
    scene: Scene
    moved: Scene
    is_right: bool | None


def first_rep(w: Wording, label: str, chosen: str = "") -> FirstRep:
    """The first rep of a man whose letter is ``label``, in a team's words, with the id of the lane he chose."""
    names = ids(len(LANES))
    lanes = tuple((choice, first_up(w.gap(gap))) for choice, gap in zip(names, LANES, strict=True))
    line = tuple(
        Blocker(f"o{number}", x, 0.0, Symbol.SQUARE if x == 0 else Symbol.CIRCLE)
        for number, x in enumerate(LINE_X_YD, 1)
    )
    own = Defender("d1", OWN_YD.x, OWN_YD.y, label, is_own=True)
    title = w.say("The first rep")
    where = w.say(
        "Five linemen with four lanes between them. You stand in front of {lane}.", lane=w.gap(LANES[IN_FRONT])
    )
    spans = [Span.between(left.id, right.id) for left, right in pairwise(line)]
    taps = tuple(
        Tap(choice, words, span, words=(w.letter(gap),))
        for (choice, words), span, gap in zip(lanes, spans, LANES, strict=True)
    )
    asked = Scene(title, where, line, (own,), taps=taps, captions=pictures.captions(w))
    moved = Scene(
        title,
        where,
        line,
        (own,),
        tracks=(Track("own", (OWN_YD, FIT_YD), end=End.PLAIN, tone=Tone.RIGHT, is_own=True, of="d1"),),
        bands=tuple(
            Band(f"lane-{number}", span, w.letter(gap), _state(number, names, chosen))
            for number, (gap, span) in enumerate(zip(LANES, spans, strict=True))
        ),
        motions=(Motion("d1", (_key(0.0, OWN_YD), _key(START_S, OWN_YD), _key(FIT_S, FIT_YD))),),
        over=asked,
        captions=pictures.captions(w),
    )
    is_right = chosen == names[IN_FRONT] if chosen in names else None
    return FirstRep(lanes, asked, moved, is_right)


def _key(at_s: float, place: Point) -> Key:
    return Key(at_s, place.x, place.y)


def _state(number: int, names: tuple[str, ...], chosen: str) -> BandState:
    if number == IN_FRONT:
        return BandState.RIGHT
    return BandState.WRONG if chosen == names[number] else BandState.PLAIN
