"""How the words of a play list are compared, and what they can mean besides a noun of the team."""

from __future__ import annotations

import re
from enum import StrEnum

MIN_SIMILARITY = 0.78
#: What a word can mean besides a play of the team: nothing, or a play stored under its own name.
LEAVE_OUT, KEEP_NAME = "", "+"


class MatchedBy(StrEnum):
    """How the play or formation proposed for a word was found."""

    SAME = "same"
    BEFORE = "before"
    CLOSE = "close"
    TRADE = "trade"
    NONE = "none"


def normalize(text: str) -> str:
    """A word in lower case, without punctuation and extra spaces, for comparing."""
    return " ".join(re.sub(r"[^\w]+", " ", text.casefold().replace("_", " ")).split())
