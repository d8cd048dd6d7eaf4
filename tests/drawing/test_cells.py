"""Whatever is tapped can be hit: at least 44 pixels each way on a phone 320 wide, none over another, all in view."""

from itertools import combinations

import pytest
from hypothesis import given, settings

from quizgen.drawing.boxes import spread
from quizgen.drawing.picture import compose
from quizgen.drawing.scene import OnMan, Scene, Span, Tap
from quizgen.drawing.svg import draw
from tests.drawing import samples
from tests.drawing.wild import questions

SMALLEST_PX = 44.0
"""source: WCAG 2.2, success criterion 2.5.5 Target Size (Enhanced): 44 by 44 CSS pixels."""
NARROWEST = 320 / 360
"""A picture is 360 units wide, the narrowest phone 320 pixels."""


def assert_can_be_hit(scene: Scene) -> None:
    picture = compose(scene)
    assert [cell.tap for cell in picture.cells] == list(scene.taps)
    for cell in picture.cells:
        assert cell.hit.width * NARROWEST >= SMALLEST_PX
        assert cell.hit.height * NARROWEST >= SMALLEST_PX
        assert cell.hit.left >= -1e-6
        assert cell.hit.right <= 360 + 1e-6
        assert picture.top <= cell.hit.top
        assert cell.hit.bottom <= picture.bottom
    for one, two in combinations(picture.cells, 2):
        if one.tap.part == two.tap.part:
            assert not one.hit.overlaps(two.hit), (one.tap, two.tap)


@pytest.mark.parametrize("name", samples.ALL)
def test_samples_can_be_hit(name):
    assert_can_be_hit(samples.ALL[name])


@settings(max_examples=150)
@given(questions())
def test_any_scene_can_be_hit(scene):
    assert_can_be_hit(scene)


def test_a_lane_of_four_fifths_of_a_yard_is_seen_and_its_head_can_be_hit():
    picture = compose(samples.NARROW)
    cell = next(cell for cell in picture.cells if cell.tap.id == "d")
    assert cell.gap is not None
    edges = {man.man.id: man.box().x for man in picture.men}
    assert cell.gap == pytest.approx([edges["C"], edges["RG"]])
    assert cell.gap[1] - cell.gap[0] >= 28.0 - 1e-6  # the two circles leave a stripe of it
    assert cell.hit.width >= 50.0


def test_heads_stand_in_the_order_of_their_lanes_in_one_row_up_to_seven():
    for scene in (samples.TRACK, samples.MOVED, samples.UNDER_CENTER):
        cells = compose(scene).cells
        assert [cell.hit.x for cell in cells] == sorted(cell.hit.x for cell in cells)
        assert len({cell.hit.y for cell in cells}) == 1


def test_eight_heads_stand_in_two_rows_each_reached_from_its_lane():
    cells = compose(samples.NARROW).cells
    assert [cell.hit.y for cell in cells[::2]] == [cells[0].hit.y] * 4
    assert [cell.hit.y for cell in cells[1::2]] == [cells[0].hit.y + 54.0] * 4
    for cell in cells:
        xs = [x for x, y in cell.outline if y < 0]
        assert cell.gap is not None
        assert cell.gap[0] <= min(xs) < max(xs) <= cell.gap[1]


def test_heads_lie_on_nobody_of_the_line_and_not_on_his_own_man():
    for scene in samples.ALL.values():
        picture = compose(scene)
        stand = [man.box() for man in picture.men if man.man.id.startswith(("L", "R", "C", "TE", "mike"))]
        for cell in picture.cells:
            if isinstance(cell.tap.target, Span):
                assert not any(cell.hit.overlaps(box) for box in stand), cell.tap


def test_men_who_are_tapped_stand_on_their_plates_in_order():
    for scene in (samples.WHO, samples.EVERYBODY, samples.WHO_FIRST):
        picture = compose(scene)
        at = {man.man.id: man.box() for man in picture.men}
        for cell in picture.cells:
            if isinstance(cell.tap.target, OnMan):
                man = at[cell.tap.target.of]
                assert (man.x, man.y) == pytest.approx((cell.hit.x, cell.hit.y))
        xs = [at[man.id].x for man in sorted(scene.blockers, key=lambda man: man.x) if man.y == 0.0]
        assert xs == sorted(xs)


def test_men_who_stand_close_have_plates_side_by_side():
    line = samples.line(moved={"LT": -1.2, "LG": -0.6, "C": 0.0, "RG": 0.6, "RT": 1.2})
    taps = tuple(Tap(man.id, man.id, OnMan(man.id)) for man in line)
    assert_can_be_hit(Scene("A title", "In words.", line, samples.DEFENSE, taps=taps))


def test_seen_from_the_offense_nothing_is_tapped():
    assert compose(samples.TRACK, is_turned=True).cells == ()


def test_spread_keeps_order_distance_and_bounds():
    assert spread([5.0, 5.0, 5.0], 10.0, 0.0, 100.0) == [0.0, 10.0, 20.0]
    assert spread([95.0, 99.0], 10.0, 0.0, 100.0) == [90.0, 100.0]
    assert spread([10.0, 50.0], 10.0, 0.0, 100.0) == [10.0, 50.0]
    assert spread([], 10.0, 0.0, 100.0) == []
    with pytest.raises(ValueError, match="3 things"):
        spread([0.0, 1.0, 2.0], 60.0, 0.0, 100.0)


def test_a_man_tapped_in_two_parts_has_the_first_plate_over_the_second():
    drawing = draw(samples.WHO_FIRST)
    places = [
        drawing.index(f'data-choice="{man}.{part}"') for part in (2, 1) for man in ("tackle", "three", "will", "mike")
    ]
    assert places == sorted(places)
