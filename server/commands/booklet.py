"""Reps on paper and as files: one self-contained page to leaf through, and pictures as SVG or PNG.

The page contains its styles, runs no script and loads nothing, so that a reviewer can read it anywhere, offline.
Everything that may be tapped has a number, the same as in the list of choices. PNGs are made by resvg-py, an extra that
brings its own renderer and needs no system library. Rejected: cairosvg (needs system libraries); a browser (heavy).
Knows nothing of how reps are chosen.
"""

from __future__ import annotations

import re
from base64 import b64encode
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any
from xml.etree.ElementTree import fromstring

from markupsafe import Markup, escape

from quizgen.drawing.svg import draw, stills
from quizgen.reps.rep import Choice, Rep
from server.errors import GapsoundServerError
from server.i18n.languages import Language
from server.paths import STATIC

STYLES = ("gapsound.css", "field.css", "booklet.css")
PNG_WIDTH_PX = 720
PNG_LIBRARY = "resvg-py"
PNG_FONTS = [str(STATIC / "fonts" / f"gap-{cut}.ttf") for cut in ("text", "head", "more")]  # .fonts/make.py
FONT_ADDRESS = re.compile(r'url\("(fonts/[\w-]+\.woff2)"\)')


class CannotWrite(GapsoundServerError):
    """A page or picture can't be made or written here."""


@dataclass(frozen=True, slots=True)
class ListedChoice:
    """One choice in the list, with its number."""

    number: int
    choice: Choice
    is_right: bool


@dataclass(frozen=True, slots=True)
class Leaf:
    """One rep on the page: the question, its choices by part, the picture of the answer."""

    rep: Rep
    question: str
    answer: str
    parts: tuple[tuple[str, tuple[ListedChoice, ...]], ...]


def numbers_of(rep: Rep) -> dict[tuple[int, str], int]:
    """The number of each choice by part (from 1) and id; they run on from part to part. Numbers, because a letter would
    be confused with a gap's."""
    keys = [(n, choice.id) for n, part in enumerate(rep.parts, start=1) for choice in part.choices]
    return {key: number for number, key in enumerate(keys, start=1)}


def draw_question(rep: Rep) -> str:
    """The picture of the question with its choices' numbers in it."""
    numbers = numbers_of(rep)
    taps = tuple(replace(tap, mark=str(numbers[tap.part, tap.id])) for tap in rep.scene.taps)
    return draw(replace(rep.scene, taps=taps))


def draw_answer(rep: Rep) -> str:
    """The picture of the answer at its end, still."""
    return stills(rep.moved, (rep.moved.end_s,))[0]


def leaf_of(rep: Rep) -> Leaf:
    """A rep as the page shows it."""
    numbers = numbers_of(rep)
    parts = tuple(
        (part.prompt, tuple(ListedChoice(numbers[n, c.id], c, c.id in part.right) for c in part.choices))
        for n, part in enumerate(rep.parts, start=1)
    )
    return Leaf(rep, draw_question(rep), draw_answer(rep), parts)


def styles_of_page() -> str:
    """Our style sheets as one text, with the fonts in it."""
    css = "\n".join((STATIC / name).read_text(encoding="utf-8") for name in STYLES)
    return FONT_ADDRESS.sub(
        lambda found: f"url(data:font/woff2;base64,{b64encode((STATIC / found[1]).read_bytes()).decode()})", css
    )


def page_of(team: str, reps: Iterable[Rep], asked: Mapping[str, Sequence[str]], language: Language) -> str:
    """The page of these reps; ``asked`` lists the filters used and their values."""
    from server.web.responses import pages_in

    leaves = [leaf_of(rep) for rep in reps]
    kinds = Counter(leaf.rep.kind for leaf in leaves)
    context: dict[str, Any] = {"team": team, "leaves": leaves, "kinds": kinds, "asked": asked}
    styles = Markup("<style>\n{}</style>").format(Markup(styles_of_page()))  # noqa: S704 - our own style sheets
    return pages_in(language).get_template("print/booklet.html").render(styles=styles, **context)


def pictures_of(rep: Rep) -> Iterator[tuple[str, str]]:
    """The pictures of a rep, with the ends of their file names."""
    yield "question", draw_question(rep)
    yield "answer", draw_answer(rep)


def paint(svg: str) -> bytes:
    """One of our drawings as PNG.

    Raises:
        CannotWrite: the library is not installed, or our fonts lack a letter of the drawing.
    """
    texts = fromstring(svg).iter("{http://www.w3.org/2000/svg}text")  # noqa: S314 - our own drawing
    signs = sorted({sign for text in texts for sign in "".join(text.itertext())})
    if lacking := [sign for sign in signs if sign.isprintable() and not sign.isspace() and not has_glyph(sign)]:
        raise CannotWrite(
            f"--png: expected letters that Gapsound's own fonts have (Latin, Greek, Cyrillic), found {lacking[0]!r} "
            f"(U+{ord(lacking[0]):04X}); take --svg or --html, which a browser shows in the machine's fonts"
        )
    return _painted(svg)


@cache
def has_glyph(sign: str) -> bool:
    """Whether our fonts have this letter. resvg silently leaves out letters that no font has."""
    frame = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 20 20" font-family="Gapsound">{}</svg>'
    written = f'<text x="9" y="15" font-size="12">{escape(sign)}</text>'
    return _painted(frame.format(written), width_px=20) != _painted(frame.format(""), width_px=20)


def _painted(svg: str, width_px: int = PNG_WIDTH_PX) -> bytes:
    try:
        import resvg_py
    except ImportError:
        raise CannotWrite(
            f"--png: expected the library {PNG_LIBRARY}; install it beside gapsound (pip install {PNG_LIBRARY}), "
            "or take --svg"
        ) from None
    # Only our own fonts, so that a picture looks the same on every machine, even on one without fonts.
    return bytes(resvg_py.svg_to_bytes(svg_string=svg, width=width_px, skip_system_fonts=True, font_files=PNG_FONTS))


def check_library() -> None:
    """Check that pictures can be written. Raises: CannotWrite."""
    _painted('<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 1 1"/>')


def write_atomically(option: str, path: Path, content: str | bytes) -> None:
    """Write a file in one step: the old one stays until the new one is complete, and nothing half-written is left over.
    Raises: CannotWrite."""
    scratch = path.with_name(f".{path.name}.part")
    try:
        if isinstance(content, bytes):
            scratch.write_bytes(content)
        else:
            scratch.write_text(content, encoding="utf-8")
        scratch.replace(path)
    except OSError as error:
        with suppress(OSError):
            scratch.unlink()
        raise CannotWrite(
            f"{option}: expected a place that can be written, found {str(path)!r} ({error.strerror})"
        ) from None
