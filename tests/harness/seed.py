"""The seed of a run: new each time, printed at the end, the same for all workers."""

import os
import secrets

NAME = "GAPSOUND_TEST_SEED"


def choose_seed() -> None:
    """Choose the run's seed, unless it was given, for this process and its children."""
    os.environ.setdefault(NAME, str(secrets.randbelow(10**6)))


def run_seed() -> int:
    """The seed of this run."""
    choose_seed()
    return int(os.environ[NAME])
