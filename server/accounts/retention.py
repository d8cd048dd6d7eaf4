"""Results are erased soon after the season, since they are minors' answers. Knows nothing of pages or football."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import structlog
from sqlalchemy import delete

from server.database.store import TeamSession
from server.database.tables import (
    Answer,
    Assignment,
    AuditEntry,
    FailedTry,
    KeptRep,
    MissPicture,
    PlayerSet,
    SetRep,
    Team,
)
from server.database.write_queue import WriteQueue
from server.errors import BadInput, Unavailable
from server.i18n.lazy_text import LazyText

DAY_S = 86_400
#: In this order: each table refers to later ones.
RESULTS = (Answer, SetRep, PlayerSet, Assignment, MissPicture, KeptRep, AuditEntry, FailedTry)

log = structlog.get_logger()


def is_over(team: Team, keep_days: int, now: datetime) -> bool:
    """Whether a team's results are due to be erased: the season's last day, in its time zone, is ``keep_days`` past."""
    if not team.season_end:
        return False
    last_day = date.fromisoformat(team.season_end) + timedelta(days=keep_days)
    return now.astimezone(ZoneInfo(team.time_zone)).date() > last_day


def check_season(team: Team, keep_days: int, now: datetime) -> None:
    """Check that new results will be kept. Raises: BadInput when the team's results are erased every day."""
    if is_over(team, keep_days, now):
        raise BadInput(
            LazyText(
                "season_end: {day} is over, and results are erased every day since; write the new season's last day "
                "into team.toml first",
                day=team.season_end,
            )
        )


def erase_results(
    writes: WriteQueue, keep_days: int, now: datetime, forget: Callable[[str], None] = lambda team_id: None
) -> int:
    """Erase the results of every team whose season is over, and call ``forget`` for its caches; return the number of
    answers erased. Raises: Unavailable."""

    def erase(t: TeamSession) -> int:
        count = t.count(Answer)
        for table in RESULTS:
            t.execute(delete(table).where(table.team_id == t.team_id))  # type: ignore[arg-type]
        return count

    erased, store = 0, writes.store
    for team in store.teams():
        if is_over(team, keep_days, now):
            erased += writes.submit(team.id, erase).result()  # without a timeout
            store.forget()
            forget(team.id)
    return erased


async def erase_daily(
    writes: WriteQueue, keep_days: int, now: Callable[[], datetime], forget: Callable[[str], None]
) -> None:
    """Erase what is due, now and once a day, until cancelled."""
    while True:
        try:
            if erased := await asyncio.to_thread(erase_results, writes, keep_days, now(), forget):
                log.info("erased", answers=erased)
        except Unavailable:
            log.warning("erasing waits: the database is not available")
        await asyncio.sleep(DAY_S)
