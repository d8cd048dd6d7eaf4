"""The server, or the database, is killed in the middle of writes again and again while four writers go on."""

import random
import threading
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import httpx

from server.accounts.credentials import make_id
from tests.trust.live import Acknowledged, Count, Phone, Process, Rep, Site, Stands, settle, stands
from tests.trust.postgres import Database

WRITERS = 4
WAIT_S = 120
#: A kill may lose the reply to an answer; nothing else may go wrong.
EXPECTED = frozenset({200, 201, 409, 503})


class Writer(threading.Thread):
    """A phone that sends new answers, the same again, and others that conflict with stored ones."""

    def __init__(self, base: str, phone: Phone, seed: int) -> None:
        super().__init__(daemon=True)
        self.base, self.phone, self.chance = base, phone, random.Random(seed)
        self.ids = {rep: make_id() + make_id() for rep in phone.reps}
        self.told: Acknowledged = {}
        self.wrong: list[str] = []
        self.replies = 0
        self.stop = threading.Event()

    def run(self) -> None:
        headers = self.phone.headers(self.base)
        fresh = list(self.phone.reps)
        with httpx.Client(base_url=self.base, headers=headers, timeout=10) as client:
            while not self.stop.is_set():
                rep = fresh[-1] if fresh and self.chance.random() < 0.6 else self.chance.choice(self.phone.reps)
                try:
                    reply = self.send(client, rep)
                except httpx.TransportError:
                    time.sleep(0.02)
                    continue
                self.replies += reply != 503
                if reply in (200, 201, 409) and fresh and rep == fresh[-1]:
                    fresh.pop()
                elif reply == 503:
                    time.sleep(0.02)

    def send(self, client: httpx.Client, rep: Rep) -> int:
        """Send one answer and record the one that the reply says is stored; return the status. Raises:
        httpx.TransportError."""
        answer_id = self.ids[rep] if self.chance.random() < 0.9 else make_id() + make_id()
        reply = client.put(rep.path(answer_id), json=rep.body(self.chance.choice("abc")))
        if reply.status_code not in EXPECTED:
            self.wrong.append(f"{reply.status_code} {reply.text[:200]}")
        elif reply.status_code != 503:
            self.note((self.phone.member_id, rep.set_id, rep.rep_id), stands(reply.json()), reply.status_code)
        return reply.status_code

    def note(self, key: tuple[str, str, str], said: Stands, status: int) -> None:
        known = self.told.get(key)
        if known is not None and (said != known or status == 201):
            self.wrong.append(f"{known} was acknowledged, then {status} {said}")
        self.told.setdefault(key, said)


@dataclass
class Outcome:
    """The results of a run of kills."""

    count: Count
    wrong: list[str]
    replies: int
    ready_s: list[float] = field(default_factory=list)


def run_kills(site: Site, process: Process, kills: Sequence[Callable[[], float]]) -> Outcome:
    """Keep writers going while each of `kills` (kill, restart, return the seconds until ready) is called in turn,
    each once answers come in, so that even a slow machine is hit in the middle of writes."""
    writers = [Writer(process.base, site.phones[i], seed=i) for i in range(WRITERS)]
    for writer in writers:
        writer.start()
    chance, ready_s = random.Random(11), []
    try:
        for kill_and_start in kills:
            wait_for_replies(writers)
            time.sleep(chance.uniform(0.05, 0.4))
            ready_s.append(kill_and_start())
        wait_for_replies(writers)
        time.sleep(0.5)
    finally:
        for writer in writers:
            writer.stop.set()
        for writer in writers:
            writer.join(timeout=30)
    told: Acknowledged = {}
    for writer in writers:
        told |= writer.told
    wrong = [line for writer in writers for line in writer.wrong]
    return Outcome(settle(site.rows(), told), wrong, sum(w.replies for w in writers), ready_s)


def wait_for_replies(writers: Sequence[Writer]) -> None:
    """Wait until one of these is answered again, however slow the machine. Raises: AssertionError after `WAIT_S`."""
    before, until = [w.replies for w in writers], time.monotonic() + WAIT_S
    while [w.replies for w in writers] == before:
        assert time.monotonic() < until, f"nobody was answered for {WAIT_S} s"
        time.sleep(0.01)


def server_kill(process: Process) -> Callable[[], float]:
    """Kill the server and restart it."""

    def kill_and_start() -> float:
        process.kill()
        return process.start()

    return kill_and_start


def database_kill(database: Database) -> Callable[[], float]:
    """Kill the database under the server and restart it."""

    def kill_and_start() -> float:
        database.kill()
        return database.start()

    return kill_and_start
