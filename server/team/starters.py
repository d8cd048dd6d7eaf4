"""Starters: complete small defenses under the trade's own names, from which a coach begins his own.

A starter is a folder in `seed_content/starters`. What opponents run and line up in is not part of a defense: those two
files are the demo's, which already go by common names. Rejected: a copy in each starter, which would drift.
"""

from __future__ import annotations

from pathlib import Path

import tomli_w

from server.errors import BadInput
from server.i18n.lazy_text import LazyText
from server.paths import SEED_CONTENT

STARTERS = SEED_CONTENT / "starters"
OFFENSE = (SEED_CONTENT / "tarrow_falls" / "formations.toml", SEED_CONTENT / "tarrow_falls" / "plays.toml")


def starter_names() -> list[str]:
    """The starters there are, in order."""
    return sorted(path.name for path in STARTERS.iterdir() if path.is_dir())


def starter_files(starter: str, team: str) -> dict[str, str]:
    """The TOML files of a new team that begins with this starter; nobody is on its roster. Raises: BadInput."""
    if starter not in starter_names():
        known = ", ".join(starter_names())
        raise BadInput(
            LazyText("the starter: expected one of {known}, found {found!r}", known=known, found=starter[:80])
        )
    if not team.strip():
        raise BadInput("the team's name: expected a name, found none")
    paths = (*sorted((STARTERS / starter).glob("*.toml")), *OFFENSE)
    files = {path.name: path.read_text(encoding="utf-8") for path in paths}
    return files | {"team.toml": tomli_w.dumps({"name": team.strip()})}


def write_starter(starter: str, team: str, folder: Path) -> None:
    """Write those files to a new or empty folder. Raises: BadInput."""
    files = starter_files(starter, team)
    try:
        taken = folder.exists() and not (folder.is_dir() and not any(folder.iterdir()))
        if not taken:
            folder.mkdir(parents=True, exist_ok=True)
            for name, text in files.items():
                # The published schemas are beside the starters and not beside this folder.
                kept = [line for line in text.splitlines() if not line.startswith("#:schema ")]
                (folder / name).write_text("\n".join(kept) + "\n", encoding="utf-8")
    except OSError as error:
        raise BadInput(
            LazyText("the folder: expected one that can be written, found: {error}", error=error.strerror)
        ) from None
    if taken:
        raise BadInput(LazyText("the folder: expected a new or an empty one, found {found!r}", found=str(folder)[:80]))
