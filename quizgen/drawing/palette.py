"""The palette: our own few colours, each for one meaning, in light, dark and grey; and the style sheet made from it.

Why it exists: a colour has one source. The SVG carries the light colours as presentation attributes and a class for
each, so a page's style sheet (`stylesheet`) can change them without any inline style. What it must not know: scenes.

Blue against burnt orange stays apart for every common kind of colour blindness; and no meaning hangs on colour alone:
right is a solid box and a tick, wrong is a dashed box and a cross, open is dotted.
"""

from __future__ import annotations

from dataclasses import dataclass, fields


@dataclass(frozen=True, slots=True)
class Palette:
    """One colour a meaning, as #rrggbb."""

    field: str
    """The ground."""
    grass: str
    """Yard lines and hash marks: decoration, discreet on purpose."""
    rule: str
    """The faint boxes of lanes."""
    ink: str
    """Text, symbols, neutral tracks."""
    dim: str
    """Men who matter less here."""
    scrimmage: str
    """The line of scrimmage."""
    own: str
    """The marker: the player's own man, and what he chose."""
    on_own: str
    """His edge and his letter: yellow has no contrast of its own on paper."""
    tap: str
    """The edge of what may be tapped."""
    chip: str
    """The ground of what may be tapped."""
    right: str
    wrong: str


LIGHT = Palette(
    field="#ffffff",
    grass="#e3e7e0",
    rule="#c4cbc6",
    ink="#10181c",
    dim="#3c474d",
    scrimmage="#5d6970",
    own="#ffcd1c",
    on_own="#10181c",
    tap="#84712a",
    chip="#fff3c2",
    right="#0b4a8f",
    wrong="#8a2f08",
)

DARK = Palette(
    field="#12191d",
    grass="#202a30",
    rule="#46535a",
    ink="#f1f3ec",
    dim="#b6c0c4",
    scrimmage="#86939b",
    own="#ffd23f",
    on_own="#10181c",
    tap="#b89d38",
    chip="#37310f",
    right="#8fc3ff",
    wrong="#ffae82",
)

PRINT = Palette(
    field="#ffffff",
    grass="#d0d0d0",
    rule="#a8a8a8",
    ink="#000000",
    dim="#454545",
    scrimmage="#555555",
    own="#000000",
    on_own="#ffffff",
    tap="#333333",
    chip="#ffffff",
    right="#000000",
    wrong="#555555",
)


def stylesheet() -> str:
    """CSS that colours every diagram on a page: light, dark by the reader's setting, grey in print.

    Class ``gs`` is the picture; ``gs-f-NAME`` fills, ``gs-s-NAME`` strokes, with the names of `Palette`. A page that
    lets the reader choose puts data-theme="light" or "dark" on its root. A tap that is chosen gets ``is-chosen``.
    """
    names = [entry.name for entry in fields(Palette)]
    parts = [
        f".gs{{{_variables(LIGHT)}}}",
        f"@media (prefers-color-scheme:dark){{:root:not([data-theme=light]) .gs{{{_variables(DARK)}}}}}",
        f":root[data-theme=dark] .gs{{{_variables(DARK)}}}",
        f"@media print{{:root .gs{{{_variables(PRINT)}}}}}",
    ]
    parts += [f".gs-f-{_kebab(name)}{{fill:var(--gs-{_kebab(name)})}}" for name in names]
    parts += [f".gs-s-{_kebab(name)}{{stroke:var(--gs-{_kebab(name)})}}" for name in names]
    parts += [
        ".gs .tap{cursor:pointer}",
        ".gs .tap.is-chosen .gs-chip{stroke:var(--gs-ink);stroke-width:4}",
        ".gs .tap.is-chosen .gs-head{fill:var(--gs-own)}",
        ".gs .tap.is-chosen .gs-chip-mark{fill:var(--gs-on-own)}",
    ]
    return "\n".join(parts) + "\n"


def _kebab(name: str) -> str:
    return name.replace("_", "-")


def _variables(palette: Palette) -> str:
    return ";".join(f"--gs-{_kebab(entry.name)}:{getattr(palette, entry.name)}" for entry in fields(Palette))
