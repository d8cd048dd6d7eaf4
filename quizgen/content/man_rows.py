"""What one man has in one call, as a coach fills it in: where he stands, what he does, what he shows; and what he may
be given. Plain values, so that a form can be made of them.

Must not know: the engine, pages.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from quizgen.content.documents import ABSENT, Documents, find, key_of_row
from quizgen.content.edits import TABLES, ContentEdit, move_man, rows_of, set_drop, set_rush, stand_as_in_front
from quizgen.football.coverage import RECEIVER_WORDS
from quizgen.football.defense import TECHNIQUES, Landmark, Numbering, Shade
from quizgen.football.errors import FootballValueError
from quizgen.football.keys import slug
from quizgen.football.pressure import OUTERMOST, CoverJob, Path, RunJob, RushPart
from quizgen.football.sides import Letter, Toward

NUDGE_YD = 0.5
DEFAULT_DEPTH_YD = 1.0
SIDES = tuple(one.value for one in Toward)
GAPS = tuple(f"{side} {letter}" for side in SIDES for letter in (*(one.value for one in Letter), OUTERMOST))
PLACE_FIELDS = ("technique", "on", "shade", "side", "out", "depth")
RUSH_FIELDS = ("gap", "order", "path", "part", "second_gap")
DROP_FIELDS = ("cover", "run", "side", "gap", "second_gap", "man")


@dataclass(frozen=True, slots=True)
class ManInCall:
    """One man of a call: his key and name; his place's row and whether it is the call's own (else the front's); "rush",
    "drop" or "" (he has no job yet), and that job's row; the place that he shows, or nothing."""

    key: str
    name: str
    place: Mapping[str, Any]
    is_own_place: bool
    does: str
    job: Mapping[str, Any]
    shows: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Choices:
    """What a man may be given, in the words of the files."""

    techniques: tuple[str, ...]
    landmarks: tuple[str, ...] = tuple(one.value for one in Landmark)
    shades: tuple[str, ...] = tuple(one.value for one in Shade)
    sides: tuple[str, ...] = SIDES
    gaps: tuple[str, ...] = GAPS
    orders: tuple[int, ...] = tuple(range(1, 7))
    paths: tuple[str, ...] = tuple(one.value for one in Path)
    parts: tuple[str, ...] = tuple(one.value for one in RushPart)
    covers: tuple[str, ...] = tuple(one.value for one in CoverJob)
    runs: tuple[str, ...] = tuple(one.value for one in RunJob)
    men: tuple[str, ...] = (*RECEIVER_WORDS, "quarterback")


def choices_of(documents: Documents) -> Choices:
    """The choices, with the techniques of the team's own numbering."""
    word = documents.get("rules.toml", {}).get("rules", {}).get("numbering", Numbering.ONE_TO_NINE.value)
    numbering = next((one for one in Numbering if one.value == word), Numbering.ONE_TO_NINE)
    numbers = TECHNIQUES[numbering]
    return Choices((*numbers, *(f"{number}0" for number in numbers if number.isdigit() and number != "0")))


def call_row(documents: Documents, call: str) -> Mapping[str, Any]:
    """The row of a call, by its key. Raises: FootballValueError."""
    row: Any = find(documents, (*TABLES["call"], call))
    if row is ABSENT:
        raise FootballValueError(
            "call", call, "one of " + ", ".join(str(one["name"]) for one in rows_of(documents, "call"))
        )
    return dict(row)


def men_of_call(documents: Documents, call: str) -> tuple[ManInCall, ...]:
    """The men of a call's front, in its order. Raises: FootballValueError when the team has no such call or front."""
    row = call_row(documents, call)
    keys = {str(one["name"]): key_of_row(one, {}) for one in rows_of(documents, "position")}
    front = next((one for one in rows_of(documents, "front") if one["name"] == row["front"]), None)
    if front is None:
        raise FootballValueError("front", row["front"], "a front of the team")
    return tuple(
        _man(row, spot, keys.get(str(spot["position"]), slug(str(spot["position"])))) for spot in front["spot"]
    )


def _man(call: Mapping[str, Any], spot: Mapping[str, Any], key: str) -> ManInCall:
    name = spot["position"]
    own = {
        table: next((one for one in call.get(table, ()) if one["position"] == name), None)
        for table in ("align", "rush", "drop", "show")
    }
    does = "rush" if own["rush"] else "drop" if own["drop"] else ""
    return ManInCall(
        key,
        str(name),
        _values(own["align"] or spot, PLACE_FIELDS),
        own["align"] is not None,
        does,
        _values(own[does] or {}, RUSH_FIELDS if does == "rush" else DROP_FIELDS) if does else {},
        _values(own["show"] or {}, PLACE_FIELDS),
    )


def _values(row: Mapping[str, Any], fields: tuple[str, ...]) -> dict[str, Any]:
    return {name: row[name] for name in fields if name in row}


def place_edit(documents: Documents, call: str, man: str, place: Mapping[str, Any]) -> ContentEdit:
    """Put a man of a call elsewhere; an empty place lets him stand as the front has him."""
    given = {
        name: value for name, value in place.items() if value not in ("", None) and not (name == "out" and value == 0)
    }
    if str(given.get("technique", "")).isdigit():  # as a coach writes it
        given["technique"] = int(given["technique"])
    return move_man(documents, man, given, call=call) if given else stand_as_in_front(documents, man, call)


def job_edit(documents: Documents, call: str, man: str, does: str, job: Mapping[str, Any]) -> ContentEdit:
    """Give a man of a call another job; what is left at its default is not written down."""
    given = {name: value for name, value in job.items() if value not in ("", None)}
    if does == "drop":
        return set_drop(documents, man, call, given)
    plain = {"order": 1, "path": Path.STRAIGHT.value, "part": RushPart.GAP.value}
    return set_rush(documents, man, call, {k: v for k, v in given.items() if plain.get(k) != v})


def nudged(place: Mapping[str, Any], way: str, shown_depth_yd: float) -> dict[str, Any]:
    """A place half a yard "in", "out", "closer" or "deeper". A man in the middle has no in and out; nobody comes closer
    than half a yard."""
    row = dict(place)
    if way in ("in", "out") and "side" in row:
        row["out"] = round(float(row.get("out", 0.0)) + (NUDGE_YD if way == "out" else -NUDGE_YD), 2)
    if way in ("closer", "deeper"):
        depth = float(row.get("depth", shown_depth_yd or DEFAULT_DEPTH_YD))
        row["depth"] = max(NUDGE_YD, round((depth + (NUDGE_YD if way == "deeper" else -NUDGE_YD)) * 2) / 2)
    return row
