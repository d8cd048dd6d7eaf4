"""Colours are readable: by contrast, for the colour-blind, in grey. Computed by third-party libraries.

source: WCAG 2.2, success criteria 1.4.3 Contrast (Minimum) 4.5:1, 1.4.6 Contrast (Enhanced) 7:1 for text, 1.4.11
    Non-text Contrast 3:1; the ratios are computed by wcag-contrast-ratio
source: CIEDE2000 (CIE 142-2001) and the simulation of colour blindness by Brettel, Viénot and Mollon 1997 and Viénot,
    Brettel and Mollon 1999, both as implemented in coloraide
"""

import re
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
import wcag_contrast_ratio
from coloraide import Color

from quizgen.drawing.palette import DARK, LIGHT, PRINT, Palette
from quizgen.drawing.picture import compose
from quizgen.drawing.scene import Band, BandState, Blocker, Defender, Scene, Span
from quizgen.drawing.svg import draw_print
from tests.drawing.pixels import pixels_of

STATIC = Path(__file__).parents[2] / "server" / "static"
PALETTES = pytest.mark.parametrize("palette", [LIGHT, DARK, PRINT], ids=["light", "dark", "print"])
SCREEN = pytest.mark.parametrize("palette", [LIGHT, DARK], ids=["light", "dark"])
EYES = pytest.mark.parametrize("blindness", [None, "protan", "deutan", "tritan"])
TEXT_LEAST = 4.5
TEXT_RATIO = 7.0
GRAPHICS_RATIO = 3.0
JUST_TELLABLE = 15.0
"""Least CIEDE2000 difference between colours that must not be confused; our choice, well above a just noticeable 2."""
# Pairs that some people may confuse. They also differ in shape: see `test_shapes_…` below.
BY_SHAPE = {("tap", "right"), ("own", "tap"), ("own", "wrong"), ("tap", "wrong")}


def contrast(one: str, two: str) -> float:
    return wcag_contrast_ratio.rgb(
        *(tuple(int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5)) for colour in (one, two))
    )


def over(top: str, ground: str, opacity: float) -> str:
    return Color(top).mix(ground, 1 - opacity, space="srgb").to_string(hex=True)


@PALETTES
@pytest.mark.parametrize("name", ["ink", "dim"])
def test_text_on_the_ground(palette: Palette, name):
    assert contrast(getattr(palette, name), palette.field) >= TEXT_RATIO


@PALETTES
def test_text_on_chips_and_on_his_own_man(palette: Palette):
    assert contrast(palette.ink, palette.chip) >= TEXT_RATIO
    assert contrast(palette.on_own, palette.own) >= TEXT_RATIO


@PALETTES
@pytest.mark.parametrize(("name", "opacity"), [("right", 0.22), ("wrong", 0.3), ("tap", 0.13), ("tap", 0.35)])
def test_text_on_tinted_bands(palette: Palette, name, opacity):
    assert contrast(palette.ink, over(getattr(palette, name), palette.field, opacity)) >= TEXT_RATIO


@PALETTES
@pytest.mark.parametrize("name", ["ink", "dim", "scrimmage", "tap", "right", "wrong"])
def test_lines_and_shapes_on_the_ground(palette: Palette, name):
    assert contrast(getattr(palette, name), palette.field) >= GRAPHICS_RATIO


@PALETTES
def test_his_own_man_stands_out_by_fill_or_by_edge(palette: Palette):
    assert max(contrast(palette.own, palette.field), contrast(palette.on_own, palette.field)) >= TEXT_RATIO


@PALETTES
def test_the_edge_of_a_chip(palette: Palette):
    assert contrast(palette.tap, palette.chip) >= GRAPHICS_RATIO


# -- pages ---------------------------------------------------------------------------------------------------------


def page_colours() -> dict[str, dict[str, str]]:
    """The style sheet's page colours, light and dark; dark overrides light."""
    css = (STATIC / "gapsound.css").read_text(encoding="utf-8")
    light, dark = re.findall(r":root\s*\{([^}]*)\}", css)[:2]
    found = {
        name: dict(re.findall(r"--([\w-]+):\s*(#[0-9a-f]{6})", part)) for name, part in (("l", light), ("d", dark))
    }
    return {"light": found["l"], "dark": found["l"] | found["d"]}


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_text_on_pages(theme: str) -> None:
    colours = page_colours()[theme]
    pairs = [(text, ground) for text in ("ink", "quiet", "right", "wrong") for ground in ("ground", "turf")]
    pairs += [("on-marker", "marker"), ("on-sign", "right"), ("on-sign", "wrong"), ("ground", "ink"), ("ink", "field")]
    pairs += [("on-strip", "strip"), ("strip-quiet", "strip"), ("marker", "strip")]
    pairs += [("ink", "right-wash"), ("ink", "wrong-wash"), ("ink", "wash"), ("quiet", "field")]
    found = {pair: contrast(*(colours[name] for name in pair)) for pair in pairs}
    assert {pair: ratio for pair, ratio in found.items() if ratio < TEXT_LEAST} == {}
    # 1.4.6 for longer text
    read = {pair: ratio for pair, ratio in found.items() if pair[0] in ("ink", "quiet")}
    assert {pair: ratio for pair, ratio in read.items() if ratio < TEXT_RATIO} == {}


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_edges_that_matter_on_pages(theme: str) -> None:
    colours = page_colours()[theme]
    found = {
        name: contrast(colours[name], colours["ground"]) for name in ("edge", "marker-edge", "ink", "right", "wrong")
    }
    assert {name: ratio for name, ratio in found.items() if ratio < GRAPHICS_RATIO} == {}


def test_paper_is_black_on_white() -> None:
    for name in ("print.css", "booklet.css"):
        css = (STATIC / name).read_text(encoding="utf-8")
        paper = dict(re.findall(r"--([\w-]+):\s*(#[0-9a-f]{6})", css[css.index("@media print") :]))
        for text in ("ink", "quiet"):
            assert contrast(paper[text], paper["ground"]) >= TEXT_RATIO, name
        for edge in ("edge", "marker-edge", "right", "wrong"):
            assert contrast(paper[edge], paper["ground"]) >= GRAPHICS_RATIO, name


# -- colour vision -------------------------------------------------------------------------------------------------


@SCREEN
@EYES
def test_colours_with_different_meanings_differ(palette: Palette, blindness: str | None) -> None:
    names = ("own", "tap", "right", "wrong", "field")
    seen = {name: Color(getattr(palette, name)) for name in names}
    if blindness is not None:
        seen = {name: colour.filter(blindness) for name, colour in seen.items()}
    apart = {(one, two): seen[one].delta_e(seen[two], method="2000") for one, two in combinations(names, 2)}
    assert {pair: e for pair, e in apart.items() if e < JUST_TELLABLE and pair not in BY_SHAPE} == {}
    assert {pair for pair in apart if pair in BY_SHAPE} == BY_SHAPE


PAIR = (Blocker("left", -2.0, 0.0), Blocker("right", 2.0, 0.0))


def in_one_ink(state: BandState) -> np.ndarray:
    """The middle of a band in a state, in grey: ink or no ink."""
    scene = Scene("Band", "One band.", PAIR, bands=(Band("band", Span.between("left", "right"), "", state),))
    grey = pixels_of(draw_print(scene, is_offense_view=False), 360).mean(axis=2)
    middle, half = grey.shape[0] // 2, grey.shape[1] // 2
    part = grey[middle - 60 : middle + 60, half - 80 : half + 80]
    return part < 225


def test_shapes_distinguish_bands_without_colour() -> None:
    drawn = {state: in_one_ink(state) for state in BandState}
    for one, two in combinations(BandState, 2):
        share = float(np.mean(drawn[one] != drawn[two]))
        assert share > 0.02, (one, two, share)


def inked(man: Blocker | Defender) -> float:
    """The share of ink in a man's sign, in grey."""
    is_blocker = isinstance(man, Blocker)
    scene = Scene("Man", "One man.", (*PAIR, man) if is_blocker else PAIR, () if is_blocker else (man,))
    picture = compose(scene)
    box = next(one.box() for one in picture.men if one.man.id == man.id)
    grey = pixels_of(draw_print(scene, is_offense_view=False), 360).mean(axis=2)
    rows = slice(round(box.top - picture.top), round(box.bottom - picture.top))
    return float(np.mean(grey[rows, round(box.left) : round(box.right)] < 128))


def test_shapes_distinguish_his_own_man_from_blockers_and_choices() -> None:
    own = inked(Defender("own", 0.0, -4.0, "W", is_own=True))
    assert own > 0.5  # a solid sign
    assert inked(Blocker("back", 0.0, 4.0)) < 0.35  # a ring, like choices that can be tapped
