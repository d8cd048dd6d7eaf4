"""Results are erased soon after the season, since they are minors' answers; never because of a slip or a wrong clock.

A season's end that was in the past when it was first seen, a clock that jumped and results that still come in all make
erasing wait for the owner. Whatever is erased has a day of grace first. The log of who changed what stays. Knows
nothing of pages or football.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import structlog
from sqlalchemy import delete, func
from sqlmodel import col

from server.accounts.members import write_audit
from server.accounts.sessions import Viewer
from server.database.erasing_table import Erasing
from server.database.store import TeamSession
from server.database.tables import (
    Answer,
    Assignment,
    FailedTry,
    KeptRep,
    Member,
    MissPicture,
    PlayerSet,
    SetRep,
    Team,
)
from server.database.write_queue import WriteQueue
from server.errors import BadInput, Unavailable
from server.i18n.lazy_text import LazyText

#: Erasing is looked at this often, so that a day of grace is not two.
LOOK_EVERY_S = 3_600
GRACE = timedelta(days=1)
#: A server that has not looked for longer was off, or its clock jumped: it can't tell which.
LONGEST_GAP = timedelta(days=20)
#: In this order: each table refers to later ones.
RESULTS = (Answer, SetRep, PlayerSet, Assignment, MissPicture, KeptRep, FailedTry)
WAITING, IN_GRACE = "waiting", "grace"
#: Erases one player and everything about him; returns the number of his answers.
EraseMember = Callable[[TeamSession, Member], int]

log = structlog.get_logger()


def last_day_kept(team: Team, keep_days: int) -> date | None:
    """The last day on which a team's results are kept; None when its season has no end."""
    return date.fromisoformat(team.season_end) + timedelta(days=keep_days) if team.season_end else None


def is_over(team: Team, keep_days: int, now: datetime) -> bool:
    """Whether a team's results are due to be erased: the season's last day, in its time zone, is ``keep_days`` past."""
    last_day = last_day_kept(team, keep_days)
    return last_day is not None and day_of(team, now) > last_day


def day_of(team: Team, now: datetime) -> date:
    """The day it is where the team is."""
    return now.astimezone(ZoneInfo(team.time_zone)).date()


def check_season(team: Team, keep_days: int, now: datetime) -> None:
    """Check that new results will be kept. Raises: BadInput when they would be due to be erased."""
    if is_over(team, keep_days, now):
        raise BadInput(
            LazyText(
                "season_end: {day} is over; write the new season's last day into team.toml first",
                day=team.season_end,
            )
        )


def count_results(t: TeamSession) -> dict[str, int]:
    """How much would be erased."""
    return {"answers": t.count(Answer), "sets": t.count(Assignment), "reps": t.count(KeptRep)}


def ask_to_erase(t: TeamSession, viewer: Viewer, now: datetime) -> None:
    """The owner confirms: the results go after the day of grace, whenever the season ends."""
    row = _row(t, now)
    row.season_end = t.team().season_end
    row.state, row.reason, row.erase_at, row.checked_at, row.asked_by = IN_GRACE, "", now + GRACE, now, viewer.member.id
    t.add(row)
    write_audit(t, viewer.member.id, "asked to erase the results", "", now)


def keep_results(t: TeamSession, viewer: Viewer, now: datetime) -> None:
    """The owner takes the way back: nothing goes until he confirms, or the season gets another end."""
    row = _row(t, now)
    row.season_end = t.team().season_end
    row.state, row.reason, row.erase_at, row.asked_by = WAITING, "kept", None, ""
    t.add(row)
    write_audit(t, viewer.member.id, "kept the results", "", now)


def look(t: TeamSession, keep_days: int, now: datetime, erase_member: EraseMember) -> int | None:
    """Look at a team's results and at the players who left: nothing, wait, begin the day of grace, or erase what it is
    over for. Return the number of answers erased, None when nothing was."""
    team, row = t.team(), _row(t, now)
    if row.season_end != team.season_end:
        row.season_end, row.seen_at, row.state, row.asked_by = team.season_end, now, "", ""
    jumped = _has_jumped(row, now)
    row.checked_at = now
    erased = _erase_leavers(t, now, erase_member, has_jumped=jumped)
    if row.state == IN_GRACE and jumped:
        row.state, row.reason, row.asked_by = WAITING, "clock", ""
    elif row.state == IN_GRACE and row.erase_at is not None and now >= row.erase_at and _is_due(t, row, keep_days, now):
        erased = (erased or 0) + t.count(Answer)
        for table in RESULTS:
            t.execute(delete(table).where(table.team_id == t.team_id))  # type: ignore[arg-type]
        write_audit(t, row.asked_by, "erased the results", "", now)
        row.state, row.asked_by = "", ""
    elif not _is_due(t, row, keep_days, now):
        row.state, row.asked_by = "", ""
    elif not row.state:
        row.reason = "clock" if jumped else _problem(t, row, now)
        row.state = WAITING if row.reason else IN_GRACE
        row.erase_at = now + GRACE
    if row.state != IN_GRACE:
        row.erase_at = None
    if not row.state:
        row.reason = ""
    t.add(row)
    if row.state:
        log.warning("erasing", state=row.state, reason=row.reason, answers=t.count(Answer))
    return erased


def _erase_leavers(t: TeamSession, now: datetime, erase_member: EraseMember, *, has_jumped: bool) -> int | None:
    """Erase the removed players whose day of grace is over; after a jump of the clock it begins again."""
    leavers = t.rows(Member, col(Member.erase_at).is_not(None), col(Member.removed_at).is_not(None))
    due = [one for one in leavers if one.erase_at is not None and (has_jumped or now >= one.erase_at)]
    if has_jumped:
        for one in due:
            one.erase_at = now + GRACE
            t.add(one)
        return None
    answers = [erase_member(t, one) for one in due]
    if due:
        write_audit(t, "", "erased who left", str(len(due)), now)
    return sum(answers) if due else None


def _row(t: TeamSession, now: datetime) -> Erasing:
    """What is known about erasing. Before the first look the newest answer tells when the server last ran."""
    row = t.find(Erasing)
    if row is None:
        seen = _newest(t) or now
        row = Erasing(team_id=t.team_id, season_end=t.team().season_end, seen_at=now, checked_at=seen)
    return row


def _newest(t: TeamSession) -> datetime | None:
    [(newest,)] = t.values(Answer, func.max(col(Answer.received_at)))
    return newest


def _has_jumped(row: Erasing, now: datetime) -> bool:
    return not timedelta(minutes=-5) <= now - row.checked_at <= LONGEST_GAP


def _is_due(t: TeamSession, row: Erasing, keep_days: int, now: datetime) -> bool:
    """Whether the owner asked, or the season is over and there is something to erase."""
    if row.state == IN_GRACE and row.asked_by:
        return True
    return is_over(t.team(), keep_days, now) and any(count_results(t).values())


def _problem(t: TeamSession, row: Erasing, now: datetime) -> str:
    """Why the results may not be meant; empty when nothing speaks against it."""
    if date.fromisoformat(row.season_end) < day_of(t.team(), row.seen_at):
        return "past"
    newest = _newest(t)
    if newest is not None and newest > now:
        return "clock"
    return "recent" if newest is not None and now - newest <= LONGEST_GAP else ""


def erase_results(
    writes: WriteQueue,
    keep_days: int,
    now: datetime,
    erase_member: EraseMember,
    forget: Callable[[str], None] = lambda team_id: None,
) -> int:
    """Look at every team, erase what its day of grace is over for, and call ``forget`` for its caches; return the
    number of answers erased. Raises: Unavailable."""
    total, store = 0, writes.store
    for team in store.teams():
        erased = writes.submit(team.id, lambda t: look(t, keep_days, now, erase_member)).result()  # without a timeout
        if erased is not None:
            total += erased
            store.forget()
            forget(team.id)
    return total


async def erase_when_due(
    writes: WriteQueue,
    keep_days: int,
    now: Callable[[], datetime],
    erase_member: EraseMember,
    forget: Callable[[str], None],
) -> None:
    """Look now and every hour, until cancelled."""
    while True:
        try:
            if erased := await asyncio.to_thread(erase_results, writes, keep_days, now(), erase_member, forget):
                log.info("erased", answers=erased)
        except Unavailable:
            log.warning("erasing waits: the database is not available")
        await asyncio.sleep(LOOK_EVERY_S)
