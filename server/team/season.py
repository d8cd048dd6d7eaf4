"""The season's last day, which decides when results are erased: set by the owner, never to a day that is past."""

from __future__ import annotations

from datetime import date, datetime, timedelta

from server.accounts.members import write_audit
from server.accounts.retention import day_of
from server.accounts.sessions import Viewer
from server.database.store import TeamSession
from server.database.tables import ContentFile
from server.errors import BadInput
from server.i18n.lazy_text import LazyText
from server.playbook.content_edits import with_last_day
from server.playbook.engine import Engine
from server.team.install import AS_ROWS, update_in

#: A season ends within this time; a later day is a slip of the pen.
LONGEST = timedelta(days=400)


def set_last_day(t: TeamSession, football: Engine, viewer: Viewer, typed: str, now: datetime) -> None:
    """Set the season's last day; empty: none, and nothing is erased by itself. Raises: BadInput."""
    today = day_of(t.team(), now)
    try:
        day = date.fromisoformat(typed.strip()) if typed.strip() else None
    except ValueError:
        raise BadInput(
            LazyText("last day: expected a date such as 2026-12-15, found {found!r}", found=typed[:20])
        ) from None
    if day is not None and not today <= day <= today + LONGEST:
        latest = today + LONGEST
        raise BadInput(
            LazyText(
                "last day: expected a day from {today} to {latest}, found {day}", today=today, latest=latest, day=day
            )
        )
    files = {one.path: one.text for one in t.rows(ContentFile) if one.path not in AS_ROWS}
    update_in(t, football, with_last_day(files, day.isoformat() if day else ""), now, by=viewer.member.id)
    write_audit(t, viewer.member.id, "set the season's last day", day.isoformat() if day else "", now)
