"""A running server with the demo team, on a local port, for browser tests.

Sets are laid out by hand, so that a test decides which kinds of rep a player gets; everything else is real.
"""

import socket
import threading
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from functools import cached_property
from pathlib import Path
from typing import Any

import uvicorn
from sqlmodel import col

from quizgen.football.keys import slug
from quizgen.reps.catalogue import Catalogue
from server.accounts.credentials import hash_passphrase, hash_pin, make_id
from server.accounts.members import add_coach
from server.app import make_app
from server.commands.demo import demo_files
from server.commands.serving import uvicorn_config
from server.database.store import Store
from server.database.tables import AccountRole, Answer, Assignment, KeptRep, Member, SetRep, Team
from server.errors import Unavailable
from server.playbook.engine import Engine
from server.playbook.stored_reps import snapshot
from server.sets.set_layout import store_opened
from server.settings import Settings, load_settings
from server.team.install import add_team
from tests.harness.databases import open_migrated

PIN = "246810"
PASSPHRASE = "seven gaps, seven men, no excuses"
READY_WITHIN_S = 20.0


def now() -> datetime:
    return datetime.now(UTC)


class EngineWithoutDrill(Engine):
    """Leaves out what a server works out in the background for seconds: it would hold up every test's own server. Sets
    are drawn as they are until it is ready; `tests/sets/test_call_blind.py` and the demo have it."""

    def drill(self, catalogue: Catalogue) -> dict[str, Any]:
        raise Unavailable("left out")


@dataclass
class Site:
    """A running server and its data."""

    address: str
    store: Store
    team: Team
    coach: Member
    _numbers: list[int] = field(default_factory=list)

    @cached_property
    def catalogue(self) -> Catalogue:
        return Catalogue(Engine().load_team(demo_files()))

    def next_player(self) -> Member:
        """A player that no test has used yet."""
        with self.store.read(self.team.id) as t:
            rows = t.rows(Member, col(Member.role) == AccountRole.PLAYER.value, order_by=(col(Member.number),))
            fresh = next(row for row in rows if row.number not in self._numbers)
            self._numbers.append(fresh.number)
            t.session.expunge(fresh)
        return fresh

    def one_of_each(self, kinds: Sequence[str]) -> list[Any]:
        """A rep of each of these kinds."""
        return [next(self.catalogue.reps(kinds=[kind])) for kind in kinds]

    def some(self, count: int, **wanted: Any) -> list[Any]:
        """The first few reps that meet these conditions, no picture twice; positions by name or key."""
        if "positions" in wanted:
            names = {one.key: one.name for one in self.catalogue.team.positions}
            wanted["positions"] = [names.get(one, one) for one in wanted["positions"]]
        found: dict[str, Any] = {}
        for rep in self.catalogue.reps(**wanted):
            found.setdefault(rep.picture, rep)
            if len(found) == count:
                break
        return list(found.values())

    def lay_out(self, player: Member, reps: Sequence[Any], again: Sequence[Any | None] = ()) -> str:
        """Lay out a set of these reps for this player, each with its repeat for a miss; return its id."""
        at = now()
        back = [*again, *([None] * (len(reps) - len(again)))]
        every = {rep.id: rep for rep in [*reps, *back] if rep is not None}
        shown = [snapshot(Engine(), self.team.id, rep, at) for rep in every.values()]
        assignment = Assignment(
            team_id=self.team.id,
            id=make_id(),
            call=reps[0].keys.call,
            positions=[*player.positions],
            stages=[1, 2, 3, 4, 5],
            sides=["left", "right"],
            length=len(reps),
            due_at=at + timedelta(days=1),
            created_at=at,
            created_by=self.coach.id,
        )
        own = {"team_id": self.team.id, "assignment_id": assignment.id, "member_id": player.id}
        rows = []
        for place, (rep, other) in enumerate(zip(reps, back, strict=True), start=1):
            rows.append(SetRep(**own, place=place, rep_id=rep.id))
            if other is not None:
                rows.append(SetRep(**own, place=len(reps) + place, rep_id=other.id, again_of=place))
        with self.store.write(self.team.id) as t:
            t.add(assignment)
            t.session.flush()
            set_id = assignment.id
            store_opened(t, assignment, player.id, shown, rows, at)
        return set_id

    def send(self, *players: Member, call: str = "", length: int = 4) -> str:
        """Send these players a set that nobody has opened yet; return its id."""
        at = now()
        one = Assignment(
            team_id=self.team.id,
            id=make_id(),
            call=slug(call) if call else self.some(1, positions=[players[0].positions[0]])[0].keys.call,
            positions=sorted({position for player in players for position in player.positions}),
            stages=[1, 2, 3, 4, 5],
            sides=["left", "right"],
            length=length,
            player_ids=[player.id for player in players],
            due_at=at + timedelta(days=1),
            created_at=at,
            created_by=self.coach.id,
        )
        with self.store.write(self.team.id) as t:
            t.add(one)
            return one.id

    def parts(self, rep_id: str) -> list[dict[str, Any]]:
        """The parts of a rep as stored, with the right answers."""
        with self.store.read(self.team.id) as t:
            return list(t.get(KeptRep, rep_id).parts)

    def answers(self, player: Member) -> list[tuple[int, bool]]:
        """(place, right) of each stored answer of this player."""
        with self.store.read(self.team.id) as t:
            rows = t.rows(Answer, col(Answer.member_id) == player.id, order_by=(col(Answer.place),))
            return [(row.place, row.is_right) for row in rows]


@contextmanager
def open_site(folder: Path) -> Iterator[Site]:
    """Serve the demo team from this folder for the duration of the block."""
    settings = load_settings(data_dir=folder, database_url="", public_url="")
    store = open_migrated(settings)
    team = add_team(store, Engine(), demo_files(), now()).team
    pin = hash_pin(PIN)
    with store.write(team.id) as t:
        for member in t.rows(Member):
            member.secret_hash = pin
            t.add(member)
        coach = add_coach(t, "coach", AccountRole.OWNER, hash_passphrase(PASSPHRASE), now())
        t.add(coach)
        t.session.flush()
        t.session.refresh(coach)
        t.session.expunge(coach)
    with serving(settings, store) as address:
        yield Site(address, store, team, coach)


@contextmanager
def serving(settings: Settings, store: Store) -> Iterator[str]:
    """Serve this database for the duration of the block, at the address that is given."""
    listening = socket.create_server(("127.0.0.1", 0))
    server = uvicorn.Server(
        uvicorn_config(make_app(settings, store=store, football=EngineWithoutDrill()), settings, ws="none")
    )
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]})
    thread.start()
    try:
        deadline = time.monotonic() + READY_WITHIN_S
        while not server.started:
            assert time.monotonic() < deadline, "the server did not start"
            time.sleep(0.02)
        yield f"http://127.0.0.1:{listening.getsockname()[1]}"
    finally:
        server.should_exit = True
        thread.join()
        listening.close()
