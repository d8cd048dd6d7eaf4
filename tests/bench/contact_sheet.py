"""Contact sheets of every kind of rep, to be looked at: the question, the picture after the right answer and after a
wrong one, at two widths, light and dark, in both languages.

Run: python -m tests.bench.contact_sheet OUT, with the project installed and its extra for PNG. `--kinds`, `--each`,
`--widths`, `--dark`, `--spanish` make fewer and others; the seed is printed, and the same seed gives the same reps.
Pictures are painted by resvg with our own fonts, not by a browser.
"""

from __future__ import annotations

import argparse
import io
import re
from itertools import islice
from pathlib import Path

from PIL import Image, ImageDraw

from quizgen.content import load_team_dir
from quizgen.drawing.palette import DARK
from quizgen.drawing.svg import draw
from quizgen.reps.catalogue import Catalogue
from quizgen.reps.kinds import KINDS
from quizgen.reps.rep import Rep
from server.commands.booklet import paint
from server.i18n.languages import language as language_of

DEMO = Path(__file__).parents[2] / "seed_content" / "tarrow_falls"
GROUND = {"light": "#c8ccc6", "dark": "#000000"}
GAP_PX = 8
WORDS_PX = 30


def in_the_dark(svg: str) -> str:
    """The same drawing in the colours of a dark page."""

    def other(found: re.Match[str]) -> str:
        names = re.findall(r"gs-([fs])-([a-z-]+)", found[0])
        text = found[0]
        for letter, name in names:
            attribute = "fill" if letter == "f" else "stroke"
            colour = getattr(DARK, name.replace("-", "_"))
            text = re.sub(rf'\b{attribute}="#[0-9a-f]{{6}}"', f'{attribute}="{colour}"', text, count=1)
        return text

    return re.sub(r"<[^>]*gs-[fs]-[^>]*>", other, svg)


def painted(svg: str, width_px: int, *, is_dark: bool) -> Image.Image:
    """A drawing at a phone's width, twice as fine."""
    picture = Image.open(io.BytesIO(paint(in_the_dark(svg) if is_dark else svg))).convert("RGB")
    return picture.resize((width_px, round(picture.height * width_px / picture.width)), Image.Resampling.LANCZOS)


def wrong_answer(rep: Rep) -> list[str]:
    """Every part wrong."""
    return [next(choice.id for choice in part.choices if choice.id not in part.right) for part in rep.parts]


def row_of(rep: Rep, width_px: int, *, is_dark: bool) -> list[Image.Image]:
    """The three pictures of a rep."""
    after = rep.after(wrong_answer(rep))
    drawings = draw(rep.scene), draw(rep.moved, at_s=rep.moved.end_s), draw(after, at_s=after.end_s)
    return [painted(drawing, width_px, is_dark=is_dark) for drawing in drawings]


def sheet_of(reps: list[Rep], width_px: int, columns: int, *, is_dark: bool) -> Image.Image:
    """One sheet: a rep's three pictures side by side, ``columns`` reps to a row."""
    rows = [row_of(rep, width_px, is_dark=is_dark) for rep in reps]
    high = max(picture.height for row in rows for picture in row) + WORDS_PX
    wide = 3 * width_px + 3 * GAP_PX
    size = columns * wide, -(-len(rows) // columns) * (high + GAP_PX)
    sheet = Image.new("RGB", size, GROUND["dark" if is_dark else "light"])
    pen = ImageDraw.Draw(sheet)
    for number, (rep, row) in enumerate(zip(reps, rows, strict=True)):
        left, top = number % columns * wide, number // columns * (high + GAP_PX)
        said = f"{rep.id[:8]} {rep.position} · {rep.call} {rep.to.value} · {rep.formation} · {rep.play or ''}"
        pen.text((left + 4, top + 2), said, fill="#888888")
        pen.text((left + 4, top + 14), rep.stem[-130:], fill="#888888")
        for at, picture in enumerate(row):
            sheet.paste(picture, (left + at * (width_px + GAP_PX), top + WORDS_PX))
    return sheet


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("out", type=Path)
    parser.add_argument("--kinds", nargs="*", default=list(KINDS))
    parser.add_argument("--each", type=int, default=12)
    parser.add_argument("--widths", nargs="*", type=int, default=[390, 320])
    parser.add_argument("--columns", type=int, default=2)
    parser.add_argument("--only", choices=["light", "dark"])
    parser.add_argument("--language", choices=["en", "es"])
    parser.add_argument("--seed", default="sheet")
    wanted = parser.parse_args()
    wanted.out.mkdir(parents=True, exist_ok=True)
    print(f"seed {wanted.seed!r}")
    team = load_team_dir(DEMO)
    for language in [wanted.language] if wanted.language else ["en", "es"]:
        catalogue = Catalogue(team, language_of(language).translate_template)
        for kind in wanted.kinds:
            reps = list(islice(catalogue.reps(kinds=[kind], seed=wanted.seed), wanted.each))
            for width in wanted.widths:
                for scheme in [wanted.only] if wanted.only else ["light", "dark"]:
                    sheet = sheet_of(reps, width, wanted.columns, is_dark=scheme == "dark")
                    sheet.save(wanted.out / f"{kind}-{width}-{scheme}-{language}.png")
            print(kind, language, len(reps), flush=True)


if __name__ == "__main__":
    main()
