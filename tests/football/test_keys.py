"""Keys: what a noun is known by when its name changes."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from quizgen.football.defense import PlayerClass, Position
from quizgen.football.keys import LONGEST_KEY, slug
from quizgen.football.sides import Side
from tests.reps.small_team import small_team

NAMES = st.text(max_size=60)


# source: python-slugify 9.2, run once on these names with its defaults. (Letters of other scripts, which it writes in
# Latin, stay here.)
@pytest.mark.parametrize(
    ("name", "key"),
    [
        ("This is a test ---", "this-is-a-test"),
        ("This -- is a ## test ---", "this-is-a-test"),
        ("___This is a test___", "this-is-a-test"),
        ("C'est déjà l'été.", "c-est-deja-l-ete"),
        ("jaja---lol-méméméoo--a", "jaja-lol-mememeoo-a"),
        ("1,000 reasons you are #1", "1000-reasons-you-are-1"),
        ("Will's 4-3", "will-s-4-3"),
        ("Gun 11 Doubles RT", "gun-11-doubles-rt"),
    ],
)
def test_a_slug_is_what_others_make_of_it(name: str, key: str) -> None:
    assert slug(name) == key


@given(NAMES)
@example("\u1e9e")
@example("\u0345\u0390")
def test_the_slug_of_a_slug_is_itself(name: str) -> None:
    assert slug(slug(name)) == slug(name)


@given(NAMES)
def test_a_slug_holds_letters_digits_and_single_hyphens(name: str) -> None:
    key = slug(name)
    assert len(key) <= LONGEST_KEY
    assert all(part.isalnum() for part in key.split("-")) or not key
    assert key == key.casefold()


@given(st.text(alphabet=st.characters(codec="ascii"), max_size=60))
def test_case_and_punctuation_are_no_part_of_a_key(name: str) -> None:
    assert slug(name.upper()) == slug(name.lower()) == slug(f"  {name}! ")


def test_a_noun_that_is_renamed_keeps_its_key() -> None:
    first = Position("Will's man", "W", "Backers", PlayerClass.BACKER)
    assert first.key == "will-s-man"
    assert replace(first, name="Whip").key == "will-s-man"


def test_every_noun_of_a_team_has_a_key() -> None:
    team = small_team()
    nouns = (*team.positions, *team.fronts, *team.pressures, *team.formations, *team.schemes, *team.protections)
    assert all(noun.key == slug(noun.key) != "" for noun in nouns)


def test_a_formation_and_its_twin_know_each_others_key() -> None:
    team = small_team()
    one = next(one for one in team.formations if not one.mirror_name)
    twin = replace(one, mirror_name="Other way").mirrored
    assert (twin.name, twin.key, twin.mirror_key) == ("Other way", "other-way", one.key)
    assert one.mirrored.key == one.key
    assert twin.mirrored.mirrored == twin
    assert {man.side for man in one.players} >= set(Side)
