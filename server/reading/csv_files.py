"""CSV files as people have them, in and out: any spreadsheet's separator and encoding in; nothing a spreadsheet would
run as a formula out.

It must not know what the columns mean: whoever asks gets a header and lines of text, each with its number in the file.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import islice

from server.errors import BadInput
from server.i18n.lazy_text import LazyText

BOM = "\ufeff"
SEPARATORS = (",", ";", "\t")
LINES_MAX, COLUMNS_MAX, CELL_MAX = 2_000, 60, 500
LINES_TRIED = 30
BATCH = 100
TYPE = "text/csv; charset=utf-8"

#: How files begin that are no text at all, and what people call them.
OTHER_FILES: tuple[tuple[bytes, str], ...] = (
    (b"PK\x03\x04", LazyText("a spreadsheet workbook or an archive")),
    (b"\xd0\xcf\x11\xe0", LazyText("an old spreadsheet workbook")),
    (b"%PDF", LazyText("a PDF")),
    (b"\x89PNG", LazyText("a picture")),
    (b"\xff\xd8\xff", LazyText("a picture")),
    (b"GIF8", LazyText("a picture")),
    (b"\x1f\x8b", LazyText("an archive")),
)
#: What makes a spreadsheet take a cell for a formula.
FORMULA_SIGNS = "=+-@\t\r\n\uff1d\uff0b\uff0d\uff20"
_GUARDED = re.compile(f"'+[{re.escape(FORMULA_SIGNS)}]")


@dataclass(frozen=True, slots=True)
class Line:
    """One line: its number in the file (the first line is 1), and a cell for each column, trimmed."""

    number: int
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Sheet:
    """A file taken apart: column names as they stand in it, and the lines below them that are not empty."""

    header: tuple[str, ...]
    lines: tuple[Line, ...]


def decode(raw: bytes) -> str:
    """The text of a file: UTF-8 with or without a mark, UTF-16, else Windows-1252. Raises: BadInput."""
    for start, found in OTHER_FILES:
        if raw.startswith(start):
            raise BadInput(
                LazyText("the file: expected CSV (in a spreadsheet: save as CSV), found {found}", found=found),
            )
    text = _decoded(raw)
    if "\x00" in text:
        raise BadInput(LazyText("the file: expected CSV, which is text; found bytes that are no text"))
    return text.removeprefix(BOM)


def _decoded(raw: bytes) -> str:
    wide = raw[:2] in (b"\xff\xfe", b"\xfe\xff")
    guess = {(False, True): "utf-16-le", (True, False): "utf-16-be"}.get((raw[:1] == b"\0", raw[1:2] == b"\0"))
    names = ["utf-16"] if wide else [guess] if guess else ["utf-8-sig", "cp1252"]
    for name in names:
        try:
            return raw.decode(name)
        except UnicodeDecodeError:
            continue
    raise BadInput(
        LazyText("the file: expected text in UTF-8 (in a spreadsheet: save as CSV UTF-8), found another encoding")
    )


def parse_csv(text: str) -> Sheet:
    """The sheet of a text: column names in its first line that is not empty. Raises: BadInput with one message."""
    text, separator = _separator_said(text.removeprefix(BOM))
    records = _records(text, separator or find_separator(text))
    if not records:
        raise BadInput(
            LazyText("the file: expected column names in the first line and a line for each entry, found nothing")
        )
    header, lines = records[0], records[1:]
    if len(lines) > LINES_MAX:
        raise BadInput(LazyText("the file: expected at most {most} lines, found more", most=LINES_MAX))
    if len(header.cells) > COLUMNS_MAX:
        raise BadInput(LazyText("the file: expected at most {most} columns, found more", most=COLUMNS_MAX))
    return Sheet(_without_empty_end(header.cells), tuple(_fitted(line, header) for line in lines))


def _separator_said(text: str) -> tuple[str, str]:
    """A first line such as `sep=;` says which separator follows; it is no entry. It stays, empty, to be counted."""
    first, found, rest = text.partition("\n")
    said = re.fullmatch(r"sep=([,;\t])\r?", first)
    return (found + rest, said[1]) if said else (text, "")


def find_separator(text: str) -> str:
    """The separator that cuts the most of the first lines into as many cells as the header has; a comma in doubt."""

    def fit(separator: str) -> tuple[int, int]:
        sizes = [len(row) for row in _rows(text, separator, LINES_TRIED)]
        if not sizes or sizes[0] < 2:
            return 0, 0
        return sum(size == sizes[0] for size in sizes), sizes[0]

    return max(SEPARATORS, key=fit)


def _rows(text: str, separator: str, most: int) -> list[list[str]]:
    """The first rows that hold anything, without a complaint about the rest."""
    found: list[list[str]] = []
    try:
        for row in csv.reader(io.StringIO(text, newline=""), delimiter=separator):
            if any(cell.strip() for cell in row):
                found.append(row)
            if len(found) == most:
                break
    except csv.Error:
        return []
    return found


def _records(text: str, separator: str) -> list[Line]:
    """Every row that holds anything, with the number of the line on which it begins. Raises: BadInput."""
    found: list[Line] = []
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    begins = 1
    try:
        for row in reader:
            cells = tuple(cell.strip() for cell in row)
            if any(cells):
                found.append(Line(begins, cells))
            if any(len(cell) > CELL_MAX for cell in cells):
                raise BadInput(
                    LazyText(
                        "line {line}: expected at most {most} characters in a cell, found more",
                        line=begins,
                        most=CELL_MAX,
                    )
                )
            if len(found) > LINES_MAX + 1:
                break
            begins = reader.line_num + 1
    except csv.Error:
        raise BadInput(
            LazyText(
                "line {line}: expected CSV, found a quotation mark that is not closed or stands alone", line=begins
            )
        ) from None
    return found


def _without_empty_end(cells: tuple[str, ...]) -> tuple[str, ...]:
    while cells and not cells[-1]:
        cells = cells[:-1]
    return cells


def _fitted(line: Line, header: Line) -> Line:
    """A line with exactly as many cells as there are column names. Raises: BadInput when it has more."""
    wanted = len(_without_empty_end(header.cells))
    cells = _without_empty_end(line.cells)
    if len(cells) > wanted:
        raise BadInput(
            LazyText(
                "line {line}: expected {wanted} cells as in the first line, found {found}",
                line=line.number,
                wanted=wanted,
                found=len(cells),
            )
        )
    return Line(line.number, cells + ("",) * (wanted - len(cells)))


def guarded(cell: object) -> object:
    """A cell that no spreadsheet takes for a formula: text that begins like one gets an apostrophe before it."""
    if not isinstance(cell, str):
        return "" if cell is None else cell
    return f"'{cell}" if (cell[:1] in FORMULA_SIGNS and cell) or _GUARDED.match(cell) else cell


def unguarded(cell: str) -> str:
    """The text before `guarded` put an apostrophe there."""
    return cell[1:] if _GUARDED.match(cell) else cell


def to_csv(header: Sequence[str], rows: Iterable[Sequence[object]]) -> Iterator[bytes]:
    """A file piece by piece: UTF-8 with a mark, by which spreadsheets know it; text in quotation marks; no formulas."""
    yield BOM.encode() + to_lines([header])
    for piece in batched(rows, BATCH):
        yield to_lines(piece)


def to_lines(rows: Iterable[Sequence[object]]) -> bytes:
    """Lines of a file, each closed by CR LF."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, quoting=csv.QUOTE_NONNUMERIC)
    writer.writerows([guarded(cell) for cell in row] for row in rows)
    return out.getvalue().encode()


def batched(rows: Iterable[Sequence[object]], size: int) -> Iterator[list[Sequence[object]]]:
    """The rows in lots of that size."""
    left = iter(rows)
    while lot := list(islice(left, size)):
        yield lot
