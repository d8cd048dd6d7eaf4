"""Installing and updating a team: check its files as a whole, store them, make accounts from its roster.

Files with any problem change nothing. Knows no football: quizgen reports the problems.

The players in the database are the roster; `roster.toml` follows them, and an update leaves players alone unless asked.
So a stale copy of the folder removes nobody. Rejected: the file as the record (every new PIN would start in a text
editor); merging the two (guessing). Opponents and what is accepted are rows too, taken from their files only while the
team has none, and no files are kept of them.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import tomli_w
from sqlmodel import col

from server.accounts.credentials import make_code, make_id
from server.accounts.members import RosterLine, players, take_roster
from server.database.draft_tables import ContentVersion
from server.database.store import Store, TeamSession
from server.database.tables import Acceptance, ContentFile, Member, Opponent, Team
from server.errors import BadInput
from server.i18n.lazy_text import LazyText
from server.playbook.charted import (
    ACCEPTED,
    OPPONENTS,
    AcceptedSnap,
    RunCount,
    charted_files,
    stage_counts_of,
    to_accepted,
    to_counts,
    to_opponent,
    to_snaps,
)
from server.playbook.engine import Engine
from server.playbook.noun_names import NounKind, NounNames, read_names, store_names
from server.playbook.playbooks import Playbook, hash_files, read_playbook, store_files
from server.team.versions import record_version

if TYPE_CHECKING:
    from server.playbook.engine import ChartedOpponent, TeamBook

ROSTER = "roster.toml"
#: Files of which no text is kept.
AS_ROWS = frozenset({OPPONENTS, ACCEPTED})


@dataclass(frozen=True, slots=True)
class RosterFileRow:
    """A player: number, first name or nickname, positions by their keys."""

    number: int
    name: str
    positions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class InstallResult:
    """The result of an install or update: the team, and how many players were added, changed and removed."""

    team: Team
    added: int
    changed: int
    removed: int


def check_files(football: Engine, files: Mapping[str, str]) -> Playbook:
    """The playbook in these files. Raises: BadInput listing all problems."""
    if not files:
        raise BadInput("the folder: expected TOML files, found none")
    playbook = read_playbook(football, files)
    problems = problems_of_team(playbook.team)
    if problems:
        raise BadInput(problems[0], problems)
    return playbook


def problems_of_team(team: TeamBook) -> list[str]:
    """Problems for the server in content that is fine as football, one line each."""
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


def zone_of(team: TeamBook) -> str:
    """The team's time zone; empty when it is unknown."""
    name = team.time_zone or "UTC"
    return name if is_zone(name) else ""


def is_zone(name: str) -> bool:
    """Whether that is a time zone."""
    try:
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        return False
    return bool(name)


def _is_date(text: str) -> bool:
    try:
        date.fromisoformat(text)
    except ValueError:
        return False
    return True


def add_team(store: Store, football: Engine, files: Mapping[str, str], now: datetime) -> InstallResult:
    """Install a new team with its players. Raises: BadInput."""
    check_files(football, files)
    with store.write(make_id()) as t:
        return add_team_in(t, football, files, now)


def add_team_in(t: TeamSession, football: Engine, files: Mapping[str, str], now: datetime) -> InstallResult:
    """Like `add_team`, inside a write of the team, whose id is new. Raises: BadInput."""
    playbook = check_files(football, files)
    team = Team(
        id=t.team_id,
        name=playbook.team.name,
        join_code=make_code(),
        time_zone=zone_of(playbook.team),
        season_end=playbook.team.season_end,
        content_hash=hash_content(files),
        created_at=now,
    )
    t.session.add(team)
    t.session.flush()
    store_content(t, playbook, files, now)
    record_version(t, football_files(files), team.content_hash, now)
    return InstallResult(team, *take_roster(t, roster_of(playbook), now))


def update_team(
    store: Store,
    football: Engine,
    team_id: str,
    files: Mapping[str, str],
    now: datetime,
    *,
    with_roster: bool = False,
) -> InstallResult:
    """Replace a team's content, and its players too if ``with_roster``. Raises: BadInput; NotFound."""
    with store.write(team_id) as t:
        return update_in(t, football, files, now, with_roster=with_roster)


def update_in(
    t: TeamSession,
    football: Engine,
    files: Mapping[str, str],
    now: datetime,
    *,
    with_roster: bool = False,
    by: str = "",
    note: str = "",
    edits: Sequence[int] = (),
) -> InstallResult:
    """Like `update_team`, inside the current write; who installs it, his note and the draft's edits are kept with the
    version. Raises: BadInput."""
    team = t.team()
    if not with_roster:
        files = with_current_roster(football, files, current_players(t))
    playbook = check_files(football, files)
    if not t.count(ContentVersion):  # a team from before there were versions
        before = football_files({one.path: one.text for one in t.rows(ContentFile)})
        record_version(t, before, team.content_hash, team.created_at)
    team.name, team.time_zone = playbook.team.name, zone_of(playbook.team)
    team.season_end, team.content_hash = playbook.team.season_end, hash_content(files)
    t.session.add(team)
    store_content(t, playbook, files, now)
    record_version(t, football_files(files), team.content_hash, now, by=by, note=note, edits=edits)
    return InstallResult(team, *(take_roster(t, roster_of(playbook), now) if with_roster else (0, 0, 0)))


def store_content(t: TeamSession, playbook: Playbook, files: Mapping[str, str], now: datetime) -> None:
    """Make the stored files and names those of this content; its opponents and what it accepts become rows where the
    team has none."""
    store_files(t, {path: text for path, text in files.items() if path not in AS_ROWS})
    store_names(t, playbook.nouns)
    if playbook.team.opponents and not t.count(Opponent):
        for one in playbook.team.opponents:
            t.add(to_row(t.team_id, playbook, one, now))
    if playbook.team.accepted and not t.count(Acceptance):
        for snap in dict.fromkeys(to_snaps(playbook, playbook.team.accepted)):
            t.add(Acceptance(team_id=t.team_id, id=make_id(), **snap._asdict()))


def to_row(team_id: str, playbook: Playbook, opponent: ChartedOpponent, now: datetime) -> Opponent:
    """An opponent of the content as a row."""
    runs: list[tuple[str, str, str, float]] = [(*run,) for run in to_counts(playbook, opponent)]
    row = Opponent(
        team_id=team_id,
        id=make_id(),
        key=opponent.key,
        name=opponent.name,
        runs=runs,
        is_next=opponent.is_next,
        changed_at=now,
    )
    stages = stage_counts_of(row.play_counts, playbook.plays())
    row.stage_counts = {str(stage): count for stage, count in stages.items()}
    return row


def charted_files_of(t: TeamSession, playbook: Playbook) -> dict[str, str]:
    """The team's opponents and what it accepts as TOML files."""
    foes = [
        to_opponent(playbook, row.name, row.key, [RunCount(*run) for run in row.runs], is_next=row.is_next)
        for row in t.rows(Opponent, order_by=(col(Opponent.name), col(Opponent.id)))
    ]
    return charted_files(foes, to_accepted(playbook, accepted_snaps(t)))


def accepted_snaps(t: TeamSession) -> list[AcceptedSnap]:
    """What the team accepts."""
    order = tuple(col(getattr(Acceptance, name)) for name in ("call", "play", "formation", "to", "play_to"))
    names = AcceptedSnap._fields
    return [AcceptedSnap(*(getattr(row, name) for name in names)) for row in t.rows(Acceptance, order_by=order)]


def roster_of(playbook: Playbook) -> list[RosterFileRow]:
    """The players that the content lists."""
    keys = {position.name: position.key for position in playbook.positions}
    return [RosterFileRow(p.number, p.name, tuple(keys[name] for name in p.positions)) for p in playbook.team.roster]


def with_current_roster(
    football: Engine, files: Mapping[str, str], entries: Sequence[RosterFileRow]
) -> Mapping[str, str]:
    """The files with these players as their roster, in the names that the files have for positions: a position may
    have been renamed. Raises: BadInput listing the problems of the other files."""
    others = {path: text for path, text in files.items() if path != ROSTER}
    positions = check_files(football, others).positions
    names = NounNames({(NounKind.POSITION.value, one.key): one.name for one in positions})
    return {**others, ROSTER: to_roster(entries, names)}


def hash_content(files: Mapping[str, str]) -> str:
    """A hash of all files but those that are rows: they affect no rep and have their own pages."""
    return hash_files(football_files(files))


def football_files(files: Mapping[str, str]) -> dict[str, str]:
    """The files but those that are rows."""
    return {path: text for path, text in files.items() if path != ROSTER and path not in AS_ROWS}


def to_roster(entries: Iterable[RosterLine], names: NounNames) -> str:
    """These players as the text of `roster.toml`."""
    rows = [
        {"number": one.number, "name": one.name, "positions": [names.position(key) for key in one.positions]}
        for one in entries
    ]
    return tomli_w.dumps({"player": rows})


def current_players(t: TeamSession) -> list[RosterFileRow]:
    """The team's current players as roster entries."""
    return [to_entry(member) for member in players(t)]


def to_entry(member: Member) -> RosterFileRow:
    """A player as a roster entry."""
    return RosterFileRow(member.number or 0, member.name, tuple(member.positions))


def rewrite_roster_file(t: TeamSession) -> None:
    """Rewrite `roster.toml` after the players changed, so that the two always agree."""
    row = t.find(ContentFile, ROSTER) or ContentFile(team_id=t.team_id, path=ROSTER)
    row.text = to_roster(current_players(t), read_names(t))
    t.add(row)
