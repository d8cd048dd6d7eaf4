"""Colours that can be read: by WCAG contrast, by the colour-blind, in grey. Computed by libraries that are not ours."""

from itertools import combinations

import pytest
import wcag_contrast_ratio
from coloraide import Color

from quizgen.drawing.palette import DARK, LIGHT, PRINT, Palette

PALETTES = pytest.mark.parametrize("palette", [LIGHT, DARK, PRINT], ids=["light", "dark", "print"])
TEXT_RATIO = 7.0
"""source: WCAG 2.2, success criterion 1.4.6 Contrast (Enhanced)."""
GRAPHICS_RATIO = 3.0
"""source: WCAG 2.2, success criterion 1.4.11 Non-text Contrast."""
JUST_TELLABLE = 20.0
"""CIEDE2000 difference between colours that must not be taken for each other; ours, well above a just noticeable 2."""


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
@pytest.mark.parametrize("name", ["ink", "dim", "scrimmage", "own", "tap", "right", "wrong"])
def test_lines_and_shapes_on_the_ground(palette: Palette, name):
    assert contrast(getattr(palette, name), palette.field) >= GRAPHICS_RATIO


@PALETTES
def test_the_edge_of_a_chip(palette: Palette):
    assert contrast(palette.tap, palette.chip) >= GRAPHICS_RATIO


@pytest.mark.parametrize("palette", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize("blindness", [None, "protan", "deutan", "tritan"])
def test_right_and_wrong_are_told_apart_by_everybody(palette: Palette, blindness):
    seen = [Color(colour) for colour in (palette.right, palette.wrong, palette.field)]
    if blindness is not None:
        seen = [colour.filter(blindness) for colour in seen]
    for one, two in combinations(seen, 2):
        assert one.delta_e(two, method="2000") >= JUST_TELLABLE
