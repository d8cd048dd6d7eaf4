"""What was installed: every content that players were asked about, who installed it and when."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime

from sqlmodel import col

from server.database.draft_tables import ContentVersion
from server.database.store import TeamSession


def record_version(
    t: TeamSession,
    files: Mapping[str, str],
    content_hash: str,
    now: datetime,
    *,
    by: str = "",
    note: str = "",
    edits: Sequence[int] = (),
) -> None:
    """Keep content that is being installed as the next version, unless it is what the last one was."""
    last = t.first(ContentVersion, order_by=(col(ContentVersion.number).desc(),))
    if last is not None and last.content_hash == content_hash:
        return
    t.add(
        ContentVersion(
            team_id=t.team_id,
            number=last.number + 1 if last else 1,
            coach_id=by,
            note=note,
            content_hash=content_hash,
            files=dict(files),
            edits=list(edits),
            installed_at=now,
        )
    )


def versions(t: TeamSession) -> list[ContentVersion]:
    """The team's versions, the newest first."""
    return t.rows(ContentVersion, order_by=(col(ContentVersion.number).desc(),))
