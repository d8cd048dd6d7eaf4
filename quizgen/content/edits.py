"""Edits: what a coach changes in his content, one thing at a time, as values that can be checked, kept and undone.

An edit is made from the content as it is now (`move_man`, `set_rush`, `rename` ...) and is then only a list of places
with what stood and what stands there. So it applies to content in which others changed other things, it says no where
they changed the same, and its inverse is exact. What it makes may be incomplete or wrong as football: the loader lists
that as problems. Only a value that no file could hold is refused.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from copy import deepcopy
from dataclasses import dataclass
from typing import Any

from pydantic import ValidationError

from quizgen.content.documents import (
    ABSENT,
    Documents,
    Path,
    PlaceChange,
    apply_changes,
    change,
    find,
    key_of_row,
    keys_of_men,
)
from quizgen.content.fields import Shape
from quizgen.content.problems import Findings, add_shape_errors
from quizgen.content.rows import (
    FILES,
    AdjustRow,
    DropRow,
    ExchangeRow,
    PlaceRow,
    RushRow,
    SpotRow,
)
from quizgen.football.errors import FootballValueError
from quizgen.football.keys import slug

TABLES: Mapping[str, Path] = {
    "position": ("positions.toml", "position"),
    "front": ("fronts.toml", "front"),
    "call": ("pressures.toml", "pressure"),
    "coverage": ("pressures.toml", "coverage"),
    "formation": ("formations.toml", "formation"),
    "run": ("plays.toml", "play"),
    "protection": ("plays.toml", "protection"),
}
"""Where the rows of each noun stand."""

# Where names of nouns stand: "*" is every row or key, a last "?" the name of a key itself.
JOBS = ("align", "show", "rush", "drop")
OWNERS = ("dive", "quarterback", "pitch")
MAN = (
    ("positions.toml", "position", "*", "mirrors"),
    ("fronts.toml", "front", "*", "spot", "*", "position"),
    *(("pressures.toml", "pressure", "*", job, "*", "position") for job in JOBS),
    *(("pressures.toml", "pressure", "*", "adjust", "*", job, "*", "position") for job in JOBS),
    ("pressures.toml", "pressure", "*", "exchange", "*", "first"),
    ("pressures.toml", "pressure", "*", "exchange", "*", "second"),
    ("pressures.toml", "pressure", "*", "edge", "?"),
    ("pressures.toml", "pressure", "*", "by_position", "?"),
    ("pressures.toml", "pressure", "*", "read"),
    *(("pressures.toml", "pressure", "*", "options", "*", owners) for owners in OWNERS),
    ("rules.toml", "rules", "by_position", "?"),
    ("rules.toml", "rules", "edge_by_position", "?"),
    *(("rules.toml", "options", "*", owners) for owners in OWNERS),
    ("rules.toml", "motion", "*", "owner"),
    ("roster.toml", "player", "*", "positions"),
)
RUN = (
    ("formations.toml", "formation", "*", "motion", "*", "plays"),
    ("opponents.toml", "opponent", "*", "run", "*", "play"),
    ("accepted.toml", "accepted", "*", "play"),
)
REFERENCES: Mapping[str, tuple[Path, ...]] = {
    "position": MAN,
    "front": (("pressures.toml", "pressure", "*", "front"),),
    "call": (("pressures.toml", "pressure", "*", "adjust", "*", "check"), ("accepted.toml", "accepted", "*", "call")),
    "coverage": (
        ("pressures.toml", "pressure", "*", "coverage"),
        ("pressures.toml", "pressure", "*", "adjust", "*", "coverage"),
        ("rules.toml", "motion", "*", "coverage"),
    ),
    "formation": (
        ("opponents.toml", "opponent", "*", "run", "*", "formation"),
        ("accepted.toml", "accepted", "*", "formation"),
    ),
    "run": RUN,
    "protection": RUN,
}


@dataclass(frozen=True, slots=True)
class ContentEdit:
    """One thing that a coach changed: what kind of change, the names that say of what, and the places (none where all
    is as it was)."""

    kind: str
    about: tuple[str, ...]
    changes: tuple[PlaceChange, ...]

    def apply(self, documents: Documents) -> Documents:
        """The content after the edit. Raises: StaleEdit when other values stand where it changes them."""
        return apply_changes(documents, self.changes)

    @property
    def inverse(self) -> ContentEdit:
        """The edit that takes it back."""
        return ContentEdit(self.kind, self.about, tuple(one.inverse for one in reversed(self.changes)))

    @property
    def touches(self) -> frozenset[Path]:
        """The places that it changes."""
        return frozenset(one.place for one in self.changes)

    def meets(self, other: ContentEdit) -> bool:
        """Whether it changes a place that the other changes too, or one inside the other's."""
        return any(a[: len(b)] == b[: len(a)] for a in self.touches for b in other.touches)

    def to_json(self) -> dict[str, Any]:
        """The edit as plain values."""
        return {"kind": self.kind, "about": list(self.about), "changes": [_to_json(one) for one in self.changes]}


def _to_json(one: PlaceChange) -> dict[str, Any]:
    written: dict[str, Any] = {"place": list(one.place), "at": one.at}
    written.update({name: v for name, v in (("before", one.before), ("after", one.after)) if v is not ABSENT})
    return written


def edit_of(written: Mapping[str, Any]) -> ContentEdit:
    """The edit that was written as plain values."""
    changes = (
        PlaceChange(tuple(one["place"]), one.get("before", ABSENT), one.get("after", ABSENT), one["at"])
        for one in written["changes"]
    )
    return ContentEdit(written["kind"], tuple(written["about"]), tuple(changes))


def move_man(
    documents: Documents, man: str, place: Mapping[str, Any], *, call: str = "", front: str = ""
) -> ContentEdit:
    """Put a man elsewhere in a front or, with ``call``, in that call alone. ``place`` is a row without its position."""
    name, own = _name(documents, "position", man), _row(documents, "call" if call else "front", call or front)
    row = {"position": name, **place}
    if call:
        _check(PlaceRow, row)
        where: Path = (*TABLES["call"], call, "align", man)
    else:
        where = (*TABLES["front"], front, "spot", man)
        old = find(documents, where)
        down = {"down": old["down"]} if old is not ABSENT and "down" in old else {}
        row = {**down, **row}
        _check(SpotRow, row)
    return _edit("move", (name, own["name"]), (change(documents, where, row),))


def stand_as_in_front(documents: Documents, man: str, call: str) -> ContentEdit:
    """Let a man stand in a call where the call's front has him."""
    where = (*TABLES["call"], call, "align", man)
    about = (_name(documents, "position", man), _row(documents, "call", call)["name"])
    return _edit("stand as in front", about, (change(documents, where, ABSENT),))


def set_show(documents: Documents, man: str, call: str, place: Mapping[str, Any] | None) -> ContentEdit:
    """Let a man show another place before the snap; None: he shows none."""
    name = _name(documents, "position", man)
    row = None if place is None else {"position": name, **place}
    if row is not None:
        _check(PlaceRow, row)
    where = (*TABLES["call"], call, "show", man)
    about = (name, _row(documents, "call", call)["name"])
    return _edit("show", about, (change(documents, where, ABSENT if row is None else row),))


def set_rush(documents: Documents, man: str, call: str, job: Mapping[str, Any]) -> ContentEdit:
    """Let a man rush: gap, order, path, part, second gap. If he dropped before, he no longer does."""
    return _set_job(documents, man, call, "rush", RushRow, job)


def set_drop(documents: Documents, man: str, call: str, job: Mapping[str, Any]) -> ContentEdit:
    """Let a man drop: his job against the pass and the run, side, gap, man. If he rushed before, he no longer does."""
    return _set_job(documents, man, call, "drop", DropRow, job)


def _set_job(
    documents: Documents, man: str, call: str, job: str, shape: type[Shape], row: Mapping[str, Any]
) -> ContentEdit:
    name = _name(documents, "position", man)
    row = {"position": name, **row}
    _check(shape, row)
    at = (*TABLES["call"], call)
    about = (name, _row(documents, "call", call)["name"])
    other = (*at, "drop" if job == "rush" else "rush", man)
    gone = change(documents, other, ABSENT)
    changes = [] if gone.before is ABSENT else [gone]
    return _edit(job, about, (*changes, change(documents, (*at, job, man), row)))


def set_rule(documents: Documents, rule: str, value: Any, *, call: str = "", man: str = "") -> ContentEdit:
    """Set what staffs differ on (`edge`, `pull_first` ...): for the team, a call, a position or a position in a call.
    None: as without the rule."""
    name = _name(documents, "position", man) if man else ""
    about = tuple(filter(None, (rule, name, _row(documents, "call", call)["name"] if call else "")))
    holder: Path = (*TABLES["call"], call) if call else ("rules.toml", "rules")
    where = (*holder, *(("by_position", name) if man else ("rules",) if call else ()), rule)
    edit = _edit("rule", about, (change(documents, where, ABSENT if value is None else value),))
    short = (*holder, "edge" if call else "edge_by_position", name)
    if man and rule == "edge" and find(documents, short) is not ABSENT:  # the short way to write the same
        edit = _edit("rule", about, (change(documents, short, ABSENT if value is None else value),))
    return _checked(documents, edit)


def set_field(documents: Documents, noun: str, key: str, field: str, value: Any) -> ContentEdit:
    """Set one field of a row: a call's front, coverage, side or exchanges; a formation's backs; None: as without it."""
    about = (field, _row(documents, noun, key)["name"])
    where = (*TABLES[noun], key, field)
    return _checked(documents, _edit("field", about, (change(documents, where, ABSENT if value is None else value),)))


def set_word(documents: Documents, letter: str, word: str | None) -> ContentEdit:
    """Set the team's word for a gap; None: its letter."""
    where = ("rules.toml", "words", "gaps", letter)
    return _checked(documents, _edit("word", (letter,), (change(documents, where, word or ABSENT),)))


def set_adjustments(documents: Documents, call: str, rows: Sequence[Mapping[str, Any]]) -> ContentEdit:
    """What a call changes by formation: all its rows, since the first that holds counts."""
    for row in rows:
        _check(AdjustRow, row)
    where = (*TABLES["call"], call, "adjust")
    about = (_row(documents, "call", call)["name"],)
    return _edit("adjustments", about, (change(documents, where, list(rows) or ABSENT),))


def set_exchanges(documents: Documents, call: str, rows: Sequence[Mapping[str, Any]]) -> ContentEdit:
    """Who trades gaps in a call."""
    for row in rows:
        _check(ExchangeRow, row)
    where = (*TABLES["call"], call, "exchange")
    about = (_row(documents, "call", call)["name"],)
    return _edit("exchanges", about, (change(documents, where, list(rows) or ABSENT),))


def add_call(documents: Documents, name: str, like: str) -> ContentEdit:
    """Add a call that begins as a copy of another."""
    row = {key: deepcopy(value) for key, value in _row(documents, "call", like).items() if key not in ("key", "name")}
    return add_row(documents, "call", {"name": name, **row})


def add_row(documents: Documents, noun: str, row: Mapping[str, Any]) -> ContentEdit:
    """Add a noun as a whole row."""
    _check_new(documents, noun, str(row.get("name", "")))
    place = (*TABLES[noun], key_of_row(row, {}))
    return _checked(documents, _edit("add", (noun, str(row["name"])), (change(documents, place, dict(row)),)))


def remove_row(documents: Documents, noun: str, key: str) -> ContentEdit:
    """Take a noun out. What still names it is listed by `hangs_on` and then by the loader's problems."""
    about = (noun, _row(documents, noun, key)["name"])
    return _edit("remove", about, (change(documents, (*TABLES[noun], key), ABSENT),))


def rename(documents: Documents, noun: str, key: str, name: str) -> ContentEdit:
    """Call a noun something else, wherever it is named. Its key stays: it is written down where its name would give
    another."""
    row = _row(documents, noun, key)
    old = row["name"]
    if name == old:
        raise FootballValueError("name", name, "another name than it has")
    if name.casefold() != old.casefold():
        _check_new(documents, noun, name, but=key)
    changes = [change(documents, (*TABLES[noun], key, "name"), name)]
    if "key" not in row and slug(name) != key:  # first, so that the row is found once it has another name
        changes.insert(0, change(documents, (*TABLES[noun], key, "key"), key))
    changes += [change(documents, place, value) for place, value in _renamed(documents, noun, old, name)]
    return _checked(documents, _edit("rename", (noun, old, name), tuple(changes)))


def hangs_on(documents: Documents, noun: str, key: str) -> tuple[str, ...]:
    """The names of the rows that name a noun, in the order of the files."""
    name = _row(documents, noun, key)["name"]
    found = []
    for place, _ in _renamed(documents, noun, name, ""):
        row = find(documents, place[:3])
        found.append(str(row["name"]) if isinstance(row, Mapping) and "name" in row else place[0])
    return tuple(dict.fromkeys(found))


def _renamed(documents: Documents, noun: str, old: str, new: str) -> Iterator[tuple[Path, Any]]:
    """Every place that names a noun, as small as a place can be, with what stands there once it is renamed."""
    men = keys_of_men(documents)
    after: dict[str, Any] = dict(documents)
    for name, *steps in REFERENCES[noun]:
        if name in after:
            after[name] = _rewritten(after[name], steps, old, new)
    for name, document in documents.items():
        yield from _differences(document, after[name], (name,), men)


def _rewritten(value: Any, steps: Sequence[str], old: str, new: str) -> Any:
    if not steps:
        if isinstance(value, list):
            return [new if one == old else one for one in value]
        return new if value == old else value
    step, rest = steps[0], steps[1:]
    if step == "?":
        return {new if key == old else key: one for key, one in value.items()}
    if step == "*":
        if isinstance(value, list):
            return [_rewritten(one, rest, old, new) for one in value]
        return {key: _rewritten(one, rest, old, new) for key, one in value.items()}
    return {**value, step: _rewritten(value[step], rest, old, new)} if step in value else value


def _differences(before: Any, after: Any, at: Path, men: Mapping[str, str]) -> Iterator[tuple[Path, Any]]:
    if before == after:
        return
    is_rows = isinstance(before, list) and before and all(_is_found_by_key(row) for row in before)
    if is_rows and len({key_of_row(row, men) for row in before}) == len(before):
        for old, new in zip(before, after, strict=True):
            yield from _differences(old, new, (*at, key_of_row(old, men)), men)
    elif isinstance(before, dict) and before.keys() == after.keys():
        for key in before:
            yield from _differences(before[key], after[key], (*at, key), men)
    else:
        yield at, after


def _is_found_by_key(row: Any) -> bool:
    return isinstance(row, dict) and ("name" in row or "position" in row)


def _edit(kind: str, about: tuple[str, ...], changes: tuple[PlaceChange, ...]) -> ContentEdit:
    return ContentEdit(kind, about, tuple(one for one in changes if one.before != one.after))


def _row(documents: Documents, noun: str, key: str) -> Mapping[str, Any]:
    row: Any = find(documents, (*TABLES[noun], key))
    if row is ABSENT:
        known = ", ".join(str(one["name"]) for one in rows_of(documents, noun))
        raise FootballValueError(noun, key, f"one of {known}")
    return dict(row)


def rows_of(documents: Documents, noun: str) -> list[Mapping[str, Any]]:
    """The rows of a noun, in the team's order."""
    name, table = TABLES[noun]
    return list(documents.get(name, {}).get(table, []))


def _name(documents: Documents, noun: str, key: str) -> str:
    return str(_row(documents, noun, key)["name"])


def _check_new(documents: Documents, noun: str, name: str, but: str = "") -> None:
    for row in rows_of(documents, noun):
        key = key_of_row(row, {})
        if key != but and (str(row["name"]).casefold() == name.casefold() or (not but and key == slug(name))):
            raise FootballValueError("name", name, "a name that no other has")


def _check(shape: type[Shape], row: Mapping[str, Any]) -> None:
    """Refuse a row that its file could not hold."""
    try:
        shape.model_validate(row)
    except ValidationError as error:
        findings = Findings("")
        add_shape_errors(findings, shape, error.errors(include_url=False), row)
        first = findings.problems[0]
        raise FootballValueError(first.key, first.found or "nothing", first.expected) from None


def _checked(documents: Documents, edit: ContentEdit) -> ContentEdit:
    """The edit, where the file of each of its places can hold what it makes. Raises: FootballValueError."""
    after = edit.apply(documents)
    for name in {place[0] for place in edit.touches} & set(FILES):
        men = keys_of_men(after)
        for place in (place for place in edit.touches if place[0] == name):
            if len(place) > 2 and isinstance(after[name].get(place[1]), list):
                row = next((one for one in after[name][place[1]] if key_of_row(one, men) == place[2]), None)
                if row is not None:
                    _check(_shape_of(name, place[1]), row)
            else:
                _check(FILES[name], after[name])
    return edit


def _shape_of(name: str, table: str) -> type[Shape]:
    """The shape of one row of a file's table."""
    annotation = FILES[name].model_fields[table].annotation
    return annotation.__args__[0]  # type: ignore[union-attr, no-any-return]


def replace_all(documents: Documents, wanted: Documents) -> ContentEdit:
    """Make the content what another is, table by table; tables and files that it lacks go. The season's last day stays:
    it decides when results are erased, and is no football."""
    changes = []
    for name in dict.fromkeys((*documents, *wanted)):
        now, then = documents.get(name, {}), wanted.get(name, {})
        changes += [
            change(documents, (name, table), then.get(table, ABSENT))
            for table in dict.fromkeys((*now, *then))
            if now.get(table, ABSENT) != then.get(table, ABSENT) and (name, table) != ("team.toml", "season_end")
        ]
    return _edit("replace", (), tuple(changes))
