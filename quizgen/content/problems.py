"""Says what is wrong with a file: where it stands, what was expected, which known word is nearest.

Turns what the TOML reader, the row shapes and the nouns complain about into one form. Decides nothing about football.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from difflib import get_close_matches
from enum import Enum
from typing import Any, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo
from pydantic_core import ErrorDetails

from quizgen.football.errors import FootballValueError, Problem

MOST_PER_FILE = 200
SHOWN_CHARACTERS = 60
BAD_KEY = "[key]"
# Field names of nouns whose key in TOML is another word.
KEY_IN_TOML: Mapping[str, str] = {
    "toward": "side",
    "goes_to": "to",
    "spots": "spot",
    "players": "",
    "rush/drop": "rush",
    "player_class": "class",
    "phases": "option.phases",
    "options": "",
}
PLAIN_WORDS: Mapping[str, str] = {
    "string_type": "text in quotes",
    "int_type": "a whole number",
    "int_from_float": "a whole number",
    "float_type": "a number",
    "finite_number": "a number",
    "bool_type": "true or false",
}

Where = tuple[str | int, ...]


@dataclass(slots=True)
class Findings:
    """The problems of one file so far."""

    file: str
    problems: list[Problem] = field(default_factory=list)
    left_out: int = 0

    def add(self, key: str, expected: str, found: object, within: str = "") -> None:
        """Note one problem; ``within`` names the thing it stands in. Past the first 200 they are only counted."""
        if len(self.problems) >= MOST_PER_FILE:
            self.left_out += 1
            return
        self.problems.append(Problem(self.file, key, expected, _shown(found) + (f" in {within}" if within else "")))

    def add_value_error(self, where: Where, error: FootballValueError, within: str) -> None:
        """Note what a noun refused."""
        own = KEY_IN_TOML.get(error.key, error.key)
        path = key_of(where)
        key = f"{path}.{own}" if own and path else own or path
        self.add(key, error.expected, error.found, within)

    def all(self) -> list[Problem]:
        """The problems in the order they were found, with a last one for those only counted."""
        if not self.left_out:
            return self.problems
        rest = Problem(self.file, "the rest", "the problems above mended first", f"{self.left_out} more problems")
        return [*self.problems, rest]


def _shown(found: object) -> str:
    text = found if isinstance(found, Verbatim) else _written(found)
    return text if len(text) <= SHOWN_CHARACTERS else text[: SHOWN_CHARACTERS - 1] + "…"


class Verbatim(str):
    """Words to show as they are, without quotes."""

    __slots__ = ()


def _written(found: object) -> str:
    if isinstance(found, Enum):
        return repr(found.value)
    if isinstance(found, bool):
        return str(found).lower()
    if isinstance(found, Mapping):
        return "a table"
    if isinstance(found, list | tuple):
        flat = all(not isinstance(one, Mapping | list | tuple) for one in found)
        return f"[{', '.join(_written(one) for one in found)}]" if flat else "a list of lists"
    return repr(found)


def key_of(where: Where) -> str:
    """A place in a file as a key, rows counted from 1: ``pressure[2].rush[1].gap``."""
    text = ""
    for part in where:
        if isinstance(part, int):
            text += f"[{part + 1}]"
        else:
            plain = re.fullmatch(r"[A-Za-z0-9_-]+", part) is not None
            word = part if plain else f'"{part}"'
            text += f".{word}" if text else word
    return text


def nearest(word: object, known: Iterable[str]) -> str:
    """A hint at the nearest known word (", nearest is 'gap'"), or nothing when none is near."""
    if not isinstance(word, str) or len(word) > SHOWN_CHARACTERS:
        return ""
    by_fold = {one.casefold(): one for one in known}
    close = get_close_matches(word.casefold(), list(by_fold), n=1, cutoff=0.6)
    return f"; nearest is {by_fold[close[0]]!r}" if close else ""


def one_of(words: Iterable[str], found: object) -> str:
    """What was expected of a word from a list, with the nearest one."""
    known = list(words)
    shown = [repr(one) if "," in one else one for one in known]
    return f"one of {', '.join(shown) or 'none defined'}{nearest(found, known)}"


def add_shape_errors(findings: Findings, shape: type[BaseModel], errors: Sequence[ErrorDetails], raw: object) -> None:
    """Note what the row shapes refused; ``raw`` is the file as read."""
    room = MOST_PER_FILE - len(findings.problems)
    findings.left_out += len(errors[room:])
    for error in errors[:room]:
        where = tuple(error["loc"])
        where, is_key = (where[:-1], True) if where and where[-1] == BAD_KEY else (where, False)
        where = _without_listed(where, raw)
        add_one(findings, shape, error, where, is_key=is_key, within=name_at(raw, where))


def add_one(
    findings: Findings, shape: type[BaseModel], error: ErrorDetails, where: Where, *, is_key: bool, within: str
) -> None:
    """Note one refusal of a row shape."""
    kind, context = error["type"], error.get("ctx", {})
    key = key_of(where)
    if kind == "extra_forbidden":
        known = _keys_of(_shape_at(shape, where[:-1]))
        findings.add(key, f"a known key: {one_of(known, where[-1])}", Verbatim("this key"), within)
    elif kind == "missing":
        findings.add(key, _described(shape, where) or _container(shape, where), Verbatim("nothing"), within)
    elif kind == "value_error":
        found = where[-1] if is_key else error["input"]
        findings.add(key, str(context.get("error", error["msg"])), found, within)
    elif kind == "enum" or is_key:
        found = where[-1] if is_key else error["input"]
        words = re.findall(r"'([^']*)'", str(context.get("expected", "")))
        findings.add(key, one_of(words, found) if words else _described(shape, where[:-1]), found, within)
    elif kind in ("list_type", "dict_type", "model_type", "model_attributes_type"):
        findings.add(key, _container(shape, where), error["input"], within)
    elif kind in ("too_short", "too_long"):
        bound = context.get("min_length", context.get("max_length"))
        least = "at least" if kind == "too_short" else "at most"
        findings.add(key, f"{least} {bound} of them", context.get("actual_length", ""), within)
    else:
        expected = _described(shape, where) or PLAIN_WORDS.get(kind) or str(error["msg"])
        findings.add(key, expected, error["input"], within)


def _container(shape: type[BaseModel], where: Where) -> str:
    """What a table or a list of rows looks like in TOML."""
    if isinstance(where[-1], int):
        return "a table: { key = value, … }"
    found = _field_at(shape, where)
    is_list = found is not None and get_origin(found.annotation) is list
    if is_list and len(where) == 1:
        return f"rows that begin with [[{where[0]}]], two brackets each side"
    return "a list: [ … ]" if is_list else "a table: { key = value, … }"


def _without_listed(where: Where, raw: object) -> Where:
    """The place without the index that a single word gets when it may also be a list."""
    if len(where) < 2 or not isinstance(where[-1], int):
        return where
    return where[:-1] if not isinstance(value_at(raw, where[:-1]), list) else where


def value_at(raw: object, where: Where) -> object:
    """What stands at a place in a file as read; None where nothing does."""
    for part in where:
        if isinstance(raw, list) and isinstance(part, int) and part < len(raw):
            raw = raw[part]
        elif isinstance(raw, dict):
            raw = raw.get(part)
        else:
            return None
    return raw


def name_at(raw: object, where: Where) -> str:
    """The name of the row a place lies in, in quotes; nothing where the row has no name."""
    if len(where) < 3 or not isinstance(where[1], int):
        return ""
    name = value_at(raw, (*where[:2], "name"))
    return _shown(name) if isinstance(name, str) and name else ""


def _described(shape: type[BaseModel], where: Where) -> str:
    field_info = _field_at(shape, where)
    if field_info is None:
        return ""
    if field_info.description:
        return field_info.description
    if get_origin(field_info.annotation) is list and where and not isinstance(where[-1], int):
        return ""
    for part in _parts(field_info.annotation):
        if isinstance(part, FieldInfo) and part.description:
            return part.description
        if isinstance(part, type) and issubclass(part, Enum):
            return f"one of {', '.join(str(member.value) for member in part)}"
    return ""


def _field_at(shape: type[BaseModel], where: Where) -> FieldInfo | None:
    names = [part for part in where if isinstance(part, str)]
    owner = _shape_at(shape, tuple(names[:-1]))
    if owner is None or not names:
        return None
    return next((f for name, f in owner.model_fields.items() if names[-1] in (name, f.alias)), None)


def _shape_at(shape: type[BaseModel], where: Where) -> type[BaseModel] | None:
    current: type[BaseModel] | None = shape
    for name in (part for part in where if isinstance(part, str)):
        if current is None:
            return None
        found = next((f for key, f in current.model_fields.items() if name in (key, f.alias)), None)
        if found is None:
            continue  # a key that the author chose, in a table of his own words
        parts = _parts(found.annotation)
        current = next((p for p in parts if isinstance(p, type) and issubclass(p, BaseModel)), None)
    return current


def _parts(annotation: Any) -> list[Any]:
    """An annotation taken apart: itself and everything inside it."""
    parts = [annotation]
    for inner in get_args(annotation):
        parts.extend(_parts(inner))
    return parts


def _keys_of(shape: type[BaseModel] | None) -> list[str]:
    return [f.alias or name for name, f in shape.model_fields.items()] if shape else []
