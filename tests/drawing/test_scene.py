"""A scene refuses what can't be drawn, and what would give an answer away."""

import math

import pytest

from quizgen.drawing.scene import (
    Band,
    BandState,
    Blocker,
    Defender,
    Key,
    Mark,
    MarkKind,
    Motion,
    Note,
    OnMan,
    OnTrack,
    Point,
    Scene,
    SceneError,
    Span,
    Tap,
    Tone,
    Track,
    Window,
)
from tests.drawing import samples

LINE = samples.line()
MIKE = Defender("mike", 0.0, -4.0, "M", is_own=True)


def scene(**parts: object) -> Scene:
    return Scene(title="A title", description="In words.", **{"blockers": LINE, "defenders": (MIKE,), **parts})


@pytest.mark.parametrize(
    "make",
    [
        lambda: Blocker("", 0.0, 0.0),
        lambda: Blocker("with blank", 0.0, 0.0),
        lambda: Blocker("LG", math.nan, 0.0),
        lambda: Blocker("LG", 0.0, 61.0),
        lambda: Blocker("LG", 0.0, 0.0, label="LGT"),
        lambda: Defender("mike", 0.0, 0.0, ""),
        lambda: Defender("mike", 0.0, 0.0, "MIKE"),
        lambda: Defender("mike", 0.0, 0.0, "M\x00"),
        lambda: Defender("mike", 0.0, 0.0, "M", is_own=True, is_dim=True),
        lambda: Point(math.inf, 0.0),
        lambda: Track("t", (Point(0.0, 0.0),)),
        lambda: Track("t", (Point(0.0, 0.0), Point(0.0, 0.0))),
        lambda: Track("t", (Point(0.0, 0.0), Point(0.0, 1.0)), order=12),
        lambda: Span(left="LG", x_from=1.0),
        lambda: Span.between("LG", "LG"),
        lambda: Span.of_yards(2.0, 1.0),
        lambda: Tap("a", "", OnMan("LG")),
        lambda: Tap("a", "words", OnMan("LG"), mark="right"),
        lambda: Tap("a", "words", OnMan("LG"), part=0),
        lambda: Band("b", Span.between(None, "LG"), from_s=1.0, to_s=1.0),
        lambda: Note("", Point(0.0, 0.0)),
        lambda: Note("two\nlines", Point(0.0, 0.0)),
        lambda: Motion("LG", (Key(0.0, 0.0, 0.0),)),
        lambda: Motion("LG", (Key(0.1, 0.0, 0.0), Key(0.2, 0.0, 0.0))),
        lambda: Motion("LG", (Key(0.0, 0.0, 0.0), Key(0.0, 1.0, 0.0))),
        lambda: Window(0.0, 3.0, 0.0, 3.0),
    ],
)
def test_a_value_that_cannot_be_is_refused(make):
    with pytest.raises(SceneError, match="expected"):
        make()


@pytest.mark.parametrize(
    ("parts", "where"),
    [
        ({"blockers": (*LINE, LINE[0])}, "scene men"),
        ({"defenders": (MIKE, Defender("will", 2.0, -4.0, "W", is_own=True))}, "scene defenders"),
        ({"defenders": (MIKE, Defender("LG", 2.0, -4.0, "W"))}, "scene men"),
        ({"bands": (Band("b", Span.between("LG", "nobody")),)}, "band b: span"),
        ({"bands": (Band("b", Span.between("LG", "mike")),)}, "band b: span"),
        ({"taps": (Tap("a", "words", OnMan("nobody")),)}, "tap a: target"),
        ({"taps": (Tap("a", "words", OnTrack("nothing")),)}, "tap a: target"),
        ({"taps": (Tap("a", "words", Span.between("RG", "LG")),)}, "tap a: span"),
        ({"notes": (Note("words", "nobody"),)}, "note 'words': at"),
        ({"marks": (Mark(MarkKind.EYES, "nobody"),)}, "mark eyes: of"),
        ({"motions": (Motion("nobody", (Key(0.0, 0.0, 0.0), Key(1.0, 0.0, 0.0))),)}, "motion of"),
        ({"motions": (Motion("mike", (Key(0.0, 1.0, 0.0), Key(1.0, 0.0, 0.0))),)}, "motion of mike: first key"),
    ],
)
def test_parts_that_do_not_fit_together_are_refused(parts, where):
    with pytest.raises(SceneError) as refused:
        scene(**parts)
    assert refused.value.where == where


@pytest.mark.parametrize("field", ["title", "description"])
def test_a_picture_without_words_is_refused(field):
    with pytest.raises(SceneError):
        Scene(**{"title": "A title", "description": "In words.", field: " "})


TAP = Tap("a", "words", Span.between("LG", "C"))


@pytest.mark.parametrize(
    "parts",
    [
        {"tracks": (Track("t", (Point(0.0, -4.0), Point(0.0, 0.0)), tone=Tone.RIGHT),)},
        {"tracks": (Track("t", (Point(0.0, -4.0), Point(0.0, 0.0)), tone=Tone.WRONG),)},
        {"notes": (Note("here", Point(0.0, 0.0), Tone.RIGHT),)},
        {"bands": (Band("b", Span.between("LG", "C"), state=BandState.RIGHT),)},
        {"bands": (Band("b", Span.between("LG", "C"), state=BandState.WRONG),)},
        {"bands": (Band("b", Span.between("LG", "C"), state=BandState.OPEN),)},
    ],
)
def test_a_question_cannot_show_its_answer(parts):
    scene(**parts)
    with pytest.raises(SceneError, match="before the answer"):
        scene(taps=(TAP,), **parts)


def test_motion_goes_evenly_between_keys_and_stands_still_around_them():
    motion = Motion("mike", (Key(0.0, 0.0, -4.0), Key(1.0, 2.0, -4.0), Key(2.0, 2.0, 0.0)))
    assert motion.at(-1.0) == Point(0.0, -4.0)
    assert motion.at(0.25) == Point(0.5, -4.0)
    assert motion.at(1.0) == Point(2.0, -4.0)
    assert motion.at(1.5) == Point(2.0, -2.0)
    assert motion.at(9.0) == Point(2.0, 0.0)


def test_a_still_shows_who_is_where_and_only_what_is_shown_then():
    still = samples.PULL.at(1.5)
    assert still.motions == ()
    assert (still.man("mike").x, still.man("mike").y) == (
        samples.PULL.place("mike", 1.5).x,
        samples.PULL.place("mike", 1.5).y,
    )
    assert [band.id for band in still.bands] == ["inside", "left", "outside"]
    assert [note.text for note in still.notes] == ["kick"]
    assert samples.PULL.at(0.0).blockers == samples.PULL.blockers


def test_mirroring_twice_gives_the_scene_back():
    for sample in samples.ALL.values():
        assert sample.mirrored().mirrored() == sample


def test_the_end_is_when_the_last_thing_has_happened():
    assert samples.PULL.end_s == 2.2
    assert samples.TRACK.end_s == 0.0
    assert samples.TRACK.find_own() is not None
    assert scene(defenders=()).find_own() is None
    with pytest.raises(KeyError):
        samples.TRACK.man("nobody")
