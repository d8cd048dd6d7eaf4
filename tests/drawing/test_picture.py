"""Where things go: to scale near the ball, in view, words on nothing, stills true to the motion, both sides alike."""

from dataclasses import replace
from itertools import combinations

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from quizgen.drawing import labels
from quizgen.drawing.frame import frame_of
from quizgen.drawing.picture import compose
from quizgen.drawing.places import LINE_STEP_PX, MOST_ASIDE_PX
from quizgen.drawing.scene import Blocker, Defender, Note, OnMan, Point, Scene, Track, Window
from tests.drawing import samples
from tests.drawing.wild import questions, yards

SAMPLES = pytest.mark.parametrize("scene", samples.ALL.values(), ids=samples.ALL)


@SAMPLES
@pytest.mark.parametrize("is_turned", [False, True])
def test_labels_lie_in_the_picture_and_not_on_each_other(scene, is_turned):
    picture = compose(scene, is_turned=is_turned)
    for t in (0.0, scene.end_s):
        seen = [label for label in picture.labels if label.is_shown(t)]
        for label in seen:
            box = label.box(t)
            assert box.left >= 0
            assert box.right <= 360
            assert picture.top <= box.top
            assert box.bottom <= picture.bottom
        for one, two in combinations(seen, 2):
            assert not one.box(t).overlaps(two.box(t)), (one.text, two.text)
        for label in seen:
            on = [man.man.id for man in picture.men if label.box(t).overlaps(man.box(t))]
            assert not on, (label.text, on)
            assert not any(cell.hit.overlaps(label.box(t)) for cell in picture.cells)


@SAMPLES
def test_everybody_drawn_is_in_the_picture_all_the_time(scene):
    picture = compose(scene)
    for man in picture.men:
        for t in scene.times_s(man.man.id):
            box = man.box(t)
            assert picture.top <= box.top
            assert box.bottom <= picture.bottom
            assert box.left >= 0
            assert box.right <= 360


@SAMPLES
def test_the_line_the_backs_and_his_own_man_are_always_drawn(scene):
    drawn = {man.man.id for man in compose(scene).men}
    assert {man.id for man in scene.blockers} <= drawn
    assert scene.find_own().id in drawn


@SAMPLES
@pytest.mark.parametrize("share", [0.0, 0.4, 1.0])
def test_a_man_in_motion_is_where_the_still_says(scene, share):
    t = share * scene.end_s
    picture, still = compose(scene), scene.at(t)
    if any(isinstance(tap.target, OnMan) for tap in scene.taps):
        return  # they stand on plates
    for man in picture.men:
        place = still.man(man.man.id)
        x, y = picture.frame.px(Point(place.x, place.y))
        assert man.box(t).x == pytest.approx(x, abs=MOST_ASIDE_PX + LINE_STEP_PX)
        assert man.box(t).y == pytest.approx(y, abs=12.0)
        if share in (0.0, 1.0):
            assert man.box(t).y == pytest.approx(y)


NO_CENTER = Scene(
    "A title",
    "In words.",
    (Blocker("b0", -4.15, 0.0), Blocker("b1", -1.35, 0.0), Blocker("b2", 1.35, 0.0)),
    (Defender("d0", 0.0, -0.9, "M"),),
)
"""Nobody stands at the ball, and a man on either side of it is just as near, too far apart to be one row."""


AT_THE_EDGE = Scene(
    "A title",
    "In words.",
    (Blocker("b0", -2.0, 0.0), Blocker("b1", 0.7, 0.0), Blocker("b2", 3.2, 0.0)),
    (Defender("d0", -5.1, -0.9, "MSS"), Defender("d1", -5.2, -0.9, "MSS")),
    (Track("t0", (Point(-5.1, -0.9), Point(0.0, 1.5))),),
)
"""Two men whom the edge of the picture pushes onto one place: they must go apart the way they stand."""


@settings(max_examples=60)
@given(questions())
@example(NO_CENTER)
@example(AT_THE_EDGE)
def test_a_mirrored_scene_is_drawn_mirrored(scene):
    picture, other = compose(scene), compose(scene.mirrored())
    assert other.frame.scale == pytest.approx(picture.frame.scale)
    places = {man.man.id: man.box() for man in other.men}
    assert {man.man.id for man in picture.men} == set(places)
    for man in picture.men:
        assert places[man.man.id].x == pytest.approx(360 - man.box().x)
        assert places[man.man.id].y == pytest.approx(man.box().y)


@pytest.mark.parametrize("scene", [scene for scene in samples.ALL.values() if scene is not samples.NARROW])
def test_mirrored_samples_have_mirrored_cells(scene):
    """All but the one with two rows of heads: the first from the left is in the upper row on either side."""
    for cell, other in zip(compose(scene).cells, compose(scene.mirrored()).cells, strict=True):
        assert other.tap.id == cell.tap.id
        assert (other.hit.x, other.hit.y) == pytest.approx((360 - cell.hit.x, cell.hit.y))


def test_right_on_the_screen_is_the_defenses_right_and_the_offense_is_on_top():
    frame = frame_of(samples.TRACK)
    assert frame.x_px(1.0) > frame.x_px(0.0)
    assert frame.y_px(1.0) < frame.y_px(0.0) < frame.y_px(-1.0)
    turned = frame_of(samples.TRACK, is_turned=True)
    for point in (Point(1.0, 2.0), Point(-3.0, -4.0)):
        x, y = frame.px(point)
        assert turned.px(point) == pytest.approx((360 - x, -y))


def test_splits_are_to_scale():
    frame = frame_of(samples.TRACK)
    one_yard = frame.x_px(1.0) - frame.x_px(0.0)
    assert frame.x_px(3.18) - frame.x_px(1.57) == pytest.approx(1.61 * one_yard)


def test_backers_stand_clear_of_the_heads_of_lanes_whether_in_one_row_or_two():
    for scene, rows in ((samples.TRACK, 1), (samples.NARROW, 2)):
        picture = compose(scene)
        lowest = max(cell.hit.bottom for cell in picture.cells)
        assert lowest == 46.0 + rows * 54.0
        for man in picture.men:
            if isinstance(man.man, Defender) and man.man.y <= -3.0:
                assert man.box().top >= lowest


def test_deep_and_wide_men_keep_their_order():
    frame = frame_of(Scene("A title", "In words.", samples.line(), (Defender("cb", 16.0, -7.0, "C", is_own=True),)))
    xs = [frame.x_px(x) for x in (0.0, 5.1, 8.0, 12.0, 16.0)]
    ys = [frame.y_px(-y) for y in (0.0, 4.0, 6.0, 9.0, 13.0)]
    assert xs == sorted(set(xs))
    assert ys == sorted(set(ys))
    assert frame.scale >= 18.0


def test_a_window_is_kept():
    window = Window(-6.0, 6.0, -6.0, 6.0)
    scene = Scene("A title", "In words.", (*samples.line(), Blocker("WR", 20.0, 0.0)), samples.DEFENSE, window=window)
    picture = compose(scene)
    assert picture.frame.window == window
    assert "WR" not in {man.man.id for man in picture.men}
    assert "fs" not in {man.man.id for man in picture.men}


def test_a_picture_laid_over_another_keeps_every_place():
    far = Defender("cb", 16.0, -5.0, "C")
    before = Scene("A title", "In words.", samples.line(), samples.DEFENSE)
    alone = replace(
        before, defenders=(*before.defenders, far), tracks=(Track("t", (Point(16.0, -5.0), Point(4.0, 0))),)
    )
    after = replace(alone, over=before)
    one, other = frame_of(before), frame_of(after)
    assert frame_of(alone).scale != pytest.approx(one.scale)
    for x in (-5.0, -1.61, 0.0, 3.18, 5.0):
        assert other.px(Point(x, 2.0)) == pytest.approx(one.px(Point(x, 2.0)))
    picture = compose(after)
    corner = next(man for man in picture.men if man.man.id == "cb")
    assert corner.box().right <= 360
    assert picture.lines[0].points[0][0] <= 360
    assert [frame_of(after.mirrored()).x_px(-x) for x in (-5.0, 3.18)] == pytest.approx(
        [360 - other.x_px(x) for x in (-5.0, 3.18)]
    )


def test_only_the_offense_sees_its_scout_teams_ways():
    plain = Scene("A title", "In words.", samples.line(), samples.DEFENSE)
    scene = replace(plain, tracks=(Track("to-C", (Point(0.0, 0.0), Point(0.0, -0.7)), is_scout=True),))
    assert [line.track.id for line in compose(scene, is_turned=True).lines] == ["to-C"]
    assert compose(scene) == compose(plain)


def test_many_notes_at_one_place_are_all_read():
    notes = tuple(Note(f"note number {number}", Point(0.0, -2.0)) for number in range(8))
    picture = compose(Scene("A title", "In words.", samples.line(), samples.DEFENSE, notes=notes))
    assert len(picture.labels) == 8
    for one, two in combinations(picture.labels, 2):
        assert not one.box(0.0).overlaps(two.box(0.0))


def test_no_text_is_smaller_than_eleven_pixels_on_the_narrowest_phone():
    assert min(labels.TEXT_PX, labels.NUMBER_PX) * 320 / 360 >= 11.0


@settings(max_examples=40)
@given(
    questions(), st.lists(st.tuples(st.sampled_from(("kick", "nobody here", "hook to curl")), yards, yards), max_size=5)
)
def test_any_notes_lie_on_nothing(question, places):
    notes = tuple(Note(words, Point(x, y)) for words, x, y in places)
    orders = tuple(replace(track, order=number + 1) for number, track in enumerate(question.tracks))
    picture = compose(replace(question, taps=(), notes=notes, tracks=orders))
    assert len(picture.labels) == len(notes) + len(orders)
    for one, two in combinations(picture.labels, 2):
        assert not one.box(0.0).overlaps(two.box(0.0))
    for label in picture.labels:
        assert not any(label.box(0.0).overlaps(man.box()) for man in picture.men)
        assert label.box(0.0).left >= 0
        assert label.box(0.0).right <= 360
