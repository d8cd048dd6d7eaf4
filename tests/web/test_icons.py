"""The icons on a phone's home screen."""

import io
import json

import pytest
from PIL import Image

from server.paths import STATIC, TEMPLATES

MANIFEST = json.loads((STATIC / "site.webmanifest").read_text(encoding="utf-8"))
PNGS = [one for one in MANIFEST["icons"] if one["type"] == "image/png"]


def open_png(address: str) -> Image.Image:
    return Image.open(io.BytesIO((STATIC / address.removeprefix("/static/")).read_bytes())).convert("RGBA")


def test_both_kinds_of_phone_have_theirs() -> None:
    """sizes: 192 and 512 px are what Chromium asks of an installable page, 180 px what Apple names for its phones
    (both from memory)."""
    for purpose in ("any", "maskable"):
        assert {one["sizes"] for one in PNGS if one["purpose"] == purpose} == {"192x192", "512x512"}
    assert open_png("apple-touch-icon.png").size == (180, 180)
    assert '<link rel="apple-touch-icon" href="/static/apple-touch-icon.png">' in (TEMPLATES / "_base.html").read_text()


@pytest.mark.parametrize("one", PNGS, ids=lambda one: one["src"])
def test_each_has_the_size_that_it_states(one: dict[str, str]) -> None:
    assert "{}x{}".format(*open_png(one["src"]).size) == one["sizes"]


@pytest.mark.parametrize("name", ["maskable-192.png", "maskable-512.png"])
def test_a_maskable_icon_keeps_its_mark_in_the_safe_zone(name: str) -> None:
    """source: W3C Web Application Manifest, "icon masks": a circle with a radius of 40 % of the icon's size."""
    image = open_png(name)
    size, ground = image.width, image.getpixel((0, 0))
    assert ground[3] == 255
    outside = [
        (x, y)
        for x in range(0, size, 2)
        for y in range(0, size, 2)
        if ((x - size / 2) ** 2 + (y - size / 2) ** 2) ** 0.5 > 0.4 * size and image.getpixel((x, y)) != ground
    ]
    assert outside == []


def test_apples_icon_is_opaque() -> None:
    assert open_png("apple-touch-icon.png").getchannel("A").getextrema() == (255, 255)
