"""The laws of the engine over many snaps, for nightly runs: the long form of tests/engine/test_laws.py.

    python -m tests.bench.laws [COUNT] [--seed SEED]

Prints how many snaps each law held for; exit code 1 if one does not hold.
"""

import argparse
import os
import sys

import pytest

from tests.harness import seed


def main() -> int:
    """Run the tests of the laws with that many snaps each."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("count", type=int, nargs="?", default=10_000)
    parser.add_argument("--seed", type=int)
    chosen = parser.parse_args()
    os.environ["GAPSOUND_TEST_LONG"] = "1"
    os.environ["GAPSOUND_TEST_LAWS"] = str(chosen.count)
    if chosen.seed is not None:
        os.environ[seed.NAME] = str(chosen.seed)
    return pytest.main(["-rP", "tests/engine/test_laws.py"])


if __name__ == "__main__":
    sys.exit(main())
