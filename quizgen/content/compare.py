"""What differs between two contents, in the words of their files: which nouns came, went, were renamed, and what of the
others is another.

Must not know: the engine, pages.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass
from typing import Any

from quizgen.content.documents import Documents, key_of_row, keys_of_men
from quizgen.content.edits import TABLES, rename
from quizgen.football.errors import FootballValueError


@dataclass(frozen=True, slots=True)
class Difference:
    """One noun or table that differs. ``noun`` is "call", "front" ... or a file's name; ``how`` is "added", "removed",
    "renamed" or "changed"; ``was`` the old name of one renamed; ``parts`` what of it is another: fields, and men."""

    noun: str
    name: str
    how: str
    was: str = ""
    parts: tuple[str, ...] = ()


def compare(before: Documents, after: Documents) -> tuple[Difference, ...]:
    """The differences, noun by noun in the order of the new content's files. What only names something that was renamed
    is no difference."""
    found: list[Difference] = []
    named = _under_new_names(before, after)
    for noun, (file, table) in TABLES.items():
        old, new = (_by_key(one.get(file, {}).get(table, [])) for one in (named, after))
        was = {key: str(row["name"]) for key, row in _by_key(before.get(file, {}).get(table, [])).items()}
        found += [Difference(noun, was[key], "removed") for key in old if key not in new]
        for key, row in new.items():
            if key not in old:
                found.append(Difference(noun, str(row["name"]), "added"))
                continue
            parts = tuple(_parts(old[key], row, keys_of_men(after)))
            if was[key] != row["name"]:
                found.append(Difference(noun, str(row["name"]), "renamed", was[key], parts))
            elif parts:
                found.append(Difference(noun, str(row["name"]), "changed", parts=parts))
    return (*found, *_others(named, after))


def _under_new_names(before: Documents, after: Documents) -> Documents:
    """The old content with everything called what the new one calls it, where its names allow that."""
    for noun, (file, table) in TABLES.items():
        new = _by_key(after.get(file, {}).get(table, []))
        for key, row in _by_key(before.get(file, {}).get(table, [])).items():
            if key in new and new[key]["name"] != row["name"]:
                with suppress(FootballValueError):  # two that traded names: their rows then differ
                    before = rename(before, noun, key, str(new[key]["name"])).apply(before)
    return before


def _by_key(rows: list[Mapping[str, Any]]) -> dict[str, Mapping[str, Any]]:
    return {key_of_row(row, {}): row for row in rows}


def _parts(old: Mapping[str, Any], new: Mapping[str, Any], men: Mapping[str, str]) -> Iterator[str]:
    """The fields that differ, those about single men with their names."""
    called = {key: title for title, key in men.items()}
    for name in dict.fromkeys((*old, *new)):
        was, now = old.get(name), new.get(name)
        if was == now or name in ("name", "key"):
            continue
        if _is_men(was) or _is_men(now):
            before, after = ({key_of_row(row, men): row for row in rows or ()} for rows in (was, now))
            other = [called.get(k, k) for k in dict.fromkeys((*before, *after)) if before.get(k) != after.get(k)]
            yield f"{name} ({', '.join(other)})" if other else name
        else:
            yield name


def _is_men(value: object) -> bool:
    return (
        isinstance(value, list) and bool(value) and all(isinstance(row, Mapping) and "position" in row for row in value)
    )


def _others(before: Documents, after: Documents) -> Iterator[Difference]:
    """The tables that are no nouns: rules, words, the team's own."""
    nouns = set(TABLES.values())
    for file in dict.fromkeys((*before, *after)):
        old, new = before.get(file, {}), after.get(file, {})
        tables = [table for table in dict.fromkeys((*old, *new)) if (file, table) not in nouns]
        parts = tuple(table for table in tables if old.get(table) != new.get(table))
        if parts:
            yield Difference(file, file.removesuffix(".toml"), "changed", parts=parts)
