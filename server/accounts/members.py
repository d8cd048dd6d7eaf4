"""A team's roster, its coaches and the audit log. Knows nothing of pages or football."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import Protocol

from sqlmodel import col

from server.accounts.credentials import make_id
from server.accounts.sessions import end_sessions
from server.database.store import TeamSession
from server.database.tables import AccountRole, AuditEntry, Member
from server.errors import BadInput
from server.i18n.lazy_text import LazyText


class RosterLine(Protocol):
    """A player as the team's content lists him."""

    @property
    def number(self) -> int:
        """Jersey number."""

    @property
    def name(self) -> str:
        """First name or nickname."""

    @property
    def positions(self) -> tuple[str, ...]:
        """Positions by their keys, the main one first."""


def write_audit(t: TeamSession, member_id: str, action: str, subject: str, now: datetime) -> None:
    """Log who did what: ids only, no names."""
    t.add(AuditEntry(team_id=t.team_id, id=make_id(), at=now, member_id=member_id, action=action, subject=subject))


def players(t: TeamSession) -> list[Member]:
    """The team's current players, by number."""
    is_player = (col(Member.role) == AccountRole.PLAYER.value, col(Member.removed_at).is_(None))
    return t.rows(Member, *is_player, order_by=(col(Member.number), col(Member.id)))


def take_roster(t: TeamSession, roster: Iterable[RosterLine], now: datetime) -> tuple[int, int, int]:
    """Make the team's players match this roster, by number; return how many were added, changed and removed."""
    known = {member.number: member for member in players(t)}
    added = changed = 0
    for line in roster:
        member = known.pop(line.number, None)
        if member is None:
            added += 1
            member = Member(
                team_id=t.team_id, id=make_id(), role=AccountRole.PLAYER.value, name=line.name, created_at=now
            )
        elif (member.name, member.positions) != (line.name, list(line.positions)):
            changed += 1
        member.number, member.name, member.positions = line.number, line.name, list(line.positions)
        t.add(member)
    for member in known.values():
        remove_member(t, member, now)
    return added, changed, len(known)


def removed_players(t: TeamSession) -> list[Member]:
    """Players removed from the roster but not erased, the latest first."""
    is_gone = (col(Member.role) == AccountRole.PLAYER.value, col(Member.removed_at).is_not(None))
    return t.rows(Member, *is_gone, order_by=(col(Member.removed_at).desc(), col(Member.id)))


def remove_member(t: TeamSession, member: Member, now: datetime) -> None:
    """Remove a member: his number or sign-in name is free again and his sessions end; his answers stay."""
    member.removed_at = now
    end_sessions(t, member.id)
    t.add(member)


def bring_back(t: TeamSession, member: Member) -> None:
    """Put a removed player back on the roster, without his old PIN. Raises: BadInput."""
    taken = t.first(Member, col(Member.number) == member.number, col(Member.removed_at).is_(None))
    if taken is not None:
        raise BadInput(
            LazyText("number: {number} is another player's now; expected a free one", number=member.number),
        )
    member.removed_at, member.erase_at, member.secret_hash = None, None, ""
    t.add(member)


def add_coach(t: TeamSession, name: str, role: AccountRole, secret_hash: str, now: datetime) -> Member:
    """Add a coach's account. Raises: BadInput when the name is taken or empty."""
    sign_in_name = name.strip().casefold()
    if not sign_in_name:
        raise BadInput("sign-in name: expected one or more characters, found none")
    if t.first(Member, col(Member.sign_in_name) == sign_in_name, col(Member.removed_at).is_(None)):
        raise BadInput(LazyText("sign-in name: {name!r} is taken in this team; expected another", name=sign_in_name))
    member = Member(
        team_id=t.team_id,
        id=make_id(),
        role=role.value,
        name=name.strip(),
        sign_in_name=sign_in_name,
        secret_hash=secret_hash,
        created_at=now,
    )
    t.add(member)
    return member
