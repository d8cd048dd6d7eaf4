"""Viewing, editing and saving a team's content files, and what an edit changes in the gap-sound table.

A file with any problem is not saved, and the typed text comes back. Makes no football decisions: quizgen reports the
problems and the changes.
"""

from __future__ import annotations

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
from server.playbook.engine import Engine
from server.playbook.playbooks import Playbook
from server.playbook.workbench import rename_edit
from server.team.draft import install, load_draft, newest_number, store_edit
from server.team.install import AS_ROWS, ROSTER, check_files, current_players, update_in, with_current_roster

if TYPE_CHECKING:
    from server.playbook.engine import Change, HeldCall

#: Players, opponents and what is accepted have pages of their own.
NOT_EDITED_HERE = frozenset({ROSTER, *AS_ROWS})
SITUATIONS_COMPARED = 2500
SHORT_SHOWN = 5
SOUND = "sound"


@dataclass(frozen=True, slots=True)
class Edit:
    """An edited file with its problems, or what it would change. ``base_hash`` is the hash of the team's content when
    the edit began."""

    name: str
    text: str
    base_hash: str
    problems: Sequence[str] = ()
    change: Change | None = None
    is_same: bool = False


@dataclass(frozen=True, slots=True)
class ShortPlay:
    """A play that a call is short against, in ``count`` of ``of`` formations, and the lanes most often open."""

    play: str
    play_to: str
    count: int
    of: int
    lanes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SoundTable:
    """A call to one side: a row for each play, a column for each formation; ``cells`` by (play, side, formation),
    without combinations that can't be run."""

    rows: tuple[tuple[str, str], ...]
    formations: tuple[str, ...]
    cells: Mapping[tuple[str, str, str], HeldCall]
    counts: Mapping[str, int] = field(default_factory=dict)
    short: tuple[ShortPlay, ...] = ()


def file_names(t: TeamSession) -> list[str]:
    """The team's files that can be edited here."""
    return sorted(one.path for one in t.rows(ContentFile) if one.path not in NOT_EDITED_HERE)


def find_file(t: TeamSession, name: str) -> ContentFile:
    """One of the team's files. Raises: NotFound."""
    found = None if name in NOT_EDITED_HERE else t.find(ContentFile, name)
    if found is None:
        raise NotFound("There is no such file in your team.")
    return found


def preview_edit(store: Store, football: Engine, playbook: Playbook, team_id: str, edit: Edit) -> Edit:
    """The edit with its problems, or with what it would change in the gap-sound table. Stores nothing."""
    with store.read(team_id) as t:
        files = {one.path: one.text for one in t.rows(ContentFile)}
        entries = current_players(t)
    if files.get(edit.name) == edit.text:
        return Edit(edit.name, edit.text, edit.base_hash, is_same=True)
    try:
        files = {**files, edit.name: edit.text}
        edited = check_files(football, with_current_roster(football, files, entries))
    except BadInput as refusal:
        return Edit(edit.name, edit.text, edit.base_hash, refusal.details or [refusal.message])
    found = playbook.ask(lambda before: football.change(before, edited.catalogue, SITUATIONS_COMPARED))
    return Edit(edit.name, edit.text, edit.base_hash, change=found)


def save(t: TeamSession, football: Engine, viewer: Viewer, edit: Edit, now: datetime) -> None:
    """Save an edited file. Raises: BadInput when it has problems, or somebody else saved since it was opened."""
    find_file(t, edit.name)
    if t.team().content_hash != edit.base_hash:
        raise BadInput(
            LazyText(
                "{name}: expected the files as you opened them, found that somebody has saved since. Your text is "
                "below: copy it, open the file again, and put your change in.",
                name=edit.name,
            )
        )
    files = {one.path: one.text for one in t.rows(ContentFile)}
    update_in(t, football, {**files, edit.name: edit.text}, now, by=viewer.member.id)
    write_audit(t, viewer.member.id, "changed the defense", edit.name, now)


def named(t: TeamSession, football: Engine) -> Mapping[str, Sequence[tuple[str, str]]]:
    """What the team can rename, as (key, name) by kind."""
    return football.named(load_draft(t).files)


def rename(t: TeamSession, football: Engine, viewer: Viewer, thing: str, name: str, now: datetime) -> None:
    """Rename ``thing`` ("kind/key") wherever it is named: an edit of the draft, installed at once where nothing else is
    drafted, since it changes nobody's answer. Raises: BadInput."""
    noun, _, key = thing.partition("/")
    if not any(key == known for known, _ in named(t, football).get(noun, ())):
        raise BadInput("There is no such thing in your defense any more. Somebody may have taken it out.")
    was_empty = not load_draft(t).is_changed
    store_edit(t, viewer, rename_edit(noun, key, name.strip()), newest_number(t), now, anyway=True)
    if was_empty:
        install(t, football, viewer, "", newest_number(t), now)


def to_table(held: Sequence[HeldCall]) -> SoundTable:
    """The results for one call to one side as a table, with the plays it is short against most often."""
    rows = tuple(dict.fromkeys((one.play, one.play_to.value) for one in held))
    formations = tuple(dict.fromkeys(one.formation for one in held))
    cells = {(one.play, one.play_to.value, one.formation): one for one in held}
    return SoundTable(rows, formations, cells, Counter(one.hold.value for one in held), tuple(_short(rows, held)))


def _short(rows: Sequence[tuple[str, str]], held: Sequence[HeldCall]) -> list[ShortPlay]:
    found = []
    for play, play_to in rows:
        own = [one for one in held if (one.play, one.play_to.value) == (play, play_to)]
        failing = [one for one in own if one.hold.value != SOUND]
        lanes = tuple(lane for lane, _ in Counter(lane for one in failing for lane in one.lanes).most_common(2))
        found.append(ShortPlay(play, play_to, len(failing), len(own), lanes))
    return sorted((one for one in found if one.count), key=lambda one: -one.count)[:SHORT_SHOWN]
