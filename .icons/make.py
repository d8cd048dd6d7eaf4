"""Make the icons in server/static from our own mark. Build time only: the results are committed.

Run in the project's environment: `python .icons/make.py`
"""

from pathlib import Path

import resvg_py

STATIC = Path(__file__).parents[1] / "server" / "static"
INK, PAPER, MARKER = "#10181c", "#f7f8f3", "#ffcd1c"
#: The mark in a field of 32: his own man, and the two he goes between.
MARK = (
    f'<path fill="{MARKER}" d="M16 8.5l5.5 5.5v12h-11V14z"/>'
    f'<g fill="none" stroke="{PAPER}" stroke-width="2.500"><circle cx="5.500" cy="8" r="3.250"/>'
    '<circle cx="26.500" cy="8" r="3.250"/></g>'
)


def icon(scale: float, corner: float) -> str:
    """The mark at this scale on ink, the ground's corners rounded by this much."""
    move = 16 - 16 * scale
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 32 32">'
        f'<rect width="32" height="32" rx="{corner:g}" fill="{INK}"/>'
        f'<g transform="translate({move:.2f} {move:.2f}) scale({scale:g})">{MARK}</g></svg>'
    )


#: Name, size, scale of the mark, corner. A maskable icon may be cut to a circle of 80 %; Apple rounds it itself.
PNGS = (
    ("icon-192.png", 192, 0.85, 6.0),
    ("icon-512.png", 512, 0.85, 6.0),
    ("maskable-192.png", 192, 0.62, 0.0),
    ("maskable-512.png", 512, 0.62, 0.0),
    ("apple-touch-icon.png", 180, 0.74, 0.0),
)

if __name__ == "__main__":
    (STATIC / "icon.svg").write_text(icon(0.9, 6.0) + "\n", encoding="utf-8")
    for name, size, scale, corner in PNGS:
        (STATIC / name).write_bytes(
            bytes(resvg_py.svg_to_bytes(svg_string=icon(scale, corner), width=size, height=size))
        )
