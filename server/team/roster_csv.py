"""Importing a roster from CSV: previewed first, then applied all or nothing. Exporting one that can be imported again.

Columns may have any name: a use is proposed for each, and the coach decides. Knows nothing of pages or of how accounts
sign in. Players are matched by number; the preview's digest comes back with the form, and if the roster changed since,
the new preview is shown. Rejected: matching by name (two Jaydens); keeping uploads on the server between the steps.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from server.accounts.members import players, take_roster
from server.database.store import TeamSession
from server.database.tables import Member
from server.errors import BadInput
from server.i18n.lazy_text import LazyText
from server.playbook.noun_names import NounNames
from server.playbook.playbooks import PositionWords
from server.reading.csv_files import CsvLine, CsvSheet, to_csv, unescape_formula
from server.team.install import RosterFileRow, rewrite_roster_file, to_entry

POSITIONS_MAX, NAME_MAX, NUMBER_MAX = 6, 60, 99
HEADER = ("Number", "Name", "Positions")
SEPARATOR = ", "


class Use(StrEnum):
    """What a column holds."""

    NUMBER = "number"
    NAME = "name"
    POSITIONS = "positions"
    NOTHING = "nothing"


class Others(StrEnum):
    """What happens to players who are not in the file."""

    STAY = "stay"
    GO = "go"


#: Known column names, lower case letters and digits only. If several could be the name, the first in this order wins.
COLUMN_NAMES: Mapping[Use, tuple[str, ...]] = {
    Use.NUMBER: ("number", "no", "nr", "num", "jersey", "jerseynumber", "jerseyno", "uniform", "numero", "número"),
    Use.NAME: (
        *("nickname", "nick", "goesby", "firstname", "first", "given", "givenname", "name", "player", "playername"),
        *("apodo", "nombre", "jugador"),
    ),
    Use.POSITIONS: (
        *("positions", "position", "pos", "position1", "pos1", "primaryposition", "primary", "posiciones", "posición"),
        *("position2", "pos2", "secondaryposition", "secondary", "position3", "pos3", "posicion"),
    ),
}


@dataclass(frozen=True, slots=True)
class Planned:
    """A valid line: its number in the file, the player it describes, and his current entry (None: new)."""

    line: int
    entry: RosterFileRow
    was: RosterFileRow | None

    @property
    def is_changed(self) -> bool:
        """Whether an existing player would change."""
        return self.was is not None and self.was != self.entry

    @property
    def is_renamed(self) -> bool:
        """Whether the number would get another name."""
        return self.was is not None and self.was.name != self.entry.name


@dataclass(frozen=True, slots=True)
class Refused:
    """An invalid line, and what was expected."""

    line: int
    why: str


@dataclass(frozen=True, slots=True)
class Plan:
    """What an import would do. ``absent`` are the players who are not in the file."""

    header: tuple[str, ...]
    uses: tuple[Use, ...]
    others: Others
    lines: tuple[Planned, ...]
    refused: tuple[Refused, ...]
    absent: tuple[RosterFileRow, ...]

    @property
    def added(self) -> list[Planned]:
        """New players."""
        return [one for one in self.lines if one.was is None]

    @property
    def changed(self) -> list[Planned]:
        """Players whose name or positions change."""
        return [one for one in self.lines if one.is_changed]

    @property
    def unchanged(self) -> int:
        """Number of players who stay the same."""
        return len(self.lines) - len(self.added) - len(self.changed)

    @property
    def removed(self) -> tuple[RosterFileRow, ...]:
        """Players who would be removed."""
        return self.absent if self.others is Others.GO else ()

    @property
    def long_names(self) -> int:
        """Number of names with more than one word, where a first name or nickname would do."""
        return sum(" " in one.entry.name for one in self.lines)

    @property
    def is_empty(self) -> bool:
        """Whether nothing would change."""
        return not (self.added or self.changed or self.removed)

    @property
    def digest(self) -> str:
        """A hash of everything in the preview, so that what is applied is what was shown."""
        shown = [
            [*self.uses],
            self.others,
            [[one.line, *_values(one.entry), _values(one.was) if one.was else None] for one in self.lines],
            [[one.line, str(one.why)] for one in self.refused],
            [_values(one) for one in self.absent],
        ]
        return hashlib.sha256(json.dumps(shown).encode()).hexdigest()


def _values(entry: RosterFileRow) -> list[object]:
    return [entry.number, entry.name, list(entry.positions)]


def propose(sheet: CsvSheet) -> tuple[Use, ...]:
    """The likely use of each column by its name: one number, one name, any number of positions."""
    names = [_normalize(name) for name in sheet.header]
    uses = [Use.NOTHING] * len(names)
    for use in (Use.NUMBER, Use.NAME):
        index = next((names.index(word) for word in COLUMN_NAMES[use] if word in names), None)
        if index is not None:
            uses[index] = use
    for index, word in enumerate(names):
        if word in COLUMN_NAMES[Use.POSITIONS]:
            uses[index] = Use.POSITIONS
    return tuple(uses)


def _normalize(name: str) -> str:
    return "number" if name.strip() == "#" else re.sub(r"[\W_]", "", name.casefold())


def make_plan(
    t: TeamSession, sheet: CsvSheet, uses: Sequence[Use], others: Others, positions: Sequence[PositionWords]
) -> Plan:
    """What importing this sheet would do. Raises: BadInput when a needed column is missing."""
    columns = {use: [index for index, one in enumerate(uses) if one is use] for use in Use}
    if len(uses) != len(sheet.header):
        raise BadInput(LazyText("the columns: expected a use for each of {count}", count=len(sheet.header)))
    for use in (Use.NUMBER, Use.NAME):
        if len(columns[use]) != 1:
            raise BadInput(MISSING_COLUMN[use])
    if not columns[Use.POSITIONS]:
        raise BadInput(MISSING_COLUMN[Use.POSITIONS])
    now = {member.number or 0: to_entry(member) for member in players(t)}
    words = {word.casefold(): one for one in positions for word in (one.label, one.name) if word}
    lines: list[Planned] = []
    refused: list[Refused] = []
    seen: dict[int, int] = {}
    for line in sheet.lines:
        try:
            entry = parse_entry(line, columns, words)
            if entry.number in seen:
                raise BadInput(
                    LazyText(
                        "expected each number once, found {number} on line {line} too",
                        number=entry.number,
                        line=seen[entry.number],
                    )
                )
        except BadInput as refusal:
            refused.append(Refused(line.number, refusal.message))
            continue
        seen[entry.number] = line.number
        lines.append(Planned(line.number, entry, now.get(entry.number)))
    absent = tuple(entry for number, entry in now.items() if number not in seen)
    return Plan(sheet.header, tuple(uses), others, tuple(lines), tuple(refused), absent)


MISSING_COLUMN: Mapping[Use, LazyText] = {
    Use.NUMBER: LazyText("the columns: expected one for the number"),
    Use.NAME: LazyText("the columns: expected one for the name"),
    Use.POSITIONS: LazyText("the columns: expected one or more for the positions"),
}


def parse_entry(
    line: CsvLine, columns: Mapping[Use, Sequence[int]], words: Mapping[str, PositionWords]
) -> RosterFileRow:
    """The player on a line; ``words`` maps what people write to the team's positions. Raises: BadInput."""
    cells = [unescape_formula(cell) for cell in line.cells]
    number = cells[columns[Use.NUMBER][0]].removeprefix("#").strip()
    if not (number.isascii() and number.isdigit() and int(number) <= NUMBER_MAX and len(number) <= 3):
        raise BadInput(LazyText("number: expected 0 to {most}, found {found!r}", most=NUMBER_MAX, found=number[:30]))
    name = parse_name(cells[columns[Use.NAME][0]])
    typed = [part for index in columns[Use.POSITIONS] for part in re.split(r"[,;/|\n]", cells[index])]
    return RosterFileRow(int(number), name, parse_positions(typed, words))


def parse_name(typed: str) -> str:
    """A player's name. Raises: BadInput."""
    name = typed.strip()
    if not name:
        raise BadInput(LazyText("name: expected a first name or nickname, found none"))
    if len(name) > NAME_MAX or not name.isprintable():
        raise BadInput(LazyText("name: expected one line of at most {most} characters", most=NAME_MAX))
    return name


def parse_positions(typed: Iterable[str], words: Mapping[str, PositionWords]) -> tuple[str, ...]:
    """A player's positions by their keys. Raises: BadInput."""
    found: list[str] = []
    for word in filter(None, (part.strip() for part in typed)):
        known = words.get(word.casefold())
        if known is None:
            expected = ", ".join(dict.fromkeys(one.name for one in words.values()))
            raise BadInput(
                LazyText("positions: expected some of {words}, found {found!r}", words=expected, found=word[:60])
            )
        found.append(known.key)
    positions = tuple(dict.fromkeys(found))
    if not 1 <= len(positions) <= POSITIONS_MAX:
        raise BadInput(
            LazyText("positions: expected 1 to {most}, found {found}", most=POSITIONS_MAX, found=len(positions))
        )
    return positions


def apply_plan(t: TeamSession, plan: Plan, now: datetime) -> list[Member]:
    """Apply the plan in the current write; return the new players. Raises: BadInput when a line was refused."""
    if plan.refused:
        raise BadInput(LazyText("line {line}: {why}", line=plan.refused[0].line, why=plan.refused[0].why))
    staying = () if plan.others is Others.GO else plan.absent
    take_roster(t, [*(one.entry for one in plan.lines), *staying], now)
    rewrite_roster_file(t)
    numbers = {one.entry.number for one in plan.added}
    return [member for member in players(t) if member.number in numbers]


def write_roster(members: Iterable[Member], names: NounNames) -> Iterator[bytes]:
    """The players as a CSV file that can be imported again."""
    return to_csv(
        HEADER, ([one.number, one.name, SEPARATOR.join(map(names.position, one.positions))] for one in members)
    )
