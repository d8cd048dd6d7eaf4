"""A team's content in the course of being edited: edits replayed on its files, made from what a form says, compared.

Stands between quizgen's edits and the server's rows and forms: plain values in and out.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from server.errors import BadInput
from server.i18n.lazy_text import LazyText
from server.playbook.engine import FootballError

if TYPE_CHECKING:
    from quizgen.content.compare import Difference
    from quizgen.content.documents import Documents
    from quizgen.content.edits import ContentEdit

MakeEdit = Callable[["Documents"], "ContentEdit"]
"""Makes an edit from the content as it is now. Raises: FootballError."""


@dataclass(frozen=True, slots=True)
class Replayed:
    """Content after a draft's edits: its files and the same parsed; ``stale`` are the numbers of those edits that no
    longer fit, because what they change has become something else."""

    files: Mapping[str, str]
    documents: Documents
    stale: frozenset[int]


def replay(files: Mapping[str, str], edits: Iterable[tuple[int, Mapping[str, Any]]]) -> Replayed:
    """The content after these numbered edits, those that no longer fit left out."""
    from quizgen.content.documents import StaleEdit, parse_files, write_files
    from quizgen.content.edits import edit_of

    parsed = parse_files(files)
    documents: Documents = parsed
    stale = set()
    for number, written in edits:
        try:
            documents = edit_of(written).apply(documents)
        except StaleEdit:
            stale.add(number)
    return Replayed(write_files(documents, files, parsed), documents, frozenset(stale))


def write_edit(documents: Documents, make: MakeEdit) -> dict[str, Any] | None:
    """The edit that ``make`` makes of the content, as plain values; None when nothing changes. Raises: BadInput."""
    try:
        edit = make(documents)
    except FootballError as error:
        raise BadInput(str(error)) from None
    return edit.to_json() if edit.changes else None


def meets(one: Mapping[str, Any], other: Mapping[str, Any]) -> bool:
    """Whether two edits change the same place."""
    from quizgen.content.edits import edit_of

    return edit_of(one).meets(edit_of(other))


def back_to(documents: Documents, files: Mapping[str, str]) -> dict[str, Any] | None:
    """The one edit that makes the content what these files hold; None when it is that already."""
    from quizgen.content.documents import parse_files
    from quizgen.content.edits import replace_all

    edit = replace_all(documents, parse_files(files))
    return edit.to_json() if edit.changes else None


def compare_files(before: Mapping[str, str], after: Mapping[str, str]) -> Sequence[Difference]:
    """What differs between two contents."""
    from quizgen.content.compare import compare
    from quizgen.content.documents import parse_files

    return compare(parse_files(before), parse_files(after))


def known_files() -> frozenset[str]:
    """The names of a team's files."""
    from quizgen.content.rows import FILES

    return frozenset(FILES)


def find_toml_problem(files: Mapping[str, str]) -> str | None:
    """What keeps one of these files from being read at all; None when all can be."""
    import tomllib

    for name, text in files.items():
        try:
            tomllib.loads(text)
        except tomllib.TOMLDecodeError as error:
            return LazyText("{name}: expected TOML, found: {error}", name=name, error=error)
    return None


def with_last_day(files: Mapping[str, str], day: str) -> dict[str, str]:
    """The files with another last day of the season; empty: without one."""
    from quizgen.content.documents import ABSENT, apply_changes, change, parse_files, write_files

    parsed = parse_files(files)
    changed = apply_changes(parsed, (change(parsed, ("team.toml", "season_end"), day or ABSENT),))
    return write_files(changed, files, parsed)
