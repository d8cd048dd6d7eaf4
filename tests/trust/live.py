"""Shared by the tests of trust: a prepared database, server processes on loopback, phones, and the final count.

Players, sessions and sets are stored directly, so that a run begins within a second. Everything after that goes through
a real server process over a real socket.
"""

import json
import os
import select
import signal
import subprocess
import sys
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from server.accounts.credentials import cookie_name, make_id, make_token, token_hash
from server.accounts.members import take_roster
from server.database.store import open_store
from server.database.tables import AccountRole, Answer, Assignment, Member, PlayerSet, SetRep, SignIn, Team
from server.playbook.stored_reps import snapshot
from server.settings import Settings, load_settings
from server.team.install import add_team
from tests.harness.databases import open_migrated
from tests.harness.fake_football import FILES, REPS, FakeFootball, RosterEntry
from tests.harness.ports import free_port

ROOT = Path(__file__).resolve().parent.parent.parent
READY_WITHIN_S = 60.0
MIKES = tuple(rep for rep in REPS if rep.position == "Mike" and rep.call == "Hammer")  # 16 of them


@dataclass(frozen=True, slots=True)
class Rep:
    """One question for one player."""

    set_id: str
    rep_id: str
    parts: int

    def body(self, choice: str) -> dict[str, Any]:
        return {"rep_id": self.rep_id, "chosen": [choice] * self.parts}

    def path(self, answer_id: str) -> str:
        return f"/api/sets/{self.set_id}/answers/{answer_id}"


@dataclass(frozen=True, slots=True)
class Phone:
    """A signed-in player and all reps that he may answer."""

    member_id: str
    token: str
    reps: tuple[Rep, ...]

    def headers(self, base: str) -> dict[str, str]:
        return {"origin": base, "cookie": f"{cookie_name(False)}={self.token}"}


@dataclass
class Site:
    """A database with one team in it."""

    settings: Settings
    team: Team
    phones: list[Phone] = field(default_factory=list)

    def rows(self) -> list[Answer]:
        store = open_store(self.settings)
        with store.read(self.team.id) as t:
            rows = t.rows(Answer)
        store.close()
        return rows


def prepare(folder: Path, *, players: int, sets: int, database_url: str = "") -> Site:
    """A database with that many players, each signed in on a phone with that many opened sets of sixteen reps."""
    settings = load_settings(data_dir=folder, database_url=database_url)
    store, now = open_migrated(settings), datetime.now(UTC)
    site = Site(settings, add_team(store, FakeFootball(), FILES, now).team)
    with store.write(site.team.id) as t:
        take_roster(t, [RosterEntry(n, f"P{n}", ("Mike",)) for n in range(1, players + 1)], now)
        members = [m.id for m in t.rows(Member) if m.role == AccountRole.PLAYER.value and m.removed_at is None]
        for rep in MIKES:
            t.add(snapshot(FakeFootball(), site.team.id, rep, now))
        assignments = [store_set(site.team.id, members[0], now) for _ in range(sets)]
        ids = [one.id for one in assignments]
        t.session.add_all(assignments)
        t.session.flush()
        for member_id in members[:players]:
            site.phones.append(sign_in(t.session, site.team.id, member_id, ids, now))
    store.close()
    return site


def store_set(team_id: str, by: str, now: datetime) -> Assignment:
    return Assignment(
        team_id=team_id,
        id=make_id(),
        call="Hammer",
        positions=["Mike"],
        stages=[1, 2, 3],
        sides=["left", "right"],
        length=len(MIKES),
        due_at=now + timedelta(days=1),
        created_at=now,
        created_by=by,
    )


def sign_in(session: Any, team_id: str, member_id: str, set_ids: Sequence[str], now: datetime) -> Phone:
    token = make_token(team_id)
    own = {"team_id": team_id, "member_id": member_id}
    ends = now + timedelta(days=9)
    session.add(SignIn(**own, token_hash=token_hash(token), created_at=now, seen_at=now, ends_at=ends))
    reps = []
    for set_id in set_ids:
        session.add(PlayerSet(**own, assignment_id=set_id, opened_at=now))
        for place, rep in enumerate(MIKES, start=1):
            session.add(SetRep(**own, assignment_id=set_id, place=place, rep_id=rep.id))
            reps.append(Rep(set_id, rep.id, len(rep.parts)))
    session.flush()
    return Phone(member_id, token, tuple(reps))


class Process:
    """A server process whose port stays the same across restarts."""

    def __init__(
        self, settings: Settings, *, log: Path | None = None, options: Sequence[str] = (), descriptors: int = 0
    ) -> None:
        self.settings, self.log, self.options, self.port = settings, log, list(options), free_port()
        self.descriptors = descriptors  # 0: as many as this process may have
        self.running: subprocess.Popen[bytes] | None = None

    @property
    def base(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    @property
    def pid(self) -> int:
        assert self.running is not None
        return self.running.pid

    def start(self) -> float:
        """Start it; return the seconds until it answered."""
        environment = {**os.environ, "PYTHONPATH": str(ROOT), "GAPSOUND_DATABASE_URL": self.settings.database_url}
        command = (sys.executable, "-m", "tests.trust.served", str(self.settings.data_dir), str(self.port))
        if self.descriptors:
            command = ("sh", "-c", f'ulimit -n {self.descriptors}; exec "$@"', "sh", *command)
        began = time.monotonic()
        with (self.log or Path(os.devnull)).open("ab") as errors:
            self.running = subprocess.Popen(
                (*command, *self.options), cwd=ROOT, env=environment, stdout=subprocess.PIPE, stderr=errors
            )
        assert self.running.stdout is not None
        readable, _, _ = select.select([self.running.stdout], [], [], READY_WITHIN_S)
        if not readable or b"ready" not in self.running.stdout.readline():
            self.kill()
            raise AssertionError("the server did not start")
        return time.monotonic() - began

    def kill(self) -> None:
        """End it at once, as a power cut would."""
        self.stop(signal.SIGKILL)

    def stop(self, how: int = signal.SIGTERM) -> None:
        if self.running is None:
            return
        self.running.send_signal(how)
        self.running.wait(timeout=30)
        assert self.running.stdout is not None
        self.running.stdout.close()
        self.running = None


@contextmanager
def serving(
    settings: Settings, *, log: Path | None = None, options: Sequence[str] = (), descriptors: int = 0
) -> Iterator[Process]:
    """A server process until the block ends."""
    process = Process(settings, log=log, options=options, descriptors=descriptors)
    process.start()
    try:
        yield process
    finally:
        process.stop()


Stands = tuple[str, tuple[str, ...]]
Acknowledged = dict[tuple[str, str, str], Stands]


def stands(reply: dict[str, Any]) -> Stands:
    """The answer that a reply says is stored."""
    return reply["answer"]["id"], tuple(reply["answer"]["chosen"])


@dataclass(frozen=True, slots=True)
class Count:
    """What happened to acknowledged answers."""

    acknowledged: int
    lost: int
    doubled: int
    changed: int

    @property
    def is_clean(self) -> bool:
        return self.acknowledged > 0 and (self.lost, self.doubled, self.changed) == (0, 0, 0)


def settle(rows: Sequence[Answer], told: Acknowledged) -> Count:
    """Compare the answers that phones were told are stored (by member, set, rep) with the stored ones."""
    stored: dict[tuple[str, str, str], list[Stands]] = {}
    for row in rows:
        stored.setdefault((row.member_id, row.assignment_id, row.rep_id), []).append((row.id, tuple(row.chosen)))
    lost = sum(key not in stored for key in told)
    doubled = sum(len(found) > 1 for found in stored.values())
    changed = sum(key in stored and known not in stored[key] for key, known in told.items())
    return Count(len(told), lost, doubled, changed)


def report(name: str, **figures: object) -> None:
    """One line of figures for people and programs."""
    print(json.dumps({"run": name, **figures}, default=str), flush=True)
