"""Where the files that ship beside the packages are: the same from a checkout and from an installed wheel."""

from __future__ import annotations

from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
TEMPLATES = ROOT / "templates"
SEED_CONTENT = ROOT / "seed_content"
STATIC = Path(__file__).resolve().parent / "static"
