"""The first pages after a start: python -m tests.bench.first_pages [--tree PATH] [--rounds N]

Starts the server on the demo's team and season, which another server has used before, and waits for /readyz. Then it
requests a player's first page and, on a second server, a coach's first board: at once, and again on servers whose
processor time has settled. Prints the processor time that the server used from request to reply, and how long the
reply took. `--tree` names a checkout of another version, with its own .venv, for comparison.
"""

import argparse
import hashlib
import os
import secrets
import shutil
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

import httpx

from tests.trust.live import ROOT, free_port, report

MICROSECONDS = 1_000_000
PAGES = {"player": "/home", "coach": "/coach/board"}
#: A server has nothing left to do when it used less processor time than this in so many seconds, even on a machine that
#: is busy with other things.
IDLE_S, LOOKED_AT_FOR_S = 0.05, 4.0
MAKE = "import sys; from server.commands.main import app; app()"


def python_of(tree: Path) -> str:
    own = tree / ".venv" / "bin" / "python"
    return str(own if own.exists() else sys.executable)


@contextmanager
def served(tree: Path, folder: Path, *command: str) -> Iterator[tuple[str, int, float]]:
    """Start a server of that tree; yields its address, its process, and the seconds until it was ready."""
    port, env = free_port(), {**os.environ, "GAPSOUND_DATA_DIR": str(folder), "PYTHONPATH": str(tree)}
    words = (python_of(tree), "-c", MAKE, *command, "--port", str(port), "--host", "127.0.0.1")
    began = time.monotonic()
    with subprocess.Popen(words, cwd=tree, env=env, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL) as running:
        base = f"http://127.0.0.1:{port}"
        try:
            while time.monotonic() < began + 120:
                with suppress(httpx.TransportError):
                    if httpx.get(f"{base}/readyz", timeout=30).status_code == 200:
                        break
                time.sleep(0.02)
            yield base, running.pid, time.monotonic() - began
        finally:
            running.terminate()


def used_s(process: int) -> float:
    """Processor time of a process so far, in seconds."""
    fields = Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def sign_in(folder: Path, role: str) -> str:
    """Store a session; return the cookie for it."""
    with sqlite3.connect(folder / "gapsound.db") as database:
        where = "role = 'player'" if role == "player" else "role = 'owner'"
        team_id, member_id = database.execute(
            f"SELECT team_id, id FROM member WHERE {where} AND removed_at IS NULL LIMIT 1"
        ).fetchone()
        token, now = f"{team_id}.{secrets.token_urlsafe(32)}", int(time.time()) * MICROSECONDS
        row = (team_id, hashlib.sha256(token.encode()).hexdigest(), member_id, now, now, now + 86_400 * MICROSECONDS)
        database.execute("INSERT INTO sign_in VALUES (?, ?, ?, ?, ?, ?)", row)
    return f"gapsound-plain={token}"


def settle(process: int) -> None:
    """Wait until the server is idle."""
    before = used_s(process)
    for _ in range(60):
        time.sleep(LOOKED_AT_FOR_S)
        now = used_s(process)
        if now - before < IDLE_S:
            return
        before = now


def measure(tree: Path, folder: Path, role: str, *, is_settled: bool) -> tuple[float, float, float]:
    """Seconds until ready; processor time and time of the first page."""
    cookie = sign_in(folder, role)
    with served(tree, folder, "serve") as (base, process, ready_s):
        if is_settled:
            settle(process)
        before, began = used_s(process), time.monotonic()
        reply = httpx.get(base + PAGES[role], headers={"cookie": cookie, "accept": "text/html"}, timeout=120)
        assert reply.status_code == 200, reply.text[:300]
        return ready_s, used_s(process) - before, time.monotonic() - began


def main() -> None:
    wanted = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    wanted.add_argument("--tree", type=Path, default=ROOT)
    wanted.add_argument("--rounds", type=int, default=3)
    given = wanted.parse_args()
    with tempfile.TemporaryDirectory(prefix="gapsound-first-") as name:
        filled = Path(name) / "filled"
        with served(given.tree, filled, "demo", "--data", str(filled)) as (_, process, _):
            settle(process)  # as a server that has run before, which has compared the calls
        for role in PAGES:
            for is_settled in (False, True):
                found = []
                for n in range(given.rounds):
                    folder = Path(name) / f"{role}{is_settled}{n}"
                    shutil.copytree(filled, folder)
                    found.append(measure(given.tree, folder, role, is_settled=is_settled))
                ready, used, took = (round(statistics.median(one), 2) for one in zip(*found, strict=True))
                report(
                    "first page",
                    of=role,
                    asked="once nothing is left to do" if is_settled else "at once",
                    ready_after_s=ready,
                    processor_s=used,
                    took_s=took,
                )


if __name__ == "__main__":
    main()
