"""Answers about a job that has changed since: marked, and no proof any more.

An answer was about a situation and what was right in it, kept as a hash with the rep as it was shown. After the team's
content changed, each kept rep is compared with what the content says now: while the hash is the same, the answers to it
count; if it is another, or the man is no longer asked that there, they are past, until the content is brought back. A
rep whose call, formation or play is gone stays as it was: nothing says that the job changed. Knows no football.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import func, update
from sqlmodel import col

from server.database.store import TeamSession
from server.database.tables import Answer, KeptRep
from server.database.write_queue import WriteQueue
from server.playbook.engine import Engine
from server.playbook.playbooks import Playbook
from server.playbook.rep_summary import KeptSituation

#: Reps compared and stored at a time: what a crash in between costs.
AT_ONCE = 100


@dataclass(frozen=True, slots=True)
class PastAnswers:
    """A player's answers on a call that no longer count, and when the call was last changed for him."""

    call: str
    answers: int
    changed_at: datetime


def past_answers_of(t: TeamSession, member_id: str) -> dict[str, PastAnswers]:
    """A player's answers about jobs that have changed since, by call."""
    about = (Answer.call, func.count(), func.max(col(Answer.changed_at)))
    where = (col(Answer.member_id) == member_id, col(Answer.changed_at).is_not(None))
    rows = t.values(Answer, *about, where=where, group_by=(Answer.call,))
    return {str(call): PastAnswers(str(call), int(count), at) for call, count, at in rows}


def mark_past_answers(writes: WriteQueue, team_id: str, team_hash: str, playbook: Playbook, now: datetime) -> int:
    """Compare the team's kept reps with its content, and mark the answers to those that changed; return the number of
    reps whose mark changed. ``team_hash`` is the team's content hash that the playbook was read under: once it is
    another, nothing more is stored. A crash leaves the rest for the next start. Raises: Unavailable."""
    with writes.store.read(team_id) as t:
        where = (col(KeptRep.checked_hash) != playbook.content_hash, col(KeptRep.job) != "")
        columns = [getattr(KeptRep, name) for name in KeptSituation.__dataclass_fields__]
        rows = t.values(KeptRep, *columns, KeptRep.changed_at, where=where)
    changed = 0
    for first in range(0, len(rows), AT_ONCE):
        some = rows[first : first + AT_ONCE]
        marks = list(compared(playbook, [(KeptSituation(*row[:-1]), row[-1] is not None) for row in some]))

        def store(t: TeamSession, marks: Sequence[tuple[str, bool, bool]] = marks) -> bool:
            if t.team().content_hash != team_hash:
                return False  # changed again meanwhile: the next playbook compares
            store_marks(t, playbook.content_hash, marks, now)
            return True

        if not writes.write(team_id, store):
            break
        changed += sum(is_past != was for _, is_past, was in marks)
    return changed


def compared(playbook: Playbook, reps: Sequence[tuple[KeptSituation, bool]]) -> Iterator[tuple[str, bool, bool]]:
    """Id, whether its answers are past now, and whether they were, of each rep."""
    football: Engine = playbook.football
    for kept, was in reps:
        job = playbook.ask(lambda catalogue, kept=kept: football.job_now(catalogue, kept))  # type: ignore[misc]
        yield kept.rep_id, was if job is None else job != kept.job, was


def store_marks(t: TeamSession, content_hash: str, marks: Sequence[tuple[str, bool, bool]], now: datetime) -> None:
    """Store what was compared, and mark or unmark the answers to what changed."""
    for ids, at in (
        ([rep_id for rep_id, is_past, was in marks if is_past and not was], now),
        ([rep_id for rep_id, is_past, was in marks if was and not is_past], None),
    ):
        for table in (KeptRep, Answer):
            own = (col(table.team_id) == t.team_id, col(table.rep_id).in_(ids))
            if ids:
                t.execute(update(table).where(*own).values(changed_at=at))
    every = (col(KeptRep.team_id) == t.team_id, col(KeptRep.rep_id).in_([rep_id for rep_id, *_ in marks]))
    t.execute(update(KeptRep).where(*every).values(checked_hash=content_hash))
