"""Signing in: tries and secrets. Knows nothing of pages, reps or football.

A try is counted before the secret is checked and given back when it was right. Rejected: counting afterwards, which
tries sent in parallel get around. Tries are counted in the database: a restart resets nothing.

Who is kept out by wrong tries, and who is not:
- Tries count first for a number (or sign-in name) from one address: a teammate's wrong PINs shut that number there, for
  a quarter of an hour, and nowhere else.
- A number has a limit from all addresses together too, for a quarter of an hour, a day and a season: a six-digit PIN
  stays unguessed. It opens again by a new PIN.
- A device on which he signed in before has a count of its own and asks no other.
- An address is slowed, never shut: a school sits behind one. So is a coach's name: a passphrase isn't guessed one try
  in ten seconds, and the owner always gets in.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import delete, or_, update
from sqlmodel import col

from server.accounts.credentials import (
    KEY_KEPT,
    KEY_LENGTH,
    address_subject,
    check_secret,
    dummy_hash,
    hash_pins,
    make_device_key,
    make_pin,
    make_token,
    token_hash,
)
from server.accounts.members import write_audit
from server.accounts.sessions import Viewer, end_sessions
from server.database.device_table import KnownDevice
from server.database.store import Store, TeamSession
from server.database.tables import AccountRole, FailedTry, Member, SignIn, Team
from server.database.write_queue import WriteQueue
from server.errors import NotFound, TooManyTries, WrongSecret
from server.i18n.lazy_text import LazyText
from server.settings import Settings

TRY_WINDOW_S, DAY_S, SEASON_S = 900, 86_400, 200 * 86_400
DAY_FACTOR = 4  # a day allows four times as many tries as a quarter of an hour
#: From all addresses together a number allows twice as many tries in a quarter of an hour as from one, and as many in a
#: season as leave a six-digit PIN unguessed: two seasons' counts can meet in 200 days: at most 900 tries of a million.
NUMBER_FACTOR, OF_SEASON = 2, 450
#: Beyond its limit an address, or a coach's name there, may try this often in so many seconds.
SLOW_TRIES, SLOW_S = 1, 10


@dataclass(frozen=True, slots=True)
class Device:
    """The device that somebody signs in from; ``key`` is what its cookie holds, empty for a new device."""

    address: str
    is_https: bool
    key: str = ""


def count_try(t: TeamSession, subject: str, name: str, length_s: int, now: datetime) -> tuple[int, int]:
    """Count a try in the current stretch of this length; return how many it has now, and seconds until the next."""
    index = int(now.timestamp()) // length_s
    ends_at = datetime.fromtimestamp((index + 1) * length_s, tz=now.tzinfo)
    statement = t.insert(FailedTry).values(
        team_id=t.team_id, subject=subject, stretch=f"{name}{index}", tries=1, ends_at=ends_at
    )
    counted = statement.on_conflict_do_update(
        index_elements=["team_id", "subject", "stretch"], set_={"tries": col(FailedTry.tries) + 1}
    ).returning(col(FailedTry.tries))
    return t.session.execute(counted).scalar_one(), max(1, int((ends_at - now).total_seconds()))


def take_try(t: TeamSession, subject: str, per_quarter: int, now: datetime, of_season: int = 0) -> None:
    """Count a try. Raises: TooManyTries when the subject has none left in this quarter of an hour, day or season (0:
    its season has no limit)."""
    limits = [("q", TRY_WINDOW_S, per_quarter), ("d", DAY_S, per_quarter * DAY_FACTOR)]
    for name, length_s, allowed in [*limits, *([("s", SEASON_S, of_season)] if of_season else [])]:
        tries, wait_s = count_try(t, subject, name, length_s, now)
        if tries > allowed:
            raise TooManyTries(too_many_tries_message(-(-wait_s // 60)), retry_after_s=wait_s)


def slow_down(t: TeamSession, subject: str, per_quarter: int, now: datetime) -> None:
    """Count a try of a subject that is never shut: beyond its limit it may try once in a few seconds. Raises:
    TooManyTries."""
    every = [count_try(t, subject, "q", TRY_WINDOW_S, now)[0] > per_quarter]
    every.append(count_try(t, subject, "d", DAY_S, now)[0] > per_quarter * DAY_FACTOR)
    if any(every):
        tries, wait_s = count_try(t, subject, "w", SLOW_S, now)
        if tries > SLOW_TRIES:
            raise TooManyTries(slow_down_message(wait_s), retry_after_s=wait_s)


def slow_down_message(seconds: int) -> str:
    """The message where tries are slowed."""
    if seconds == 1:
        return LazyText("Many wrong tries came from here. Try again in 1 second.")
    return LazyText("Many wrong tries came from here. Try again in {seconds} seconds.", seconds=seconds)


def find_device_key(key: str) -> str:
    """The hash that a device's key is stored under; empty for none, or one that we can't have made."""
    return token_hash(key) if len(key) == KEY_LENGTH else ""


def too_many_tries_message(minutes: int) -> str:
    """The message after too many wrong tries."""
    if minutes == 1:
        return LazyText("Too many wrong tries. Try again in 1 minute, or ask your coach for a new code sheet.")
    return LazyText(
        "Too many wrong tries. Try again in {minutes} minutes, or ask your coach for a new code sheet.", minutes=minutes
    )


@dataclass(frozen=True, slots=True)
class Taken:
    """What a try was counted for: ``own`` counts begin afresh after a right try, ``shared`` ones get it back."""

    own: tuple[str, ...]
    shared: tuple[str, ...] = ()


def give_back(t: TeamSession, taken: Taken, now: datetime) -> None:
    """After a right try: reset its own counts, give the shared ones a try back, delete expired counts."""
    mine = col(FailedTry.team_id) == t.team_id
    t.execute(delete(FailedTry).where(mine, col(FailedTry.subject).in_(taken.own)))
    shared = (mine, col(FailedTry.subject).in_(taken.shared))
    t.execute(update(FailedTry).where(*shared).values(tries=col(FailedTry.tries) - 1))
    t.execute(delete(FailedTry).where(mine, col(FailedTry.ends_at) < now))


def forget_tries(t: TeamSession, number: int | None) -> None:
    """Delete all counts of a number, from whatever address: it has a new PIN, or another player."""
    mine, subject = col(FailedTry.team_id) == t.team_id, col(FailedTry.subject)
    t.execute(delete(FailedTry).where(mine, or_(subject == f"number:{number}", subject.like(f"number:{number}@%"))))


@dataclass(frozen=True, slots=True)
class SignedInDevice:
    """What a device gets for its cookies: the session's token, and the key by which it is known from now on."""

    token: str
    key: str


def find_known(t: TeamSession, member: Member | None, device: Device) -> str | None:
    """The subject that a device's tries count for, if this member signed in on it before."""
    key_hash = find_device_key(device.key)
    if member is None or not key_hash or t.find(KnownDevice, key_hash, member.id) is None:
        return None
    return f"device:{key_hash[:32]}"


class SignIns:
    """Signing in to the teams on this server."""

    def __init__(self, store: Store, writes: WriteQueue, settings: Settings) -> None:
        self.store = store
        self.writes = writes
        self.settings = settings

    def team_by_code(self, code: str, device: Device, now: datetime) -> Team:
        """The team with this code. Raises: NotFound; TooManyTries after many wrong codes from one address."""
        team = self.store.find_team(join_code=code)
        if team is None:
            address = address_subject(device.address)
            self.writes.write("", lambda t: slow_down(t, address, self.settings.address_tries, now))
            raise NotFound("No team has this code. Look at the code sheet or the wall and type it again.")
        return team

    def sign_in_player(self, team: Team, number: int, pin: str, device: Device, now: datetime) -> SignedInDevice:
        """Sign a player in. Raises: WrongSecret, TooManyTries."""
        subject, address = f"number:{number}", address_subject(device.address)
        here, tries = f"{subject}@{address}", self.settings.player_tries

        def find(t: TeamSession) -> tuple[Member | None, Taken]:
            member = t.first(Member, col(Member.number) == number, col(Member.removed_at).is_(None))
            if (known := find_known(t, member, device)) is not None:
                take_try(t, known, tries * NUMBER_FACTOR, now)
                return member, Taken((known,))
            slow_down(t, address, self.settings.address_tries, now)
            take_try(t, here, tries, now)
            take_try(t, subject, tries * NUMBER_FACTOR, now, OF_SEASON)
            return member, Taken((here,), (subject, address))

        member, taken = self.writes.write(team.id, find)
        secret_hash = member.secret_hash if member else ""
        is_right = check_secret(pin, secret_hash or dummy_hash(True))
        if member is None or not secret_hash or not is_right:
            raise WrongSecret(
                "This number and PIN do not belong together. Your PIN is on the code sheet your coach has."
            )
        return self._begin(member, taken, device, now, timedelta(days=self.settings.player_session_days))

    def sign_in_coach(self, team_id: str, name: str, passphrase: str, device: Device, now: datetime) -> SignedInDevice:
        """Sign a coach in. Raises: WrongSecret, TooManyTries."""
        name = name.strip().casefold()
        team = self.store.find_team(team_id=team_id)
        address = address_subject(device.address)
        here = f"name:{name}@{address}"

        def find(t: TeamSession) -> tuple[Member | None, Taken]:
            wanted = col(Member.sign_in_name) == name
            member = t.first(Member, wanted, col(Member.removed_at).is_(None)) if team else None
            if (known := find_known(t, member, device)) is not None:
                slow_down(t, known, self.settings.player_tries, now)
                return member, Taken((known,))
            slow_down(t, address, self.settings.address_tries, now)
            slow_down(t, here, self.settings.player_tries, now)
            return member, Taken((here,), (address,))

        member, taken = self.writes.write(team.id if team else "", find)
        secret_hash = member.secret_hash if member else ""
        is_right = check_secret(passphrase, secret_hash or dummy_hash(False))
        if member is None or not secret_hash or not is_right:
            raise WrongSecret("This team, sign-in name and passphrase do not belong together.")
        return self._begin(member, taken, device, now, timedelta(days=self.settings.coach_session_days))

    def _begin(self, member: Member, taken: Taken, device: Device, now: datetime, length: timedelta) -> SignedInDevice:
        token = make_token(member.team_id)
        key = device.key if find_device_key(device.key) else make_device_key()

        def store(t: TeamSession) -> None:
            current = t.get(Member, member.id, what="account")
            if current.secret_hash != member.secret_hash or current.removed_at is not None:
                raise WrongSecret("This account was changed just now. Sign in with its new PIN or passphrase.")
            give_back(t, taken, now)
            own = (col(SignIn.team_id) == t.team_id, col(SignIn.member_id) == member.id)
            t.execute(delete(SignIn).where(*own, col(SignIn.ends_at) < now))
            devices = (col(KnownDevice.team_id) == t.team_id, col(KnownDevice.member_id) == member.id)
            t.execute(delete(KnownDevice).where(*devices, col(KnownDevice.seen_at) < now - KEY_KEPT))
            known = t.find(KnownDevice, find_device_key(key), member.id)
            if known is None:
                known = KnownDevice(team_id=t.team_id, key_hash=find_device_key(key), member_id=member.id, seen_at=now)
            known.seen_at = now
            t.add(known)
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

        self.writes.write(member.team_id, store)
        return SignedInDevice(token, key)

    def new_pins(self, viewer: Viewer, member_ids: Sequence[str], now: datetime) -> list[tuple[Member, str]]:
        """Give these players new PINs and end their sessions. The PINs are stored only as hashes: print them now.

        Raises: NotFound.
        """
        pins = [make_pin() for _ in member_ids]
        hashes = hash_pins(pins)

        def store(t: TeamSession) -> list[tuple[Member, str]]:
            issued: list[tuple[Member, str]] = []
            for member_id, pin, secret_hash in zip(member_ids, pins, hashes, strict=True):
                member = t.get(Member, member_id, what="player")
                if member.role != AccountRole.PLAYER or member.removed_at is not None:
                    raise NotFound("There is no such player in your team.")
                member.secret_hash = secret_hash
                t.add(member)
                end_sessions(t, member.id)
                # Wrong tries with the old PIN say nothing about the new one, which opens his number at once.
                forget_tries(t, member.number)
                issued.append((member, pin))
            write_audit(t, viewer.member.id, "new PINs", f"{len(issued)} players", now)
            return issued

        return self.writes.write(viewer.team.id, store)
