"""The demo team's files, to be loaded whole or broken on purpose."""

from __future__ import annotations

from pathlib import Path

import pytest

from quizgen.content import load_team, read_team_dir
from quizgen.football.team import TeamBook

DEMO = Path(__file__).resolve().parent.parent.parent / "seed_content" / "tarrow_falls"


@pytest.fixture(scope="session")
def demo_files() -> dict[str, str]:
    """The demo's files as text."""
    return read_team_dir(DEMO)


@pytest.fixture(scope="session")
def demo(demo_files: dict[str, str]) -> TeamBook:
    """The demo team."""
    return load_team(demo_files)
