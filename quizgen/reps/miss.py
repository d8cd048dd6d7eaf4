"""The moved picture of a wrong answer: the lane he chose, his way there, and what it leaves. Works on scenes alone."""

from __future__ import annotations

from dataclasses import replace

from quizgen.drawing.scene import Band, BandState, Defender, End, Phase, Point, Scene, Tone, Track

EDGE_YD = 1.0
THROUGH_YD = 0.3


def missed(moved: Scene, chosen: tuple[str, ...]) -> Scene:
    """The moved scene with the ``chosen`` bands marked wrong, his lane marked open, and his wrong way drawn."""
    wrong = tuple(band for band in moved.bands if band.id in chosen)
    if not wrong:
        return moved
    bands = tuple(_marked(band, chosen) for band in moved.bands)
    own = moved.find_own()
    tracks = moved.tracks
    if own is not None:
        tracks = (*tracks, _way(moved, own, wrong[0]))
    return replace(moved, bands=bands, tracks=tracks)


def _marked(band: Band, chosen: tuple[str, ...]) -> Band:
    if band.id in chosen:
        return replace(band, state=BandState.WRONG)
    return replace(band, state=BandState.OPEN) if band.state is BandState.RIGHT else band


def _way(moved: Scene, own: Defender, band: Band) -> Track:
    x_from, x_to = moved.span_x(band.span, moved.end_s)
    if x_from is not None and x_to is not None:
        x = (x_from + x_to) / 2
    else:
        x = x_from + EDGE_YD if x_from is not None else (x_to or 0.0) - EDGE_YD
    points = (Point(own.x, own.y), Point(x, THROUGH_YD))
    return Track("missed", points, phase=Phase.SECOND, end=End.ARROW, tone=Tone.WRONG, is_own=True)
