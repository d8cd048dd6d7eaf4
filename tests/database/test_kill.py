"""The server is killed in the middle of writes, again and again: acknowledged answers are there, once, unchanged.

GAPSOUND_TEST_KILLS sets the number of kills for a longer run.
"""

import os
import random
import signal
import subprocess
import sys
import threading
import time
from datetime import timedelta
from pathlib import Path

import httpx
import pytest

from server.accounts.credentials import make_id
from server.accounts.members import take_roster
from server.database.tables import Answer, Member
from tests.harness.fake_football import RosterEntry
from tests.harness.house import PIN_HASH, House, chosen, make_house
from tests.harness.ports import free_port

KILLS = int(os.environ.get("GAPSOUND_TEST_KILLS", "2"))
WRITERS = 4
PLAYERS = 6
READY_WITHIN_S = 30.0
ROOT = Path(__file__).resolve().parent.parent.parent


class Server:
    """The server in its own process, restarted on the same port after each kill."""

    def __init__(self, house: House) -> None:
        self.house = house
        self.port = free_port()
        self.process: subprocess.Popen[str] | None = None

    def start(self) -> None:
        url = self.house.settings.database_url
        environment = {**os.environ, "PYTHONPATH": str(ROOT), "GAPSOUND_DATABASE_URL": url}
        command = (sys.executable, "-m", "tests.harness.served", str(self.house.settings.data_dir), str(self.port))
        self.process = subprocess.Popen(
            command, cwd=ROOT, env=environment, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True
        )
        assert self.process.stdout is not None
        started = time.monotonic()
        while self.process.poll() is None and time.monotonic() - started < READY_WITHIN_S:
            if "ready" in self.process.stdout.readline():
                return
        raise AssertionError("the server did not start")

    def kill(self) -> None:
        assert self.process is not None
        self.process.send_signal(signal.SIGKILL)
        self.process.wait()
        assert self.process.stdout is not None
        self.process.stdout.close()


class Writer(threading.Thread):
    """A phone that sends each answer until it is acknowledged, each at least twice, some with a conflict."""

    def __init__(self, server: Server, cookies: dict, work: list[tuple[str, str]], seed: int) -> None:
        super().__init__(daemon=True)
        self.server, self.cookies, self.chance = server, cookies, random.Random(seed)
        self.waiting = [(set_id, rep_id, make_id() + make_id()) for set_id, rep_id in work]
        self.acknowledged: dict[tuple[str, str], tuple[str, list[str]]] = {}
        self.wrong: list[str] = []
        self.stop = threading.Event()

    def run(self) -> None:
        base = f"http://127.0.0.1:{self.server.port}"
        with httpx.Client(base_url=base, cookies=self.cookies, headers={"origin": base}, timeout=5) as client:
            while not self.stop.is_set():
                set_id, rep_id, answer_id = self.chance.choice(self.waiting)
                known = self.acknowledged.get((set_id, rep_id))
                choice = chosen(rep_id, self.chance.choice("abc"))
                url = f"/api/sets/{set_id}/answers/{answer_id}"
                try:
                    reply = client.put(url, json={"rep_id": rep_id, "chosen": choice})
                except httpx.TransportError:
                    time.sleep(0.02)
                    continue
                if reply.status_code == 503:
                    continue
                if reply.status_code not in (200, 201, 409):
                    self.wrong.append(f"{reply.status_code} {reply.text[:200]}")
                    continue
                stands = (reply.json()["answer"]["id"], reply.json()["answer"]["chosen"])
                if known is not None and (reply.status_code == 201 or stands != known):
                    self.wrong.append(f"{known} was acknowledged, then {reply.status_code} {stands}")
                self.acknowledged[set_id, rep_id] = stands


def prepare(house: House) -> list[tuple[dict, list[tuple[str, str]]]]:
    """Players with opened sets: for each player his session and the answers he can give."""
    now = house.clock()
    with house.store.write(house.team.id) as t:
        take_roster(t, [RosterEntry(number, f"P{number}", ("Mike",)) for number in range(1, PLAYERS + 1)], now)
        for member in t.rows(Member):
            if member.number is not None:
                member.secret_hash = PIN_HASH
                t.add(member)
    sets = [house.send_set(call=call, length="8") for call in ("Hammer", "Anvil")]
    prepared = []
    for number in range(1, PLAYERS + 1):
        phone = house.player(number)
        work = [(s, p["rep_id"]) for s in sets for p in house.open_set(phone, s) if p["again_of"] is None]
        prepared.append((dict(phone.cookies), work))
    return prepared


def kill_again_and_again(house: House) -> None:
    house.clock.at = house.clock.at.now(house.clock.at.tzinfo) - timedelta(minutes=5)
    prepared = prepare(house)
    house.store.close()
    server = Server(house)
    server.start()
    writers = [Writer(server, *prepared[i], seed=i) for i in range(WRITERS)]
    for writer in writers:
        writer.start()
    chance = random.Random(11)
    try:
        for _ in range(KILLS):
            time.sleep(chance.uniform(0.05, 0.4))
            server.kill()
            server.start()
        time.sleep(0.5)
    finally:
        for writer in writers:
            writer.stop.set()
        for writer in writers:
            writer.join()
        server.kill()
    assert [w for writer in writers for w in writer.wrong] == []
    with house.store.read(house.team.id) as t:
        rows = t.rows(Answer)
    stored = {(row.member_id, row.assignment_id, row.rep_id): (row.id, row.chosen) for row in rows}
    assert len(stored) == len(rows), "an answer is there twice"
    by_answer = {row.id: (row.assignment_id, row.rep_id, row.chosen) for row in rows}
    acknowledged = [item for writer in writers for item in writer.acknowledged.items()]
    assert len(acknowledged) > WRITERS
    for (set_id, rep_id), (answer_id, choice) in acknowledged:
        assert by_answer[answer_id] == (set_id, rep_id, choice)


@pytest.mark.slow
def test_nothing_acknowledged_is_lost_doubled_or_changed(tmp_path: Path) -> None:
    for house in make_house(tmp_path):
        kill_again_and_again(house)


@pytest.mark.slow
def test_nothing_acknowledged_is_lost_doubled_or_changed_on_postgresql(tmp_path: Path, postgres_url: str) -> None:
    for house in make_house(tmp_path, database_url=postgres_url):
        kill_again_and_again(house)
