"""A season's end and the next one's beginning, by the owner: the last day, which decides when results are erased and is
never set to a day that is past; who leaves; what becomes of the results."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from sqlalchemy import func

from server.accounts.members import players, remove_member, write_audit
from server.accounts.retention import GRACE, ask_to_erase, count_results, day_of
from server.accounts.sessions import Viewer
from server.database.store import TeamSession
from server.database.tables import Answer, ContentFile, Member
from server.errors import BadInput
from server.i18n.lazy_text import LazyText
from server.playbook.content_edits import with_last_day
from server.playbook.engine import Engine
from server.team.install import AS_ROWS, rewrite_roster_file, update_in

#: A season ends within this time; a later day is a slip of the pen.
LONGEST = timedelta(days=400)
#: Play-offs go on a week at a time.
WEEK = timedelta(days=7)


@dataclass(frozen=True, slots=True)
class NextSeason:
    """How the next season begins: its last day as typed, the ids of the players who leave, and whether the results of
    the last one go."""

    last_day: str
    leaving: tuple[str, ...]
    erases_results: bool


@dataclass(frozen=True, slots=True)
class Counted:
    """What beginning the next season means: who leaves, with the number of his answers; how many stay; what there is of
    results."""

    leaving: tuple[tuple[Member, int], ...]
    staying: tuple[Member, ...]
    results: dict[str, int]


def count_up(t: TeamSession, plan: NextSeason) -> Counted:
    """Count what a plan means. Raises: BadInput when one who leaves is not on the roster."""
    on_roster = players(t)
    unknown = set(plan.leaving) - {one.id for one in on_roster}
    if unknown:
        raise BadInput("who leaves: expected players on the roster, found one who is not; look at the list again")
    rows = t.values(Answer, Answer.member_id, func.count(), group_by=(Answer.member_id,))
    answers = {str(member_id): int(number) for member_id, number in rows}
    leaving = tuple((one, answers.get(one.id, 0)) for one in on_roster if one.id in plan.leaving)
    return Counted(leaving, tuple(one for one in on_roster if one.id not in plan.leaving), count_results(t))


def begin_next(t: TeamSession, football: Engine, viewer: Viewer, plan: NextSeason, now: datetime) -> Counted:
    """Begin the next season: set its last day, take those who leave off the roster, to be erased after a day of grace,
    and ask for the results to be erased if they shall be. Raises: BadInput; then nothing is changed."""
    counted = count_up(t, plan)
    set_last_day(t, football, viewer, plan.last_day, now)
    for member, _ in counted.leaving:
        member.erase_at = now + GRACE
        remove_member(t, member, now)
        write_audit(t, viewer.member.id, "removed a player", member.id, now)
    rewrite_roster_file(t)
    if plan.erases_results:
        ask_to_erase(t, viewer, now)
    write_audit(t, viewer.member.id, "began the next season", plan.last_day, now)
    return counted


def a_week_longer(t: TeamSession, football: Engine, viewer: Viewer, now: datetime) -> None:
    """Move the last day a week on, from today if it is past. Raises: BadInput when there is none."""
    team = t.team()
    if not team.season_end:
        raise BadInput("last day: expected one that is set before a week is added, found none")
    day = max(date.fromisoformat(team.season_end), day_of(team, now)) + WEEK
    set_last_day(t, football, viewer, day.isoformat(), now)


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
