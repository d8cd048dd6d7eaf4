"""A coach's own defense: his files looked at, edited and saved, and what an edit does to the gap-sound table.

All or nothing: a file with any problem saves nothing, and what was typed comes back. It must not decide anything about
football; quizgen says what is wrong and what changes.
"""

from __future__ import annotations

import asyncio
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import TYPE_CHECKING

from server.accounts.members import write_audit
from server.accounts.sessions import Viewer
from server.database.store import Store, TeamSession
from server.database.tables import ContentFile
from server.errors import BadInput, NotFound
from server.i18n.lazy_text import LazyText
from server.playbook.engine import Football
from server.playbook.playbooks import Playbook
from server.team.install import check_files, update_in

if TYPE_CHECKING:
    from server.playbook.engine import Change, HeldCall

#: The roster has a page of its own.
OTHERWISE_EDITED = frozenset({"roster.toml"})
LOOKED_AT = 2500
SHORT_LISTED = 5
SOUND = "sound"


@dataclass(frozen=True, slots=True)
class Edit:
    """A file as typed: what is wrong with it, or what it would change. ``stands`` is the hash of the team's content
    that the typing began from."""

    name: str
    text: str
    stands: str
    problems: Sequence[str] = ()
    change: Change | None = None
    is_same: bool = False


@dataclass(frozen=True, slots=True)
class Short:
    """A play that a call is short against: from how many formations of how many, and which lanes."""

    play: str
    play_to: str
    count: int
    of: int
    lanes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SoundTable:
    """A call to one side: rows of plays, columns of formations; ``cells`` by (play, side, formation), without those
    that cannot be run."""

    rows: tuple[tuple[str, str], ...]
    formations: tuple[str, ...]
    cells: Mapping[tuple[str, str, str], HeldCall]
    counts: Mapping[str, int] = field(default_factory=dict)
    short: tuple[Short, ...] = ()


def file_names(t: TeamSession) -> list[str]:
    """The team's files that are edited here."""
    return sorted(one.path for one in t.rows(ContentFile) if one.path not in OTHERWISE_EDITED)


def find_file(t: TeamSession, name: str) -> ContentFile:
    """One of the team's files. Raises: NotFound."""
    found = None if name in OTHERWISE_EDITED else t.find(ContentFile, name)
    if found is None:
        raise NotFound("There is no such file in your team.")
    return found


async def look_at_edit(store: Store, football: Football, playbook: Playbook, team_id: str, edit: Edit) -> Edit:
    """The edit with what is wrong with it, or what it would do to the gap-sound table. Nothing is stored."""
    with store.read(team_id) as t:
        files = {one.path: one.text for one in t.rows(ContentFile)}
    if files.get(edit.name) == edit.text:
        return Edit(edit.name, edit.text, edit.stands, is_same=True)
    try:
        edited = await asyncio.to_thread(check_files, football, {**files, edit.name: edit.text})
    except BadInput as refusal:
        return Edit(edit.name, edit.text, edit.stands, refusal.details or [refusal.message])
    found = await playbook.ask(lambda before: football.change(before, edited.catalogue, LOOKED_AT))
    return Edit(edit.name, edit.text, edit.stands, change=found)


def save(t: TeamSession, football: Football, viewer: Viewer, edit: Edit, now: datetime) -> None:
    """Store an edited file. Raises: BadInput when it has problems, or when somebody has saved since it was opened."""
    find_file(t, edit.name)
    if t.team().content_hash != edit.stands:
        raise BadInput(
            LazyText(
                "{name}: expected the files as you opened them, found that somebody has saved since. Your text is "
                "below: copy it, open the file again, and put your change in.",
                name=edit.name,
            )
        )
    files = {one.path: one.text for one in t.rows(ContentFile)}
    update_in(t, football, {**files, edit.name: edit.text}, now)
    write_audit(t, viewer.member.id, "changed the defense", edit.name, now)


def to_table(held: Sequence[HeldCall]) -> SoundTable:
    """The rows of one call to one side as a table, with what it is short against most often."""
    rows = tuple(dict.fromkeys((one.play, one.play_to.value) for one in held))
    formations = tuple(dict.fromkeys(one.formation for one in held))
    cells = {(one.play, one.play_to.value, one.formation): one for one in held}
    return SoundTable(rows, formations, cells, Counter(one.hold.value for one in held), tuple(_short(rows, held)))


def _short(rows: Sequence[tuple[str, str]], held: Sequence[HeldCall]) -> list[Short]:
    found = []
    for play, play_to in rows:
        own = [one for one in held if (one.play, one.play_to.value) == (play, play_to)]
        bad = [one for one in own if one.hold.value != SOUND]
        lanes = tuple(lane for lane, _ in Counter(lane for one in bad for lane in one.lanes).most_common(2))
        found.append(Short(play, play_to, len(bad), len(own), lanes))
    return sorted((one for one in found if one.count), key=lambda one: -one.count)[:SHORT_LISTED]
