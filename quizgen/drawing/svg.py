"""SVG: the only module that knows svgwrite. It writes a picture down, and decides nothing about it.

Why it exists: `draw` for the screen, `stills` for readers who want no motion, `draw_print` for paper. What it must not
know: football, where things go (see `picture`), what is drawn over what (see `layers`), what a right answer is.

For the page: the picture is an svg element of class ``gs``, 360 units wide. What may be tapped is
``<g class="tap" data-choice="ID">``, with ``data-part="2"`` for the second question of a rep that asks two (where both
ask for the same thing, its chips show the number of their part). A page's script couples it to a native radio and sets
class ``is-chosen``, which a tap of the scene may have from the start. Motion is written as `quizgen.drawing.motion`
says. Colours are presentation attributes, and classes for `quizgen.drawing.palette.stylesheet`. There is no style
attribute, no style element, no script and no address outside the picture, so the strictest content policy lets it
through.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from typing import Any
from xml.etree import ElementTree as ET

import svgwrite
from svgwrite import container, path, pattern, shapes, text

from quizgen.drawing import labels, layers, motion
from quizgen.drawing.lines import number, px
from quizgen.drawing.palette import LIGHT, PRINT, Palette
from quizgen.drawing.picture import Picture, compose
from quizgen.drawing.scene import Scene

FONT = "Gapsound, Gapsound Before, system-ui, sans-serif"
"""Our own face; the page's stand-in until it is here and for letters that it lacks; then what the machine has."""


def draw(scene: Scene, *, at_s: float = 0.0, is_checked: bool = False) -> str:
    """The scene from behind the defense as one svg element; the same scene always gives the same text.

    ``at_s`` is the moment shown before any script plays, in seconds after the snap. ``is_checked`` lets svgwrite
    validate every attribute (slow: for tests).
    """
    return _text(Pen(compose(scene), LIGHT, at_s, has_motion=scene.end_s > 0, is_checked=is_checked))


def stills(scene: Scene, times_s: Iterable[float], *, is_checked: bool = False) -> tuple[str, ...]:
    """The scene at each of the times (seconds after the snap), all in one frame, without motion."""
    picture = compose(scene)
    return tuple(_text(Pen(picture, LIGHT, t_s, has_motion=False, is_checked=is_checked)) for t_s in times_s)


def draw_print(scene: Scene, *, is_offense_view: bool = True, at_s: float = 0.0, is_checked: bool = False) -> str:
    """The scene in grey for paper; by default seen from the offense (half a turn, words upright, no taps)."""
    picture = compose(scene, is_turned=is_offense_view)
    return _text(Pen(picture, PRINT, at_s, has_motion=False, is_checked=is_checked))


def _text(pen: Pen) -> str:
    """The svg element of the pen's picture as text."""
    picture = pen.picture
    root = svgwrite.Drawing(viewBox=f"0 {px(picture.top)} 360 {px(picture.height)}", debug=pen.debug)
    for measure in ("width", "height"):
        del root.attribs[measure]  # the page says how wide; the viewBox says how high that makes it
    root["class"] = "gs"
    root["font-family"] = FONT
    root["text-anchor"] = "middle"
    root.set_desc(picture.scene.title, picture.scene.description)
    root.elements[:2] = [
        _Extra(said, {"id": pen.prefix + at}) for said, at in zip(root.elements[:2], "td", strict=True)
    ]
    layers.define(pen, root.defs)
    for layer in layers.ALL:
        root.add(layer(pen))
    further = {
        "role": "img",
        "aria_labelledby": f"{pen.prefix}t {pen.prefix}d",
        "data_end": number(picture.scene.end_s) if pen.has_motion else None,
        "data_snap": number(picture.scene.snap_s) if pen.has_motion and picture.scene.snap_s else None,
    }
    return ET.tostring(_Extra(root, further).get_xml(), encoding="unicode")


class _Extra:
    """An element with attributes that svgwrite's validator does not know (data-*, role, paint-order)."""

    def __init__(self, element: Any, attributes: dict[str, str | None]) -> None:
        self.element = element
        self.attributes = attributes
        self.elementname: str = element.elementname

    def get_xml(self) -> ET.Element:
        """The XML of the element, with the further attributes that have a value."""
        xml: ET.Element = self.element.get_xml()
        for name, value in self.attributes.items():
            if value is not None:
                xml.set(name.replace("_", "-"), value)
        return xml


class Pen:
    """Makes elements for one picture at one moment; ``prefix`` keeps its ids apart from those of other pictures.

    Colours are names from `Palette`. ``has_motion`` says whether keys are written for a script.
    """

    def __init__(self, picture: Picture, palette: Palette, at_s: float, *, has_motion: bool, is_checked: bool) -> None:
        self.picture = picture
        self.palette = palette
        self.at_s = at_s
        self.has_motion = has_motion
        self.debug = is_checked
        told = repr((picture.scene, picture.frame.is_turned, at_s, has_motion, palette is PRINT))
        self.prefix = "g" + hashlib.blake2s(told.encode(), digest_size=4).hexdigest()

    def group(self, **attributes: Any) -> Any:
        """A g element."""
        return self._dressed(container.Group(debug=self.debug), attributes)

    def path(self, data: str, **attributes: Any) -> Any:
        """A path element."""
        return self._dressed(path.Path(data, debug=self.debug), attributes)

    def rect(self, left: float, top: float, width: float, height: float, **attributes: Any) -> Any:
        """A rect element, in pixels."""
        corner, size = (px(left), px(top)), (px(width), px(height))
        return self._dressed(shapes.Rect(corner, size, debug=self.debug), attributes)

    def circle(self, x: float, y: float, radius: float, **attributes: Any) -> Any:
        """A circle element, in pixels."""
        return self._dressed(shapes.Circle((px(x), px(y)), px(radius), debug=self.debug), attributes)

    def use(self, letter: str, **attributes: Any) -> Any:
        """A use element of the definition with that letter."""
        return self._dressed(container.Use(f"#{self.prefix}{letter}", debug=self.debug), attributes)

    def letters(self, words: str, x: float, y: float, size: float, **attributes: Any) -> Any:
        """A text element centred on a point, in pixels."""
        element = text.Text(words, x=[px(x)], y=[px(y + size * 0.36)], debug=self.debug)
        return self._dressed(element, {"font_size": px(size), **attributes})

    def tiles(self, letter: str, size: float, turn: int) -> Any:
        """A pattern element of square tiles, turned by so many degrees."""
        return pattern.Pattern(
            size=(px(size), px(size)),
            patternUnits="userSpaceOnUse",
            patternTransform=f"rotate({turn})",
            id=self.prefix + letter,
            debug=self.debug,
        )

    def with_halo(self, element: Any) -> Any:
        """The element with a rim of the ground around it, so that it reads on top of lines."""
        self._dressed(element, {"stroke": "field", "stroke_width": "4", "stroke_linejoin": "round"})
        return _Extra(element, {"paint_order": "stroke"})

    def moving(self, element: Any, along: labels.Path, times: dict[str, str | None] | None = None) -> Any:
        """The element put where its path is now, with its keys when the picture moves."""
        element["transform"] = f"translate({' '.join(map(px, labels.at(along, self.at_s)))})"
        keys = motion.keys_text(along) if self.has_motion else None
        return _Extra(element, {"data_k": keys, **(times or {})})

    def stretching(self, element: Any, along: labels.Path, times: dict[str, str | None]) -> Any:
        """A rect with the keys of its left edge and width when the picture moves."""
        return _Extra(element, {"data_kw": motion.widths_text(along) if self.has_motion else None, **times})

    def timed(self, element: Any, times: dict[str, str | None]) -> Any:
        """The element with the times at which it is seen."""
        return _Extra(element, dict(times))

    def choice(self, element: Any, choice_id: str, part: int) -> Any:
        """A tap group coupled to a choice."""
        return _Extra(element, {"data_choice": choice_id, "data_part": str(part) if part > 1 else None})

    def is_gone(self, from_s: float, to_s: float | None) -> bool:
        """Whether the thing can be left out altogether: nothing moves, and it is not to be seen now."""
        return not self.has_motion and not self._is_seen(from_s, to_s)

    def times(self, element: Any, from_s: float, to_s: float | None) -> dict[str, str | None]:
        """Hide the element if it is not to be seen now; the attributes that tell a script when it is."""
        if not self._is_seen(from_s, to_s):
            element["visibility"] = "hidden"
        if not self.has_motion:
            return {}
        return {
            "data_from": number(from_s) if from_s > 0 else None,
            "data_to": None if to_s is None else number(to_s),
        }

    def _is_seen(self, from_s: float, to_s: float | None) -> bool:
        return from_s <= self.at_s and (to_s is None or self.at_s < to_s)

    def _dressed(self, element: Any, attributes: dict[str, Any]) -> Any:
        """Set attributes; a fill or stroke that names a colour becomes that colour and (on screen) a class."""
        classes = attributes.pop("class_", "").split()
        for name, value in attributes.items():
            colour = getattr(self.palette, value, None) if name in ("fill", "stroke") else None
            if colour is not None and self.palette is not PRINT:
                classes.append(f"gs-{name[0]}-{value.replace('_', '-')}")
            element[name.rstrip("_").replace("_", "-")] = value if colour is None else colour
        if classes:
            known = element.attribs.get("class", "")
            element["class"] = f"{known} {' '.join(classes)}".strip()
        return element
