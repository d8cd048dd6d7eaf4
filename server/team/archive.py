"""A team's content as one archive of TOML files: out with everything, in again as a draft.

An archive that comes in is an edit of the draft like any other: it can be looked at, taken back, installed. Its
players, opponents and accepted lacks are left out: they are rows with pages of their own. Knows no football.
"""

from __future__ import annotations

import io
import zipfile
from collections.abc import Mapping
from datetime import datetime

from server.accounts.members import write_audit
from server.accounts.sessions import Viewer
from server.database.draft_tables import DraftEdit
from server.database.store import TeamSession
from server.database.tables import ContentFile
from server.errors import BadInput
from server.i18n.lazy_text import LazyText
from server.playbook.content_edits import find_toml_problem, known_files
from server.playbook.playbooks import Playbook
from server.team.draft import draft_content
from server.team.install import charted_files_of, football_files

#: The largest archive, and the largest file in it, in bytes.
ARCHIVE_MAX, FILE_MAX = 500_000, 400_000
#: Every archive says the same of when its files were made, so that the same content is the same archive.
MADE = (2000, 1, 1, 0, 0, 0)


def write_archive(t: TeamSession, playbook: Playbook, viewer: Viewer, now: datetime) -> bytes:
    """Everything as it is installed: content, players, opponents, accepted lacks."""
    files = {one.path: one.text for one in t.rows(ContentFile)} | charted_files_of(t, playbook)
    write_audit(t, viewer.member.id, "exported the team", "", now)
    return zipped(files)


def zipped(files: Mapping[str, str]) -> bytes:
    """These files as an archive; the same files always give the same bytes."""
    written = io.BytesIO()
    with zipfile.ZipFile(written, "w", zipfile.ZIP_DEFLATED) as archive:
        for name in sorted(files):
            info = zipfile.ZipInfo(name, MADE)
            info.compress_type = zipfile.ZIP_DEFLATED
            archive.writestr(info, files[name])
    return written.getvalue()


def unzipped(data: bytes) -> dict[str, str]:
    """The files of an archive, folders in it left out. Raises: BadInput with what is wrong, and where."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            found: dict[str, str] = {}
            for info in archive.infolist():
                name = info.filename.rsplit("/", 1)[-1]
                if info.is_dir() or name not in known_files():
                    continue
                if info.file_size > FILE_MAX:
                    raise BadInput(LazyText("{name}: expected at most {most} kB", name=name, most=FILE_MAX // 1000))
                if name in found:
                    raise BadInput(LazyText("{name}: expected it once in the archive, found it twice", name=name))
                found[name] = archive.read(info).decode("utf-8-sig")
    except (zipfile.BadZipFile, RuntimeError, EOFError, ValueError, OSError) as error:
        if isinstance(error, UnicodeDecodeError):
            raise BadInput("the archive: expected files of UTF-8 text, found others") from None
        raise BadInput("the archive: expected a zip file of a team's TOML files, found another") from None
    if "team.toml" not in found:
        raise BadInput("the archive: expected team.toml in it, found none")
    if problem := find_toml_problem(found):
        raise BadInput(problem)
    return found


def take_archive(t: TeamSession, viewer: Viewer, files: Mapping[str, str], now: datetime) -> DraftEdit | None:
    """Put an archive's content into the draft as one edit; None when the draft is that already."""
    return draft_content(t, viewer, football_files(files), now)
