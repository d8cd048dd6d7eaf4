"""SVG: it writes a picture down as text, and decides nothing about it.

Why it exists: `draw` for the screen, `stills` for readers who want no motion, `draw_print` for paper. What it must not
know: football, where things go (see `picture`), what is drawn over what (see `layers`), what a right answer is.

Text by hand and not by svgwrite: its elements took two thirds of the time of a drawing, and it is no longer kept up.
The tests still hold every attribute against its validator, and two other programs read and paint the result.

For the page: the picture is an svg element of class ``gs``, 360 units wide. What may be tapped is
``<g class="tap" data-choice="ID">``, with ``data-part="2"`` for the second question of a rep that asks two. A page's
script couples it to a native radio and sets class ``is-chosen``, which a tap of the scene may have from the start.
Motion is written as `quizgen.drawing.motion` says. Colours are presentation attributes, and classes for
`quizgen.drawing.palette.stylesheet`. There is no style attribute, no style element, no script and no address outside
the picture, so the strictest content policy lets it through.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from markupsafe import escape

from quizgen.drawing import labels, layers, motion
from quizgen.drawing.lines import number, px
from quizgen.drawing.palette import LIGHT, PRINT, Palette
from quizgen.drawing.picture import Picture, compose
from quizgen.drawing.places import DrawnMan
from quizgen.drawing.scene import Scene

FONT = "Gapsound, Gapsound Before, system-ui, sans-serif"
"""Our own face; the page's stand-in until it is here and for letters that it lacks; then what the machine has."""
LINK_PX = 28
"""The side of a man's link: half as large again as his sign, so that two who stand near don't lie on each other."""
PREFIX = "\x01"
"""Stands for the prefix of ids until the text is complete; no words may have it."""


@dataclass(frozen=True, slots=True)
class Link:
    """Where a man of a picture leads, and what it is called."""

    address: str
    label: str
    is_chosen: bool = False


NO_LINKS: Mapping[str, Link] = MappingProxyType({})


def draw(scene: Scene, *, at_s: float = 0.0) -> str:
    """The scene from behind the defense as one svg element; the same scene always gives the same text.

    ``at_s`` is the moment shown before any script plays, in seconds after the snap.
    """
    return _text(Pen(compose(scene), LIGHT, at_s, has_motion=scene.end_s > 0))


def draw_linked(scene: Scene, links: Mapping[str, Link], *, at_s: float = 0.0) -> str:
    """The scene with a link over each of these men, by id, from left to right; a man who is outside the picture has
    none. For a page on which a man is chosen."""
    return _text(Pen(compose(scene), LIGHT, at_s, has_motion=scene.end_s > 0), links)


def stills(scene: Scene, times_s: Iterable[float]) -> tuple[str, ...]:
    """The scene at each of the times (seconds after the snap), all in one frame, without motion."""
    picture = compose(scene)
    return tuple(_text(Pen(picture, LIGHT, t_s, has_motion=False)) for t_s in times_s)


def draw_print(scene: Scene, *, is_offense_view: bool = True, at_s: float = 0.0) -> str:
    """The scene in grey for paper; by default seen from the offense (half a turn, words upright, no taps)."""
    return _text(Pen(compose(scene, is_turned=is_offense_view), PRINT, at_s, has_motion=False))


def _text(pen: Pen, links: Mapping[str, Link] = NO_LINKS) -> str:
    """The svg element of the pen's picture as text."""
    picture = pen.picture
    scene = picture.scene
    names = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
    box = f'viewBox="0 {px(picture.top)} 360 {px(picture.height)}"'
    role = "group" if links else "img"
    said = f'role="{role}" aria-labelledby="{PREFIX}t {PREFIX}d"'
    moves = f' data-end="{number(scene.end_s)}"' if pen.has_motion else ""
    if pen.has_motion and scene.snap_s:
        moves += f' data-snap="{number(scene.snap_s)}"'
    parts = [f'<svg {names} class="gs" {box} font-family="{FONT}" text-anchor="middle" {said}{moves}>']
    parts.append(f'<title id="{PREFIX}t">{escape(scene.title)}</title><desc id="{PREFIX}d">')
    parts.append(f"{escape(scene.description)}</desc><defs>")
    parts += layers.define(pen)
    parts.append('</defs><g pointer-events="none">')
    for layer in layers.UNDER:
        parts += layer(pen)
    parts.append("</g>")
    parts += layers.taps(pen)
    parts.append('<g pointer-events="none">')
    for layer in layers.OVER:
        parts += layer(pen)
    parts.append("</g>")
    parts += [_link(pen, man, links[man.man.id]) for man in _across(picture, pen.at_s) if man.man.id in links]
    parts.append("</svg>")
    text = "".join(parts)
    digest = hashlib.blake2s(text.encode(), digest_size=4).hexdigest()
    return text.replace(PREFIX, "g" + digest)


def _across(picture: Picture, at_s: float) -> list[DrawnMan]:
    """The men from left to right as they stand."""
    return sorted(picture.men, key=lambda man: labels.at(man.path, at_s))


def _link(pen: Pen, man: DrawnMan, link: Link) -> str:
    """A link over a man, as large as a finger where the picture is shown at its own size."""
    x, y = labels.at(man.path, pen.at_s)
    chosen = ' aria-current="true"' if link.is_chosen else ""
    spot = f'<rect x="{px(x - LINK_PX / 2)}" y="{px(y - LINK_PX / 2)}" width="{LINK_PX}" height="{LINK_PX}" rx="4"/>'
    return f'<a class="gs-link" href="{escape(link.address)}" aria-label="{escape(link.label)}"{chosen}>{spot}</a>'


@cache
def _paint(palette: Palette, fill: str, stroke: str, more: str) -> str:
    """Attributes of a fill and a stroke; on screen with the classes that a page colours them by."""
    attributes, classes = "", [more] if more else []
    for attribute, name in (("fill", fill), ("stroke", stroke)):
        if name:
            attributes += f' {attribute}="{getattr(palette, name)}"'
            if palette is not PRINT:
                classes.append(f"gs-{attribute[0]}-{name.replace('_', '-')}")
    return f'{attributes} class="{" ".join(classes)}"' if classes else attributes


class Pen:
    """Writes elements for one picture at one moment. Colours are names from `Palette`. ``has_motion`` says whether keys
    are written for a script."""

    prefix = PREFIX

    def __init__(self, picture: Picture, palette: Palette, at_s: float, *, has_motion: bool) -> None:
        self.picture = picture
        self.palette = palette
        self.at_s = at_s
        self.has_motion = has_motion

    def paint(self, fill: str = "", stroke: str = "", more: str = "") -> str:
        """The attributes of a fill and a stroke ("": none is said), with one more class."""
        return _paint(self.palette, fill, stroke, more)

    def escape(self, words: str) -> str:
        """Words as they may stand in the text."""
        return escape(words)

    def use(self, shape: str, attributes: str = "") -> str:
        """A shape that was defined, with further attributes."""
        return f'<use xlink:href="#{PREFIX}{shape}"{attributes}/>'

    def letters(
        self, words: str, x: float, y: float, size: float, attributes: str = "", fill: str = "", more: str = ""
    ) -> str:
        """Words centred on a point; size 0: as large as their group says."""
        sized = f' font-size="{px(size)}"' if size else ""
        down = (size or labels.TEXT_PX) * 0.36
        at = f'x="{px(x)}" y="{px(y + down)}"'
        return f"<text {at}{sized}{attributes}{self.paint(fill, '', more)}>{escape(words)}</text>"

    def moving(self, along: labels.Path) -> str:
        """The attributes that put a thing where its path is now, with its keys when the picture moves."""
        x, y = labels.at(along, self.at_s) if len(along) > 1 else along[0][1:]
        keys = motion.keys_text(along) if self.has_motion else None
        moves = f' data-k="{keys}"' if keys else ""
        return f' transform="translate({px(x)} {px(y)})"{moves}'

    def growing(self, grown: Sequence[tuple[float, float]]) -> str:
        """The attributes of a way of which so much has been run; none for one that is there all the time."""
        if not grown:
            return ""
        share = motion.share_at(grown, self.at_s)
        keys = f' data-g="{motion.grown_text(grown)}"' if self.has_motion else ""
        shown = ' visibility="hidden"' if share <= 0 else f' stroke-dasharray="{number(share)} 1"' if share < 1 else ""
        return f' pathLength="1"{keys}{shown}' if keys or shown else ""

    def is_gone(self, from_s: float, to_s: float | None) -> bool:
        """Whether the thing can be left out altogether: nothing moves, and it is not to be seen now."""
        return not self.has_motion and not self._is_seen(from_s, to_s)

    def times(self, from_s: float, to_s: float | None) -> str:
        """The attributes that hide a thing that is not to be seen now and tell a script when it is."""
        hidden = "" if self._is_seen(from_s, to_s) else ' visibility="hidden"'
        if not self.has_motion:
            return hidden
        starts = f' data-from="{number(from_s)}"' if from_s > 0 else ""
        return f"{hidden}{starts}" + ("" if to_s is None else f' data-to="{number(to_s)}"')

    def _is_seen(self, from_s: float, to_s: float | None) -> bool:
        return from_s <= self.at_s and (to_s is None or self.at_s < to_s)
