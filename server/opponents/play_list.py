"""A play list as a coach has it: a sheet of snaps under any headings, and what its words are among the team's plays.

Each step is a pure function of the text and of what was chosen so far, so that nothing is kept between two pages:
lines -> headings and columns -> words with their counts -> what each word means -> counts of plays. It must not know
pages or the database; a line or a word is never dropped without a reason that is said.
"""

from __future__ import annotations

import csv
import difflib
import io
import math
import re
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache

from server.errors import BadInput
from server.i18n.lazy_text import LazyText
from server.opponents.tendencies import COUNT_MAX, NAME_MAX, UNCHARTED, known_name
from server.playbook.rep_summary import PlaySummary
from server.reading.csv_files import CELL_MAX, COLUMNS_MAX, SEPARATORS, Line

LINES_MAX = 50_000
#: Bytes of text that a page may carry on to the next; the body that brings it may be a little larger.
TEXT_MAX = 800_000
BODY_MAX = 1_048_576
WORDS_MAX = 300
HEADING_LINES = 10
LINES_TRIED, LINES_LOOKED_AT = 40, 400
CELLS_LOOKED_AT = 40
LINES_SAID = 5
CLOSE = 0.78
#: A column of plays has at least this share of words that are plays of the team.
LIKELY = 0.2


class Column(StrEnum):
    """What a column of a play list is for. Only the play and the count are stored; the others are shown as a check."""

    PLAY = "play"
    COUNT = "count"
    FORMATION = "formation"
    DIRECTION = "direction"
    DOWN = "down"
    DISTANCE = "distance"


#: Words in headings, each alone or beside others, that say what a column is for: common practice, and plain English.
HEADINGS: Mapping[Column, tuple[str, ...]] = {
    Column.PLAY: ("play", "concept", "scheme", "run", "jugada"),
    Column.COUNT: ("count", "times", "snaps", "qty", "n", "veces"),
    Column.FORMATION: ("formation", "form", "set", "formacion"),
    Column.DIRECTION: ("direction", "dir", "side", "strength", "direccion"),
    Column.DOWN: ("down", "dn"),
    Column.DISTANCE: ("distance", "dist", "togo", "yards", "distancia"),
}
#: Words that say where a play goes or from which side it is called, and not which play it is.
WHERE = frozenset(
    {"left", "right", "lt", "rt", "l", "r", "strong", "weak", "str", "wk", "field", "boundary", "to", "the"}
)


class How(StrEnum):
    """How a word came by the play that is proposed for it."""

    SAME = "same"
    BEFORE = "before"
    CLOSE = "close"
    NONE = "none"


#: What a word can be besides a play of the team: nothing that counts, or a play under its own name.
LEAVE_OUT, AS_IT_IS = "", "+"


@dataclass(frozen=True, slots=True)
class Sheet:
    """A play list taken apart. ``heading`` is the place of the line with the headings, None when there is none."""

    lines: tuple[Line, ...]
    heading: int | None
    width: int

    @property
    def names(self) -> tuple[str, ...]:
        """The headings as they stand; empty where there is none."""
        cells = () if self.heading is None else self.lines[self.heading].cells
        return (*cells, *[""] * (self.width - len(cells)))

    @property
    def snaps(self) -> tuple[Line, ...]:
        """The lines below the headings."""
        return self.lines if self.heading is None else self.lines[self.heading + 1 :]


@dataclass(frozen=True, slots=True)
class Word:
    """One word of the column of plays: on how many lines, how often by their counts, and what it may be."""

    text: str
    lines: int
    count: float
    target: str
    how: How


@dataclass(frozen=True, slots=True)
class LeftOut:
    """Lines that were left out, why, how many they are, and the first of them by number."""

    why: str
    lines: int
    first: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class DryRun:
    """What would be stored: counts by play, from how many lines; and the lines that would not."""

    play_counts: Mapping[str, float]
    lines: int
    left_out: tuple[LeftOut, ...]

    @property
    def total(self) -> float:
        """How many snaps they come to."""
        return sum(self.play_counts.values())


# Lines ----------------------------------------------------------------------------------------------------------------


def tidy(text: str) -> str:
    """The text with one kind of line end, whatever a file or a browser made of it."""
    return text.replace("\r\n", "\n").replace("\r", "\n")


def carried(text: str) -> str:
    """The text, tidy, if a page may carry it on. Raises: BadInput."""
    text = tidy(text)
    if len(text.encode()) > TEXT_MAX:
        raise BadInput(LazyText("the file: expected at most {most} kB of text, found more", most=TEXT_MAX // 1000))
    return text


def read_lines(text: str) -> tuple[Line, ...]:
    """Every line that holds anything, with its number in the file. Raises: BadInput with one message."""
    text = carried(text)
    found: list[Line] = []
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=find_separator(text), strict=True)
    begins = 1
    try:
        for row in reader:
            cells = tuple(" ".join(cell.split()) for cell in row)
            if any(cells):
                found.append(Line(begins, cells))
            if len(cells) > COLUMNS_MAX or any(len(cell) > CELL_MAX for cell in cells):
                raise BadInput(
                    LazyText(
                        "line {line}: expected at most {columns} columns and {most} characters in a cell, found more",
                        line=begins,
                        columns=COLUMNS_MAX,
                        most=CELL_MAX,
                    )
                )
            if len(found) > LINES_MAX:
                raise BadInput(LazyText("the file: expected at most {most} lines, found more", most=LINES_MAX))
            begins = reader.line_num + 1
    except csv.Error:
        raise BadInput(
            LazyText(
                "line {line}: expected CSV, found a quotation mark that is not closed or stands alone", line=begins
            )
        ) from None
    if not found:
        raise BadInput(
            LazyText("the file: expected a line for each snap, or for each play with its count, found nothing")
        )
    return tuple(found)


def find_separator(text: str) -> str:
    """The separator by which most of the first lines have one and the same number of cells, more than one."""

    def fit(separator: str) -> tuple[int, int]:
        sizes: Counter[int] = Counter()
        try:
            for row in csv.reader(io.StringIO(text, newline=""), delimiter=separator):
                sizes[len(row)] += any(row)
                if sizes.total() == LINES_TRIED:
                    break
        except csv.Error:
            return 0, 0
        return max(((lines, size) for size, lines in sizes.items() if size > 1), default=(0, 0))

    return max(SEPARATORS, key=fit)


def to_sheet(lines: tuple[Line, ...], plays: Sequence[PlaySummary], heading: int | None = None) -> Sheet:
    """The lines with their headings: those of that line of the first few, counted from 1; 0: none; None: found."""
    width = max(len(line.cells) for line in lines)
    place = find_heading(lines, plays) if heading is None else heading - 1
    is_there = place is not None and 0 <= place < min(len(lines), HEADING_LINES)
    return Sheet(lines, place if is_there else None, width)


def find_heading(lines: Sequence[Line], plays: Sequence[PlaySummary]) -> int | None:
    """The place of the first of the first few lines that is as full as most lines, and holds no number, no play of the
    team and nothing that comes again below it in its column; None when there is none: the first line is then a snap."""
    usual = Counter(sum(map(bool, line.cells)) for line in lines[:LINES_TRIED]).most_common(1)[0][0]
    own = {plain(play.name) for play in plays}
    for place, line in enumerate(lines[:HEADING_LINES]):
        filled = [(i, cell) for i, cell in enumerate(line.cells) if cell]
        if len(filled) < usual:
            continue
        below = [other.cells for other in lines[place + 1 : place + 1 + LINES_LOOKED_AT]]
        is_snap = any(
            find_number(cell) is not None
            or plain(cell) in own
            or any(len(cells) > i and cells[i].casefold() == cell.casefold() for cells in below)
            for i, cell in filled
        )
        return None if is_snap else place
    return None


def find_number(text: str) -> float | None:
    """A count as a sheet has it, from 0; None when it is none."""
    try:
        number = float(text.replace(",", "."))
    except ValueError:
        return None
    return number if math.isfinite(number) and 0 <= number <= COUNT_MAX and "_" not in text else None


# Columns --------------------------------------------------------------------------------------------------------------


def find_columns(sheet: Sheet, plays: Sequence[PlaySummary]) -> dict[Column, int]:
    """Which column is what, as far as headings and words say so. The column of plays is the one whose words are most
    often plays of the team; headings decide where no column has any."""
    named = {column: places_named(sheet, words) for column, words in HEADINGS.items()}
    found: dict[Column, int] = {}
    shares = [
        (share_of_plays(sheet, place, plays), place in named[Column.PLAY], -place) for place in range(sheet.width)
    ]
    share, is_named, place = max(shares)
    if share >= LIKELY or is_named:
        found[Column.PLAY] = -place
    for column, places in named.items():
        free = [one for one in places if one not in found.values()]
        if column is not Column.PLAY and free and (column is not Column.COUNT or is_numbers(sheet, free[0])):
            found[column] = free[0]
    return found


def places_named(sheet: Sheet, words: Iterable[str]) -> list[int]:
    """The columns whose heading has one of these words, the one that is nothing but the word in front."""
    wanted = set(words)
    cut = [(place, plain(name).split()) for place, name in enumerate(sheet.names)]
    return [p for p, own in sorted(cut, key=lambda one: (len(one[1]), one[0])) if wanted & {*own, "".join(own)}]


def share_of_plays(sheet: Sheet, place: int, plays: Sequence[PlaySummary]) -> float:
    """Which share of a column's filled cells are plays of the team, or nearly."""
    cells = Counter(line.cells[place] for line in sheet.snaps if len(line.cells) > place and line.cells[place])
    if not cells or len(cells) > WORDS_MAX:
        return 0.0
    usual = cells.most_common(CELLS_LOOKED_AT)
    alike = sum(count for cell, count in usual if find_number(cell) is None and find_play(cell, plays))
    return alike / sum(count for _, count in usual)


def is_numbers(sheet: Sheet, place: int) -> bool:
    """Whether a column holds numbers and nothing else."""
    cells = [line.cells[place] for line in sheet.snaps if len(line.cells) > place and line.cells[place]]
    return bool(cells) and all(find_number(cell) is not None for cell in cells)


# Words ----------------------------------------------------------------------------------------------------------------


def plain(text: str) -> str:
    """A word without capitals, signs and needless blanks, by which words are compared."""
    return " ".join(re.sub(r"[^\w]+", " ", text.casefold().replace("_", " ")).split())


@lru_cache(maxsize=8)
def _names(plays: tuple[str, ...]) -> Mapping[str, str]:
    return {"pass": UNCHARTED} | {plain(name): name for name in (*plays, UNCHARTED)}


def find_play(word: str, plays: Sequence[PlaySummary]) -> tuple[str, How] | None:
    """The team's play that a word is, or is close to; None when there is none.

    Close: the same but for where it goes and for numbers; all the words of a play among its own; the first letters of a
    play's words; or spelled almost alike (difflib of the standard library).
    """
    names = _names(tuple(play.name for play in plays))
    typed = plain(word)
    if typed in names:
        return names[typed], How.SAME
    kept = [part for part in typed.split() if part not in WHERE and not part.isdecimal()]
    bare = " ".join(kept)
    if not bare:
        return None
    if bare in names:
        return names[bare], How.CLOSE
    within = [name for name in names if set(name.split()) <= set(kept)]
    if within:
        return names[max(within, key=lambda name: (len(name.split()), len(name)))], How.CLOSE
    initials = [name for name in names if len(name.split()) > 1 and bare == "".join(part[0] for part in name.split())]
    if len(initials) == 1:
        return names[initials[0]], How.CLOSE
    near = difflib.get_close_matches(bare, names, n=1, cutoff=CLOSE)
    return (names[near[0]], How.CLOSE) if near else None


def propose(word: str, plays: Sequence[PlaySummary], before: Mapping[str, str]) -> tuple[str, How]:
    """What a word may be: as it was mapped before, else a play of the team, else a play under its own name."""
    known = {LEAVE_OUT, AS_IT_IS, UNCHARTED, *(play.name for play in plays)}
    if before.get(plain(word)) in known:
        return before[plain(word)], How.BEFORE
    return find_play(word, plays) or (AS_IT_IS, How.NONE)


def find_words(
    sheet: Sheet, columns: Mapping[Column, int], plays: Sequence[PlaySummary], before: Mapping[str, str]
) -> list[Word]:
    """The words of the column of plays, the most frequent first, each with what it may be. Raises: BadInput."""
    lines: Counter[str] = Counter()
    counts: dict[str, float] = defaultdict(float)
    for _, word, count in taken(sheet, columns):
        lines[word] += 1
        counts[word] += count
    if len(lines) > WORDS_MAX:
        raise BadInput(
            LazyText(
                "the column of plays: expected at most {most} different words, found {found}; choose another column",
                most=WORDS_MAX,
                found=len(lines),
            )
        )
    return [Word(word, n, counts[word], *propose(word, plays, before)) for word, n in lines.most_common()]


def taken(sheet: Sheet, columns: Mapping[Column, int]) -> Iterable[tuple[Line, str, float]]:
    """The lines that say a play and a count that can be read."""
    for line in sheet.snaps:
        word, count = read_snap(line, columns)
        if word and count is not None:
            yield line, word, count


def read_snap(line: Line, columns: Mapping[Column, int]) -> tuple[str, float | None]:
    """The play's word (empty: none) and how often (None: not a number) that a line says; once without a count."""

    def cell(column: Column) -> str:
        place = columns.get(column)
        return "" if place is None or place >= len(line.cells) else line.cells[place]

    count = find_number(cell(Column.COUNT)) if Column.COUNT in columns else 1.0
    return cell(Column.PLAY), count


def try_out(
    sheet: Sheet, columns: Mapping[Column, int], meant: Mapping[str, str], plays: Sequence[PlaySummary]
) -> DryRun:
    """What would be stored if each word were what it is meant to be, and what would be left out, and why."""
    counts: dict[str, float] = defaultdict(float)
    out: dict[str, list[int]] = {}
    lines = 0
    for line in sheet.snaps:
        word, count = read_snap(line, columns)
        why = why_not(word, count, meant)
        if why is not None or count is None:
            out.setdefault(why or "", []).append(line.number)
            continue
        lines += 1
        target = meant.get(word, AS_IT_IS)
        counts[known_name(word, plays) if target == AS_IT_IS else target] += count
    left = tuple(LeftOut(why, len(places), tuple(places[:LINES_SAID])) for why, places in out.items())
    most_first = dict(sorted(((name, n) for name, n in counts.items() if n), key=lambda one: (-one[1], one[0])))
    return DryRun(most_first, lines, tuple(sorted(left, key=lambda one: -one.lines)))


def why_not(word: str, count: float | None, meant: Mapping[str, str]) -> str | None:
    """Why a line is left out; None when it is taken."""
    if not word:
        return LazyText("no play in the line")
    if count is None:
        return LazyText("the count is no number from 0 to {most}", most=COUNT_MAX)
    if meant.get(word, AS_IT_IS) == LEAVE_OUT:
        return LazyText("{word}: left out by you", word=word[:NAME_MAX])
    return None


def glance(sheet: Sheet, columns: Mapping[Column, int], column: Column, most: int = 6) -> list[tuple[str, int]]:
    """The most frequent cells of a column that is shown as a check, each with its lines."""
    place = columns.get(column)
    if place is None:
        return []
    return Counter(
        line.cells[place] for line in sheet.snaps if len(line.cells) > place and line.cells[place]
    ).most_common(most)
