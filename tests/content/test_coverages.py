"""A coverage family in TOML: it loads, comes back from a dump, and each mistake has its message."""

from __future__ import annotations

import pytest

from quizgen.content import load_team
from quizgen.content.dump import dump_team
from quizgen.football.coverage import Coverage
from quizgen.football.errors import ContentProblems

DROP_EIGHT = """
[[coverage]]
name = "eight men dropping"
deep = 3
under = 5

[[pressure]]
name = "Cwm"
front = "Slate"
coverage = "eight men dropping"
rush = [
  { position = "Pick", gap = "to B" },
  { position = "Nose", gap = "to A", second_gap = "away A", part = "two-gap", path = "hold" },
  { position = "Rake", gap = "away B" },
]
drop = [
  { position = "Mike", cover = "hook", run = "alley", side = "to" },
  { position = "Will", cover = "hook", run = "alley", side = "away" },
  { position = "Sam", cover = "flat", run = "force", side = "to" },
  { position = "Jack", cover = "flat", run = "force", side = "away" },
  { position = "Kite", cover = "hook", run = "cutback" },
  { position = "Hawk", cover = "deep third", run = "free" },
  { position = "Right corner", cover = "deep third", run = "cover", side = "to" },
  { position = "Left corner", cover = "deep third", run = "cover", side = "away" },
]
"""


def test_a_staff_writes_a_family_of_its_own(demo_files: dict[str, str]) -> None:
    team = load_team({**demo_files, "pressures.toml": demo_files["pressures.toml"] + DROP_EIGHT})
    call = team.pressure("Cwm")
    assert len(call.rushes) == 3
    assert call.coverage == Coverage("eight men dropping", 3, 5, 0)


# What is written, what is said of it.
WRONG = [
    ("under = 5", "under = 4", "pressure[13].coverage: expected 4 under for 'eight men dropping', found '5 under'"),
    ("deep = 3\nunder = 5", "deep = 4\nunder = 6", "coverage[2].coverage: expected at most 9 men"),
    ("under = 5", "under = 10", "coverage[2].under: expected how many men, from 0 to 9, found 10"),
    ("under = 5", 'man = 5\nwhom = ["number nine"]', "coverage[2].whom[1]: expected one of number one, number two"),
    ("under = 5", "rush = 3", "coverage[2].rush: expected a known key: one of name, key, deep, under, man, whom"),
    ('name = "eight men dropping"', 'name = "Three deep, two under"', "a name that no shipped coverage has"),
    (
        'coverage = "eight men dropping"',
        'coverage = "eight men droping"',
        "nearest is 'eight men dropping', found 'eight men droping' in 'Cwm'",
    ),
]


@pytest.mark.parametrize(("right", "wrong", "words"), WRONG)
def test_what_team_check_says(demo_files: dict[str, str], right: str, wrong: str, words: str) -> None:
    text = demo_files["pressures.toml"] + DROP_EIGHT.replace(right, wrong, 1)
    with pytest.raises(ContentProblems) as refused:
        load_team({**demo_files, "pressures.toml": text})
    assert words in str(refused.value), str(refused.value)


@pytest.mark.parametrize(
    "row", ["under = 5", "under = 5\nman = 0", "under = 0\nman = 5", 'man = 5\nwhom = ["end"]', ""]
)
def test_a_family_comes_back_the_same(demo_files: dict[str, str], row: str) -> None:
    text = f'[[coverage]]\nname = "own"\ndeep = 3\n{row}\n' + demo_files["pressures.toml"]
    team = load_team({**demo_files, "pressures.toml": text})
    assert load_team(dump_team(team)) == team
