"""A server with one team on an embedded database, a clock that the test moves, and people who are signed in."""

import warnings
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path

from server.app import make_app
from server.people import add_coach
from server.security import hash_passphrase, hash_pin
from server.settings import load_settings
from server.store import Store, open_store
from server.tables import Member, Role, Team
from server.teams import add_team
from tests.server.fake_football import FILES, FakeFootball

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # it would rather have another client than httpx
    from starlette.testclient import TestClient

ORIGIN = "http://testserver"
PASSPHRASE = "a horse a staple a tree"
PASSPHRASE_HASH = hash_passphrase(PASSPHRASE)
PIN = "123456"
PIN_HASH = hash_pin(PIN)
START = datetime(2026, 9, 1, 20, 0, tzinfo=UTC)
PAGE = {"accept": "text/html", "origin": ORIGIN}


@dataclass
class Clock:
    """The time as the server sees it."""

    at: datetime = START

    def __call__(self) -> datetime:
        self.at += timedelta(microseconds=1)
        return self.at

    def move(self, **delta: float) -> None:
        self.at += timedelta(**delta)


@dataclass
class House:
    """A running server and its teams."""

    store: Store
    clock: Clock
    client: Callable[[], TestClient]
    teams: list[Team] = field(default_factory=list)

    @property
    def team(self) -> Team:
        return self.teams[0]

    def add_team(self) -> Team:
        """One more team, its players all with the same PIN, with a coach of each role."""
        team = add_team(self.store, FakeFootball(), FILES, self.clock()).team
        with self.store.write(team.id) as t:
            for member in t.rows(Member):
                member.secret_hash = PIN_HASH
                t.add(member)
            for role in (Role.OWNER, Role.COACH, Role.POSITION_COACH):
                coach = add_coach(t, role.value, role, PASSPHRASE_HASH, self.clock())
                coach.groups = ["line"] if role is Role.POSITION_COACH else []
                t.add(coach)
        self.teams.append(team)
        return team

    def player(self, number: int = 54, team: Team | None = None) -> TestClient:
        """A phone on which this player is signed in."""
        client = self.client()
        reply = client.post(f"/join/{(team or self.team).join_code}", data={"number": str(number), "pin": PIN}, headers=PAGE)
        assert reply.url.path == "/home", reply.text
        return client

    def coach(self, role: Role = Role.OWNER, team: Team | None = None) -> TestClient:
        """A device on which a coach is signed in."""
        client = self.client()
        form = {"team": (team or self.team).id, "name": role.value, "passphrase": PASSPHRASE}
        reply = client.post("/coach/sign-in", data=form, headers=PAGE)
        assert reply.url.path == "/coach/board", reply.text
        return client

    def send_set(self, *, hours: float = 24, team: Team | None = None, **fields: object) -> str:
        """A set on Hammer, sent by the owner; its id."""
        due = (self.clock.at + timedelta(hours=hours)).astimezone(UTC)
        local = (due - timedelta(hours=5)).strftime("%Y-%m-%dT%H:%M")
        form = {"call": "Hammer", "positions": ["Mike"], "length": "4", "due": local}
        form |= {"stages": ["1", "2", "3"], "sides": ["left", "right"], **fields}
        reply = self.coach(team=team).post("/coach/sets", data=form, headers=PAGE)
        assert reply.url.path.startswith("/coach/sets/"), reply.text
        return reply.url.path.rsplit("/", 1)[1]


def make_house(folder: Path, **settings: object) -> Iterator[House]:
    used = load_settings(data_dir=folder, **settings)
    store = open_store(used)
    store.migrate()
    clock = Clock()
    app = make_app(used, store=store, football=FakeFootball(), now=clock)
    opened: list[TestClient] = []

    def client() -> TestClient:
        one = TestClient(app, headers={"origin": ORIGIN}, raise_server_exceptions=True)
        opened.append(one)
        return one

    house = House(store, clock, client)
    house.add_team()
    yield house
    for one in opened:
        one.close()
    store.close()
