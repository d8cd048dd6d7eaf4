"""A roster as somebody pastes it: a table with a head, or lines such as "12 Gus Mike, Sam"."""

from __future__ import annotations

import csv
import io
import re

HEAD = ("number", "name", "positions")
LINE = re.compile(r"#?(?P<number>\d{1,3})[\s.,;:\t-]+(?P<name>[^\s,;\t]+)[\s,;:\t-]*(?P<positions>.*)")


def to_csv_text(pasted: str) -> str:
    """The same with a head over it where its first line is a player's; a line that is none stays whole, in the first
    column, so that it can be shown and mended."""
    lines = [line.strip() for line in pasted.replace("\r\n", "\n").split("\n") if line.strip()]
    if not lines or not LINE.fullmatch(lines[0]):
        return pasted
    written = io.StringIO()
    rows = csv.writer(written, lineterminator="\n")
    rows.writerow(HEAD)
    for line in lines:
        found = LINE.fullmatch(line)
        rows.writerow([*found.groups()] if found else [line, "", ""])
    return written.getvalue()
