"""One way to choose, so that one generator serves a seeded loop and Hypothesis alike."""

import random
from collections.abc import Callable, Sequence
from typing import Any

Choose = Callable[[Sequence[Any]], Any]


def seeded(seed: int) -> Choose:
    """Choose by a plain seeded generator."""
    return random.Random(seed).choice
