"""A server with teams on its own database, a clock that the test moves, and signed-in people."""

import re
import warnings
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from fastapi import FastAPI

from server.accounts.credentials import cookie_name, hash_pin, make_id, make_token, token_hash
from server.accounts.members import add_coach
from server.app import make_app
from server.database.store import Store
from server.database.tables import AccountRole, Member, SignIn, Team
from server.settings import Settings, load_settings
from server.team.install import add_team
from tests.harness.databases import open_migrated
from tests.harness.fake_football import FILES, FakeFootball

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # it would prefer another client than httpx
    from starlette.testclient import TestClient

ORIGIN = "http://testserver"
PASSPHRASE = "a horse a staple a tree"
PASSPHRASE_HASH = hash_pin(PASSPHRASE)  # the lighter hash, so that tests sign in faster
PIN = "123456"
PIN_HASH = hash_pin(PIN)
START = datetime(2026, 9, 1, 20, 0, tzinfo=UTC)
PAGE = {"accept": "text/html", "origin": ORIGIN}
ANSWER_ID = re.compile(r'name="answer_id" value="([^"]+)"')


@dataclass
class Clock:
    """The server's time; it advances a little at every look."""

    at: datetime = START

    def __call__(self) -> datetime:
        self.at += timedelta(microseconds=1)
        return self.at

    def move(self, **delta: float) -> None:
        self.at += timedelta(**delta)


@dataclass
class House:
    """A running server and its teams."""

    settings: Settings
    store: Store
    clock: Clock
    app: FastAPI
    teams: list[Team] = field(default_factory=list)
    opened: list[TestClient] = field(default_factory=list)

    @property
    def team(self) -> Team:
        """The first team."""
        return self.teams[0]

    def client(self) -> TestClient:
        """A device without a session."""
        client = TestClient(self.app, headers={"origin": ORIGIN})
        self.opened.append(client)
        return client

    def add_team(self) -> Team:
        """Add a team, with the same PIN for all its players and a coach of each role."""
        team = add_team(self.store, FakeFootball(), FILES, self.clock()).team
        with self.store.write(team.id) as t:
            for member in t.rows(Member):
                member.secret_hash = PIN_HASH
                t.add(member)
            for role in (AccountRole.OWNER, AccountRole.COACH, AccountRole.POSITION_COACH):
                coach = add_coach(t, role.value, role, PASSPHRASE_HASH, self.clock())
                coach.groups = ["line"] if role is AccountRole.POSITION_COACH else []
                t.add(coach)
        self.teams.append(team)
        return team

    def player(self, number: int = 54, team: Team | None = None) -> TestClient:
        """A phone with this player signed in."""
        return self.signed_in(self.member(number, team), days=self.settings.player_session_days)

    def coach(self, role: AccountRole = AccountRole.OWNER, team: Team | None = None) -> TestClient:
        """A device with a coach signed in."""
        with self.store.read((team or self.team).id) as t:
            member = next(m for m in t.rows(Member) if m.sign_in_name == role.value)
        return self.signed_in(member, days=self.settings.coach_session_days)

    def signed_in(self, member: Member, *, days: float) -> TestClient:
        """A device with a session of this member, as after signing in: its row stored, its cookie set."""
        client, token, now = self.client(), make_token(member.team_id), self.clock()
        with self.store.write(member.team_id) as t:
            own = {"team_id": t.team_id, "token_hash": token_hash(token), "member_id": member.id}
            t.add(SignIn(**own, created_at=now, seen_at=now, ends_at=now + timedelta(days=days)))
        client.cookies.set(cookie_name(False), token, domain="testserver.local", path="/")
        return client

    def member(self, number: int = 54, team: Team | None = None) -> Member:
        """A player's row."""
        with self.store.read((team or self.team).id) as t:
            return next(m for m in t.rows(Member) if m.number == number and m.removed_at is None)

    def send_set(self, *, hours: float = 24, team: Team | None = None, **fields: object) -> str:
        """Send a set on Hammer to Mike as the owner; return its id."""
        form = {"call": "Hammer", "positions": ["Mike"], "length": "4", "due": local_time(self.clock.at, hours=hours)}
        form |= {"stages": ["1", "2", "3"], "sides": ["left", "right"], **fields}
        reply = self.coach(team=team).post("/coach/sets", data=form, headers=PAGE)
        assert reply.url.path.startswith("/coach/sets/"), reply.text
        return reply.url.path.rsplit("/", 1)[1]

    def open_set(self, phone: TestClient, set_id: str) -> list[dict]:
        """Lay a set out for a player; return its places as the script gets them."""
        assert phone.post(f"/sets/{set_id}/open", headers=PAGE).status_code == 200
        return phone.get(f"/api/sets/{set_id}").json()["places"]


def local_time(now: datetime, **delta: float) -> str:
    """A moment relative to now, as a form field in the made-up team's time zone."""
    return (now + timedelta(**delta)).astimezone(ZoneInfo("America/Chicago")).strftime("%Y-%m-%dT%H:%M")


def chosen(rep_id: str, choice: str = "b") -> list[str]:
    """That choice for each part of a made-up rep."""
    return [choice] * (2 if "open-gap" in rep_id else 1)


def answer_url(set_id: str, answer_id: str | None = None) -> str:
    """The address to put an answer at, with a new id unless one is given."""
    return f"/api/sets/{set_id}/answers/{answer_id or make_id() + make_id()}"


def make_house(folder: Path, **settings: object) -> Iterator[House]:
    """A server with one team, removed after the test."""
    used = load_settings(data_dir=folder, **settings)
    store = open_migrated(used)
    clock = Clock()
    house = House(used, store, clock, make_app(used, store=store, football=FakeFootball(), now=clock))
    house.add_team()
    yield house
    for one in house.opened:
        one.close()
    store.close()
