"""Importing a play list: a sheet of snaps under any headings, and which of the team's plays each of its words means.

Each step is a pure function of the text and of the choices so far: lines -> headings and columns -> words with their
counts -> what each word means -> counts of plays. The page carries the text from step to step. Rejected: a table or
file of half-done imports (more data to erase later, and a step could be out of date). Knows nothing of pages or the
database. No line or word is dropped without saying why.
"""

from __future__ import annotations

import csv
import difflib
import io
import math
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from functools import lru_cache

from server.errors import BadInput
from server.i18n.lazy_text import LazyText
from server.opponents.formation_words import DIRECTIONS, keys_of, propose_formation, run_side
from server.opponents.matching import KEEP_NAME, LEAVE_OUT, MIN_SIMILARITY, MatchedBy, normalize
from server.opponents.tendencies import COUNT_MAX
from server.opponents.trade_names import find_meant, trade_names
from server.playbook.charted import NAME_MAX, UNCHARTED, RunCount, known_play, trim_name
from server.playbook.rep_summary import FormationSummary, PlaySummary
from server.reading.csv_files import CELL_MAX, COLUMNS_MAX, SEPARATORS, CsvLine

LINES_MAX = 50_000
#: Bytes of text that a page may carry to the next one; the request body may be a little larger.
TEXT_MAX = 800_000
BODY_MAX = 1_048_576
WORDS_MAX = 300
HEADING_LINES = 10
LINES_SAMPLED, LINES_COMPARED = 40, 400
CELLS_COMPARED = 40
LINES_SHOWN = 5
#: What a column of motions has where nobody moves.
NO_MOTION = frozenset({"", "none", "no", "n", "0", "x", "ninguno", "ninguna"})
#: At least this share of the words in a column of plays are plays of the team.
MIN_SHARE_OF_PLAYS = 0.2


class Column(StrEnum):
    """What a column of a play list holds. Down and distance are not stored; they are shown for the coach to check."""

    PLAY = "play"
    COUNT = "count"
    FORMATION = "formation"
    MOTION = "motion"
    DIRECTION = "direction"
    DOWN = "down"
    DISTANCE = "distance"


#: Words in a heading, alone or with others, that say what the column holds: common practice, and plain English.
HEADINGS: Mapping[Column, tuple[str, ...]] = {
    Column.PLAY: ("play", "concept", "scheme", "run", "jugada"),
    Column.COUNT: ("count", "times", "snaps", "qty", "n", "veces"),
    Column.FORMATION: ("formation", "form", "set", "formacion"),
    Column.MOTION: ("motion", "mot", "shift", "movimiento"),
    Column.DIRECTION: ("direction", "dir", "side", "strength", "direccion"),
    Column.DOWN: ("down", "dn"),
    Column.DISTANCE: ("distance", "dist", "togo", "yards", "distancia"),
}


@dataclass(frozen=True, slots=True)
class PlaySheet:
    """A parsed play list. ``heading`` is the index of the line with the headings, None when there is none."""

    lines: tuple[CsvLine, ...]
    heading: int | None
    width: int

    @property
    def names(self) -> tuple[str, ...]:
        """The headings as written; empty where a column has none."""
        cells = () if self.heading is None else self.lines[self.heading].cells
        return (*cells, *[""] * (self.width - len(cells)))

    @property
    def snaps(self) -> tuple[CsvLine, ...]:
        """The lines below the headings."""
        return self.lines if self.heading is None else self.lines[self.heading + 1 :]


@dataclass(frozen=True, slots=True)
class Word:
    """A word in a column of plays or formations: its number of lines, the sum of their counts, and the key proposed for
    it."""

    text: str
    lines: int
    count: float
    target: str
    how: MatchedBy


@dataclass(frozen=True, slots=True)
class Placing:
    """What it takes to place a run: the team's formations, what each word for one means, and whether left and right in
    the file are ours (else theirs)."""

    formations: Sequence[FormationSummary] = ()
    meanings: Mapping[str, str] = field(default_factory=dict)
    is_ours: bool = False


@dataclass(frozen=True, slots=True)
class LeftOut:
    """Lines left out for one reason: how many, and the numbers of the first few."""

    why: str
    lines: int
    first: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class DryRun:
    """What an import would store: runs with their counts, and from how many lines; and which lines it would leave
    out."""

    runs: tuple[RunCount, ...]
    lines: int
    left_out: tuple[LeftOut, ...]

    @property
    def play_counts(self) -> dict[str, float]:
        """Counts by play, the most first."""
        found: dict[str, float] = defaultdict(float)
        for run in self.runs:
            found[run.play] += run.snaps
        return dict(sorted(found.items(), key=lambda one: (-one[1], one[0])))

    @property
    def total(self) -> float:
        """Number of snaps."""
        return sum(run.snaps for run in self.runs)


# Lines ----------------------------------------------------------------------------------------------------------------


def normalize_line_ends(text: str) -> str:
    """The text with LF line ends."""
    return text.replace("\r\n", "\n").replace("\r", "\n")


def check_size(text: str) -> str:
    """The text with LF line ends. Raises: BadInput when it is too large to carry from page to page."""
    text = normalize_line_ends(text)
    if len(text.encode()) > TEXT_MAX:
        raise BadInput(LazyText("the file: expected at most {most} kB of text, found more", most=TEXT_MAX // 1000))
    return text


def read_lines(text: str) -> tuple[CsvLine, ...]:
    """Every line that isn't empty, with its number in the file. Raises: BadInput with one message."""
    text = check_size(text)
    found: list[CsvLine] = []
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=find_separator(text), strict=True)
    line_number = 1
    try:
        for row in reader:
            cells = tuple(" ".join(cell.split()) for cell in row)
            if any(cells):
                found.append(CsvLine(line_number, cells))
            if len(cells) > COLUMNS_MAX or any(len(cell) > CELL_MAX for cell in cells):
                raise BadInput(
                    LazyText(
                        "line {line}: expected at most {columns} columns and {most} characters in a cell, found more",
                        line=line_number,
                        columns=COLUMNS_MAX,
                        most=CELL_MAX,
                    )
                )
            if len(found) > LINES_MAX:
                raise BadInput(LazyText("the file: expected at most {most} lines, found more", most=LINES_MAX))
            line_number = reader.line_num + 1
    except csv.Error:
        raise BadInput(
            LazyText(
                "line {line}: expected CSV, found a quotation mark that is not closed or stands alone", line=line_number
            )
        ) from None
    if not found:
        raise BadInput(
            LazyText("the file: expected a line for each snap, or for each play with its count, found nothing")
        )
    return tuple(found)


def find_separator(text: str) -> str:
    """The separator that gives most of the first lines the same number of cells, more than one."""

    def fit(separator: str) -> tuple[int, int]:
        sizes: Counter[int] = Counter()
        try:
            for row in csv.reader(io.StringIO(text, newline=""), delimiter=separator):
                sizes[len(row)] += any(row)
                if sizes.total() == LINES_SAMPLED:
                    break
        except csv.Error:
            return 0, 0
        return max(((lines, size) for size, lines in sizes.items() if size > 1), default=(0, 0))

    return max(SEPARATORS, key=fit)


def to_sheet(lines: tuple[CsvLine, ...], plays: Sequence[PlaySummary], heading: int | None = None) -> PlaySheet:
    """The lines as a sheet. ``heading``: the line with the headings, counted from 1; 0: none; None: find it."""
    width = max(len(line.cells) for line in lines)
    index = find_heading(lines, plays) if heading is None else heading - 1
    is_valid = index is not None and 0 <= index < min(len(lines), HEADING_LINES)
    return PlaySheet(lines, index if is_valid else None, width)


def find_heading(lines: Sequence[CsvLine], plays: Sequence[PlaySummary]) -> int | None:
    """The index of the first line with as many cells as most lines have; None when that line is a snap.

    A snap holds a number, a play of the team, or a cell that comes again further down in its column.
    """
    typical = Counter(sum(map(bool, line.cells)) for line in lines[:LINES_SAMPLED]).most_common(1)[0][0]
    own = {normalize(play.name) for play in plays}
    for index, line in enumerate(lines[:HEADING_LINES]):
        filled = [(i, cell) for i, cell in enumerate(line.cells) if cell]
        if len(filled) < typical:
            continue
        below = [other.cells for other in lines[index + 1 : index + 1 + LINES_COMPARED]]
        is_snap = any(
            find_number(cell) is not None
            or normalize(cell) in own
            or any(len(cells) > i and cells[i].casefold() == cell.casefold() for cells in below)
            for i, cell in filled
        )
        return None if is_snap else index
    return None


def find_number(text: str) -> float | None:
    """A count as written in a sheet, 0 or more; None when it isn't one."""
    try:
        number = float(text.replace(",", "."))
    except ValueError:
        return None
    return number if math.isfinite(number) and 0 <= number <= COUNT_MAX and "_" not in text else None


# Columns --------------------------------------------------------------------------------------------------------------


def find_columns(sheet: PlaySheet, plays: Sequence[PlaySummary]) -> dict[Column, int]:
    """What each column holds, where headings and words tell. The column of plays is the one with the largest share of
    words that are plays of the team; headings decide when there is none."""
    named = {column: columns_named(sheet, words) for column, words in HEADINGS.items()}
    found: dict[Column, int] = {}
    shares = [
        (share_of_plays(sheet, index, plays), index in named[Column.PLAY], -index) for index in range(sheet.width)
    ]
    share, is_named, index = max(shares)
    if share >= MIN_SHARE_OF_PLAYS or is_named:
        found[Column.PLAY] = -index
    for column, indexes in named.items():
        free = [one for one in indexes if one not in found.values()]
        if column is not Column.PLAY and free and (column is not Column.COUNT or is_numbers(sheet, free[0])):
            found[column] = free[0]
    return found


def columns_named(sheet: PlaySheet, words: Iterable[str]) -> list[int]:
    """The columns whose heading has one of these words, an exact match first."""
    wanted = set(words)
    cut = [(index, normalize(name).split()) for index, name in enumerate(sheet.names)]
    return [p for p, own in sorted(cut, key=lambda one: (len(one[1]), one[0])) if wanted & {*own, "".join(own)}]


def share_of_plays(sheet: PlaySheet, index: int, plays: Sequence[PlaySummary]) -> float:
    """The share of a column's filled cells that are, or are close to, plays of the team."""
    cells = Counter(line.cells[index] for line in sheet.snaps if len(line.cells) > index and line.cells[index])
    if not cells or len(cells) > WORDS_MAX:
        return 0.0
    typical = cells.most_common(CELLS_COMPARED)
    alike = sum(count for cell, count in typical if find_number(cell) is None and find_play(cell, plays))
    return alike / sum(count for _, count in typical)


def is_numbers(sheet: PlaySheet, index: int) -> bool:
    """Whether a column holds only numbers."""
    cells = [line.cells[index] for line in sheet.snaps if len(line.cells) > index and line.cells[index]]
    return bool(cells) and all(find_number(cell) is not None for cell in cells)


# Words ----------------------------------------------------------------------------------------------------------------


@lru_cache(maxsize=8)
def _names(plays: tuple[tuple[str, str], ...]) -> Mapping[str, str]:
    """The key of the play for each name, in plain letters."""
    own = {normalize(name): key for name, key in plays}
    return {"pass": UNCHARTED} | own | {normalize(UNCHARTED): UNCHARTED}


def find_play(word: str, plays: Sequence[PlaySummary]) -> tuple[str, MatchedBy] | None:
    """The key of the team's play that a word names or is close to; None when there is none.

    Close: the same apart from direction words and numbers; contains all words of the play; the initials of the play's
    words; or a similar spelling. A common name of the trade comes before that when it takes in more of the words: a
    "lead draw" is a draw.
    """
    names = _names(tuple((play.name, play.key) for play in plays))
    typed = normalize(word)
    if typed in names:
        return names[typed], MatchedBy.SAME
    words = [part for part in typed.split() if part not in DIRECTIONS and not part.isdecimal()]
    bare = " ".join(words)
    if not bare:
        return None
    if bare in names:
        return names[bare], MatchedBy.CLOSE
    trade = trade_names()
    whole = trade.spell_out(words)
    within = [name for name in names if set(trade.spell_out(name.split())) <= set(whole)]
    longest = max(within, key=lambda name: (len(name.split()), len(name)), default="")
    size, meanings = trade.find_meanings(whole)
    meant = find_meant(meanings, plays)
    if meant and len(trade.spell_out(longest.split())) < size == len(whole):
        return meant, MatchedBy.TRADE
    if longest:
        return names[longest], MatchedBy.CLOSE
    initials = [name for name in names if len(name.split()) > 1 and bare == "".join(part[0] for part in name.split())]
    if len(initials) == 1:
        return names[initials[0]], MatchedBy.CLOSE
    # difflib is enough for a few dozen plays, and the coach decides anyway. Rejected: a fuzzy-matching library.
    near = difflib.get_close_matches(bare, names, n=1, cutoff=MIN_SIMILARITY)
    if near:
        return names[near[0]], MatchedBy.CLOSE
    return (meant, MatchedBy.TRADE) if meant else None


def propose(word: str, plays: Sequence[PlaySummary], before: Mapping[str, str]) -> tuple[str, MatchedBy]:
    """What a word probably means: as mapped before, else a play of the team, else a play under its own name."""
    known = {LEAVE_OUT, KEEP_NAME, UNCHARTED, *(play.key for play in plays)}
    if before.get(normalize(word)) in known:
        return before[normalize(word)], MatchedBy.BEFORE
    return find_play(word, plays) or (KEEP_NAME, MatchedBy.NONE)


def find_words(
    sheet: PlaySheet, columns: Mapping[Column, int], plays: Sequence[PlaySummary], before: Mapping[str, str]
) -> list[Word]:
    """The words in the column of plays, most frequent first, each with a proposal. Raises: BadInput."""
    found = _count_words((word, count) for _, word, count in usable_snaps(sheet, columns))
    if len(found) > WORDS_MAX:
        raise BadInput(
            LazyText(
                "the column of plays: expected at most {most} different words, found {found}; choose another column",
                most=WORDS_MAX,
                found=len(found),
            )
        )
    return [Word(word, lines, count, *propose(word, plays, before)) for word, lines, count in found]


def find_formation_words(
    sheet: PlaySheet,
    columns: Mapping[Column, int],
    formations: Sequence[FormationSummary],
    before: Mapping[str, str],
    *,
    is_ours: bool,
) -> list[Word]:
    """The words for formations, with the motion behind a comma, as `find_words`. Raises: BadInput."""
    snaps = ((formation_word(line, columns), count) for line, _, count in usable_snaps(sheet, columns))
    found = _count_words((word, count) for word, count in snaps if word)
    if len(found) > WORDS_MAX:
        raise BadInput(
            LazyText(
                "the column of formations: expected at most {most} different words, found {found}; choose another "
                "column",
                most=WORDS_MAX,
                found=len(found),
            )
        )
    return [
        Word(word, lines, count, *propose_formation(word, formations, before, is_ours=is_ours))
        for word, lines, count in found
    ]


def _count_words(snaps: Iterable[tuple[str, float]]) -> list[tuple[str, int, float]]:
    """Each word with its lines and the sum of their counts, the most frequent first."""
    lines: Counter[str] = Counter()
    counts: dict[str, float] = defaultdict(float)
    for word, count in snaps:
        lines[word] += 1
        counts[word] += count
    return [(word, number, counts[word]) for word, number in lines.most_common()]


def usable_snaps(sheet: PlaySheet, columns: Mapping[Column, int]) -> Iterable[tuple[CsvLine, str, float]]:
    """The lines with a play and a readable count."""
    for line in sheet.snaps:
        word, count = read_snap(line, columns)
        if word and count is not None:
            yield line, word, count


def cell_of(line: CsvLine, columns: Mapping[Column, int], column: Column) -> str:
    """A line's cell in a column; empty where there is none."""
    index = columns.get(column)
    return "" if index is None or index >= len(line.cells) else line.cells[index]


def read_snap(line: CsvLine, columns: Mapping[Column, int]) -> tuple[str, float | None]:
    """A line's word for the play (empty: none) and its count (None: not a number; 1 without a count column)."""
    count = find_number(cell_of(line, columns, Column.COUNT)) if Column.COUNT in columns else 1.0
    return cell_of(line, columns, Column.PLAY), count


def formation_word(line: CsvLine, columns: Mapping[Column, int]) -> str:
    """A line's word for the formation at the snap: "Ace Rt, Jet"; empty where it has no formation."""
    formation = cell_of(line, columns, Column.FORMATION)
    motion = cell_of(line, columns, Column.MOTION) if formation else ""
    return f"{formation}, {motion}" if motion and normalize(motion) not in NO_MOTION else formation


def dry_run(
    sheet: PlaySheet,
    columns: Mapping[Column, int],
    meanings: Mapping[str, str],
    plays: Sequence[PlaySummary],
    placing: Placing | None = None,
) -> DryRun:
    """What would be stored with this meaning of each word, what would be left out, and why."""
    counts: dict[tuple[str, str, str], float] = defaultdict(float)
    left_out: dict[str, list[int]] = {}
    lines = 0
    for line in sheet.snaps:
        word, count = read_snap(line, columns)
        why = reason_left_out(word, count, meanings)
        if why is not None or count is None:
            left_out.setdefault(why or "", []).append(line.number)
            continue
        lines += 1
        target = meanings.get(word, KEEP_NAME)
        play = known_play(word, plays) if target == KEEP_NAME else target
        places = place_run(line, word, columns, placing or Placing())
        for formation, to in places:
            counts[play, formation, to] += count / len(places)
    left = tuple(LeftOut(why, len(indexes), tuple(indexes[:LINES_SHOWN])) for why, indexes in left_out.items())
    runs = tuple(RunCount(*run, count) for run, count in sorted(counts.items()) if count)
    return DryRun(runs, lines, tuple(sorted(left, key=lambda one: -one.lines)))


def place_run(line: CsvLine, word: str, columns: Mapping[Column, int], placing: Placing) -> list[tuple[str, str]]:
    """Where a line's run is run: formation and side, each once; equally often where there are two."""
    known = {one.key: one for one in placing.formations}
    said = formation_word(line, columns)
    keys = keys_of(placing.meanings.get(said, KEEP_NAME), trim_name(said)) if said else ("",)
    texts = (cell_of(line, columns, Column.DIRECTION), word)
    return [(key, run_side(texts, known.get(key), is_ours=placing.is_ours)) for key in keys]


def reason_left_out(word: str, count: float | None, meanings: Mapping[str, str]) -> str | None:
    """Why a line is left out; None when it counts."""
    if not word:
        return LazyText("no play in the line")
    if count is None:
        return LazyText("the count is no number from 0 to {most}", most=COUNT_MAX)
    if meanings.get(word, KEEP_NAME) == LEAVE_OUT:
        return LazyText("{word}: left out by you", word=word[:NAME_MAX])
    return None


def most_common_cells(
    sheet: PlaySheet, columns: Mapping[Column, int], column: Column, most: int = 6
) -> list[tuple[str, int]]:
    """The most frequent cells of a column that is shown for checking, each with its number of lines."""
    index = columns.get(column)
    if index is None:
        return []
    return Counter(
        line.cells[index] for line in sheet.snaps if len(line.cells) > index and line.cells[index]
    ).most_common(most)
