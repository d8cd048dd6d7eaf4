"""Bringing a team in: its files checked as a whole, stored, its roster made into accounts; and bringing it up to date.

All or nothing: files with any problem change nothing. It must not know football; quizgen says what is wrong.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import tomli_w

from server.accounts.credentials import make_code, make_id
from server.accounts.members import RosterLine, players, take_roster
from server.database.store import Store, TeamSession
from server.database.tables import ContentFile, Member, Team
from server.errors import BadInput
from server.i18n.lazy_text import LazyText
from server.playbook.engine import Football, TeamContent
from server.playbook.playbooks import Playbook, hash_files, read_playbook, store_files

ROSTER = "roster.toml"


@dataclass(frozen=True, slots=True)
class RosterEntry:
    """A player: number, first name or nickname, positions."""

    number: int
    name: str
    positions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Taken:
    """What came of taking in a team's files: the team, and how many players were added, changed, removed."""

    team: Team
    added: int
    changed: int
    removed: int


def check_files(football: Football, files: Mapping[str, str]) -> Playbook:
    """The playbook of these files. Raises: BadInput with everything that is wrong with them."""
    if not files:
        raise BadInput("the folder: expected TOML files, found none")
    playbook = read_playbook(football, files)
    problems = problems_of_team(playbook.team)
    if problems:
        raise BadInput(problems[0], problems)
    return playbook


def problems_of_team(team: TeamContent) -> list[str]:
    """What the server can't work with though the football is right, a line each."""
    found: list[str] = []
    if not zone_of(team):
        found.append(
            LazyText("time_zone: expected a name such as America/Chicago, found {found!r}", found=team.time_zone)
        )
    if team.season_end and not _is_date(team.season_end):
        found.append(LazyText("season_end: expected a date such as 2026-12-15, found {found!r}", found=team.season_end))
    numbers = [player.number for player in team.roster]
    twice = sorted({n for n in numbers if numbers.count(n) > 1})
    return [*found, *(LazyText("roster: expected each number once, found {number} twice", number=n) for n in twice)]


def zone_of(team: TeamContent) -> str:
    """The team's time zone; empty when there is no such zone."""
    name = team.time_zone or "UTC"
    try:
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        return ""
    return name


def _is_date(text: str) -> bool:
    try:
        date.fromisoformat(text)
    except ValueError:
        return False
    return True


def add_team(store: Store, football: Football, files: Mapping[str, str], now: datetime) -> Taken:
    """Store a new team with its players. Raises: BadInput."""
    playbook = check_files(football, files)
    team = Team(
        id=make_id(),
        name=playbook.team.name,
        join_code=make_code(),
        time_zone=zone_of(playbook.team),
        season_end=playbook.team.season_end,
        content_hash=hash_content(files),
        created_at=now,
    )
    store.add_team(team)
    with store.write(team.id) as t:
        store_files(t, files)
        return Taken(t.team(), *take_roster(t, playbook.team.roster, now))


def update_team(
    store: Store,
    football: Football,
    team_id: str,
    files: Mapping[str, str],
    now: datetime,
    *,
    with_roster: bool = False,
) -> Taken:
    """Make a team's content those files, and its players too if ``with_roster``. Raises: BadInput; NotFound."""
    with store.write(team_id) as t:
        return update_in(t, football, files, now, with_roster=with_roster)


def update_in(
    t: TeamSession, football: Football, files: Mapping[str, str], now: datetime, *, with_roster: bool = False
) -> Taken:
    """The same within a write that is under way. Raises: BadInput."""
    team = t.team()
    if not with_roster:
        files = {**files, ROSTER: to_roster(living(t))}
    playbook = check_files(football, files)
    team.name, team.time_zone = playbook.team.name, zone_of(playbook.team)
    team.season_end, team.content_hash = playbook.team.season_end, hash_content(files)
    t.session.add(team)
    store_files(t, files)
    return Taken(team, *(take_roster(t, playbook.team.roster, now) if with_roster else (0, 0, 0)))


def hash_content(files: Mapping[str, str]) -> str:
    """A hash of everything but the roster, which decides no rep and changes on a page of its own."""
    return hash_files({path: text for path, text in files.items() if path != ROSTER})


def to_roster(entries: Iterable[RosterLine]) -> str:
    """These players as the roster's file."""
    rows = [{"number": one.number, "name": one.name, "positions": list(one.positions)} for one in entries]
    return tomli_w.dumps({"player": rows})


def living(t: TeamSession) -> list[RosterEntry]:
    """The team's players as the roster has them."""
    return [to_entry(member) for member in players(t)]


def to_entry(member: Member) -> RosterEntry:
    """A player as the roster has him."""
    return RosterEntry(member.number or 0, member.name, tuple(member.positions))


def keep_roster(t: TeamSession) -> None:
    """Write the roster's file anew after the players have changed, so that the content never says otherwise."""
    row = t.find(ContentFile, ROSTER) or ContentFile(team_id=t.team_id, path=ROSTER)
    row.text = to_roster(living(t))
    t.add(row)
