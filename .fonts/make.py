"""Make the fonts in server/static/fonts from two open ones. Build time only: the results are committed.

Run, in an empty folder and an environment with fonttools and brotli:

    npm install @fontsource-variable/archivo@5.3.0 @fontsource/noto-sans@5.3.0
    python PATH/TO/.fonts/make.py node_modules

One family, "Gapsound", with two cuts of Archivo that CSS and SVG choose between by weight: Text (400 to 599) and Head
(600 and up). Pages get them as woff2 with the letters of English and Spanish, 8 kB each; anything else comes from the
phone's own face. Pictures written as PNG can't count on a face of the machine, so their TTFs have every letter that
Archivo has, and a third, cut from Noto Sans, has the Latin, Greek and Cyrillic letters that Archivo lacks.
"""

from __future__ import annotations

import sys
import unicodedata
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

from fontTools import merge, subset
from fontTools.ttLib import TTFont
from fontTools.varLib import instancer

ARCHIVO = "@fontsource-variable/archivo"
NOTO = "@fontsource/noto-sans"
ARCHIVO_PARTS = ("latin", "latin-ext", "vietnamese")
NOTO_PARTS = ("latin", "latin-ext", "vietnamese", "greek", "greek-ext", "cyrillic", "cyrillic-ext")
CUTS = {"text": {"wght": 500, "wdth": 93}, "head": {"wght": 760, "wdth": 80}}
PAGE_LETTERS = [*map(chr, range(0x20, 0x7F)), *"áéíóúüñÁÉÍÓÚÜÑ¿¡·–—’‘“”…×°½"]
FEATURES = ["kern", "tnum", "lnum", "liga", "mark", "mkmk", "ccmp", "locl"]
FAMILY = "Gapsound"
TARGET = Path(__file__).resolve().parent.parent / "server" / "static" / "fonts"


@cache
def letters_of(path: Path) -> frozenset[int]:
    """The code points that a font file has a glyph for."""
    return frozenset(TTFont(path).getBestCmap())


def options(flavor: str | None) -> subset.Options:
    """How every cut is made smaller."""
    chosen = subset.Options()
    chosen.flavor = flavor
    chosen.layout_features = FEATURES
    chosen.hinting = False
    chosen.desubroutinize = True
    chosen.name_IDs = [0, 1, 2, 3, 4, 5, 6, 13, 14, 16, 17]
    return chosen


def cut(font: TTFont, letters: set[int], chosen: subset.Options) -> TTFont:
    """Keep these letters only."""
    subsetter = subset.Subsetter(chosen)
    subsetter.populate(unicodes=sorted(letters))
    subsetter.subset(font)
    return font


def name(font: TTFont, family: str, cut_name: str, weight: int) -> TTFont:
    """Name a font as CSS, SVG and resvg find it: by its family and weight, the width being the normal one."""
    full = f"{family} {cut_name}"
    font["name"].names = [record for record in font["name"].names if record.nameID < 256]
    for record in font["name"].names:
        said = {1: family, 2: cut_name, 3: full, 4: full, 6: full.replace(" ", "-"), 16: family, 17: cut_name}
        record.string = said.get(record.nameID, record.string)
    font["OS/2"].usWeightClass = weight
    font["OS/2"].usWidthClass = 5  # else a face of normal width wins over ours before weight is looked at
    return font


def merged(paths: list[Path], axes: dict[str, float], wanted: set[int] | None) -> TTFont:
    """One font of several files of the same face, each letter from the first file that has it."""
    chosen = options(None)
    taken: set[int] = set()
    with TemporaryDirectory() as scratch:
        pieces = []
        for path in paths:
            mine = set(letters_of(path)) - taken
            mine = mine if wanted is None else mine & wanted
            taken |= mine
            if not mine:
                continue
            font = TTFont(path)
            if axes:
                font = instancer.instantiateVariableFont(font, axes)
            font.flavor = None
            piece = Path(scratch) / f"{len(pieces)}.ttf"
            cut(font, mine, chosen).save(piece)
            pieces.append(str(piece))
        return merge.Merger().merge(pieces)


def main(packages: Path) -> None:
    """Write the five files."""
    files = {part: packages / ARCHIVO / "files" / f"archivo-{part}-standard-normal.woff2" for part in ARCHIVO_PARTS}
    for cut_name, axes in CUTS.items():
        page = options("woff2")
        font = instancer.instantiateVariableFont(TTFont(files["latin"]), axes)
        cut(font, set(map(ord, PAGE_LETTERS)), page)
        write(name(font, FAMILY, cut_name.title(), axes["wght"]), f"gap-{cut_name}.woff2", page)
        font = merged(list(files.values()), axes, None)
        write(name(font, FAMILY, cut_name.title(), axes["wght"]), f"gap-{cut_name}.ttf", options(None))
    archivo = {point for path in files.values() for point in letters_of(path)}
    rest = [packages / NOTO / "files" / f"noto-sans-{part}-700-normal.woff2" for part in NOTO_PARTS]
    scripts = ("LATIN", "GREEK", "CYRILLIC", "COMBINING", "MODIFIER")
    points = {point for path in rest for point in letters_of(path)}
    wanted = {p for p in points - archivo if unicodedata.name(chr(p), "").split(" ")[0] in scripts}
    write(name(merged(rest, {}, wanted), f"{FAMILY} More", "Bold", 700), "gap-more.ttf", options(None))


def write(font: TTFont, file: str, chosen: subset.Options) -> None:
    """Save a font, the same bytes each time, and say how heavy it is."""
    font.recalcTimestamp = False
    font["head"].created = font["head"].modified = 2**31  # seconds since 1904; any fixed moment does
    subset.save_font(font, str(TARGET / file), chosen)
    print(f"{file}: {(TARGET / file).stat().st_size} bytes, {len(font.getBestCmap())} letters")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
