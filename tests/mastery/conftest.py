"""Lets these tests use the made-to-order answers beside them and the simulators of the long report."""

import sys
from pathlib import Path

HERE = Path(__file__).parent
for _place in (str(HERE), str(HERE.parent / "bench")):
    if _place not in sys.path:
        sys.path.insert(0, _place)
