"""Bringing a team in: its files checked as a whole, stored, its roster made into accounts; and bringing it up to date.

All or nothing: files with any problem change nothing. It must not know football; quizgen says what is wrong.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from server.people import take_roster
from server.playbooks import Football, Playbook, TeamContent, hash_files, read_playbook, store_files
from server.problems import BadInput
from server.security import make_code, make_id
from server.store import Store, TeamSession
from server.tables import Team


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
    found = []
    if not zone_of(team):
        found.append(f"time_zone: expected a name such as America/Chicago, found {team.time_zone!r}")
    if team.season_end and not _is_date(team.season_end):
        found.append(f"season_end: expected a date such as 2026-12-15, found {team.season_end!r}")
    numbers = [player.number for player in team.roster]
    twice = sorted({n for n in numbers if numbers.count(n) > 1})
    return [*found, *(f"roster: expected each number once, found {number} twice" for number in twice)]


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
        content_hash=playbook.content_hash,
        created_at=now,
    )
    store.add_team(team)
    with store.write(team.id) as t:
        store_files(t, files)
        return Taken(t.team(), *take_roster(t, playbook.team.roster, now))


def update_team(store: Store, football: Football, team_id: str, files: Mapping[str, str], now: datetime) -> Taken:
    """Make a team's content and roster those of these files. Raises: BadInput; NotFound."""
    playbook = check_files(football, files)
    with store.write(team_id) as t:
        return _take(t, playbook, files, now)


def _take(t: TeamSession, playbook: Playbook, files: Mapping[str, str], now: datetime) -> Taken:
    team = t.team()
    team.name, team.time_zone = playbook.team.name, zone_of(playbook.team)
    team.season_end, team.content_hash = playbook.team.season_end, hash_files(files)
    t.session.add(team)
    store_files(t, files)
    return Taken(team, *take_roster(t, playbook.team.roster, now))
