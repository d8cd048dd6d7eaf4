"""Teams to make reps from: the demo's, and a small one written here by hand."""

from itertools import islice
from pathlib import Path

import pytest

from quizgen.content import load_team_dir
from quizgen.football.team import TeamBook
from quizgen.reps.catalogue import Catalogue, make
from quizgen.reps.ids import Setup
from quizgen.reps.rep import Rep
from tests.reps.small_team import small_team

DEMO = Path(__file__).parents[2] / "seed_content" / "tarrow_falls"
SAMPLE_EVERY = 307  # a prime, so that the sample runs through every side, call, play and formation


@pytest.fixture(scope="session")
def demo() -> Catalogue:
    """The catalogue of the demo team."""
    return Catalogue(load_team_dir(DEMO))


@pytest.fixture(scope="session")
def small() -> TeamBook:
    """A team of two calls, two formations, seven runs and three protections."""
    return small_team()


def reps_of(catalogue: Catalogue, setups: list[Setup]) -> list[Rep]:
    """Every rep of these setups; those that cannot be run have none."""
    found = []
    for setup in setups:
        snap = catalogue.find_listed(setup)
        if snap is not None:
            found += [make(kind, setup, snap, position) for kind, position in catalogue.asked(setup)]
    return found


@pytest.fixture(scope="session")
def sample(demo: Catalogue) -> list[Rep]:
    """Reps of every kind over the demo: all reps of a few setups, and the first few of each kind."""
    setups = sorted(demo.setups.values(), key=lambda setup: setup.digest)[::SAMPLE_EVERY]
    return [*reps_of(demo, setups), *islice(demo.reps(kinds=["adjust"]), 12)]
