"""Words of a fixed list, each with what it means: what a coach writes in TOML and what the glossary says.

``python -m quizgen.content.glossary`` prints them all. Knows no word in particular.
"""

from __future__ import annotations

import enum
from typing import Self


class Term(enum.Enum):
    """Base of every list of words: a member is written as its word, then what it means."""

    _value_: str
    meaning: str

    # Members are told apart by identity, so that may be hashed too: Enum's own hash is a Python call for each look-up,
    # and the engine makes a hundred a snap.
    __hash__ = object.__hash__

    def __new__(cls, word: str, meaning: str = "") -> Self:  # a word is looked up without its meaning
        """A member whose value is the word alone."""
        member = object.__new__(cls)
        member._value_ = word
        member.meaning = meaning
        return member

    @enum.property
    def value(self) -> str:
        """The word."""
        return self._value_
