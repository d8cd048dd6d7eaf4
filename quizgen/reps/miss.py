"""The moved picture of a wrong answer: the lane he chose, his way there, and what it leaves; or the man he took, or the
half of him; or the words he chose, beside him, and the man whom nobody would have. Works on scenes alone."""

from __future__ import annotations

from dataclasses import replace

from quizgen.drawing.scene import (
    Band,
    BandState,
    End,
    Key,
    Mark,
    MarkKind,
    Motion,
    OnHalf,
    OnMan,
    Point,
    Scene,
    ScreenHalf,
    Target,
    Tone,
    Track,
    TrackPhase,
)

EDGE_YD = 1.0
THROUGH_YD = 0.3
BESIDE_YD = 0.75
BEATEN = "beaten"
"""The track of the player's own man from his lane to the one that he ends up in when he is beaten."""


def missed(
    moved: Scene,
    chosen: tuple[str, ...],
    taken: tuple[Target, ...] = (),
    words: tuple[str, ...] = (),
    free: tuple[str, ...] = (),
) -> Scene:
    """The moved scene with the ``chosen`` bands marked wrong, and the men (or halves of men) ``taken``. Where a lane of
    his own is marked, that one is open then and he is on his wrong way, unless the picture shows him BEATEN: then he
    only told wrongly where to. Where his own man is told his job in words,
    the ``words`` that he chose stand there instead; the men who are ``free`` then are marked."""
    return _with_free(_with_words(_with_men(_with_bands(moved, chosen), taken), words), free)


def _with_words(moved: Scene, words: tuple[str, ...]) -> Scene:
    own = moved.find_own()
    if not words or own is None or not any(note.at == own.id for note in moved.notes):
        return moved
    notes = (replace(note, text=words[0], tone=Tone.WRONG) if note.at == own.id else note for note in moved.notes)
    return replace(moved, notes=tuple(notes))


def _with_free(moved: Scene, free: tuple[str, ...]) -> Scene:
    marks = tuple(Mark(MarkKind.FREE, man) for man in dict.fromkeys(free))
    return replace(moved, marks=(*moved.marks, *marks)) if marks else moved


def _with_men(moved: Scene, taken: tuple[Target, ...]) -> Scene:
    """A cross on each man taken; past the half of a man taken, the way that it would have been."""
    own = moved.find_own()
    marks = [Mark(MarkKind.MISSED, one.of) for one in taken if isinstance(one, OnMan)]
    ways = []
    for one in taken:
        if isinstance(one, OnHalf) and own is not None:
            man = moved.man(one.of)
            end = Point(man.x + BESIDE_YD * (-1 if one.half is ScreenHalf.LEFT else 1), THROUGH_YD)
            start = Point(own.x, own.y)
            ways.append(Track("missed-half", (start, end), TrackPhase.SECOND, End.ARROW, None, Tone.WRONG, is_own=True))
    return replace(moved, marks=(*moved.marks, *marks), tracks=(*moved.tracks, *ways)) if marks or ways else moved


def _with_bands(moved: Scene, chosen: tuple[str, ...]) -> Scene:
    wrong = tuple(band for band in moved.bands if band.id in chosen)
    if not wrong:
        return moved
    bands = tuple(_marked(band, chosen) for band in moved.bands)
    own = moved.find_own()
    is_beaten = any(track.id == BEATEN for track in moved.tracks)
    if own is None or is_beaten or not any(band.state is BandState.RIGHT for band in moved.bands):
        return replace(moved, bands=bands)
    end = _place(moved, wrong[0])
    way = Track("missed", (Point(own.x, own.y), end), TrackPhase.SECOND, End.ARROW, None, Tone.WRONG, is_own=True)
    motions = tuple(_to(motion, end) if motion.of == own.id else motion for motion in moved.motions)
    return replace(moved, bands=bands, tracks=(*moved.tracks, way), motions=motions)


def _marked(band: Band, chosen: tuple[str, ...]) -> Band:
    if band.id in chosen:
        return replace(band, state=BandState.WRONG)
    return replace(band, state=BandState.OPEN) if band.state is BandState.RIGHT else band


def _place(moved: Scene, band: Band) -> Point:
    x_from, x_to = moved.span_x(band.span, moved.end_s)
    if x_from is not None and x_to is not None:
        return Point((x_from + x_to) / 2, THROUGH_YD)
    x = x_from + EDGE_YD if x_from is not None else (x_to or 0.0) - EDGE_YD
    return Point(x, THROUGH_YD)


def _to(motion: Motion, end: Point) -> Motion:
    """The same man, as long under way, to another place."""
    still = tuple(key for key in motion.keys if (key.x, key.y) == (motion.keys[0].x, motion.keys[0].y))
    return Motion(motion.of, (*still, Key(motion.keys[-1].t_s, end.x, end.y)))
