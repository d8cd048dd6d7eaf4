"""The moved picture of a wrong answer: the lane he chose, the man or half of him that he took, or the words he chose,
beside his own; and the man whom nobody would have. His own man goes where he is told. Works on scenes alone."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

from quizgen.drawing.scene import BandState, Mark, MarkKind, Note, OnHalf, OnMan, Scene, Target, Tone

BEATEN = "beaten"
"""The track of the player's own man from his lane to the one that he ends up in when he is beaten."""


def answered(moved: Scene, question: Scene, right: Collection[str]) -> Scene:
    """The picture after the answer, laid over the question's, with the men (or halves of men) who are right marked;
    a defender by the box of his lane, where that is marked."""
    boxed = any(band.state is BandState.RIGHT for band in moved.bands)
    defenders = {man.id for man in question.defenders} if boxed else set()
    targets = [tap.target for tap in question.taps if tap.id in right]
    marks = dict.fromkeys(
        Mark(MarkKind.RIGHT, one.of, one.half if isinstance(one, OnHalf) else None)
        for one in targets
        if isinstance(one, OnMan | OnHalf) and one.of not in defenders
    )
    said = moved.captions
    if any(mark.half is None for mark in marks) or not _is_own(moved):
        said = replace(said, yours=said.answer)
    return replace(moved, over=question, marks=(*moved.marks, *marks), captions=said)


def _is_own(moved: Scene) -> bool:
    """Whether a lane that is marked right, if any is, is the one that the player's own man goes to."""
    own = moved.find_own()
    right = [moved.span_x(band.span, moved.end_s) for band in moved.bands if band.state is BandState.RIGHT]
    if own is None or not right:
        return True
    x = moved.place(own.id, moved.end_s).x
    return any((low is None or low < x) and (high is None or x < high) for low, high in right)


def missed(
    moved: Scene,
    chosen: tuple[str, ...],
    taken: tuple[Target, ...] = (),
    words: tuple[str, ...] = (),
    free: tuple[str, ...] = (),
) -> Scene:
    """The moved scene with the ``chosen`` bands marked wrong, and the men (or halves of men) ``taken``. Where his own
    man is told his job in words, the ``words`` that he chose are shown too; the men who are ``free`` are marked."""
    if not (chosen or taken or words or free):
        return moved
    own = moved.find_own()
    marks = [
        Mark(MarkKind.MISSED, one.of, one.half if isinstance(one, OnHalf) else None)
        for one in taken
        if isinstance(one, OnMan | OnHalf)
    ]
    marks += [Mark(MarkKind.FREE, man) for man in dict.fromkeys(free)]
    bands = tuple(replace(band, state=BandState.WRONG) if band.id in chosen else band for band in moved.bands)
    told = own is not None and any(note.at == own.id for note in moved.notes)
    notes = [Note(words[0], own.id, Tone.WRONG)] if words and own is not None and told else []
    return replace(moved, bands=bands, marks=(*moved.marks, *marks), notes=(*moved.notes, *notes))
