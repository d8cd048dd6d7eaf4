"""The situations of every team that ships with the product."""

from collections.abc import Iterator
from pathlib import Path

from quizgen.football.team import Situation

SEED_CONTENT = Path(__file__).parents[2] / "seed_content"


def team_dirs() -> list[Path]:
    """The folders of the teams."""
    return sorted({path.parent for path in SEED_CONTENT.glob("*/*.toml")})


def demo_situations() -> Iterator[Situation]:
    """Every call to either side against every run to either side from every formation."""
    from quizgen.content import load_team_dir
    from quizgen.engine.report import situations

    for folder in team_dirs():
        yield from situations(load_team_dir(folder))
