"""Load on a real server over real sockets: python -m tests.bench.load_report [arrivals|ratios|size] [options]

arrivals  phones come within a minute, each fetches its set, then rep by rep the question and the answer is sent (httpx)
ratios    a rep, and a durable answer, over many connections: requests a second beside a bare FastAPI route with the
          same bytes, and one that inserts with sqlite3; taken in turn, so that the machine's moods fall on both
size      many teams in PostgreSQL, filled by COPY: how long a board and the laying out of a set take

The content is the demo team's. Sessions are made beforehand; `--sign-in` has every phone sign in by number and PIN.
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

from server.app import make_app
from server.paths import SEED_CONTENT
from server.people import players, take_roster
from server.playbooks import Engine, snapshot
from server.security import cookie_name, hash_pin, make_id, make_token, token_hash
from server.serving import bind, run, run_workers, uvicorn_config
from server.sets import plan
from server.settings import Settings, load_settings
from server.store import open_store
from server.tables import TABLES, Assignment, PlayerSet, SetRep, SignIn, Team
from server.teams import add_team
from tests.server.fake_football import RosterEntry
from tests.trust.live import ROOT, free_port, report
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
        call=CALL,
        positions=[position],
        stages=[1, 2, 3],
        sides=["left", "right"],
        length=REPS,
        due_at=now + timedelta(days=1),
        created_at=now,
        created_by=by,
    )


@contextlib.contextmanager
def served(site: Site, workers: int) -> Iterator[str]:
    """The server as it is run in earnest, in a process of its own."""
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
            await ask("sign-in", "POST", f"/join/{site.team.join_code}", data=form)
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
    """Requests a second over that many connections that stay open, and how long each took. The client is as light as it
    can be, since it runs on the same machine."""
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
    """Measure each of these, one after the other, again and again; the medians, and the first beside the second."""
    rates: dict[str, list[float]] = {name: [] for name in asks}
    took: dict[str, list[float]] = {name: [] for name in asks}
    for _ in range(rounds):
        for name, ask in asks.items():
            found, each = asyncio.run(ask(seconds))  # type: ignore[arg-type]
            rates[name].append(found)
            took[name] += each
    ours, bare = rates
    ratios = [a / b for a, b in zip(rates[ours], rates[bare], strict=True)]
    spread = percentiles(took[ours])
    report(
        f"{ours} beside {bare}",
        ratio=round(statistics.median(ratios), 2),
        ratios=[round(r, 2) for r in ratios],
        a_second={name: round(statistics.median(found)) for name, found in rates.items()},
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
        with started("bare", folder, env={}) as bare:
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
                    "bare route, same bytes": lambda s: rate(bare, lambda _: raw("GET", "/rep", bare), connections, s),
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
    settings = load_settings()
    if workers > 1:
        run_workers(settings, listening, workers)
    else:
        run(make_app(settings, store=open_store(settings)), settings, listening, lambda: None)


def serve_bare(port: int, folder: Path) -> None:
    """The same bytes without any question asked; an insert and a commit through sqlite3 alone."""
    import uvicorn
    from fastapi import FastAPI, Request, Response

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

    uvicorn.Server(uvicorn_config(app, load_settings())).run(sockets=[bind("127.0.0.1", port, may_move=False)])


# size -----------------------------------------------------------------------------------------------------------------


def fill_by_copy(url: str, site: Site, teams: int, answers_each: int) -> int:
    """That many copies of the team, whose players have answered; all by COPY. Give the number of answers."""
    import psycopg

    chance, now = random.Random(9), int(time.time() * 1_000_000)
    store = open_store(site.settings)
    with store.engine.connect() as connection:
        rows = {t.__table__.name: connection.execute(t.__table__.select()).mappings().all() for t in TABLES}  # type: ignore[attr-defined]
    store.close()
    members = [row for row in rows["member"] if row["number"] is not None and row["removed_at"] is None]
    [rep, *_] = rows["rep_shown"]
    kept = ("team", "member", "content_file", "assignment", "rep_shown")
    with psycopg.connect(url.replace("+psycopg", ""), autocommit=False) as connection, connection.cursor() as cursor:
        for name in (*kept, "answer"):
            table = next(t.__table__ for t in TABLES if t.__table__.name == name)  # type: ignore[attr-defined]
            columns = [column.name for column in table.columns]
            with cursor.copy(
                f"COPY {name} ({', '.join(f'{c!r}' for c in columns)}) FROM STDIN".replace("'", '"')
            ) as copy:
                for team in range(1, teams):
                    mark = f"team-{team:06d}"
                    made = (
                        answers_of(mark, members, rows["assignment"], rep, answers_each, chance, now)
                        if name == "answer"
                        else rows[name]
                    )
                    for row in made:
                        copy.write_row([of_team(mark, f"{name}.{c}", row[c]) for c in columns])
        connection.commit()
        cursor.execute("ANALYZE")
        connection.commit()
        return int(cursor.execute("SELECT count(*) FROM answer").fetchone()[0])  # type: ignore[index]


def of_team(mark: str, column: str, value: Any) -> Any:
    """A value of the first team as another team has it."""
    if column.endswith(".team_id") or column in ("team.id", "team.join_code"):
        return mark
    if isinstance(value, datetime):
        return int(value.timestamp() * 1_000_000)
    return json.dumps(value) if isinstance(value, list | dict) else value


def answers_of(
    mark: str, members: Sequence[Any], sets: Sequence[Any], rep: Any, each: int, chance: random.Random, now: int
) -> Iterator[dict[str, Any]]:
    for member in members:
        for i in range(each):
            is_right = chance.random() < 0.6
            yield {
                **dict.fromkeys(("chosen_words", "right_words", "relation", "explanation"), "a word or two"),
                "team_id": mark,
                "member_id": member["id"],
                "id": f"{i:024d}",
                "assignment_id": sets[i % len(sets)]["id"],
                "place": 1,
                "rep_id": rep["rep_id"],
                "attempt": i + 1,
                "chosen": ["a"],
                "is_right": is_right,
                "is_late": False,
                "received_at": now - chance.randrange(30 * 86_400) * 1_000_000,
                "took_ms": 4000,
                "call": CALL,
                "stage": chance.choice((1, 2, 3)),
                "side": chance.choice(("left", "right")),
                "position": rep["position"],
                "kind": rep["kind"],
                "choices": 4,
            }


def size(url: str, teams: int, count: int, answers_each: int) -> None:
    """Times of a board, cold and again, and of drawing a set's reps."""
    with tempfile.TemporaryDirectory(prefix="gapsound-size-") as folder:
        site = prepare(Path(folder), count, 2, url)
        began = time.monotonic()
        with_answers = fill_by_copy(url, site, teams, answers_each)
        filled_s = time.monotonic() - began
        for one in asyncio.run(look(site, [f"team-{n:06d}" for n in range(1, min(teams, 6))])):
            report("size", teams=teams, answers=with_answers, filled_s=round(filled_s, 1), **one)


async def look(site: Site, team_ids: Sequence[str]) -> list[dict[str, float]]:
    from server.board import make_board
    from server.playbooks import Playbooks
    from server.standing import Standings

    store, found = open_store(site.settings), []
    playbooks, standings = Playbooks(store), Standings()
    for team_id in team_ids:
        with store.read(team_id) as t:
            team, members = t.team(), players(t)
        playbook = await playbooks.of(team)
        times = []
        for _ in range(2):
            began = time.perf_counter()
            standing = await standings.of(store, team_id, playbook)
            found_now = standing.board([m.id for m in members], playbook.calls, datetime.now(UTC))
            make_board(members, playbook, found_now)
            times.append(time.perf_counter() - began)
        position, now = members[0].positions[0], datetime.now(UTC)
        reps = await playbook.pool(CALL, [position], [1, 2, 3], ["left", "right"])
        wanted = new_set(team_id, "a-set", position, members[0].id, now)
        began = time.perf_counter()
        plan(reps, members[0], standing.state, standing.settings, wanted, standing.seconds(now))
        drawn_s = time.perf_counter() - began
        found.append({"board_s": round(times[0], 3), "again_s": round(times[1], 3), "set_drawn_s": round(drawn_s, 4)})
    store.close()
    return found


def main() -> None:
    if sys.argv[1:2] == ["serve"]:
        serve(bind("127.0.0.1", int(sys.argv[2]), may_move=False), int(sys.argv[3]))
        return
    if sys.argv[1:2] == ["bare"]:
        serve_bare(int(sys.argv[2]), Path(sys.argv[3]))
        return
    wanted = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    wanted.add_argument("what", choices=("arrivals", "ratios", "size"))
    wanted.add_argument("--phones", type=int, default=60)
    wanted.add_argument("--within", type=float, default=60.0, help="seconds in which they come")
    wanted.add_argument("--sign-in", action="store_true")
    wanted.add_argument("--workers", type=int, nargs="+", default=[1, 2])
    wanted.add_argument("--databases", nargs="+", default=["sqlite", "postgresql"])
    wanted.add_argument("--connections", type=int, default=100)
    wanted.add_argument("--seconds", type=float, default=5.0)
    wanted.add_argument("--rounds", type=int, default=7)
    wanted.add_argument("--teams", type=int, default=1000)
    wanted.add_argument("--answers", type=int, default=200, help="of each player")
    given = wanted.parse_args()
    if given.what == "size":
        with own_database() as database:
            size(database.url, given.teams, given.phones, given.answers)
        return
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
