"""Reps on paper and as files: one self-contained page to leaf through, and single pictures as SVG or PNG.

The page needs nothing beside itself: its styles are in it, it runs no script and asks for nothing. What may be tapped
carries a number, and the same number stands in the list of choices. It must not know how reps are chosen.
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

from quizgen.drawing.picture import compose
from quizgen.drawing.scene import Note, OnHalf, OnMan, Point, Scene, ScreenHalf, Tap
from quizgen.drawing.svg import draw, stills
from quizgen.reps.rep import Choice, Rep
from server.errors import GapsoundServerError
from server.i18n.languages import Language
from server.paths import STATIC

STYLES = ("gapsound.css", "field.css", "booklet.css")
PNG_WIDTH_PX = 720
HALF_YD = 1.0
PNG_LIBRARY = "resvg-py"
PNG_FONTS = [str(STATIC / "fonts" / f"gap-{cut}.ttf") for cut in ("text", "head", "more")]  # .fonts/make.py
FONT_ADDRESS = re.compile(r'url\("(fonts/[\w-]+\.woff2)"\)')


class CannotWrite(GapsoundServerError):
    """A page or picture that can't be made or written here."""


@dataclass(frozen=True, slots=True)
class Line:
    """One choice as it is listed under its number."""

    number: int
    choice: Choice
    is_right: bool


@dataclass(frozen=True, slots=True)
class Leaf:
    """One rep as the page shows it: the question, its choices part by part, the picture of the answer."""

    rep: Rep
    question: str
    answer: str
    parts: tuple[tuple[str, tuple[Line, ...]], ...]


def numbers_of(rep: Rep) -> dict[tuple[int, str], int]:
    """The number of each choice by part (from 1) and id: they run on from part to part. A gap's letter would be
    taken for a choice's."""
    keys = [(n, choice.id) for n, part in enumerate(rep.parts, start=1) for choice in part.choices]
    return {key: number for number, key in enumerate(keys, start=1)}


def draw_question(rep: Rep) -> str:
    """The picture of the question with the numbers of its choices in it."""
    numbers = numbers_of(rep)
    taps = tuple(replace(tap, mark=str(numbers[tap.part, tap.id])) for tap in rep.scene.taps)
    scene = replace(rep.scene, taps=taps)
    notes = (Note(cell.tap.mark, _beside(scene, cell.tap)) for cell in compose(scene).cells if cell.chip is None)
    return draw(replace(scene, notes=(*scene.notes, *notes)))


def _beside(scene: Scene, tap: Tap) -> str | Point:
    """Where the number of a tap stands that has no ground of its own for it: by its man, at the half that is meant."""
    assert isinstance(tap.target, OnMan | OnHalf)  # lanes and paths have their own ground
    if isinstance(tap.target, OnMan):
        return tap.target.of
    man = scene.man(tap.target.of)
    return Point(man.x + (-HALF_YD if tap.target.half is ScreenHalf.LEFT else HALF_YD), man.y)


def draw_answer(rep: Rep) -> str:
    """The picture of the answer when everything has happened, still."""
    return stills(rep.moved, (rep.moved.end_s,))[0]


def leaf_of(rep: Rep) -> Leaf:
    """A rep as the page shows it."""
    numbers = numbers_of(rep)
    parts = tuple(
        (part.prompt, tuple(Line(numbers[n, c.id], c, c.id in part.right) for c in part.choices))
        for n, part in enumerate(rep.parts, start=1)
    )
    return Leaf(rep, draw_question(rep), draw_answer(rep), parts)


def styles_of_page() -> str:
    """Our style sheets as one text, with the fonts in it."""
    css = "\n".join((STATIC / name).read_text(encoding="utf-8") for name in STYLES)
    return FONT_ADDRESS.sub(
        lambda found: f"url(data:font/woff2;base64,{b64encode((STATIC / found[1]).read_bytes()).decode()})", css
    )


def page_of(team: str, reps: Iterable[Rep], asked: Mapping[str, Sequence[str]], spoken: Language) -> str:
    """The page of these reps; ``asked`` says what was chosen by: what is filtered, and to what."""
    from server.web.responses import pages_in

    leaves = [leaf_of(rep) for rep in reps]
    kinds = Counter(leaf.rep.kind for leaf in leaves)
    context: dict[str, Any] = {"team": team, "leaves": leaves, "kinds": kinds, "asked": asked}
    styles = Markup("<style>\n{}</style>").format(Markup(styles_of_page()))  # noqa: S704 - our own style sheets
    return pages_in(spoken).get_template("print/booklet.html").render(styles=styles, **context)


def pictures_of(rep: Rep) -> Iterator[tuple[str, str]]:
    """The pictures of a rep with the ends of their file names."""
    yield "question", draw_question(rep)
    yield "answer", draw_answer(rep)


def paint(svg: str) -> bytes:
    """A drawing of ours as PNG.

    Raises:
        CannotWrite: the library is not installed, or our fonts lack a letter that is written there.
    """
    texts = fromstring(svg).iter("{http://www.w3.org/2000/svg}text")  # noqa: S314 - our own drawing
    signs = sorted({sign for text in texts for sign in "".join(text.itertext())})
    if lacking := [sign for sign in signs if sign.isprintable() and not sign.isspace() and not is_drawn(sign)]:
        raise CannotWrite(
            f"--png: expected letters that Gapsound's own fonts have (Latin, Greek, Cyrillic), found {lacking[0]!r} "
            f"(U+{ord(lacking[0]):04X}); take --svg or --html, which a browser shows in the machine's fonts"
        )
    return _painted(svg)


@cache
def is_drawn(sign: str) -> bool:
    """Whether our fonts have this letter. resvg leaves out what no font has, and says nothing."""
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
    # Only our own fonts, so that a picture looks the same on every machine, one without any font too.
    return bytes(resvg_py.svg_to_bytes(svg_string=svg, width=width_px, skip_system_fonts=True, font_files=PNG_FONTS))


def check_library() -> None:
    """Make sure that pictures can be written. Raises: CannotWrite."""
    _painted('<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 1 1"/>')


def write_whole(option: str, path: Path, content: str | bytes) -> None:
    """Write a file in one step: what stood there stays as it was until the new one is whole, and nothing half done is
    left lying there. Raises: CannotWrite."""
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
