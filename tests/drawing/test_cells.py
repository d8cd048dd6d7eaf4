"""Whatever is tapped can be hit: at least 44 pixels each way on a phone 360 wide, none over another, all in view."""

import re
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


def assert_can_be_hit(scene: Scene) -> None:
    picture = compose(scene)
    assert [cell.tap for cell in picture.cells] == list(scene.taps)
    for cell in picture.cells:
        assert cell.hit.width >= SMALLEST_PX
        assert cell.hit.height >= SMALLEST_PX
        assert cell.hit.left >= -1e-6
        assert cell.hit.right <= 360 + 1e-6
        assert picture.top <= cell.hit.top
        assert cell.hit.bottom <= picture.bottom
        if cell.chip is not None:
            assert cell.hit.left <= cell.chip.left
            assert cell.chip.right <= cell.hit.right
    for one, two in combinations(picture.cells, 2):
        assert not one.hit.overlaps(two.hit), (one.tap, two.tap)


@pytest.mark.parametrize("name", samples.ALL)
def test_samples_can_be_hit(name):
    assert_can_be_hit(samples.ALL[name])


@settings(max_examples=150)
@given(questions())
def test_any_scene_can_be_hit(scene):
    assert_can_be_hit(scene)


def test_a_lane_of_four_fifths_of_a_yard_can_be_hit_and_its_chip_leads_to_it():
    picture = compose(samples.NARROW)
    cell = next(cell for cell in picture.cells if cell.tap.id == "d")
    assert cell.gap is not None
    assert cell.gap[1] - cell.gap[0] < SMALLEST_PX
    assert cell.gap == pytest.approx([picture.frame.x_px(-0.2), picture.frame.x_px(0.55)])
    assert cell.hit.width >= SMALLEST_PX


def test_chips_stand_in_the_order_of_their_lanes():
    for scene in (samples.TRACK, samples.MOVED, samples.NARROW, samples.UNDER_CENTER):
        cells = compose(scene).cells
        assert [cell.hit.x for cell in cells] == sorted(cell.hit.x for cell in cells)
        assert len({cell.hit.y for cell in cells}) == 1


def test_chips_lie_on_nobody():
    for scene in samples.ALL.values():
        picture = compose(scene)
        for cell in picture.cells:
            if isinstance(cell.tap.target, Span):
                assert not any(cell.chip.overlaps(man.box()) for man in picture.men), cell.tap


def test_men_a_split_apart_are_tapped_on_themselves():
    for cell in compose(samples.WHO).cells:
        assert cell.chip is None
        assert abs(cell.hit.x - cell.anchor[0]) <= 10


def test_men_too_close_to_be_tapped_get_chips():
    line = samples.line(moved={"LT": -1.2, "LG": -0.6, "C": 0.0, "RG": 0.6, "RT": 1.2})
    taps = tuple(Tap(man.id, man.id, OnMan(man.id)) for man in line)
    scene = Scene("A title", "In words.", line, samples.DEFENSE, taps=taps)
    assert any(cell.chip is not None for cell in compose(scene).cells)
    assert_can_be_hit(scene)


def test_seen_from_the_offense_nothing_is_tapped():
    assert compose(samples.TRACK, is_turned=True).cells == ()


def test_spread_keeps_order_distance_and_bounds():
    assert spread([5.0, 5.0, 5.0], 10.0, 0.0, 100.0) == [0.0, 10.0, 20.0]
    assert spread([95.0, 99.0], 10.0, 0.0, 100.0) == [90.0, 100.0]
    assert spread([10.0, 50.0], 10.0, 0.0, 100.0) == [10.0, 50.0]
    assert spread([], 10.0, 0.0, 100.0) == []
    with pytest.raises(ValueError, match="3 things"):
        spread([0.0, 1.0, 2.0], 60.0, 0.0, 100.0)


def test_a_man_tapped_in_two_parts_has_two_chips_that_say_which_is_which():
    drawing = draw(samples.WHO_FIRST)
    for part, more in (("1", ""), ("2", ' data-part="2"')):
        for man in ("tackle", "three", "will", "mike"):
            assert re.search(rf'<g class="tap" data-choice="{man}.{part}"{more}>.*?>{part}</text></g>', drawing)
