"""The glossary has every word that a coach writes, each with a meaning of its own."""

from __future__ import annotations

import subprocess
import sys
from enum import Enum
from typing import get_args

from pydantic import BaseModel

from quizgen.content.glossary import NOUNS, glossary, glossary_page
from quizgen.content.rows import FILES
from quizgen.football.terms import Term
from tests.content.conftest import DEMO


def enums_of(annotation: object) -> set[type[Enum]]:
    """Every list of words in an annotation of a row's field, and in the rows inside it."""
    found: set[type[Enum]] = set()
    for inner in get_args(annotation):
        found |= enums_of(inner)
    if isinstance(annotation, type) and issubclass(annotation, Enum):
        found.add(annotation)
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        for field in annotation.model_fields.values():
            found |= enums_of(field.annotation)
    return found


def test_every_word_has_a_meaning_that_is_not_the_word() -> None:
    groups = glossary()
    assert len(groups) > 20
    vague = [(group, word) for group, words in groups.items() for word, meaning in words.items() if len(meaning) < 4]
    assert vague == []
    same = [
        (group, meaning)
        for group, words in groups.items()
        for meaning in set(words.values())
        if list(words.values()).count(meaning) > 1
    ]
    assert same == []


def test_every_list_of_words_in_a_file_is_in_the_glossary() -> None:
    lists = set().union(*(enums_of(shape) for shape in FILES.values()))
    assert len(lists) > 15
    assert [one for one in lists if not issubclass(one, Term)] == []
    groups = [set(words) for words in glossary().values()]
    assert [one for one in lists if {str(member.value) for member in one} not in groups] == []


def test_the_command_prints_it() -> None:
    command = [sys.executable, "-m", "quizgen.content.glossary"]
    done = subprocess.run(command, check=True, cwd=DEMO.parent.parent, capture_output=True, text=True)
    assert done.stdout == glossary_page()
    assert "\n- **over the top**: goes behind the traffic to the play side" in done.stdout
    assert f"### {NOUNS.capitalize()}\n" in done.stdout
