"""Reads a team's folder and its TOML, and checks every row by itself. Builds no nouns.

A row that is wrong is reported and left out, so that everything else in the folder can still be checked.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from quizgen.content.fields import Shape
from quizgen.content.problems import Findings, Verbatim, Where, add_shape_errors, nearest
from quizgen.content.rows import FILES, REQUIRED

MAX_BYTES = 256 * 1024
# The TOML reader takes time with the square of the parts of one dotted key: 4,000 parts take a tenth of a second.
MAX_DOTS = 400
BYTE_ORDER_MARK = "\ufeff"


@dataclass(frozen=True, slots=True)
class ReadFile:
    """One file: its rows, those that were wrong left out; ``kept`` gives the place in the file of every row kept.

    ``raw`` is the file as read, empty when its TOML could not be read; ``shape`` is None when nothing could be kept.
    """

    raw: Mapping[str, Any]
    shape: Shape | None
    kept: Mapping[str, tuple[int, ...]]
    findings: Findings

    def place(self, table: str, number: int) -> Where:
        """Where the kept row of that number stands in the file."""
        return (table, self.kept[table][number])


def is_folder(path: Path) -> bool:
    """Whether there is such a folder; one whose name is longer than any disk takes is none."""
    try:
        return path.is_dir()
    except OSError:
        return False


def read_folder(path: Path) -> tuple[dict[str, str], list[Findings]]:
    """The TOML files of a folder as text, and what could not be read."""
    texts: dict[str, str] = {}
    findings = []
    if not is_folder(path):
        note = Findings(path.name or str(path))
        note.add("folder", "a folder of TOML files", Verbatim("none"))
        return {}, [note]
    for file in sorted(path.glob("*.toml")):
        note = Findings(file.name)
        try:
            size = file.stat().st_size
            if size > MAX_BYTES:
                _add_oversize(note, size)
            else:
                texts[file.name] = file.read_bytes().decode("utf-8")
        except UnicodeDecodeError as error:
            note.add(f"byte {error.start + 1}", "text in UTF-8", Verbatim(f"byte {error.object[error.start]:#04x}"))
        except OSError as error:
            note.add("file", "a file that can be read", Verbatim(error.strerror or "an error"))
        if note.problems:
            findings.append(note)
    return texts, findings


def _add_oversize(note: Findings, size: int) -> None:
    note.add("file", f"at most {MAX_BYTES // 1024} kB", Verbatim(f"{size / 1024:.0f} kB"))


def read_files(texts: Mapping[str, str], unreadable: set[str]) -> tuple[dict[str, ReadFile], list[Findings]]:
    """Every known file read row by row, and what is wrong with the set of files. Files in ``unreadable`` are reported
    already and count as present."""
    loose = []
    for name in sorted(set(texts) - set(FILES)):
        note = Findings(name)
        note.add("file", f"one of {', '.join(FILES)}{nearest(name, FILES)}", Verbatim("a file that belongs to no team"))
        loose.append(note)
    files = {}
    for name in FILES:
        if name in texts:
            files[name] = read_text(name, texts[name])
        elif name in REQUIRED and name not in unreadable:
            note = Findings(name)
            note.add("file", "a file of this name", Verbatim("none"))
            loose.append(note)
    return files, loose


def read_text(name: str, text: str) -> ReadFile:
    """One file's rows from its text."""
    findings = Findings(name)
    raw = _parse(text, findings)
    if raw is None:
        return ReadFile({}, None, {}, findings)
    shape = FILES[name]
    try:
        return _kept_all(shape, raw, findings)
    except ValidationError as error:
        errors = error.errors(include_url=False)
        add_shape_errors(findings, shape, errors, raw)
        return _kept_good(shape, raw, {tuple(one["loc"][:2]) for one in errors}, findings)


def _parse(text: str, findings: Findings) -> dict[str, Any] | None:
    try:
        size = len(text.encode("utf-8"))
    except UnicodeEncodeError:
        findings.add("file", "text in UTF-8", Verbatim("half of a character"))
        return None
    if size > MAX_BYTES:
        _add_oversize(findings, size)
        return None
    for number, line in enumerate(text.split("\n"), 1):
        if line.count(".") > MAX_DOTS:
            findings.add(f"line {number}", f"at most {MAX_DOTS} dots in a line", line.count("."))
            return None
    try:
        return tomllib.loads(text.removeprefix(BYTE_ORDER_MARK))
    except tomllib.TOMLDecodeError as error:
        _add_syntax(findings, text, str(error))
    except RecursionError:
        findings.add("file", "fewer tables and lists inside each other", Verbatim("hundreds"))
    except ValueError as error:  # a number of thousands of digits
        findings.add("file", "valid TOML", Verbatim(str(error)))
    return None


def _add_syntax(findings: Findings, text: str, message: str) -> None:
    words = re.sub(r"\s*\(at .*\)$", "", message)
    lines = text.split("\n")
    at = re.search(r"\(at line (\d+), column (\d+)\)", message)
    number = int(at.group(1)) if at else len(lines)
    line = lines[number - 1].strip() if number <= len(lines) else ""
    findings.add(f"line {number}", f"valid TOML ({words})", line or Verbatim("the end of the file"))


def _kept_all(shape: type[Shape], raw: dict[str, Any], findings: Findings) -> ReadFile:
    kept = {key: tuple(range(len(rows))) for key, rows in raw.items() if isinstance(rows, list)}
    return ReadFile(raw, shape.model_validate(raw), kept, findings)


def _kept_good(shape: type[Shape], raw: dict[str, Any], bad: set[Where], findings: Findings) -> ReadFile:
    """What is left of a file when every wrong row or key is taken out; no shape when that is still not enough."""
    kept: dict[str, tuple[int, ...]] = {}
    good: dict[str, Any] = {}
    known = {field.alias or name for name, field in shape.model_fields.items()}
    for key in known & set(raw):
        value = raw[key]
        if isinstance(value, list):
            kept[key] = tuple(i for i in range(len(value)) if (key, i) not in bad)
            good[key] = [value[i] for i in kept[key]]
        elif isinstance(value, dict):
            good[key] = {inner: one for inner, one in value.items() if (key, inner) not in bad}
        elif (key,) not in bad:
            good[key] = value
    try:
        return ReadFile(raw, shape.model_validate(good), kept, findings)
    except ValidationError:
        return ReadFile(raw, _without_bounds(shape, good), kept, findings)


def _without_bounds(shape: type[Shape], good: dict[str, Any]) -> Shape | None:
    """The rows kept although there are now fewer than the file must have; None for a file that is not rows."""
    rows: dict[str, Any] = {}
    for name, field in shape.model_fields.items():
        (row,) = getattr(field.annotation, "__args__", None) or (None,)
        if not (isinstance(row, type) and issubclass(row, Shape)):
            return None
        value = good.get(name, [])
        rows[name] = [row.model_validate(item) for item in value] if isinstance(value, list) else []
    return shape.model_construct(**rows)
