"""What a set is called: on pages, in replies, in calendar files."""

from __future__ import annotations

from server.database.tables import Assignment, Purpose
from server.i18n.languages import Language
from server.i18n.lazy_text import LazyText
from server.playbook.noun_names import NounNames


def name_of_set(names: NounNames, language: Language, one: Assignment, *, is_own: bool = False) -> str:
    """The name of a set, or a player's own: its call, or that it asks each what he needs."""
    if not one.is_mixed:
        return names.call(one.call)
    return language.translate(LazyText("What you need") if is_own else LazyText("What each needs"))


def title_of_set(names: NounNames, language: Language, one: Assignment) -> str:
    """What a calendar says of a set: its name, and how much it is."""
    call = name_of_set(names, language, one)
    if one.purpose == Purpose.CHECK:
        return language.translate(LazyText("{call}: check session", call=call))
    return language.translate(LazyText("{call}, reps: {count}", call=call, count=one.length))
