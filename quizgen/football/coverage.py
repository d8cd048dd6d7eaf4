"""Coverage families as rows: how many men are deep, under and in man, and which receivers must have somebody.

A team may add families of its own beside the shipped ones. Knows no call and no position.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from quizgen.football.errors import FootballValueError
from quizgen.football.keys import slug

DEFENSE_SIZE = 11
LEAST_RUSHERS = 2

# Whom a man in man coverage may have, from the sideline in, then the backs.
RECEIVER_WORDS = ("number one", "number two", "number three", "end", "wing", "slotback", "fullback", "tailback")


@dataclass(frozen=True, slots=True)
class Coverage:
    """A coverage family. Rushers and the men who are deep, under and in man make eleven.

    ``deep`` counts deep and free men, ``under`` the men in short zones, ``man`` those in man; a number that is None is
    not counted: the rest, whatever they do. ``whom`` names the receivers who must each have somebody in man (empty:
    as the call says).

    Raises:
        FootballValueError: numbers that leave fewer than two rushers, or receivers without anybody in man.
    """

    name: str
    deep: int
    under: int | None = None
    man: int | None = None
    whom: tuple[str, ...] = ()
    meaning: str = ""
    key: str = ""

    def __post_init__(self) -> None:
        if self.covering > DEFENSE_SIZE - LEAST_RUSHERS:
            expected = f"at most {DEFENSE_SIZE - LEAST_RUSHERS} men deep, under and in man: two at least rush"
            raise FootballValueError("coverage", self.covering, expected)
        if self.whom and self.man == 0:
            raise FootballValueError("whom", ", ".join(self.whom), "nobody where nobody is in man")
        object.__setattr__(self, "key", self.key or slug(self.name))
        if len(set(self.whom)) != len(self.whom):
            raise FootballValueError("whom", ", ".join(self.whom), "each receiver once")

    @property
    def covering(self) -> int:
        """How many men its numbers name."""
        return self.deep + (self.under or 0) + (self.man or 0)

    @property
    def rushers(self) -> int | None:
        """How many men are left to rush; None where a number is not counted."""
        return None if self.under is None or self.man is None else DEFENSE_SIZE - self.covering

    @property
    def is_man(self) -> bool:
        """Whether anybody may be in man."""
        return self.man != 0


def _shipped(*rows: Coverage) -> Mapping[str, Coverage]:
    return MappingProxyType({row.name: row for row in rows})


# source: coverage arithmetic, common practice: rushers + deep + under (or man) = 11. Behind quarters three or four
# rush, and a man family has a robber under where only four do: those numbers are not counted.
COVERAGES = _shipped(
    Coverage("four deep", 4, None, 0, meaning="four men share the deep field, the others are under"),
    Coverage("three deep, four under", 3, 4, 0, meaning="zone behind a four-man rush, three share the deep field"),
    Coverage("two deep, five under", 2, 5, 0, meaning="zone behind a four-man rush, a half of the deep field each"),
    Coverage("three deep, three under", 3, 3, 0, meaning="zone behind a five-man rush, three share the deep field"),
    Coverage("two deep, four under", 2, 4, 0, meaning="zone behind a five-man rush, a half of the deep field each"),
    Coverage("three deep, two under", 3, 2, 0, meaning="zone behind a six-man rush; the ball must come out at once"),
    Coverage("two deep, three under", 2, 3, 0, meaning="zone behind a six-man rush, a half of the deep field each"),
    Coverage("man with a post safety", 1, meaning="one man covers each receiver, one safety is free in the middle"),
    Coverage("man with none deep", 0, meaning="every receiver is covered by one man and nobody is free"),
)
