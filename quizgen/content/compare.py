"""What differs between two contents, in the words of their files: which nouns came, went, were renamed, and what of the
others is another.

Must not know: the engine, pages.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from quizgen.content.documents import Documents, key_of_row, keys_of_men
from quizgen.content.edits import TABLES


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
    """The differences, noun by noun in the order of the new content's files."""
    found: list[Difference] = []
    for noun, (file, table) in TABLES.items():
        old, new = (_by_key(one.get(file, {}).get(table, [])) for one in (before, after))
        found += [Difference(noun, str(old[key]["name"]), "removed") for key in old if key not in new]
        for key, row in new.items():
            if key not in old:
                found.append(Difference(noun, str(row["name"]), "added"))
            elif row != old[key]:
                found.append(_row(noun, old[key], row, keys_of_men(before), keys_of_men(after)))
    return (*found, *_others(before, after))


def _by_key(rows: list[Mapping[str, Any]]) -> dict[str, Mapping[str, Any]]:
    return {key_of_row(row, {}): row for row in rows}


def _row(
    noun: str, old: Mapping[str, Any], new: Mapping[str, Any], men: Mapping[str, str], men_now: Mapping[str, str]
) -> Difference:
    parts = tuple(_parts(old, new, men, men_now))
    renamed = old["name"] != new["name"]
    return Difference(noun, str(new["name"]), "renamed" if renamed else "changed", str(old["name"]) * renamed, parts)


def _parts(
    old: Mapping[str, Any], new: Mapping[str, Any], men: Mapping[str, str], men_now: Mapping[str, str]
) -> Iterator[str]:
    """The fields that differ, those about single men with their names; a man who only has another name is the same."""
    for name in dict.fromkeys((*old, *new)):
        was, now = old.get(name), new.get(name)
        if was == now or name in ("name", "key"):
            continue
        if _is_men(was) or _is_men(now):
            before = {key_of_row(row, men): _without_name(row) for row in was or ()}
            after = {key_of_row(row, men_now): _without_name(row) for row in now or ()}
            called = {key: title for title, key in (*men.items(), *men_now.items())}
            other = [called.get(k, k) for k in dict.fromkeys((*before, *after)) if before.get(k) != after.get(k)]
            if other:
                yield f"{name} ({', '.join(other)})"
        else:
            yield name


def _is_men(value: object) -> bool:
    return (
        isinstance(value, list) and bool(value) and all(isinstance(row, Mapping) and "position" in row for row in value)
    )


def _without_name(row: Mapping[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in row.items() if key != "position"}


def _others(before: Documents, after: Documents) -> Iterator[Difference]:
    """The tables that are no nouns: rules, words, the team's own."""
    nouns = set(TABLES.values())
    for file in dict.fromkeys((*before, *after)):
        old, new = before.get(file, {}), after.get(file, {})
        tables = [table for table in dict.fromkeys((*old, *new)) if (file, table) not in nouns]
        parts = tuple(table for table in tables if old.get(table) != new.get(table))
        if parts:
            yield Difference(file, file.removesuffix(".toml"), "changed", parts=parts)
