"""CSV in and out: encodings and separators that spreadsheets write, files that aren't CSV, formulas made harmless."""

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.errors import BadInput
from server.reading.csv_files import CELL_MAX, LINES_MAX, decode, escape_formula, parse_csv, to_csv, unescape_formula

TEXT = "Number,Name,Positions\r\n7,José,Mike\r\n54,Dale,Will\r\n"
ROWS = [("7", "José", "Mike"), ("54", "Dale", "Will")]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"])
@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("end", ["\r\n", "\n", "\r"])
def test_what_spreadsheets_write(encoding: str, separator: str, end: str) -> None:
    sheet = parse_csv(decode(TEXT.replace(",", separator).replace("\r\n", end).encode(encoding)))
    assert sheet.header == ("Number", "Name", "Positions")
    assert [line.cells for line in sheet.lines] == ROWS
    assert [line.number for line in sheet.lines] == [2, 3]


def test_a_line_that_declares_the_separator_is_not_an_entry() -> None:
    sheet = parse_csv(decode(b"sep=;\r\nNumber;Name\r\n7;Ty, the tall one\r\n"))
    assert (sheet.header, sheet.lines[0].cells, sheet.lines[0].number) == (
        ("Number", "Name"),
        ("7", "Ty, the tall one"),
        3,
    )


def test_examples_of_the_standard() -> None:
    """source: RFC 4180, section 2, rules 5 to 7 (its own examples, with a header before them)."""
    sheet = parse_csv(decode(b'x,y,z\r\n"aaa","b\r\nbb","ccc"\r\nzzz,yyy,xxx\r\n"aaa","b""bb","ccc"'))
    assert [line.cells for line in sheet.lines] == [
        ("aaa", "b\r\nbb", "ccc"),
        ("zzz", "yyy", "xxx"),
        ("aaa", 'b"bb', "ccc"),
    ]
    assert [line.number for line in sheet.lines] == [2, 4, 5]


def test_empty_lines_and_empty_trailing_columns_are_ignored() -> None:
    sheet = parse_csv(decode(b"\nNumber,Name,,\n,,,\n7,Ty,,\n\n8\n"))
    assert sheet.header == ("Number", "Name")
    assert [(line.number, line.cells) for line in sheet.lines] == [(4, ("7", "Ty")), (6, ("8", ""))]


@pytest.mark.parametrize(
    ("raw", "said"),
    [
        (b"", "found nothing"),
        (b"\r\n , ,\r\n", "found nothing"),
        (b"PK\x03\x04rest", "workbook"),
        (b"\xd0\xcf\x11\xe0rest", "workbook"),
        (b"\x89PNG\r\n\x1a\n", "picture"),
        (b"%PDF-1.7", "a PDF"),
        (b"Number,Name\n7,T\x00y\n", "no text"),
        (b"Number,Name\n7,\x81\n", "another encoding"),
        (b'Number,Name\n7,Ty\n8,"Rory\n9,Al\n', "line 3: expected CSV, found a quotation mark"),
        (b"Number,Name\n7,Ty\n8,Rory,extra\n", "line 3: expected 2 cells as in the first line, found 3"),
        (b"Number,Name\n7," + b"x" * (CELL_MAX + 1), "line 2: expected at most 500 characters"),
        (b"Number\n" + b"7\n" * (LINES_MAX + 1), "at most 2000 lines"),
        (b",".join(b"c" for _ in range(61)), "at most 60 columns"),
    ],
)
def test_a_file_that_is_not_csv_gets_one_message(raw: bytes, said: str) -> None:
    with pytest.raises(BadInput) as refusal:
        parse_csv(decode(raw))
    assert said in refusal.value.message
    assert "\n" not in refusal.value.message


@given(st.binary(max_size=300))
def test_any_bytes_are_parsed_or_refused(raw: bytes) -> None:
    try:
        sheet = parse_csv(decode(raw))
    except BadInput:
        return
    assert all(len(line.cells) == len(sheet.header) for line in sheet.lines)


@pytest.mark.parametrize("sign", ["=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20"])
def test_formulas_are_made_text(sign: str) -> None:
    """source: OWASP, CSV Injection, the list of characters and the apostrophe before them (from memory of the page)."""
    body = b"".join(to_csv(["Name"], [[sign + "1+1"], [7], [None]])).decode("utf-8-sig")
    rows = list(csv.reader(io.StringIO(body, newline="")))
    assert rows == [["Name"], ["'" + sign + "1+1"], ["7"], [""]]


@given(st.text(max_size=40))
def test_escaped_cells_come_back(cell: str) -> None:
    safe = escape_formula(cell)
    assert isinstance(safe, str)
    assert not safe.startswith(tuple("=+-@\t\r\n"))
    assert unescape_formula(safe) == cell


def test_output_is_utf_8_with_a_bom_and_can_be_read_back() -> None:
    rows = [["7", 'José; the "tall" one'], ["8", "=1+1"], *[[str(n), "x" * 400] for n in range(200)]]
    pieces = list(to_csv(["Number", "Name"], rows))
    assert len(pieces) > 3
    assert pieces[0].startswith(b"\xef\xbb\xbf")
    assert [
        [unescape_formula(cell) for cell in line.cells] for line in parse_csv(decode(b"".join(pieces))).lines
    ] == rows
