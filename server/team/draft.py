"""The draft: edits to a team's content, stored one by one as coaches make them, until they are installed.

What is drafted is the installed files with the draft's edits replayed on them, so an edit that no longer fits (somebody
installed something else meanwhile) is left out and named, and nothing is ever lost. Edits of two coaches at different
places simply both stand; where they meet, the second is told. Numbers of edits never come again, so a page knows what
it was made from for as long as it is open. Rejected: a copy of the files for each coach, merged by hand; one row of
files, where the last one wins.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from sqlalchemy import func
from sqlmodel import col, select

from server.accounts.members import write_audit
from server.accounts.sessions import Viewer
from server.database.draft_tables import ContentVersion, DraftEdit, EditState
from server.database.store import TeamSession
from server.database.tables import ContentFile
from server.errors import BadInput, Outdated
from server.playbook.content_edits import MakeEdit, Replayed, back_to, meets, replay, write_edit
from server.playbook.engine import Engine
from server.team.install import AS_ROWS, ROSTER, update_in

#: Players and opponents have pages of their own; the roster follows what positions are called.
NOT_DRAFTED = frozenset({ROSTER, *AS_ROWS})
#: The longest word for the staff with an install, in characters.
NOTE_MAX = 200


@dataclass(frozen=True, slots=True)
class Draft:
    """A team's content as it is being edited. ``number`` is that of the newest edit ever made, which a page keeps as
    what it was made from. ``edits`` are those that wait, in order; ``undone`` those that can be made again."""

    replayed: Replayed
    number: int
    edits: list[DraftEdit]
    undone: list[DraftEdit] = field(default_factory=list)

    @property
    def files(self) -> Mapping[str, str]:
        """The files as they would be installed."""
        return self.replayed.files

    @property
    def is_changed(self) -> bool:
        """Whether something waits to be installed."""
        return bool(self.edits)

    @property
    def stale(self) -> list[DraftEdit]:
        """The edits that no longer fit."""
        return [one for one in self.edits if one.number in self.replayed.stale]

    def last_of(self, coach_id: str) -> DraftEdit | None:
        """The edit that this coach would take back."""
        return next((one for one in reversed(self.edits) if one.coach_id == coach_id), None)

    def next_of(self, coach_id: str) -> DraftEdit | None:
        """The edit that this coach would make again."""
        return next((one for one in self.undone if one.coach_id == coach_id), None)


@dataclass(frozen=True, slots=True)
class EditClash:
    """An edit that was not stored, since another coach changed the same after the page was made: his edits, and the
    one that waits for a decision."""

    others: list[DraftEdit]
    edit: Mapping[str, Any]


def load_draft(t: TeamSession) -> Draft:
    """The team's draft as it is now."""
    files = {one.path: one.text for one in t.rows(ContentFile) if one.path not in NOT_DRAFTED}
    waiting = col(DraftEdit.state).in_((EditState.MADE.value, EditState.UNDONE.value))
    rows = t.rows(DraftEdit, waiting, order_by=(col(DraftEdit.number),))
    edits = [one for one in rows if one.state == EditState.MADE]
    undone = [one for one in rows if one.state == EditState.UNDONE]
    return Draft(replay(files, [(one.number, one.edit) for one in edits]), newest_number(t), edits, undone)


def newest_number(t: TeamSession) -> int:
    """The number of the newest edit that the team ever made; 0 before the first."""
    newest = select(func.max(DraftEdit.number)).where(col(DraftEdit.team_id) == t.team_id)
    return t.session.exec(newest).one() or 0


def store_edit(
    t: TeamSession, viewer: Viewer, make: MakeEdit, seen: int, now: datetime, *, anyway: bool = False
) -> DraftEdit | EditClash | None:
    """Store the edit that ``make`` makes of the draft; ``seen`` is the number of the draft that its page showed.

    None when nothing changes. A EditClash, and nothing stored, when another coach changed the same since then, unless
    ``anyway``. Raises: BadInput for a value that can't be.
    """
    draft = load_draft(t)
    edit = write_edit(draft.replayed.documents, make)
    if edit is None:
        return None
    others = [] if anyway else _met(t, viewer, edit, seen)
    if others:
        return EditClash(others, edit)
    for one in draft.undone:
        if one.coach_id == viewer.member.id:
            one.state = EditState.DROPPED.value
            t.add(one)
    row = DraftEdit(team_id=t.team_id, number=draft.number + 1, coach_id=viewer.member.id, edit=edit, made_at=now)
    t.add(row)
    return row


def _met(t: TeamSession, viewer: Viewer, edit: Mapping[str, Any], seen: int) -> list[DraftEdit]:
    """The edits of other coaches since then that change the same."""
    since = (col(DraftEdit.number) > seen, col(DraftEdit.coach_id) != viewer.member.id)
    stand = col(DraftEdit.state).in_((EditState.MADE.value, EditState.INSTALLED.value))
    rows = t.rows(DraftEdit, *since, stand, order_by=(col(DraftEdit.number),))
    return [one for one in rows if meets(one.edit, edit)]


def undo(t: TeamSession, viewer: Viewer) -> DraftEdit | None:
    """Take back the coach's own last edit; None when he has none. Raises: Outdated when another edit was made of the
    same since."""
    draft = load_draft(t)
    row = draft.last_of(viewer.member.id)
    if row is None:
        return None
    later = [one for one in draft.edits if one.number > row.number and meets(one.edit, row.edit)]
    if later:
        raise Outdated("Another coach has changed the same since. Change it on its own page.")
    row.state = EditState.UNDONE.value
    t.add(row)
    return row


def redo(t: TeamSession, viewer: Viewer) -> DraftEdit | None:
    """Make the coach's edit again that he took back last; None when there is none. Raises: Outdated when it no longer
    fits."""
    draft = load_draft(t)
    row = draft.next_of(viewer.member.id)
    if row is None:
        return None
    row.state = EditState.MADE.value
    t.add(row)
    if row.number in load_draft(t).replayed.stale:
        raise Outdated("Another coach has changed the same since. Change it on its own page.")
    return row


def discard(t: TeamSession, number: int) -> None:
    """Take one edit out of the draft for good, as one that no longer fits."""
    row = t.get(DraftEdit, number, what="edit")
    if row.state == EditState.MADE:
        row.state = EditState.DROPPED.value
        t.add(row)


def install(t: TeamSession, football: Engine, viewer: Viewer, note: str, seen: int, now: datetime) -> None:
    """Make the draft the team's content; ``seen`` is the number of the draft that the page counted.

    Raises: BadInput listing the problems of the content; Outdated when somebody edited since the page counted.
    """
    draft = load_draft(t)
    if not draft.edits:
        raise BadInput("There is nothing to install: the draft is what players are asked about.")
    if draft.number != seen:
        raise Outdated("Another coach has edited since this page was made. Look at what it changes now, then install.")
    if draft.stale:
        raise BadInput("Some edits no longer fit. Take them out first.")
    numbers = [one.number for one in draft.edits]
    update_in(t, football, draft.files, now, by=viewer.member.id, note=note.strip()[:NOTE_MAX], edits=numbers)
    for one in (*draft.edits, *draft.undone):
        one.state = (EditState.INSTALLED if one.number in numbers else EditState.DROPPED).value
        t.add(one)
    write_audit(t, viewer.member.id, "changed the defense", "", now)


def bring_back(t: TeamSession, viewer: Viewer, number: int, now: datetime) -> DraftEdit | None:
    """Put an older version into the draft, as one edit that can be taken back; None when the draft is that already."""
    return draft_content(t, viewer, t.get(ContentVersion, number, what="version").files, now)


def draft_content(t: TeamSession, viewer: Viewer, files: Mapping[str, str], now: datetime) -> DraftEdit | None:
    """Make the draft what these files hold, as one edit that can be taken back; None when it is that already."""
    draft = load_draft(t)
    edit = back_to(draft.replayed.documents, files)
    if edit is None:
        return None
    row = DraftEdit(team_id=t.team_id, number=draft.number + 1, coach_id=viewer.member.id, edit=edit, made_at=now)
    t.add(row)
    return row
