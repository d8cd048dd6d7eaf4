"""A database that is locked or stopped while phones ask, answer and sign in: the server's replies then and afterwards.

SQLite is locked by another process's write transaction, PostgreSQL's processes are stopped. A bare server, asked in
alternation with ours, shows how long this machine alone makes a request wait.
"""

from __future__ import annotations

import contextlib
import json
import os
import signal
import socket
import subprocess
import sys
import threading
import time
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path

import httpx

from server.accounts.credentials import hash_pin, make_id
from server.database.engine import sqlite_module
from server.database.store import open_store
from server.database.tables import Member
from server.settings import Settings
from tests.trust.live import Count, Phone, Process, Site, Stands, free_port, prepare, serving, settle, stands
from tests.trust.postgres import Database

PIN = "135790"
SITE_SETS = 6
PAUSE_S = 0.15
BARE = """
import asyncio, sys
async def answer(reader, writer):
    while line := await reader.readline():
        if line == b"\\r\\n":
            writer.write(b"HTTP/1.1 200 OK\\r\\ncontent-length: 2\\r\\n\\r\\nok")
async def main():
    async with await asyncio.start_server(answer, "127.0.0.1", int(sys.argv[1])) as server:
        await server.serve_forever()
asyncio.run(main())
"""
#: Asks both servers in alternation until its input is closed, then prints how long each took, longest first. It is a
#: separate process, since threads of this one would wait for each other.
PROBE = """
import http.client, json, select, sys, time
asked, took = [http.client.HTTPConnection("127.0.0.1", int(port), timeout=60) for port in sys.argv[1:]], [[], []]
while not select.select([sys.stdin], [], [], 0.01)[0]:
    for one, times in zip(asked, took):
        began = time.perf_counter()
        one.request("GET", "/healthz")
        assert one.getresponse().read()
        times.append(time.perf_counter() - began)
print(json.dumps([sorted(times, reverse=True) for times in took]))
"""


@contextlib.contextmanager
def locked(settings: Settings) -> Iterator[None]:
    """SQLite's write lock, held by this process."""
    other = sqlite_module().connect(settings.data_dir / "gapsound.db", isolation_level=None, timeout=30)
    other.execute("BEGIN IMMEDIATE")
    try:
        yield
    finally:
        other.execute("ROLLBACK")
        other.close()


@contextlib.contextmanager
def stopped(database: Database) -> Iterator[None]:
    """Every process of a PostgreSQL server, stopped."""
    assert database.running is not None
    first = database.running.pid
    children = Path(f"/proc/{first}/task/{first}/children").read_text().split()
    processes = [first, *map(int, children)]
    for one in processes:
        os.kill(one, signal.SIGSTOP)
    try:
        yield
    finally:
        for one in processes:
            with contextlib.suppress(ProcessLookupError):
                os.kill(one, signal.SIGCONT)


@dataclass
class Held:
    """The results: the longest waits (s), the replies, and whether everything acknowledged is stored."""

    health_s: list[float] = field(default_factory=list)
    bare_s: list[float] = field(default_factory=list)
    took_s: dict[str, list[float]] = field(default_factory=dict)
    statuses: dict[str, Counter[int]] = field(default_factory=dict)
    without_retry_after: int = 0
    acknowledged: dict[tuple[str, str, str], Stands] = field(default_factory=dict)
    count: Count | None = None
    worked_after_s: float = 0.0

    def note(self, kind: str, reply: httpx.Response, took_s: float) -> None:
        self.took_s.setdefault(kind, []).append(took_s)
        self.statuses.setdefault(kind, Counter())[reply.status_code] += 1
        self.without_retry_after += reply.status_code == 503 and "retry-after" not in reply.headers

    def figures(self) -> dict[str, object]:
        """For one line of a report."""
        return {
            "healthz_worst_ms": [round(s * 1000, 1) for s in self.health_s[:3]],
            "bare_worst_ms": [round(s * 1000, 1) for s in self.bare_s[:3]],
            "asked": len(self.health_s),
            "slowest_s": {kind: round(max(took), 2) for kind, took in self.took_s.items()},
            "statuses": {kind: dict(found) for kind, found in self.statuses.items()},
            "worked_after_s": round(self.worked_after_s, 2),
            "answers": self.count,
        }


def prepare_site(folder: Path, players: int, database_url: str = "") -> Site:
    """A team whose players have a PIN, each signed in on a phone with opened sets."""
    site, pin_hash = prepare(folder, players=players, sets=SITE_SETS, database_url=database_url), hash_pin(PIN)
    store = open_store(site.settings)
    with store.write(site.team.id) as t:
        for member in t.rows(Member):
            member.secret_hash = pin_hash
            t.add(member)
    store.close()
    return site


def ask_while_held(
    site: Site, hold: Callable[[], contextlib.AbstractContextManager[None]], seconds: float, log: Path | None = None
) -> Held:
    """Let phones ask, answer and sign in for some seconds while the database is held, and until each got its answer."""
    found, is_over = Held(), threading.Event()
    with serving(site.settings, log=log) as process, probing(process.port, found):
        threads = [
            *(threading.Thread(target=answer, args=(process, phone, found, is_over)) for phone in site.phones),
            *(threading.Thread(target=look, args=(process, phone, found, is_over)) for phone in site.phones[::2]),
            *(threading.Thread(target=sign_in, args=(process, site, n, found, is_over)) for n in (1, 2, 3)),
        ]
        for one in threads:
            one.start()
        time.sleep(1)
        with hold():
            time.sleep(seconds)
        released = time.monotonic()
        wait_until_all_works(process, site)
        found.worked_after_s = time.monotonic() - released
        is_over.set()
        for one in threads:
            one.join()
    found.count = settle(site.rows(), found.acknowledged)
    return found


@contextlib.contextmanager
def probing(port: int, found: Held) -> Iterator[None]:
    """Ask for our health, and for that of a server that does nothing else, in alternation until the block ends."""
    bare = free_port()
    with subprocess.Popen((sys.executable, "-c", BARE, str(bare))) as running:
        wait_until_open(bare)
        probe = subprocess.Popen(
            (sys.executable, "-c", PROBE, str(port), str(bare)), stdin=subprocess.PIPE, stdout=subprocess.PIPE
        )
        try:
            yield
        finally:
            said, _ = probe.communicate(timeout=60)
            running.terminate()
    found.health_s, found.bare_s = json.loads(said)


def wait_until_open(port: int) -> None:
    for _ in range(200):
        with contextlib.suppress(OSError), socket.create_connection(("127.0.0.1", port)):
            return
        time.sleep(0.1)


def answer(process: Process, phone: Phone, found: Held, is_over: threading.Event) -> None:
    """Rep by rep: the question, then the answer under one id, until it is acknowledged."""
    with httpx.Client(base_url=process.base, headers=phone.headers(process.base), timeout=30) as client:
        for rep in phone.reps:
            if is_over.is_set():
                return
            ask(client, "question", found, "GET", f"/api/sets/{rep.set_id}/reps/{rep.rep_id}")
            path = rep.path(make_id() + make_id())
            while (reply := ask(client, "answer", found, "PUT", path, json=rep.body("a"))).status_code == 503:
                time.sleep(PAUSE_S)
            found.acknowledged[phone.member_id, rep.set_id, rep.rep_id] = stands(reply.json())
            time.sleep(PAUSE_S)


def look(process: Process, phone: Phone, found: Held, is_over: threading.Event) -> None:
    """A player who opens his home page again and again."""
    with httpx.Client(base_url=process.base, headers=phone.headers(process.base), timeout=30) as client:
        while not is_over.is_set():
            ask(client, "page", found, "GET", "/home")
            time.sleep(PAUSE_S)


def sign_in(process: Process, site: Site, number: int, found: Held, is_over: threading.Event) -> None:
    """A player who signs in again and again."""
    form, path = {"number": str(number), "pin": PIN}, f"/team/{site.team.join_code}"
    while not is_over.is_set():
        with httpx.Client(base_url=process.base, headers={"origin": process.base}, timeout=30) as client:
            ask(client, "sign-in", found, "POST", path, data=form)
        time.sleep(PAUSE_S)


def ask(client: httpx.Client, kind: str, found: Held, method: str, path: str, **sent: object) -> httpx.Response:
    began = time.perf_counter()
    reply = client.request(method, path, **sent)  # type: ignore[arg-type]
    found.note(kind, reply, time.perf_counter() - began)
    return reply


def wait_until_all_works(process: Process, site: Site, within_s: float = 20) -> None:
    """Wait until the server is ready, shows a page and signs a player in. Raises: AssertionError after ``within_s``."""
    until = time.monotonic() + within_s
    form, path = {"number": "1", "pin": PIN}, f"/team/{site.team.join_code}"
    while time.monotonic() < until:
        with httpx.Client(base_url=process.base, headers={"origin": process.base}, timeout=30) as client:
            replies = [client.get("/readyz"), client.post(path, data=form), client.get("/home")]
        if [one.status_code for one in replies] == [200, 303, 200]:
            return
        time.sleep(PAUSE_S)
    raise AssertionError(f"still not working {within_s} s later, at {datetime.now(UTC)}: {replies}")
