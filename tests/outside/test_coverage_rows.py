"""Coverages that a staff writes as a row of its own: their numbers, and a call of each family.

source: coverage arithmetic as published: rushers + under + deep (or man) = 11
source: common practice: which families stand behind three and four rushers, and who has whom in two-man
"""

from __future__ import annotations

import pytest

from quizgen.football.coverage import COVERAGES, Coverage
from quizgen.football.errors import FootballValueError
from quizgen.football.pressure import CoverJob, Drop, Pressure, RunJob, Rush
from tests.outside.field import call_gap

# Name, deep, under, in man, rushers: what is left of eleven.
OWN_FAMILIES = [
    ("three deep, five under", 3, 5, 0, 3),
    ("two deep, six under", 2, 6, 0, 3),
    ("quarters, four under", 4, 4, 0, 3),
    ("two deep, man under", 2, 0, 5, 4),
    ("man with a robber", 1, 1, 5, 4),
]


def a_call(family: Coverage, rushers: int, deep: int, under: int, man: list[str]) -> Pressure:
    """A call with that many men at each job."""
    rushes = tuple(Rush(f"r{i}", call_gap("R A")) for i in range(rushers))
    drops = [Drop(f"d{i}", CoverJob.DEEP_THIRD, RunJob.COVER) for i in range(deep)]
    drops += [Drop(f"u{i}", CoverJob.HOOK, RunJob.COVER) for i in range(under)]
    drops += [Drop(f"m{i}", CoverJob.MAN, RunJob.COVER, man=whom) for i, whom in enumerate(man)]
    return Pressure("call", "front", rushes, tuple(drops), family)


@pytest.mark.parametrize(("name", "deep", "under", "man", "rushers"), OWN_FAMILIES)
def test_what_a_family_leaves_to_rush(name: str, deep: int, under: int, man: int, rushers: int) -> None:
    family = Coverage(name, deep, under, man)
    assert family.rushers == rushers
    whom = ["number one", "number one", "number two", "number two", "tailback"][:man]
    assert a_call(family, rushers, deep, under, whom).coverage == family
    with pytest.raises(FootballValueError, match=r"under for|in man for|deep for"):
        a_call(family, rushers + 1, deep, under - 1 if under else 0, whom if under else whom[1:])


WHOM = ("number one", "number two", "tailback")
TWO_MAN = Coverage("two deep, man under", 2, 0, 5, whom=WHOM)
REFUSED = {
    "nobody on the back": (
        lambda: a_call(TWO_MAN, 4, 2, 0, ["number one", "number one", "number two", "number two", "number two"]),
        "a man on tailback for 'two deep, man under', found 'nobody on tailback'",
    ),
    "a man on one who is not of the family": (
        lambda: a_call(TWO_MAN, 4, 2, 0, ["number one", "number one", "number two", "fullback", "tailback"]),
        "men on number one, number two, tailback only for 'two deep, man under', found 'a man on fullback'",
    ),
    "one rusher": (
        lambda: Coverage("ten", 4, 6, 0),
        "at most 9 men deep, under and in man: two at least rush, found 10",
    ),
    "whom in zone": (lambda: Coverage("zone", 3, 5, 0, whom=WHOM), "nobody where nobody is in man"),
    "a receiver twice": (lambda: Coverage("man", 1, whom=("end", "end")), "each receiver once"),
}


@pytest.mark.parametrize("name", REFUSED)
def test_what_a_family_refuses(name: str) -> None:
    build, words = REFUSED[name]
    with pytest.raises(FootballValueError) as refused:
        build()
    assert words in str(refused.value)


def test_the_shipped_families_are_known_without_being_written() -> None:
    assert {family.rushers for family in COVERAGES.values()} == {4, 5, 6, None}
