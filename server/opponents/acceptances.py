"""Lacks of a call that the staff lives with: accepted with a reason, shown with who and when, and taken back.

What is short and what an opponent runs comes from the playbook. Knows nothing of pages.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from typing import TYPE_CHECKING

from sqlmodel import col

from server.accounts.credentials import make_id
from server.accounts.members import write_audit
from server.database.store import TeamSession
from server.database.tables import Acceptance, AuditEntry, Member
from server.errors import BadInput, NotFound
from server.i18n.lazy_text import LazyText
from server.playbook.charted import AcceptedSnap, to_accepted
from server.playbook.playbooks import Playbook

if TYPE_CHECKING:
    from server.playbook.engine import AcceptedLack

WHY_MAX = 200
ACCEPTED_MAX = 5_000
ACCEPTED, TAKEN_BACK = "accepted a lack", "no longer accepts a lack"


@dataclass(slots=True)
class AcceptedLine:
    """Lacks that were accepted together: of which run from which formations (keys; empty: any), why, by whom and when
    (empty and None: from the team's files, or no longer known)."""

    id: str
    play: str
    why: str
    who: str = ""
    at: datetime | None = None
    formations: dict[str, None] = field(default_factory=dict)
    lacks: list[AcceptedLack] = field(default_factory=list)


def load_accepted(t: TeamSession, playbook: Playbook, call: str) -> list[AcceptedLine]:
    """What is accepted of a call (by its key), as it was accepted together."""
    rows = t.rows(Acceptance, col(Acceptance.call) == call, order_by=(col(Acceptance.play), col(Acceptance.formation)))
    ids = [row.id for row in rows]
    entries = t.rows(AuditEntry, col(AuditEntry.action) == ACCEPTED, col(AuditEntry.subject).in_(ids)) if ids else []
    audit = {entry.subject: entry for entry in entries}
    names = {member.id: member.name for member in t.rows(Member)} if audit else {}
    found: dict[str, AcceptedLine] = {}
    for row in rows:
        entry = audit.get(row.id)
        who, at = (names.get(entry.member_id, ""), entry.at) if entry else ("", None)
        line = found.setdefault(row.id, AcceptedLine(row.id, row.play, row.why, who, at))
        line.formations[row.formation] = None
        snap = AcceptedSnap(row.call, row.to, row.formation, row.play, row.play_to, row.why, row.lack)
        line.lacks += to_accepted(playbook, [snap])
    return list(found.values())


def check_why(typed: str) -> str:
    """The reason on one line. Raises: BadInput when there is none or it is too long."""
    why = " ".join(typed.split())
    if not 1 <= len(why) <= WHY_MAX:
        raise BadInput(LazyText("reason: expected 1 to {most} characters, found {found}", most=WHY_MAX, found=len(why)))
    return why


def accept(t: TeamSession, member_id: str, snaps: Iterable[AcceptedSnap], now: datetime) -> None:
    """Accept what is short on these snaps, in place of what was accepted of them before. Raises: BadInput when there is
    none."""
    wanted, own_id = list(snaps), make_id()
    if not wanted:
        raise BadInput("Nothing of it is short any more, or it is accepted already.")
    if t.count(Acceptance) + len(wanted) > ACCEPTED_MAX:
        raise BadInput(LazyText("accepted: expected at most {most} snaps in all", most=ACCEPTED_MAX))
    for snap in wanted:
        row = t.find(Acceptance, *snap[:5]) or Acceptance(team_id=t.team_id, id=own_id, **snap._asdict())
        row.id, row.why, row.lack = own_id, snap.why, snap.lack
        t.add(row)
    write_audit(t, member_id, ACCEPTED, own_id, now)


def take_back(t: TeamSession, member_id: str, accepted_id: str, now: datetime) -> None:
    """No longer accept what was accepted together. Raises: NotFound, also for another team's."""
    rows = t.rows(Acceptance, col(Acceptance.id) == accepted_id)
    if not rows:
        raise NotFound("Nothing of that kind is accepted.")
    for row in rows:
        t.delete(row)
    write_audit(t, member_id, TAKEN_BACK, accepted_id, now)
