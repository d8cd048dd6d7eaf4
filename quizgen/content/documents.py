"""A team's files as parsed TOML, and single places in them that can be changed and changed back.

A place is a path of steps through a file: keys of tables, and for rows the key that the row is known by (its position's
key where it is about a man), so that a place stays the same when something is renamed or moved. Checks no football.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, Final

import tomli_w

from quizgen.content.files import BYTE_ORDER_MARK
from quizgen.football.errors import GapsoundError
from quizgen.football.keys import slug

Documents = Mapping[str, Mapping[str, Any]]
"""Parsed TOML by file name."""
Path = tuple[str, ...]
"""A file's name and the steps to a place in it."""


class _Absent:
    def __repr__(self) -> str:
        return "nothing"


ABSENT: Final = _Absent()
"""What stands at a place where nothing does."""
ROWS = frozenset({"position", "front", "spot", "pressure", "align", "show", "rush", "drop", "coverage", "formation"})
ROWS |= {"play", "protection"}
"""Tables whose rows are found by key."""


class StaleEdit(GapsoundError):
    """Another value stands at a place than the one that the edit changes."""

    def __init__(self, place: Path, found: object) -> None:
        self.place = place
        self.found = found
        super().__init__(f"{': '.join(place)}: expected the value that the edit began from, found {found!r}")


@dataclass(frozen=True, slots=True)
class PlaceChange:
    """What stands at a place before and after; ``at`` is the number of a row that comes or goes."""

    place: Path
    before: Any
    after: Any
    at: int = 0

    @property
    def inverse(self) -> PlaceChange:
        """The change back."""
        return PlaceChange(self.place, self.after, self.before, self.at)


def parse_files(files: Mapping[str, str]) -> dict[str, dict[str, Any]]:
    """Files that load as documents; days are text, so that every value can be written as JSON."""
    parsed = {name: tomllib.loads(text.removeprefix(BYTE_ORDER_MARK)) for name, text in files.items()}
    return {name: _plain(document) for name, document in parsed.items()}


def _plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _plain(one) for key, one in value.items()}
    if isinstance(value, list):
        return [_plain(one) for one in value]
    return value.isoformat() if hasattr(value, "isoformat") else value


def write_files(documents: Documents, files: Mapping[str, str], parsed: Documents) -> dict[str, str]:
    """The documents as texts. A file that is as it was ``parsed`` keeps its text with its comments."""
    return {
        name: files[name] if name in files and document == parsed.get(name) else tomli_w.dumps(document)
        for name, document in documents.items()
    }


def keys_of_men(documents: Documents) -> dict[str, str]:
    """The key of each position by its name."""
    rows = documents.get("positions.toml", {}).get("position", [])
    return {row["name"]: key_of_row(row, {}) for row in rows}


def key_of_row(row: Mapping[str, Any], men: Mapping[str, str]) -> str:
    """What a row is known by: its own key, the slug of its name, or the key of the man it is about."""
    if "position" in row:
        name = str(row["position"])
        return men.get(name, slug(name))
    return str(row.get("key") or slug(str(row.get("name", ""))))


def find(documents: Documents, place: Path) -> Any:
    """What stands at a place; ABSENT where nothing does."""
    men, found = keys_of_men(documents), documents.get(place[0], ABSENT)
    for step in place[1:]:
        found = _inside(found, step, men)
    return found


def _inside(value: Any, step: str, men: Mapping[str, str]) -> Any:
    if isinstance(value, Mapping):
        return value.get(step, ABSENT)
    if isinstance(value, list):
        return next((row for row in value if key_of_row(row, men) == step), ABSENT)
    return ABSENT


def change(documents: Documents, place: Path, after: Any, at: int | None = None) -> PlaceChange:
    """The change that makes ``after`` stand at a place. Where what holds the place is missing it comes too; a new row
    comes last, or as row number ``at``."""
    for length in range(1, len(place)):
        if find(documents, place[:length]) is ABSENT:
            if after is ABSENT:
                return PlaceChange(place, ABSENT, ABSENT)
            return PlaceChange(place[:length], ABSENT, _wrapped(place[length - 1 :], after))
    before = find(documents, place)
    if len(place) > 2 and (at is None or before is not ABSENT):
        holder = find(documents, place[:-1])
        if isinstance(holder, list):
            men = keys_of_men(documents)
            numbers = [number for number, row in enumerate(holder) if key_of_row(row, men) == place[-1]]
            at = numbers[0] if numbers else len(holder)
    return PlaceChange(place, before, after, at or 0)


def _wrapped(steps: Path, value: Any) -> Any:
    """A value inside the tables and rows that lead to it from the first step."""
    for holder, step in reversed(list(pairwise(steps))):
        value = [value] if holder in ROWS else {step: value}
    return value


def apply_changes(documents: Documents, changes: tuple[PlaceChange, ...]) -> Documents:
    """The documents after the changes. Raises: StaleEdit."""
    men = keys_of_men(documents)
    for one in changes:
        documents = _replaced(documents, one.place, one, men)
    return documents


def _replaced(value: Any, steps: Path, one: PlaceChange, men: Mapping[str, str]) -> Any:
    step, rest = steps[0], steps[1:]
    inner = _inside(value, step, men)
    if rest:
        if inner is ABSENT:
            raise StaleEdit(one.place, ABSENT)
        after = _replaced(inner, rest, one, men)
    else:
        if inner != one.before:
            raise StaleEdit(one.place, inner)
        after = one.after
    if isinstance(value, list):
        return _with_row(value, inner, after, one.at)
    if after is ABSENT:
        return {key: kept for key, kept in value.items() if key != step}
    return {**value, step: after}


def _with_row(rows: list[Any], before: Any, after: Any, at: int) -> list[Any]:
    if before is ABSENT:
        return rows if after is ABSENT else [*rows[:at], after, *rows[at:]]
    number = next(number for number, row in enumerate(rows) if row is before)
    return [*rows[:number], *([] if after is ABSENT else [after]), *rows[number + 1 :]]
