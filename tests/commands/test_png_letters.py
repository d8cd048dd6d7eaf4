"""Letters in PNG pictures are drawn with the package's fonts, whatever fonts the machine has."""

import io
import json
import os
import subprocess
import sys
import unicodedata
import zlib
from pathlib import Path

import numpy as np
import pytest
import resvg_py
from PIL import Image

from server.commands.booklet import PNG_FONTS, CannotWrite, has_glyph, paint

FRAME = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 120 20" font-family="Gapsound, sans-serif">{}</svg>'
NAMES = ("Łukasz", "Đức", "Ñíguez", "Şükrü", "Ọlá", "Kahaʻi", "Ольга", "Νίκος", "O'Neil 54")
# source: The Unicode Standard 15.0, Blocks.txt: the blocks that languages of the Latin script are written in
LATIN_BLOCKS = {
    "Basic Latin": (0x0000, 0x007F),
    "Latin-1 Supplement": (0x0080, 0x00FF),
    "Latin Extended-A": (0x0100, 0x017F),
    "Latin Extended-B": (0x0180, 0x024F),
    "IPA Extensions": (0x0250, 0x02AF),
    "Latin Extended Additional": (0x1E00, 0x1EFF),
}
#: For each name: whether a font of the machine draws it, the letters not drawn, and a checksum of our picture.
PROGRAM = """
import json, sys, zlib, resvg_py
from server.commands.booklet import has_glyph, paint
frame, found = sys.argv[1], []
blank = bytes(resvg_py.svg_to_bytes(svg_string=frame.format("")))
for svg, name in json.load(sys.stdin):
    by_machine = bytes(resvg_py.svg_to_bytes(svg_string=svg, sans_serif_family="DejaVu Sans")) != blank
    found.append([by_machine, [sign for sign in name if sign != " " and not has_glyph(sign)], zlib.crc32(paint(svg))])
json.dump(found, sys.stdout)
"""


def text(words: str, weight: str = "bold") -> str:
    return FRAME.format(f'<text x="2" y="15" font-size="14" font-weight="{weight}">{words}</text>')


def ink(png: bytes) -> int:
    """The number of painted pixels."""
    return int((np.asarray(Image.open(io.BytesIO(png)))[:, :, 3] > 128).sum())


def test_names_are_drawn_where_the_machine_has_no_font_at_all(tmp_path: Path) -> None:
    (tmp_path / "none").mkdir()
    fonts = tmp_path / "fonts.conf"
    fonts.write_text(f"<fontconfig><dir>{tmp_path / 'none'}</dir></fontconfig>", encoding="utf-8")
    result = subprocess.run(
        [sys.executable, "-c", PROGRAM, FRAME],
        input=json.dumps([(text(name), name) for name in NAMES]),
        env={**os.environ, "FONTCONFIG_FILE": str(fonts), "HOME": str(tmp_path), "XDG_CONFIG_HOME": str(tmp_path)},
        capture_output=True,
        text=True,
        check=True,
        cwd=Path(__file__).parents[2],
    )
    for name, (by_machine, lacking, picture) in zip(NAMES, json.loads(result.stdout), strict=True):
        assert not by_machine, "the machine's fonts were not out of sight"
        assert lacking == [], name
        assert ink(paint(text(name))) > 100, name
        assert picture == zlib.crc32(paint(text(name))), f"{name} looks different where there are other fonts"


@pytest.mark.parametrize("block", LATIN_BLOCKS)
def test_every_letter_of_the_latin_script_is_drawn(block: str) -> None:
    first, last = LATIN_BLOCKS[block]
    letters = [chr(point) for point in range(first, last + 1) if unicodedata.category(chr(point)).startswith("L")]
    assert len(letters) >= 52
    assert [sign for sign in letters if not has_glyph(sign)] == []


def test_weight_chooses_between_the_two_cuts() -> None:
    """Each cut alone draws what the three together draw at its weight, so the third never replaces them."""
    for weight, cut in (("normal", PNG_FONTS[0]), ("bold", PNG_FONTS[1])):
        svg = text("Gap 54 Łáđ", weight)
        alone = resvg_py.svg_to_bytes(svg_string=svg, width=720, skip_system_fonts=True, font_files=[cut])
        assert paint(svg) == bytes(alone)
    assert ink(paint(text("Gap", "bold"))) > ink(paint(text("Gap", "normal")))


@pytest.mark.parametrize("sign", ["字", "ب", "א", "→"])
def test_a_letter_that_no_font_of_ours_has_is_named(sign: str) -> None:
    with pytest.raises(CannotWrite, match=rf"found '{sign}' \(U\+{ord(sign):04X}\); take --svg or --html"):
        paint(text(f"Mike {sign}"))
    assert not has_glyph(sign)


def test_words_that_are_not_drawn_may_have_any_letter() -> None:
    assert paint(FRAME.format("<title>字</title>" + '<circle cx="9" cy="9" r="5"/>'))
