"""Reading and writing CSV files: any spreadsheet's separator and encoding in, nothing that a spreadsheet would run as a
formula out.

Knows nothing of what the columns mean: callers get a header and lines of text, each with its number in the file.
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
LINES_SAMPLED = 30
BATCH = 100
CSV_TYPE = "text/csv; charset=utf-8"

#: First bytes of files that aren't text, and what people call such files.
OTHER_FILES: tuple[tuple[bytes, str], ...] = (
    (b"PK\x03\x04", LazyText("a spreadsheet workbook or an archive")),
    (b"\xd0\xcf\x11\xe0", LazyText("an old spreadsheet workbook")),
    (b"%PDF", LazyText("a PDF")),
    (b"\x89PNG", LazyText("a picture")),
    (b"\xff\xd8\xff", LazyText("a picture")),
    (b"GIF8", LazyText("a picture")),
    (b"\x1f\x8b", LazyText("an archive")),
)
#: First characters that make a spreadsheet treat a cell as a formula.
FORMULA_SIGNS = "=+-@\t\r\n\uff1d\uff0b\uff0d\uff20"
_ESCAPED = re.compile(f"'+[{re.escape(FORMULA_SIGNS)}]")


@dataclass(frozen=True, slots=True)
class CsvLine:
    """A line: its number in the file, from 1, and a trimmed cell for each column."""

    number: int
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CsvSheet:
    """A parsed file: its column names as written, and the lines below that aren't empty."""

    header: tuple[str, ...]
    lines: tuple[CsvLine, ...]


def decode(raw: bytes) -> str:
    """The text of a file: UTF-8 with or without BOM, UTF-16, else Windows-1252. Raises: BadInput."""
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
    # Three tries are exact, and cover what spreadsheets write. Rejected: charset-normalizer (it guesses).
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


def parse_csv(text: str) -> CsvSheet:
    """The parsed text; column names are in the first line that isn't empty. Raises: BadInput with one message."""
    text, separator = _declared_separator(text.removeprefix(BOM))
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
    return CsvSheet(_strip_empty_end(header.cells), tuple(_fit_to_header(line, header) for line in lines))


def _declared_separator(text: str) -> tuple[str, str]:
    """The text and the separator that a first line like `sep=;` declares. That line is emptied, so line numbers
    stay."""
    first, found, rest = text.partition("\n")
    declared = re.fullmatch(rf"sep=([{re.escape(''.join(SEPARATORS))}])\r?", first)
    return (found + rest, declared[1]) if declared else (text, "")


def find_separator(text: str) -> str:
    """The separator that splits most of the first lines into as many cells as the header has; a comma when in doubt."""

    def fit(separator: str) -> tuple[int, int]:
        sizes = [len(row) for row in _rows(text, separator, LINES_SAMPLED)]
        if not sizes or sizes[0] < 2:
            return 0, 0
        return sum(size == sizes[0] for size in sizes), sizes[0]

    return max(SEPARATORS, key=fit)


def _rows(text: str, separator: str, most: int) -> list[list[str]]:
    """The first rows that aren't empty; none on a CSV error."""
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


def _records(text: str, separator: str) -> list[CsvLine]:
    """Every row that isn't empty, with the number of the line it begins on. Raises: BadInput."""
    found: list[CsvLine] = []
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    line_number = 1
    try:
        for row in reader:
            cells = tuple(cell.strip() for cell in row)
            if any(cells):
                found.append(CsvLine(line_number, cells))
            if any(len(cell) > CELL_MAX for cell in cells):
                raise BadInput(
                    LazyText(
                        "line {line}: expected at most {most} characters in a cell, found more",
                        line=line_number,
                        most=CELL_MAX,
                    )
                )
            if len(found) > LINES_MAX + 1:
                break
            line_number = reader.line_num + 1
    except csv.Error:
        raise BadInput(
            LazyText(
                "line {line}: expected CSV, found a quotation mark that is not closed or stands alone", line=line_number
            )
        ) from None
    return found


def _strip_empty_end(cells: tuple[str, ...]) -> tuple[str, ...]:
    while cells and not cells[-1]:
        cells = cells[:-1]
    return cells


def _fit_to_header(line: CsvLine, header: CsvLine) -> CsvLine:
    """The line, padded to the number of column names. Raises: BadInput when it has more cells."""
    wanted = len(_strip_empty_end(header.cells))
    cells = _strip_empty_end(line.cells)
    if len(cells) > wanted:
        raise BadInput(
            LazyText(
                "line {line}: expected {wanted} cells as in the first line, found {found}",
                line=line.number,
                wanted=wanted,
                found=len(cells),
            )
        )
    return CsvLine(line.number, cells + ("",) * (wanted - len(cells)))


def escape_formula(cell: object) -> object:
    """The cell, with an apostrophe before text that a spreadsheet would treat as a formula.

    `unescape_formula` removes it on the way in, so that an export can be edited in a spreadsheet and imported again.
    Rejected: refusing such names; stripping the signs.
    """
    if not isinstance(cell, str):
        return "" if cell is None else cell
    return f"'{cell}" if (cell[:1] in FORMULA_SIGNS and cell) or _ESCAPED.match(cell) else cell


def unescape_formula(cell: str) -> str:
    """The text without the apostrophe that `escape_formula` added."""
    return cell[1:] if _ESCAPED.match(cell) else cell


def to_csv(header: Sequence[str], rows: Iterable[Sequence[object]]) -> Iterator[bytes]:
    """A CSV file in pieces: UTF-8 with a BOM, which spreadsheets look for; text quoted; formulas escaped."""
    yield BOM.encode() + encode_rows([header])
    for piece in batched(rows, BATCH):
        yield encode_rows(piece)


def encode_rows(rows: Iterable[Sequence[object]]) -> bytes:
    """Rows as CSV lines, each ended by CR LF."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, quoting=csv.QUOTE_NONNUMERIC)
    writer.writerows([escape_formula(cell) for cell in row] for row in rows)
    return out.getvalue().encode()


def batched(rows: Iterable[Sequence[object]], size: int) -> Iterator[list[Sequence[object]]]:
    """The rows in batches of that size."""
    iterator = iter(rows)
    while batch := list(islice(iterator, size)):
        yield batch
