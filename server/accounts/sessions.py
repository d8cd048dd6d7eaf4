"""Sessions: who holds a token, and until when. Knows nothing of secrets, pages or football."""

from __future__ import annotations

import threading
from collections import defaultdict
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from cachetools import LRUCache
from sqlalchemy import bindparam, delete, select, update
from sqlmodel import col

from server.accounts.credentials import find_token_team, token_hash
from server.accounts.permissions import COACHES
from server.database.store import Store, TeamSession, table_of
from server.database.tables import AccountRole, Member, SignIn, Team
from server.database.write_queue import WriteQueue
from server.errors import NeedsSignIn, Unavailable
from server.settings import Settings

SEEN_EVERY = timedelta(minutes=10)
RECENT = timedelta(seconds=2)
RECENT_KEPT = 2000

#: A session with all columns of its member and team: when the row equals the last one, nothing has changed.
_session, _member, _team = table_of(SignIn).c, table_of(Member).c, table_of(Team).c
SIGNED_IN = select(
    _session.token_hash,
    _session.member_id,
    _session.seen_at,
    _session.ends_at,
    *(column.label(f"members_{column.name}") for column in _member),
    *(column.label(f"teams_{column.name}") for column in _team),
).where(
    _session.team_id == bindparam("team_id"),
    _session.token_hash.in_(bindparam("hashes", expanding=True)),
    _member.team_id == _session.team_id,
    _member.id == _session.member_id,
    _team.id == _session.team_id,
)


@dataclass(frozen=True, slots=True)
class Viewer:
    """The signed-in member and his team, on one device."""

    team: Team
    member: Member
    token_hash: str

    @property
    def role(self) -> AccountRole:
        """The member's role."""
        return AccountRole(self.member.role)

    @property
    def is_coach(self) -> bool:
        """Whether the member is any kind of coach."""
        return self.role in COACHES

    @property
    def sees_all(self) -> bool:
        """Whether the member may see every position group."""
        return self.role in (AccountRole.OWNER, AccountRole.COACH)

    def sees_group(self, group: str) -> bool:
        """Whether the member may see a position group: a position coach sees only his own."""
        return self.sees_all or group in self.member.groups


@dataclass(frozen=True, slots=True)
class FoundSession:
    """A viewer found by token, the row he was built from, and until when `find_recent` may return him."""

    until: datetime
    row: Sequence[Any]
    viewer: Viewer


class Sessions:
    """The sessions of all teams on this server."""

    def __init__(self, store: Store, writes: WriteQueue, settings: Settings) -> None:
        self.store = store
        self.writes = writes
        self.settings = settings
        self._lock = threading.Lock()
        self._recent: LRUCache[str, FoundSession] = LRUCache(RECENT_KEPT)

    def find_viewers(self, tokens: Sequence[str], now: datetime) -> list[Viewer | None]:
        """The viewer who holds each of these tokens; None when the session is unknown or over. One statement a team."""
        hashes = {token: token_hash(token) for token in tokens}
        by_team: defaultdict[str, set[str]] = defaultdict(set)
        for token, hashed in hashes.items():
            if team_id := find_token_team(token):
                by_team[team_id].add(hashed)
        rows = {
            row.token_hash: self._check(team_id, row, now)
            for team_id, wanted in by_team.items()
            for row in self.store.look(team_id, SIGNED_IN, hashes=[*wanted])
        }
        with self._lock:
            for hashed in hashes.values():
                found = rows.get(hashed)
                if found is None:
                    self._recent.pop(hashed, None)
                else:
                    self._recent[hashed] = found
        return [found.viewer if (found := rows.get(hashes[token])) else None for token in tokens]

    def find_recent(self, token: str, now: datetime) -> Viewer | None:
        """The viewer found for this token in the last two seconds, without a query; else None.

        Only for questions of reps, which phones fetch many at a time and which change nothing. Rejected: addresses that
        are keys in themselves (they outlive a session); sessions in memory for all routes (a new PIN or a removal must
        apply at once, in every process).
        """
        with self._lock:
            recent = self._recent.get(token_hash(token))
        return recent.viewer if recent is not None and now < recent.until else None

    def _check(self, team_id: str, row: Any, now: datetime) -> FoundSession | None:
        """The session of a row of `SIGNED_IN`; None when it is over."""
        hashed = row.token_hash
        with self._lock:
            recent = self._recent.get(hashed)
        is_same = recent is not None and recent.row == row
        viewer = recent.viewer if recent and is_same else self._read_viewer(team_id, row.member_id, hashed)
        if viewer is None:
            return None
        member = viewer.member
        if member.removed_at is not None or now >= row.ends_at or now >= row.seen_at + self._idle(member):
            return None
        if now - row.seen_at > SEEN_EVERY:
            own = (col(SignIn.team_id) == team_id, col(SignIn.token_hash) == hashed)
            with suppress(Unavailable):  # nobody waits for this, and failing to store it refuses nobody
                self.writes.submit(team_id, lambda t: t.execute(update(SignIn).where(*own).values(seen_at=now)))
        return FoundSession(now + RECENT, row, viewer)

    def _read_viewer(self, team_id: str, member_id: str, hashed: str) -> Viewer | None:
        with self.store.read(team_id) as t:
            member = t.find(Member, member_id)
            return None if member is None else Viewer(t.team(), member, hashed)

    def _idle(self, member: Member) -> timedelta:
        if member.role == AccountRole.PLAYER:
            return timedelta(days=self.settings.player_idle_days)
        return timedelta(hours=self.settings.coach_idle_hours)

    def sign_out(self, viewer: Viewer) -> None:
        """End this device's session."""

        def end(t: TeamSession) -> None:
            sign_in = t.find(SignIn, viewer.token_hash)
            if sign_in is not None:
                t.delete(sign_in)

        self.writes.write(viewer.team.id, end)


def end_sessions(t: TeamSession, member_id: str) -> None:
    """End every session of a member."""
    t.execute(delete(SignIn).where(col(SignIn.team_id) == t.team_id, col(SignIn.member_id) == member_id))


def require(viewer: Viewer | None) -> Viewer:
    """The viewer. Raises: NeedsSignIn when there is none."""
    if viewer is None:
        raise NeedsSignIn("Sign in to see this page.")
    return viewer
