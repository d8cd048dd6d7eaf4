"""Lets these tests use the simulators and scores that the long report uses."""

import sys
from pathlib import Path

BENCH = str(Path(__file__).parents[1] / "bench")
if BENCH not in sys.path:
    sys.path.insert(0, BENCH)
