"""Signing in: tries and secrets. Knows nothing of pages, reps or football.

A try is counted before the secret is checked and given back when it was right. Rejected: counting afterwards, which
tries sent in parallel get around. Tries are counted per player (or sign-in name) and per address, separately, in the
database: a restart resets nothing, and one player's wrong PINs never lock out the other forty behind a school's
address.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import delete, update
from sqlmodel import col

from server.accounts.credentials import (
    address_subject,
    check_secret,
    dummy_hash,
    hash_pins,
    make_pin,
    make_token,
    token_hash,
)
from server.accounts.members import write_audit
from server.accounts.sessions import Viewer, end_sessions
from server.database.store import Store, TeamSession
from server.database.tables import AccountRole, FailedTry, Member, SignIn, Team
from server.database.write_queue import WriteQueue
from server.errors import NotFound, TooManyTries, WrongSecret
from server.i18n.lazy_text import LazyText
from server.settings import Settings

TRY_WINDOW_S, DAY_S = 900, 86_400
DAY_FACTOR = 4  # a day allows four times as many tries as a quarter of an hour


@dataclass(frozen=True, slots=True)
class Device:
    """The device that somebody signs in from."""

    address: str
    is_https: bool


def take_try(t: TeamSession, subject: str, per_quarter: int, now: datetime) -> None:
    """Count a try. Raises: TooManyTries when the subject has no tries left in this quarter of an hour or day."""
    for name, length_s, allowed in (("q", TRY_WINDOW_S, per_quarter), ("d", DAY_S, per_quarter * DAY_FACTOR)):
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
            raise TooManyTries(too_many_tries_message(minutes), retry_after_s=wait_s)


def too_many_tries_message(minutes: int) -> str:
    """The message after too many wrong tries."""
    if minutes == 1:
        return LazyText("Too many wrong tries. Try again in 1 minute, or ask your coach for a new code sheet.")
    return LazyText(
        "Too many wrong tries. Try again in {minutes} minutes, or ask your coach for a new code sheet.", minutes=minutes
    )


def give_back(t: TeamSession, subject: str, address: str, now: datetime) -> None:
    """After a right try: reset the subject's count, give the address one try back, delete expired counts."""
    mine = col(FailedTry.team_id) == t.team_id
    t.execute(delete(FailedTry).where(mine, col(FailedTry.subject) == subject))
    t.execute(update(FailedTry).where(mine, col(FailedTry.subject) == address).values(tries=col(FailedTry.tries) - 1))
    t.execute(delete(FailedTry).where(mine, col(FailedTry.ends_at) < now))


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
            self.writes.write(
                "", lambda t: take_try(t, address_subject(device.address), self.settings.address_tries, now)
            )
            raise NotFound("No team has this code. Look at the code sheet or the wall and type it again.")
        return team

    def sign_in_player(self, team: Team, number: int, pin: str, device: Device, now: datetime) -> str:
        """Sign a player in; return the token for his phone. Raises: WrongSecret, TooManyTries."""
        subject, address = f"number:{number}", address_subject(device.address)

        def find(t: TeamSession) -> Member | None:
            self._take_tries(t, subject, address, now)
            return t.first(Member, col(Member.number) == number, col(Member.removed_at).is_(None))

        member = self.writes.write(team.id, find)
        secret_hash = member.secret_hash if member else ""
        is_right = check_secret(pin, secret_hash or dummy_hash(True))
        if member is None or not secret_hash or not is_right:
            raise WrongSecret(
                "This number and PIN do not belong together. Your PIN is on the code sheet your coach has."
            )
        return self._begin(member, subject, address, now, timedelta(days=self.settings.player_session_days))

    def sign_in_coach(self, team_id: str, name: str, passphrase: str, device: Device, now: datetime) -> str:
        """Sign a coach in; return the token for his device. Raises: WrongSecret, TooManyTries."""
        name = name.strip().casefold()
        team = self.store.find_team(team_id=team_id)
        subject, address = f"name:{name}", address_subject(device.address)

        def find(t: TeamSession) -> Member | None:
            self._take_tries(t, subject, address, now)
            wanted = col(Member.sign_in_name) == name
            return t.first(Member, wanted, col(Member.removed_at).is_(None)) if team else None

        member = self.writes.write(team.id if team else "", find)
        secret_hash = member.secret_hash if member else ""
        is_right = check_secret(passphrase, secret_hash or dummy_hash(False))
        if member is None or not secret_hash or not is_right:
            raise WrongSecret("This team, sign-in name and passphrase do not belong together.")
        return self._begin(member, subject, address, now, timedelta(days=self.settings.coach_session_days))

    def _take_tries(self, t: TeamSession, subject: str, address: str, now: datetime) -> None:
        take_try(t, address, self.settings.address_tries, now)
        take_try(t, subject, self.settings.player_tries, now)

    def _begin(self, member: Member, subject: str, address: str, now: datetime, length: timedelta) -> str:
        token = make_token(member.team_id)

        def store(t: TeamSession) -> None:
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

        self.writes.write(member.team_id, store)
        return token

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
                his_tries = (col(FailedTry.team_id) == t.team_id, col(FailedTry.subject) == f"number:{member.number}")
                t.execute(delete(FailedTry).where(*his_tries))
                issued.append((member, pin))
            write_audit(t, viewer.member.id, "new PINs", f"{len(issued)} players", now)
            return issued

        return self.writes.write(viewer.team.id, store)
