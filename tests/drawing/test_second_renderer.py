"""Reps of every kind, read by a second parser and drawn by a second renderer that share no code with ours.

source: SVG 1.1 (Second Edition), W3C: an element's attributes determine its rendering; svgelements reads the geometry
of
    the file, resvg paints it, and where the scene has a thing there must be its colour
source: WCAG 2.2, success criteria 2.5.8 Target Size (Minimum) 24 by 24 and 2.5.5 Target Size (Enhanced) 44 by 44 CSS
    pixels; a picture is at least 360 CSS pixels wide on the narrowest supported phone
"""

from __future__ import annotations

import io
import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property
from itertools import combinations, islice
from pathlib import Path

import numpy as np
import pytest
import svgelements
from lxml import etree

from quizgen.content import load_team_dir
from quizgen.drawing.palette import LIGHT
from quizgen.drawing.picture import compose
from quizgen.drawing.scene import OnHalf, OnMan, Span
from quizgen.drawing.svg import draw, draw_print, stills
from quizgen.reps.catalogue import Catalogue
from quizgen.reps.kinds import KINDS
from quizgen.reps.rep import Rep
from tests.drawing.pixels import pixels_of

DEMO = Path(__file__).parents[2] / "seed_content" / "tarrow_falls"
WIDTH_PX = 360
SCALE = 2
OF_EACH_KIND = 3
TARGET_LEAST_PX = 24.0
TARGET_PX = 44.0
SLACK_PX = 0.11  # numbers are written with one decimal

#: A man at the edge of the screen may be set aside this much: his plate has to be whole.
ASIDE_PX = 12.0


def rgb(colour: str) -> np.ndarray:
    return np.array([int(colour[n : n + 2], 16) for n in (1, 3, 5)], dtype=float)


@dataclass
class Drawn:
    """A rep's question, parsed and painted."""

    rep: Rep
    text: str = field(init=False)

    def __post_init__(self) -> None:
        self.text = draw(self.rep.scene)

    @cached_property
    def pixels(self) -> np.ndarray:
        return pixels_of(self.text, SCALE * WIDTH_PX)

    @cached_property
    def top(self) -> float:
        return float(etree.fromstring(self.text.encode()).get("viewBox").split()[1])

    @cached_property
    def places(self) -> dict[str, tuple[float, float]]:
        """Where the layout puts each man before the snap; that he is painted there is what the tests look at."""
        return {man.man.id: (man.box().x, man.box().y) for man in compose(self.rep.scene).men}

    @cached_property
    def taps(self) -> dict[tuple[int, str], dict[str, tuple[float, float, float, float]]]:
        """The boxes of each tap's elements, by part and choice and then by class, in pixels of the viewBox."""
        found: dict[tuple[int, str], dict[str, tuple[float, float, float, float]]] = {}
        for element in svgelements.SVG.parse(io.StringIO(self.text), reify=False).elements():
            choice = element.values.get("data-choice") if isinstance(element, svgelements.Shape) else None
            if choice is None:
                continue
            left, top, right, bottom = element.bbox(with_stroke=False)
            box = (left, top + self.top, right, bottom + self.top)  # svgelements counts from the top of the picture
            part = int(element.values.get("data-part") or 1)
            for name in (element.values.get("class") or "").split():
                found.setdefault((part, choice), {})[name] = box
        return found

    def is_near(self, colour: str, x: float, y: float, reach: float, within: float = 60.0) -> bool:
        """Whether that colour is painted within ``reach`` of a point in the viewBox."""
        column, row = SCALE * x, SCALE * (y - self.top)
        r = math.ceil(SCALE * reach)
        part = self.pixels[
            max(0, round(row) - r) : round(row) + r + 1, max(0, round(column) - r) : round(column) + r + 1
        ]
        return bool((np.abs(part - rgb(colour)).sum(axis=2) < within).any())

    def share(self, colour: str, box: tuple[float, float, float, float]) -> float:
        """The share of a box in the viewBox that has that colour."""
        left, top, right, bottom = (round(SCALE * v) for v in (box[0], box[1] - self.top, box[2], box[3] - self.top))
        part = self.pixels[max(0, top) : bottom, max(0, left) : right]
        return float(np.mean(np.abs(part - rgb(colour)).sum(axis=2) < 60))


@pytest.fixture(scope="module")
def drawn() -> list[Drawn]:
    catalogue = Catalogue(load_team_dir(DEMO))
    return [Drawn(rep) for kind in KINDS for rep in islice(catalogue.reps(kinds=[kind], seed="outside"), OF_EACH_KIND)]


def test_every_kind_is_there(drawn: list[Drawn]) -> None:
    assert {one.rep.kind for one in drawn} == set(KINDS)


def pictures_of(rep: Rep) -> Iterator[str]:
    yield draw(rep.scene)
    yield draw(rep.moved)
    yield from stills(rep.moved, (0.0, rep.moved.end_s))
    yield draw_print(rep.moved, at_s=rep.moved.end_s)


def test_no_picture_is_blank_or_cut(drawn: list[Drawn]) -> None:
    for one in drawn[::OF_EACH_KIND]:
        for text in pictures_of(one.rep):
            pixels = pixels_of(text, WIDTH_PX)
            ground = pixels[2, 2]
            painted = np.abs(pixels - ground).sum(axis=2) > 30
            assert 0.01 < painted.mean() < 0.8, one.rep.id
            # only yard lines and the line of scrimmage touch the edges of the picture
            assert painted[0].mean() == painted[-1].mean() == 0.0, one.rep.id


def test_his_own_man_is_painted_where_the_scene_says(drawn: list[Drawn]) -> None:
    for one in drawn:
        own = one.rep.scene.find_own()
        if own is None and one.rep.kind == "adjust":  # where he stands would tell the side
            continue
        assert own is not None
        x, y = one.places[own.id]
        share = one.share(LIGHT.own, (x - 9, y - 3, x + 9, y + 10))
        assert share > 0.38, (one.rep.id, share)


def test_nobody_else_is_painted_solid(drawn: list[Drawn]) -> None:
    for one in drawn:
        own = one.rep.scene.find_own()
        if own is None and one.rep.kind == "adjust":  # where he stands would tell the side
            continue
        assert own is not None
        at = one.places[own.id]
        for man in one.rep.scene.men:
            if man is own or math.dist(at, one.places.get(man.id, at)) < 40:
                continue
            x, y = one.places[man.id]
            assert one.share(LIGHT.own, (x - 9, y - 9, x + 9, y + 9)) < 0.5, (one.rep.id, man.id)


def test_every_blocker_is_painted_as_a_ring_where_the_scene_says(drawn: list[Drawn]) -> None:
    for one in drawn:
        for man in one.rep.scene.blockers:
            if man.id not in one.places:
                continue
            x, y = one.places[man.id]
            assert one.is_near(LIGHT.ink, x, y, 14), (one.rep.id, man.id)
            assert one.share(LIGHT.ink, (x - 12, y - 12, x + 12, y + 12)) < 0.75, (one.rep.id, man.id)


def test_targets_are_large_enough(drawn: list[Drawn]) -> None:
    for one in drawn:
        assert len(one.taps) == len(one.rep.scene.taps), one.rep.id
        for key, parts in one.taps.items():
            left, top, right, bottom = parts["gs-hit"]
            least = min(right - left, bottom - top)
            assert least >= TARGET_LEAST_PX, (one.rep.id, key, least)  # 2.5.8
            assert least >= TARGET_PX - SLACK_PX, (one.rep.id, key, least)  # 2.5.5, our own goal


def test_targets_do_not_overlap(drawn: list[Drawn]) -> None:
    for one in drawn:
        boxes = [(key[0], parts["gs-hit"]) for key, parts in one.taps.items()]
        for (part, a), (other, b) in combinations(boxes, 2):
            if part != other:
                continue  # the page asks one part at a time
            wide, high = min(a[2], b[2]) - max(a[0], b[0]), min(a[3], b[3]) - max(a[1], b[1])
            assert min(wide, high) <= SLACK_PX, one.rep.id


def test_choices_are_painted_where_their_targets_are(drawn: list[Drawn]) -> None:
    for one in drawn:
        for key, parts in one.taps.items():
            left, top, right, bottom = parts["gs-hit"]
            middle = (top + bottom) / 2 + 6.0  # beside the line of scrimmage
            sides: tuple[tuple[float, float], ...] = ((left, middle), (right, middle), ((left + right) / 2, top))
            if bottom - top > 1.5 * (right - left):  # half a disc: by its arc, beside the men who stand on its edges
                arc = [right - 0.707 * (right - left), left + 0.707 * (right - left)]
                sides = tuple((x, y) for x in arc for y in (top + 14.6, bottom - 14.6))
            seen = [one.is_near(LIGHT.tap, x, y, 2.5, 90) for x, y in (*sides, ((left + right) / 2, bottom))]
            assert any(seen), (one.rep.id, key, seen)


def test_choices_are_connected_to_what_they_mean(drawn: list[Drawn]) -> None:
    for one in drawn:
        for tap in one.rep.scene.taps:
            parts = one.taps[tap.part, tap.id]
            left, top, right, bottom = parts["gs-chip"]
            if isinstance(tap.target, Span):
                edges = [None if name is None else one.places[name][0] for name in (tap.target.left, tap.target.right)]
                mouth = (max(edges[0] or 0.0, left), min(edges[1] or float(WIDTH_PX), right))
                assert mouth[0] < mouth[1], (one.rep.id, tap.id)
                assert top < 0.0 < bottom, (one.rep.id, tap.id)  # the line of scrimmage is at 0
                middle = sum(mouth) / 2
                if len({key[0] for key in one.taps}) == 1:  # else the plates of the other part lie over it
                    seen = [one.is_near(LIGHT.chip, middle, y, 3, 12) for y in (-16, -8, 8, 16)]
                    assert any(seen), (one.rep.id, tap.id)
            elif isinstance(tap.target, OnMan | OnHalf):
                x, y = one.places[tap.target.of]
                assert left - ASIDE_PX <= x <= right + ASIDE_PX, (one.rep.id, tap.id)
                assert top <= y <= bottom, (one.rep.id, tap.id)
