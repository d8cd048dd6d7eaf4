"""An invented season in the demo's database: sets sent every week, opened and answered by simulated players.

Turns what `demo_season` plans into the rows that real phones would make. Knows nothing of football.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime, time, timedelta
from itertools import islice
from typing import Any
from zoneinfo import ZoneInfo

from sqlalchemy import insert
from sqlmodel import col

from server.accounts.credentials import make_id
from server.accounts.members import players
from server.answers.recording import GivenAnswer, grade, is_right
from server.commands.demo_season import DemoSeason, LearnerKind, PlannedRep, RosterPlayer, SeenRep, WrongChoice
from server.database.store import Store, TeamSession, table_of
from server.database.table_base import Base
from server.database.tables import (
    AccountRole,
    Answer,
    Assignment,
    GradedAnswer,
    KeptRep,
    Member,
    PlayerSet,
    SetRep,
    Team,
)
from server.playbook.playbooks import Playbook
from server.playbook.stored_reps import snapshot
from server.sets.player_sets import SetPlace
from server.sets.set_layout import set_rep

WEEKS, SEED = 8, 54
CALLS_PUT_IN = 6
REPS_SEARCHED = 60
SET_LENGTH = 8
PRACTICE = time(15, 30)


class Season:
    """Collects the season's rows."""

    def __init__(self, t: TeamSession, team: Team, playbook: Playbook, coach: Member) -> None:
        self.t, self.team, self.playbook, self.coach = t, team, playbook, coach
        self.found: dict[tuple[str, int, str], dict[str, Any]] = {}
        self.shown: dict[str, KeptRep] = {}
        self.sets: dict[tuple[int, str], Assignment] = {}
        self.opened: dict[tuple[str, str], PlayerSet] = {}
        self.laid: dict[tuple[str, str], list[SetRep]] = {}
        self.answers: list[GradedAnswer] = []

    def rep_for(self, one: PlannedRep) -> Any | None:
        """The rep for a planned question; None when that position has none of the kind."""
        key = (one.call, one.stage, one.side)
        if key not in self.found:
            self.found[key] = self.first_by_position(*key)
        return self.found[key].get(one.position)

    def first_by_position(self, call: str, stage: int, side: str) -> dict[str, Any]:
        """The first rep for one question by position, as far as the first few dozen reps have one."""
        reps = self.playbook.reps(call, [p.key for p in self.playbook.positions], [stage], [side])
        found: dict[str, Any] = {}
        for rep in islice(reps, REPS_SEARCHED):
            if len(rep.parts) == 1:
                found.setdefault(rep.keys.position, rep)
            if len(found) == len(self.playbook.positions):
                break
        return found

    def take(self, season: DemoSeason, one: PlannedRep, member: Member) -> None:
        """Add one planned rep to the week's set on its call, with its answer. Skipped when the set has its pictures
        already."""
        at = datetime.fromtimestamp(one.at, UTC)
        assignment = self.set_of(one, at)
        key = (assignment.id, member.id)
        laid = self.laid.setdefault(key, [])
        rep = self.rep_for(one)
        if rep is None or rep.id in {row.rep_id for row in laid}:
            return
        shown = self.shown.get(rep.id) or self.shown.setdefault(
            rep.id, snapshot(self.playbook.football, self.team.id, rep, at)
        )
        opened = PlayerSet(team_id=self.team.id, assignment_id=assignment.id, member_id=member.id, opened_at=at)
        self.opened.setdefault(key, opened).finished_at = at
        laid.append(set_rep(assignment, member.id, len(laid) + 1, rep.id))
        tapped = season.tap(one, seen(rep))
        given = GivenAnswer(make_id() + make_id(), rep.id, (tapped,))
        row = grade(assignment, member, SetPlace(len(laid), rep.id, None), shown, given, at)
        assert row.is_right == is_right((tapped,), shown)
        self.answers.append(row)

    def set_of(self, one: PlannedRep, at: datetime) -> Assignment:
        """The set of that day on that call, sent with its first answer."""
        key = (at.toordinal(), one.call)
        if key not in self.sets:
            self.sets[key] = Assignment(
                team_id=self.team.id,
                id=make_id(),
                call=one.call,
                positions=[p.key for p in self.playbook.positions if self.playbook.has_job(one.call, [p.key])],
                stages=[1, 2, 3, 4, 5],
                sides=["left", "right"],
                length=SET_LENGTH,
                due_at=practice_time(at + timedelta(days=1), self.team.time_zone),
                created_at=at - timedelta(hours=2),
                created_by=self.coach.id,
            )
        return self.sets[key]

    def store(self) -> None:
        """Write all rows."""
        laid = [row for rows in self.laid.values() for row in rows]
        write_all(self.t, Assignment, self.sets.values())
        write_all(self.t, KeptRep, self.shown.values())
        write_all(self.t, PlayerSet, self.opened.values())
        write_all(self.t, SetRep, laid)
        write_all(self.t, Answer, self.answers)


def practice_time(day: datetime, zone: str) -> datetime:
    """When practice starts on the day of a moment, in the team's time zone: sets are due then, and answered in the
    evening after it."""
    local = day.astimezone(ZoneInfo(zone))
    return datetime.combine(local.date(), PRACTICE, ZoneInfo(zone))


def last_practice(now: datetime, zone: str) -> datetime:
    """The latest start of practice before a moment."""
    today = practice_time(now, zone)
    return today if today <= now else practice_time(now - timedelta(days=1), zone)


def write_all(t: TeamSession, table: type[Base], rows: Iterable[Base]) -> None:
    """Insert many new rows of one table at once."""
    values = [{c.name: getattr(row, c.name) for c in table_of(table).columns} for row in rows]
    if values:
        t.session.execute(insert(table), values)


def seen(rep: Any) -> SeenRep:
    """A rep as a simulated player sees it."""
    [part] = rep.parts
    wrong = tuple(WrongChoice(c.id, c.relation) for c in part.choices if c.id not in part.right)
    return SeenRep(rep.id, tuple(sorted(part.right)), wrong, hooked=rep.play is not None)


def fill_season(store: Store, team: Team, playbook: Playbook, shown: Member, now: datetime) -> None:
    """Simulate the season. The player whose PIN is printed is a middling one, so that his own answers show."""
    with store.write(team.id) as t:
        members = {m.id: m for m in players(t) if m.positions}
        coach = t.first(Member, col(Member.role) == AccountRole.OWNER.value)
        assert coach is not None
        roster = [RosterPlayer(m.id, m.positions[0]) for m in members.values()]
        calls = playbook.calls[:CALLS_PUT_IN]
        families = {call: call for call in calls}
        kinds = {shown.id: LearnerKind.MIDDLING}
        end = last_practice(now, team.time_zone)
        season = DemoSeason(roster, calls, families, WEEKS, end.timestamp(), SEED, kinds)
        rows = Season(t, team, playbook, coach)
        for one in season.plan():
            rows.take(season, one, members[one.player])
        rows.store()
