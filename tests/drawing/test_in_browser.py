"""What a real browser makes of it: words no wider than we took them for, and a finger that hits what it aims at."""

from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations

import pytest
from playwright.sync_api import Browser, Page

from quizgen.drawing.boxes import text_width
from quizgen.drawing.palette import stylesheet
from quizgen.drawing.picture import compose
from quizgen.drawing.scene import OnHalf, Span
from quizgen.drawing.svg import draw
from tests.drawing import samples

PAGE = "<!doctype html><style>body{{margin:0}}svg{{display:block;width:360px}}{sheet}</style>{drawing}"
BOXES = """() => [...document.querySelectorAll('text')].map(text => {
  const box = text.getBoundingClientRect();
  return [text.textContent, parseFloat(getComputedStyle(text).fontSize), box.left, box.top, box.right, box.bottom];
})"""
HIT = "([x, y]) => document.elementFromPoint(x, y)?.closest('.tap')?.dataset.choice ?? null"


@pytest.fixture
def phone(browser: Browser) -> Iterator[Page]:
    page = browser.new_page(viewport={"width": 360, "height": 740})
    yield page
    page.close()


@pytest.mark.parametrize("name", samples.ALL)
def test_words_do_not_overlap_and_stay_on_the_screen(phone, name):
    phone.set_content(PAGE.format(sheet=stylesheet(), drawing=draw(samples.ALL[name])))
    boxes = phone.evaluate(BOXES)
    assert boxes
    for words, size, left, _, right, _ in boxes:
        assert left >= -0.5, words
        assert right <= 360.5, words
        assert size * 320 / 360 >= 11, words
        assert right - left <= text_width(words, size) + 0.5, words
    for (one, _, l1, t1, r1, b1), (two, _, l2, t2, r2, b2) in combinations(boxes, 2):
        # a line box is a quarter taller than its letters: that much may touch
        slack = 0.25 * min(b1 - t1, b2 - t2)
        assert not (min(r1, r2) - max(l1, l2) > 0.5 and min(b1, b2) - max(t1, t2) > slack), (one, two)


@pytest.mark.parametrize("name", [name for name, scene in samples.ALL.items() if scene.taps])
def test_a_finger_hits_the_choice_it_aims_at(phone, name):
    scene = samples.ALL[name]
    scene = replace(scene, taps=tuple(tap for tap in scene.taps if tap.part == 1))  # the page asks a part at a time
    picture = compose(scene)
    phone.set_content(PAGE.format(sheet=stylesheet(), drawing=draw(scene)))
    for cell in picture.cells:
        hit = cell.hit
        is_half = isinstance(cell.tap.target, OnHalf)
        air = 14.0 if is_half else 1.5 if isinstance(cell.tap.target, Span) else 3.0
        for x in (hit.left + air, hit.x, hit.right - air):
            for y in (hit.y,) if is_half else (hit.top + air, hit.y, hit.bottom - air):
                assert phone.evaluate(HIT, [x, y - picture.top]) == cell.tap.id
        if cell.gap is not None:
            assert phone.evaluate(HIT, [(cell.gap[0] + cell.gap[1]) / 2, -picture.top]) == cell.tap.id
