"""Who is who: accounts, signing in, sessions, the roster. It must not know pages, reps or football.

A try to sign in is counted before the secret is looked at and given back when it was right, so that many tries at once
get no further than one after another. Tries count per player (or sign-in name) and per address, separately, in the
database: a restart forgives nothing, and one player's wrong PINs never lock out the other forty behind a school's
address.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Protocol

from sqlalchemy import bindparam, delete, select, update
from sqlmodel import col

from server.accounts.credentials import (
    address_subject,
    check_secret,
    find_token_team,
    hash_pins,
    make_id,
    make_pin,
    make_token,
    nobodys_hash,
    token_hash,
)
from server.database.store import Store, TeamSession, columns_of
from server.database.tables import AuditEntry, FailedTry, Member, Role, SignIn, Team
from server.errors import BadInput, NeedsSignIn, NotFound, TooManyTries, WrongSecret
from server.i18n.lazy_text import LazyText
from server.settings import Settings

COACHES = frozenset({Role.OWNER, Role.COACH, Role.POSITION_COACH})
QUARTER_S, DAY_S = 900, 86_400
DAY_FACTOR = 4  # a day allows four times what a quarter of an hour does
SEEN_EVERY = timedelta(minutes=10)
LATELY = timedelta(seconds=2)
KEPT_LATELY = 2000

#: A session with all there is of its member and team, so that a row like the last one means that nothing has changed.
_session, _member, _team = columns_of(SignIn), columns_of(Member), columns_of(Team)
SIGNED_IN = select(
    _session.member_id,
    _session.seen_at,
    _session.ends_at,
    *(column.label(f"members_{column.name}") for column in _member),
    *(column.label(f"teams_{column.name}") for column in _team),
).where(
    _session.team_id == bindparam("team_id"),
    _session.token_hash == bindparam("token_hash"),
    _member.team_id == _session.team_id,
    _member.id == _session.member_id,
    _team.id == _session.team_id,
)


class RosterLine(Protocol):
    """A player as content brings him."""

    @property
    def number(self) -> int:
        """His number."""

    @property
    def name(self) -> str:
        """First name or nickname."""

    @property
    def positions(self) -> tuple[str, ...]:
        """Positions, the first one first."""


@dataclass(frozen=True, slots=True)
class Viewer:
    """Who is asking: a member of a team, on one device."""

    team: Team
    member: Member
    token_hash: str

    @property
    def role(self) -> Role:
        """What he may do."""
        return Role(self.member.role)

    @property
    def is_coach(self) -> bool:
        """Whether he is any kind of coach."""
        return self.role in COACHES

    @property
    def sees_all(self) -> bool:
        """Whether every position group is his to see."""
        return self.role in (Role.OWNER, Role.COACH)

    def sees_group(self, group: str) -> bool:
        """Whether a position group is his to see: a position coach sees his own only."""
        return self.sees_all or group in self.member.groups


@dataclass(frozen=True, slots=True)
class Found:
    """Who was found by a token, in which row of values, and until when that counts without looking again."""

    until: datetime
    row: Sequence[Any]
    viewer: Viewer


@dataclass(frozen=True, slots=True)
class Device:
    """From where somebody signs in."""

    address: str
    is_https: bool


def take_try(t: TeamSession, subject: str, per_quarter: int, now: datetime) -> None:
    """Count a try of this subject. Raises: TooManyTries when it has used up its tries of this quarter hour or day."""
    for name, length_s, allowed in (("q", QUARTER_S, per_quarter), ("d", DAY_S, per_quarter * DAY_FACTOR)):
        index = int(now.timestamp()) // length_s
        ends_at = datetime.fromtimestamp((index + 1) * length_s, tz=now.tzinfo)
        statement = t.insert(FailedTry).values(
            team_id=t.team_id, subject=subject, stretch=f"{name}{index}", tries=1, ends_at=ends_at
        )
        counted = statement.on_conflict_do_update(
            index_elements=["team_id", "subject", "stretch"], set_={"tries": col(FailedTry.tries) + 1}
        ).returning(col(FailedTry.tries))
        if t.session.execute(counted).scalar_one() > allowed:
            wait_s = max(1, int((ends_at - now).total_seconds()))
            minutes = -(-wait_s // 60)
            raise TooManyTries(wait_words(minutes), retry_after_s=wait_s)


def wait_words(minutes: int) -> str:
    """How long to wait after too many wrong tries."""
    if minutes == 1:
        return LazyText("Too many wrong tries. Try again in 1 minute, or ask your coach for a new code sheet.")
    return LazyText(
        "Too many wrong tries. Try again in {minutes} minutes, or ask your coach for a new code sheet.", minutes=minutes
    )


def give_back(t: TeamSession, subject: str, address: str, now: datetime) -> None:
    """A try was right: the subject starts afresh, the address gets this one try back; what is over is forgotten."""
    mine = col(FailedTry.team_id) == t.team_id
    t.execute(delete(FailedTry).where(mine, col(FailedTry.subject) == subject))
    t.execute(update(FailedTry).where(mine, col(FailedTry.subject) == address).values(tries=col(FailedTry.tries) - 1))
    t.execute(delete(FailedTry).where(mine, col(FailedTry.ends_at) < now))


class Accounts:
    """Accounts and sessions of all teams on this server."""

    def __init__(self, store: Store, settings: Settings) -> None:
        self.store = store
        self.settings = settings
        self._lately: OrderedDict[str, Found] = OrderedDict()

    def team_by_code(self, code: str, device: Device, now: datetime) -> Team:
        """The team of a join code. Raises: NotFound; TooManyTries after many wrong codes from one address."""
        team = self.store.find_team(join_code=code)
        if team is None:
            with self.store.write("") as t:
                take_try(t, address_subject(device.address), self.settings.address_tries, now)
            raise NotFound("No team has this code. Look at the code sheet or the wall and type it again.")
        return team

    async def sign_in_player(self, team: Team, number: int, pin: str, device: Device, now: datetime) -> str:
        """Sign a player in; give the token for his phone. Raises: WrongSecret, TooManyTries."""
        with self.store.write(team.id) as t:
            subject, address = f"number:{number}", address_subject(device.address)
            take_try(t, address, self.settings.address_tries, now)
            take_try(t, subject, self.settings.player_tries, now)
            member = t.first(Member, col(Member.number) == number, col(Member.removed_at).is_(None))
        secret_hash = member.secret_hash if member else ""
        is_right = await check_secret(pin, secret_hash or nobodys_hash(True))
        if member is None or not secret_hash or not is_right:
            raise WrongSecret(
                "This number and PIN do not belong together. Your PIN is on the code sheet your coach has."
            )
        return self._begin(member, subject, address, now, timedelta(days=self.settings.player_session_days))

    async def sign_in_coach(self, team_id: str, name: str, passphrase: str, device: Device, now: datetime) -> str:
        """Sign a coach in; give the token for his device. Raises: WrongSecret, TooManyTries."""
        name = name.strip().casefold()
        team = self.store.find_team(team_id=team_id)
        with self.store.write(team.id if team else "") as t:
            subject, address = f"name:{name}", address_subject(device.address)
            take_try(t, address, self.settings.address_tries, now)
            take_try(t, subject, self.settings.player_tries, now)
            wanted = col(Member.sign_in_name) == name
            member = t.first(Member, wanted, col(Member.removed_at).is_(None)) if team else None
        secret_hash = member.secret_hash if member else ""
        is_right = await check_secret(passphrase, secret_hash or nobodys_hash(False))
        if member is None or not secret_hash or not is_right:
            raise WrongSecret("This team, sign-in name and passphrase do not belong together.")
        return self._begin(member, subject, address, now, timedelta(days=self.settings.coach_session_days))

    def _begin(self, member: Member, subject: str, address: str, now: datetime, length: timedelta) -> str:
        token = make_token(member.team_id)
        with self.store.write(member.team_id) as t:
            current = t.get(Member, member.id, what="account")
            if current.secret_hash != member.secret_hash or current.removed_at is not None:
                raise WrongSecret("This account was changed just now. Sign in with its new PIN or passphrase.")
            give_back(t, subject, address, now)
            own = (col(SignIn.team_id) == t.team_id, col(SignIn.member_id) == member.id)
            t.execute(delete(SignIn).where(*own, col(SignIn.ends_at) < now))
            t.add(
                SignIn(
                    team_id=t.team_id,
                    token_hash=token_hash(token),
                    member_id=member.id,
                    created_at=now,
                    seen_at=now,
                    ends_at=now + length,
                )
            )
        return token

    def find_viewer(self, token: str, now: datetime, *, may_be_old: bool = False) -> Viewer | None:
        """Who holds this token; None when nobody does, or not any more.

        ``may_be_old`` takes what was found up to ``LATELY`` ago, without asking the database again: for questions of
        reps, which phones fetch many at a time, and which change nothing.
        """
        hashed = token_hash(token)
        lately = self._lately.get(hashed)
        if may_be_old and lately is not None and now < lately.until:
            return lately.viewer
        found = self._find(token, hashed, lately, now)
        self._lately.pop(hashed, None)
        if found is None:
            return None
        self._lately[hashed] = found
        while len(self._lately) > KEPT_LATELY:
            self._lately.popitem(last=False)
        return found.viewer

    def find_lately(self, token: str, now: datetime) -> Viewer | None:
        """Who was found to hold this token up to ``LATELY`` ago; None when nobody asked with it since."""
        lately = self._lately.get(token_hash(token))
        return lately.viewer if lately is not None and now < lately.until else None

    def _find(self, token: str, hashed: str, lately: Found | None, now: datetime) -> Found | None:
        team_id = find_token_team(token)
        if team_id is None:
            return None
        row = next(iter(self.store.look(team_id, SIGNED_IN, token_hash=hashed)), None)
        if row is None:
            return None
        is_same = lately is not None and lately.row == row
        viewer = lately.viewer if lately and is_same else self._read_viewer(team_id, row.member_id, hashed)
        if viewer is None:
            return None
        member = viewer.member
        if member.removed_at is not None or now >= row.ends_at or now >= row.seen_at + self._idle(member):
            return None
        if now - row.seen_at > SEEN_EVERY:
            with self.store.write(team_id) as t:
                own = (col(SignIn.team_id) == team_id, col(SignIn.token_hash) == hashed)
                t.execute(update(SignIn).where(*own).values(seen_at=now))
        return Found(now + LATELY, row, viewer)

    def _read_viewer(self, team_id: str, member_id: str, hashed: str) -> Viewer | None:
        with self.store.read(team_id) as t:
            member = t.find(Member, member_id)
            return None if member is None else Viewer(t.team(), member, hashed)

    def _idle(self, member: Member) -> timedelta:
        if member.role == Role.PLAYER:
            return timedelta(days=self.settings.player_idle_days)
        return timedelta(hours=self.settings.coach_idle_hours)

    def sign_out(self, viewer: Viewer) -> None:
        """End this device's session."""
        with self.store.write(viewer.team.id) as t:
            sign_in = t.find(SignIn, viewer.token_hash)
            if sign_in is not None:
                t.delete(sign_in)

    async def new_pins(self, viewer: Viewer, member_ids: Sequence[str], now: datetime) -> list[tuple[Member, str]]:
        """New PINs for these players, and the end of their sessions. The PINs are kept nowhere: print them now.

        Raises: NotFound.
        """
        pins = [make_pin() for _ in member_ids]
        hashes = await hash_pins(pins)
        issued: list[tuple[Member, str]] = []
        with self.store.write(viewer.team.id) as t:
            for member_id, pin, secret_hash in zip(member_ids, pins, hashes, strict=True):
                member = t.get(Member, member_id, what="player")
                if member.role != Role.PLAYER or member.removed_at is not None:
                    raise NotFound("There is no such player in your team.")
                member.secret_hash = secret_hash
                t.add(member)
                end_sessions(t, member.id)
                issued.append((member, pin))
            write_audit(t, viewer.member.id, "new PINs", f"{len(issued)} players", now)
        return issued


def end_sessions(t: TeamSession, member_id: str) -> None:
    """End every session of a member."""
    t.execute(delete(SignIn).where(col(SignIn.team_id) == t.team_id, col(SignIn.member_id) == member_id))


def write_audit(t: TeamSession, member_id: str, action: str, subject: str, now: datetime) -> None:
    """Note who did what; ids only, no names."""
    t.add(AuditEntry(team_id=t.team_id, id=make_id(), at=now, member_id=member_id, action=action, subject=subject))


def players(t: TeamSession) -> list[Member]:
    """The team's players by number, those removed left out."""
    is_player = (col(Member.role) == Role.PLAYER.value, col(Member.removed_at).is_(None))
    return t.rows(Member, *is_player, order_by=(col(Member.number), col(Member.id)))


def take_roster(t: TeamSession, roster: Iterable[RosterLine], now: datetime) -> tuple[int, int, int]:
    """Make the team's players those of this roster, by number; count added, changed, removed."""
    known = {member.number: member for member in players(t)}
    added = changed = 0
    for line in roster:
        member = known.pop(line.number, None)
        if member is None:
            added += 1
            member = Member(team_id=t.team_id, id=make_id(), role=Role.PLAYER.value, name=line.name, created_at=now)
        elif (member.name, member.positions) != (line.name, list(line.positions)):
            changed += 1
        member.number, member.name, member.positions = line.number, line.name, list(line.positions)
        t.add(member)
    for member in known.values():
        remove_member(t, member, now)
    return added, changed, len(known)


def removed_players(t: TeamSession) -> list[Member]:
    """Players who were taken off the roster and not erased, the latest first."""
    is_gone = (col(Member.role) == Role.PLAYER.value, col(Member.removed_at).is_not(None))
    return t.rows(Member, *is_gone, order_by=(col(Member.removed_at).desc(), col(Member.id)))


def remove_member(t: TeamSession, member: Member, now: datetime) -> None:
    """Take a member off: his number or sign-in name is free, his sessions end; what he answered stays."""
    member.removed_at = now
    end_sessions(t, member.id)
    t.add(member)


def bring_back(t: TeamSession, member: Member) -> None:
    """Put a removed player back on the roster; his old PIN is not brought back. Raises: BadInput."""
    taken = t.first(Member, col(Member.number) == member.number, col(Member.removed_at).is_(None))
    if taken is not None:
        raise BadInput(
            LazyText("number: {number} is another player's now; expected a free one", number=member.number),
        )
    member.removed_at, member.secret_hash = None, ""
    t.add(member)


def add_coach(t: TeamSession, name: str, role: Role, secret_hash: str, now: datetime) -> Member:
    """A new coach's account. Raises: BadInput when the name is taken or empty."""
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


def require(viewer: Viewer | None) -> Viewer:
    """The viewer. Raises: NeedsSignIn when there is none."""
    if viewer is None:
        raise NeedsSignIn("Sign in to see this page.")
    return viewer
