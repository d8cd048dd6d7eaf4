"""A team that begins in the browser: an address that works once, and what whoever opens it makes of it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

import tomli_w
from sqlmodel import col, delete

from server.accounts.credentials import (
    find_token_team,
    hash_passphrase,
    make_id,
    make_token,
    passphrase_problems,
    token_hash,
)
from server.accounts.members import add_coach, write_audit
from server.database.invite_table import TeamInvite
from server.database.store import Store, TeamSession
from server.database.tables import AccountRole, Member, Team
from server.errors import BadInput, NotFound
from server.i18n.lazy_text import LazyText
from server.playbook.engine import Engine
from server.team.install import add_team_in, is_zone
from server.team.starters import starter_files

#: How long an address can be opened.
VALID_FOR = timedelta(days=14)


@dataclass(frozen=True, slots=True)
class NewTeam:
    """What begins a team: its name and time zone, the starter, its first coach and his passphrase."""

    name: str
    time_zone: str
    starter: str
    owner: str
    passphrase: str


def make_invite(store: Store, now: datetime, *, is_first: bool = False) -> str:
    """A token that begins one team. ``is_first`` takes back earlier ones that nobody used: each start of a server
    without a team makes a new one."""
    team_id = make_id()
    token = make_token(team_id)
    with store.write("") as t:
        if is_first:
            t.session.execute(delete(TeamInvite).where(col(TeamInvite.used_at).is_(None)))
        row = TeamInvite(team_id=team_id, token_hash=token_hash(token), made_at=now, expires_at=now + VALID_FOR)
        t.session.add(row)
    return token


def find_invite(t: TeamSession, token: str, now: datetime) -> TeamInvite:
    """The invite of a token that can still begin a team. Raises: NotFound, with what became of it."""
    row = t.find(TeamInvite)
    if row is None or row.token_hash != token_hash(token):
        raise NotFound("This address begins no team. Ask whoever runs the server for a new one.")
    if row.used_at is not None:
        raise NotFound("A team was begun with this address before. Its coaches sign in at /coach/sign-in.")
    if row.expires_at < now:
        raise NotFound("This address is too old. Ask whoever runs the server for a new one.")
    return row


def team_of_invite(token: str) -> str:
    """The id that the team will have. Raises: NotFound for what is no token."""
    found = find_token_team(token)
    if found is None:
        raise NotFound("This address begins no team. Ask whoever runs the server for a new one.")
    return found


def begin_team(t: TeamSession, football: Engine, token: str, new: NewTeam, now: datetime) -> tuple[Team, Member]:
    """Begin the team and make its owner's account; the address works no more. Raises: BadInput; NotFound."""
    invite = find_invite(t, token, now)
    if not new.owner.strip():
        raise BadInput("your name: expected the name that you will sign in with, found none")
    if problems := passphrase_problems(new.passphrase):
        raise BadInput(problems[0])
    if not is_zone(new.time_zone):
        raise BadInput(
            LazyText("time zone: expected a name such as America/Chicago, found {found!r}", found=new.time_zone[:60])
        )
    files = starter_files(new.starter, new.name)
    files["team.toml"] = tomli_w.dumps({"name": new.name.strip(), "time_zone": new.time_zone})
    team = add_team_in(t, football, files, now).team
    owner = add_coach(t, new.owner, AccountRole.OWNER, hash_passphrase(new.passphrase), now)
    t.add(owner)
    invite.used_at = now
    t.add(invite)
    write_audit(t, owner.id, "began the team", "", now)
    return team, owner
