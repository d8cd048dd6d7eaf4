"""Load on a real server over real sockets: python -m tests.bench.load_report [arrivals|ratios] [options]

arrivals  phones arrive within a minute; each fetches its set, then the question of each rep, and sends the answer
(httpx) ratios    a rep, and a durable answer, over many connections: requests per second compared with a bare FastAPI
and a
          bare Starlette route with the same bytes, and a FastAPI route that inserts with sqlite3; in alternation, so
          that the machine's changes of speed affect all of them

The content is the demo team's. Sessions are stored directly; with `--sign-in` every phone signs in by number and PIN.
"""

import argparse
import asyncio
import contextlib
import gzip
import json
import os
import random
import socket
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Awaitable, Callable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import httpx
import uvicorn
from fastapi import FastAPI, Request, Response
from starlette.applications import Starlette
from starlette.routing import Route

from quizgen.football.keys import slug
from server.accounts.credentials import cookie_name, hash_pin, make_id, make_token, token_hash
from server.accounts.members import players, take_roster
from server.app import make_app
from server.commands.serving import bind, run, run_workers, uvicorn_config
from server.database.store import open_store
from server.database.tables import Assignment, PlayerSet, SetRep, SignIn, Team
from server.logs import set_up_logs
from server.paths import SEED_CONTENT
from server.playbook.playbooks import Engine
from server.playbook.stored_reps import snapshot
from server.settings import Settings, load_settings
from server.team.install import add_team
from tests.harness.fake_football import RosterEntry
from tests.harness.ports import free_port
from tests.trust.live import ROOT, report
from tests.trust.postgres import own_database

PIN = "246813"
REPS = 8
CALL = "Moraine"


@dataclass
class Phone:
    """A player with an opened set: rep ids with a choice for each part."""

    number: int
    token: str
    set_id: str
    reps: list[tuple[str, list[str]]]


@dataclass
class Site:
    settings: Settings
    team: Team
    phones: list[Phone] = field(default_factory=list)


def demo_files() -> dict[str, str]:
    return {p.name: p.read_text(encoding="utf-8") for p in sorted((SEED_CONTENT / "tarrow_falls").glob("*.toml"))}


def prepare(folder: Path, count: int, sets: int, url: str) -> Site:
    """The demo team with that many players at one position, each with that many opened sets."""
    settings, now = load_settings(data_dir=folder, database_url=url), datetime.now(UTC)
    store, football = open_store(settings), Engine()
    store.migrate()
    team = add_team(store, football, demo_files(), now).team
    catalogue = football.catalogue(football.load_team(demo_files()))
    position = catalogue.team.positions[0].name
    reps = [r for r, _ in zip(catalogue.reps(positions=[position], calls=[CALL]), range(REPS), strict=False)]
    site, pin_hash = Site(settings, team), hash_pin(PIN)
    with store.write(team.id) as t:
        take_roster(t, [RosterEntry(n, f"P{n}", (position,)) for n in range(1, count + 1)], now)
        for rep in reps:
            t.add(snapshot(football, team.id, rep, now))
        members = players(t)
        ids = [make_id() for _ in range(sets)]
        for set_id in ids:
            t.add(new_set(team.id, set_id, position, members[0].id, now))
        for member in members:
            member.secret_hash = pin_hash
            token, own = make_token(team.id), {"team_id": team.id, "member_id": member.id}
            end = now + timedelta(days=9)
            t.session.add(SignIn(**own, token_hash=token_hash(token), created_at=now, seen_at=now, ends_at=end))
            for set_id in ids:
                t.session.add(PlayerSet(**own, assignment_id=set_id, opened_at=now))
                for place, rep in enumerate(reps, start=1):
                    t.session.add(SetRep(**own, assignment_id=set_id, place=place, rep_id=rep.id))
            chosen = [(rep.id, [min(part.right) for part in rep.parts]) for rep in reps]
            site.phones += [Phone(member.number or 0, token, set_id, chosen) for set_id in ids]
    store.close()
    return site


def new_set(team_id: str, set_id: str, position: str, by: str, now: datetime) -> Assignment:
    return Assignment(
        team_id=team_id,
        id=set_id,
        call=CALL.lower(),
        positions=[slug(position)],
        stages=[1, 2, 3],
        sides=["left", "right"],
        length=REPS,
        due_at=now + timedelta(days=1),
        created_at=now,
        created_by=by,
    )


@contextlib.contextmanager
def served(site: Site, workers: int) -> Iterator[str]:
    """The server as in production, in its own process."""
    more = {"GAPSOUND_DATA_DIR": str(site.settings.data_dir), "GAPSOUND_DATABASE_URL": site.settings.database_url}
    with started("serve", str(workers), env=more) as base:
        yield base


@contextlib.contextmanager
def started(*command: str, env: dict[str, str]) -> Iterator[str]:
    port = free_port()
    environment = {**os.environ, **env, "PYTHONPATH": str(ROOT)}
    words = (sys.executable, "-m", "tests.bench.load_report", command[0], str(port), *command[1:])
    with subprocess.Popen(
        words, cwd=ROOT, env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    ) as one:
        base = f"http://127.0.0.1:{port}"
        try:
            for _ in range(600):
                with contextlib.suppress(httpx.TransportError):
                    httpx.get(f"{base}/healthz", timeout=2)
                    break
                time.sleep(0.1)
            yield base
        finally:
            one.terminate()


# arrivals -------------------------------------------------------------------------------------------------------------


async def come(
    site: Site, base: str, phone: Phone, at_s: float, is_signing_in: bool, took: dict[str, list[float]]
) -> None:
    """One phone, from its arrival to its last answer."""
    await asyncio.sleep(at_s)
    cookie = {} if is_signing_in else {"cookie": f"{cookie_name(False)}={phone.token}"}
    async with httpx.AsyncClient(base_url=base, headers={"origin": base, **cookie}, timeout=60) as client:

        async def ask(kind: str, method: str, path: str, **sent: Any) -> None:
            began = time.perf_counter()
            reply = await client.request(method, path, **sent)
            took[kind].append(time.perf_counter() - began)
            assert reply.status_code in (200, 201, 303), f"{path}: {reply.status_code} {reply.text[:200]}"

        if is_signing_in:
            form = {"number": str(phone.number), "pin": PIN}
            await ask("sign-in", "POST", f"/team/{site.team.join_code}", data=form)
        await ask("layout", "GET", f"/api/sets/{phone.set_id}")
        for rep_id, chosen in phone.reps:
            await ask("rep", "GET", f"/api/sets/{phone.set_id}/reps/{rep_id}")
            answer = {"rep_id": rep_id, "chosen": chosen}
            await ask("answer", "PUT", f"/api/sets/{phone.set_id}/answers/{make_id()}{make_id()}", json=answer)


async def arrive(site: Site, base: str, within_s: float, is_signing_in: bool) -> dict[str, list[float]]:
    chance, took = random.Random(5), {kind: [] for kind in ("sign-in", "layout", "rep", "answer")}
    await asyncio.gather(*(come(site, base, p, chance.uniform(0, within_s), is_signing_in, took) for p in site.phones))
    return took


def percentiles(took_s: Sequence[float]) -> dict[str, float]:
    """Milliseconds."""
    cuts = statistics.quantiles(took_s, n=100, method="inclusive")
    return {f"p{n}": round(cuts[n - 1] * 1000, 1) for n in (50, 95, 99)}


# ratios ---------------------------------------------------------------------------------------------------------------


async def rate(
    base: str, requests: Callable[[int], bytes], connections: int, seconds: float
) -> tuple[float, list[float]]:
    """Requests per second over that many open connections, and how long each took. The client is as light as possible,
    since it runs on the same machine."""
    port, took = int(base.rsplit(":", 1)[1]), []
    stop = time.perf_counter() + seconds

    async def one(index: int) -> None:
        reader, writer = await asyncio.open_connection("127.0.0.1", port)
        while time.perf_counter() < stop:
            began = time.perf_counter()
            writer.write(requests(index))
            head = (await reader.readuntil(b"\r\n\r\n")).lower()
            assert head.startswith((b"http/1.1 200", b"http/1.1 201")), head[:200]
            await reader.readexactly(int(head.partition(b"content-length: ")[2].partition(b"\r\n")[0]))
            took.append(time.perf_counter() - began)
        writer.close()

    began = time.perf_counter()
    await asyncio.gather(*(one(i) for i in range(connections)))
    return len(took) / (time.perf_counter() - began), took


def raw(method: str, path: str, base: str, token: str = "", body: bytes = b"") -> bytes:
    lines = [f"{method} {path} HTTP/1.1", f"host: {base[7:]}", f"origin: {base}", "accept-encoding: gzip"]
    lines += [f"cookie: {cookie_name(False)}={token}"] if token else []
    lines += ["content-type: application/json", f"content-length: {len(body)}"] if body else []
    return "\r\n".join([*lines, "", ""]).encode() + body


def in_turn(
    asks: dict[str, Callable[[float], Awaitable[tuple[float, list[float]]]]], seconds: float, rounds: int
) -> None:
    """Measure these in alternation; print the medians, and the first in relation to the others."""
    rates: dict[str, list[float]] = {name: [] for name in asks}
    took: dict[str, list[float]] = {name: [] for name in asks}
    for _ in range(rounds):
        for name, ask in asks.items():
            found, each = asyncio.run(ask(seconds))  # type: ignore[arg-type]
            rates[name].append(found)
            took[name] += each
    ours, *others = rates
    for other in others:
        ratios = [a / b for a, b in zip(rates[ours], rates[other], strict=True)]
        spread = percentiles(took[ours])
        report(
            f"{ours} beside {other}",
            ratio=round(statistics.median(ratios), 2),
            ratios=[round(r, 2) for r in ratios],
            a_second={name: round(statistics.median(rates[name])) for name in (ours, other)},
            ms=spread,
            p99_to_p50=round(spread["p99"] / spread["p50"], 1),
        )


def ratios(site: Site, workers: int, connections: int, seconds: float, rounds: int) -> None:
    phones = site.phones[:connections]
    with served(site, workers) as base, tempfile.TemporaryDirectory(prefix="gapsound-bare-") as folder:
        first = phones[0]
        rep_path = f"/api/sets/{first.set_id}/reps/{first.reps[0][0]}"
        headers = {"cookie": f"{cookie_name(False)}={first.token}", "accept-encoding": "gzip"}
        (Path(folder) / "body").write_bytes(
            gzip.compress(httpx.get(base + rep_path, headers=headers).content, 9, mtime=0)
        )
        with started("bare", folder, env={}) as bare, started("starlette", folder, env={}) as starlette:
            fresh = {p.set_id + p.token: [*p.reps] for p in site.phones}

            def rep(i: int) -> bytes:
                return raw("GET", rep_path.replace(first.set_id, phones[i].set_id), base, phones[i].token)

            def answer(i: int) -> bytes:
                phone = next(p for p in site.phones[i::connections] if fresh[p.set_id + p.token])
                rep_id, chosen = fresh[phone.set_id + phone.token].pop()
                body = json.dumps({"rep_id": rep_id, "chosen": chosen}).encode()
                return raw("PUT", f"/api/sets/{phone.set_id}/answers/{make_id()}{make_id()}", base, phone.token, body)

            bare_body = json.dumps({"rep_id": "r" * 16, "chosen": ["x" * 8]}).encode()
            in_turn(
                {
                    "rep": lambda s: rate(base, rep, connections, s),
                    "bare FastAPI": lambda s: rate(bare, lambda _: raw("GET", "/rep", bare), connections, s),
                    "bare Starlette": lambda s: rate(
                        starlette, lambda _: raw("GET", "/rep", starlette), connections, s
                    ),
                },
                seconds,
                rounds,
            )
            in_turn(
                {
                    "answer": lambda s: rate(base, answer, connections, s),
                    "bare sqlite3 insert": lambda s: rate(
                        bare, lambda _: raw("PUT", f"/answers/{make_id()}", bare, body=bare_body), connections, s
                    ),
                },
                seconds,
                rounds,
            )


def serve(listening: socket.socket, workers: int) -> None:
    """Our server, as `gapsound serve` runs it."""
    set_up_logs()
    settings = load_settings()
    if workers > 1:
        run_workers(settings, listening, workers)
    else:
        run(make_app(settings, store=open_store(settings)), settings, listening, lambda: None)


def serve_starlette(port: int, folder: Path) -> None:
    """The same bytes from a bare Starlette route."""
    body = (folder / "body").read_bytes()

    async def rep(_: Request) -> Response:
        return Response(body, media_type="application/json", headers={"Content-Encoding": "gzip"})

    serve_app(Starlette(routes=[Route("/rep", rep)]), port)


def serve_bare(port: int, folder: Path) -> None:
    """The same from FastAPI; and an insert and commit with sqlite3 alone."""
    app, body = FastAPI(openapi_url=None), (folder / "body").read_bytes()
    database = sqlite3.connect(folder / "bare.db", isolation_level=None, check_same_thread=False)
    database.execute("PRAGMA journal_mode=WAL")
    database.execute("PRAGMA synchronous=FULL")
    database.execute("CREATE TABLE answer (id TEXT PRIMARY KEY, body TEXT)")

    @app.get("/rep")
    async def rep() -> Response:
        return Response(body, media_type="application/json", headers={"Content-Encoding": "gzip"})

    @app.put("/answers/{answer_id}")
    async def answer(answer_id: str, request: Request) -> Response:
        database.execute("INSERT INTO answer VALUES (?, ?)", (answer_id, (await request.body()).decode()))
        return Response(b"{}", 201, media_type="application/json")

    serve_app(app, port)


def serve_app(app: Starlette, port: int) -> None:
    """Run an application as ours is run."""
    uvicorn.Server(uvicorn_config(app, load_settings())).run(sockets=[bind("127.0.0.1", port, may_move=False)])


def main() -> None:
    if sys.argv[1:2] == ["serve"]:
        serve(bind("127.0.0.1", int(sys.argv[2]), may_move=False), int(sys.argv[3]))
        return
    for name, bare in (("bare", serve_bare), ("starlette", serve_starlette)):
        if sys.argv[1:2] == [name]:
            bare(int(sys.argv[2]), Path(sys.argv[3]))
            return
    wanted = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    wanted.add_argument("what", choices=("arrivals", "ratios"))
    wanted.add_argument("--phones", type=int, default=60)
    wanted.add_argument("--within", type=float, default=60.0, help="seconds in which they come")
    wanted.add_argument("--sign-in", action="store_true")
    wanted.add_argument("--workers", type=int, nargs="+", default=[1, 2])
    wanted.add_argument("--databases", nargs="+", default=["sqlite", "postgresql"])
    wanted.add_argument("--connections", type=int, default=100)
    wanted.add_argument("--seconds", type=float, default=5.0)
    wanted.add_argument("--rounds", type=int, default=7)
    given = wanted.parse_args()
    for name in given.databases:
        for workers in given.workers:
            with contextlib.ExitStack() as opened:
                url = opened.enter_context(own_database()).url if name == "postgresql" else ""
                folder = Path(opened.enter_context(tempfile.TemporaryDirectory(prefix="gapsound-load-")))
                if given.what == "ratios":
                    report("next", database=name, workers=workers)
                    needed = int(given.seconds * given.rounds * 1500 / REPS / given.connections) + 1
                    ratios(
                        prepare(folder, given.connections, needed, url),
                        workers,
                        given.connections,
                        given.seconds,
                        given.rounds,
                    )
                    continue
                site = prepare(folder, given.phones, 1, url)
                with served(site, workers) as base:
                    came = asyncio.run(arrive(site, base, given.within, given.sign_in))
                figures = {kind: percentiles(took) for kind, took in came.items() if len(took) > 1}
                report(
                    "arrivals", database=name, workers=workers, phones=given.phones, within_s=given.within, ms=figures
                )


if __name__ == "__main__":
    main()
