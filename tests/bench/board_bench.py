"""How long the coach's board takes from the database, as ratios to its template alone on the same values.

Run: python -m tests.bench.board_bench [--players 60] [--calls 20] [--teams 1000] [--postgres], with the project
installed. It prints; it asserts nothing. One process, no network: requests go straight into the application. The cases
alternate, and the median of each round's ratios is printed, because a shared machine changes its speed: read the
ratios.

Cases: `bare`, the board's template with values in memory; `board`, a request for the board with nothing new; `new`, the
same just after another answer was stored; `after an hour`, when all estimates have moved on with time; `call` and
`player`, requests for those pages. Another line shows the first request of a fresh process.
"""

import argparse
import asyncio
import random
import statistics
import tempfile
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import structlog
from fastapi import FastAPI
from sqlalchemy import insert

from server.accounts.credentials import cookie_name, hash_pin, make_token, token_hash
from server.accounts.members import add_coach
from server.app import make_app
from server.database.store import Store, open_store
from server.database.tables import AccountRole, Answer, Assignment, KeptRep, Member, SignIn, Team
from server.i18n.languages import language
from server.settings import load_settings
from server.team.install import add_team
from server.web import conditional
from server.web.responses import pages_in
from tests.harness.fake_football import FILES, REPS, FakeCatalogue, FakeFootball, FakeTeam, Named, Rep, RosterEntry
from tests.trust.postgres import own_database

ROUNDS = 40
PEOPLE_OF_OTHERS, ANSWERS_OF_OTHERS = 12, 40
ANSWERS_A_PLAYER = 80
GROUPS = ("line", "backers", "secondary")
POSITIONS = tuple(Named(f"P{n}", f"P{n}", GROUPS[n // 4]) for n in range(11))
START = datetime(2026, 10, 20, 21, 0, tzinfo=UTC)


@dataclass(frozen=True)
class Football(FakeFootball):
    """A team with that many players and calls; no football in it."""

    players: int
    calls: int

    def load_team(self, files: Mapping[str, str]) -> FakeTeam:
        roster = tuple(RosterEntry(n, f"Player {n}", (POSITIONS[n % 11].name,)) for n in range(1, self.players + 1))
        return FakeTeam("Bench", POSITIONS, tuple(Named(f"Call {n + 1}") for n in range(self.calls)), roster)

    def families(self, catalogue: object) -> dict[str, dict[str, str]]:
        return {p.name: {f"Call {n + 1}": f"family {n // 3}" for n in range(self.calls)} for p in POSITIONS}

    def catalogue(self, team: FakeTeam) -> FakeCatalogue:
        return OneRep()


class OneRep(FakeCatalogue):
    """All reps are the same made-up one."""

    def rep(self, rep_id: str, /) -> Rep:
        return REPS[0]


@dataclass
class Bench:
    """One application, a signed-in coach, a team with answers, a clock that the bench moves."""

    app: FastAPI
    store: Store
    team: Team
    token: str
    players: list[str]
    at: datetime
    values: dict[str, Any] = field(default_factory=dict)
    stored: int = 0

    async def get(self, path: str, query: str = "", headers: Mapping[str, str] | None = None) -> tuple[int, bytes]:
        """Status and body of a request."""
        sent = {
            "host": "testserver",
            "accept": "text/html",
            "cookie": f"{cookie_name(False)}={self.token}",
            **(headers or {}),
        }
        scope = {
            "type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1", "method": "GET", "scheme": "http",
            "path": path, "raw_path": path.encode(), "query_string": query.encode(), "root_path": "",
            "headers": [(name.encode(), value.encode()) for name, value in sent.items()],
            "client": ("127.0.0.1", 1), "server": ("testserver", 80),
        }  # fmt: skip
        status, body = 0, b""

        async def receive() -> dict[str, Any]:
            return {"type": "http.request", "body": b"", "more_body": False}

        async def send(message: dict[str, Any]) -> None:
            nonlocal status, body
            status, body = message.get("status", status), body + message.get("body", b"")

        await self.app(scope, receive, send)
        return status, body

    def store_answer(self) -> None:
        """Store one more answer."""
        self.stored += 1
        chance = random.Random(self.stored)
        self.at += timedelta(seconds=20)
        row = answer_row(self.team.id, chance.choice(self.players), self.stored, self.at, chance, self.calls)
        with self.store.write(self.team.id) as t:
            t.execute(insert(Answer).values(**row))

    @property
    def calls(self) -> int:
        return int(self.app.state.services.playbooks.football.calls)


def answer_row(team_id: str, player: str, n: int, at: datetime, chance: random.Random, calls: int) -> dict[str, Any]:
    """An answer to the team's one rep; the attempt makes it unique."""
    is_right = chance.random() < 0.7
    return {
        "team_id": team_id, "member_id": player, "id": f"answer-{n:012d}", "assignment_id": "set", "place": 1,
        "rep_id": "rep", "attempt": n, "chosen": ["b" if is_right else "a"], "is_right": is_right, "is_late": False,
        "received_at": at, "took_ms": 4000, "call": f"Call {chance.randint(1, calls)}", "stage": chance.randint(1, 5),
        "side": chance.choice(("left", "right")), "position": POSITIONS[n % 11].name, "kind": "track", "choices": 4,
        "chosen_key": "lane:left B", "right_key": "lane:left B",
        "chosen_words": "left B" if is_right else chance.choice(("left A", "left C", "right B")),
        "right_words": "left B", "relation": "" if is_right else "one gap in", "explanation": "",
    }  # fmt: skip


def fill(store: Store, team: Team, people: int, answers: int, seed: int, calls: int) -> list[str]:
    """Store five weeks of answers of a team's first players; return their ids."""
    chance = random.Random(seed)
    with store.write(team.id) as t:
        players = [m.id for m in t.rows(Member) if m.role == AccountRole.PLAYER.value][:people]
        t.add(KeptRep(
            team_id=team.id, rep_id="rep", kind="track", stage=1, position="P0", call="Call 1", to="left",
            formation="pro", stem="Where?", parts=[{"prompt": "Gap?", "right": ["b"], "choices": [
                {"id": "a", "key": "lane:left A", "label": "left A", "leaves": "", "relation": "one gap in"},
                {"id": "b", "key": "lane:left B", "label": "left B", "leaves": "", "relation": ""}]}],
            picture="p", guise="g", before_svg="<svg/>", after_svg="<svg/>", first_at=START,
        ))  # fmt: skip
        t.add(Assignment(
            team_id=team.id, id="set", call="Call 1", positions=["P0"], stages=[1], sides=["left"], length=1,
            due_at=START, created_at=START, created_by=players[0],
        ))  # fmt: skip
        every = sorted(chance.uniform(0, 35 * 86_400) for _ in range(people * answers))
        rows = [
            answer_row(team.id, players[n % people], n, START + timedelta(seconds=s), chance, calls)
            for n, s in enumerate(every)
        ]
        t.session.execute(insert(Answer), rows)
    return players


def set_up(store: Store, football: Football, teams: int) -> Bench:
    """The measured team, and that many others beside it."""
    team = add_team(store, football, FILES, START).team
    token = make_token(team.id)
    at = START + timedelta(days=35, hours=1)
    with store.write(team.id) as t:
        coach = add_coach(t, "coach", AccountRole.OWNER, hash_pin("x"), START)
        t.session.flush()
        t.add(SignIn(team_id=team.id, token_hash=token_hash(token), member_id=coach.id, created_at=at,
                     seen_at=at + timedelta(hours=6), ends_at=at + timedelta(days=9)))  # fmt: skip
    players = fill(store, team, football.players, ANSWERS_A_PLAYER, 1, football.calls)
    small = replace(football, players=PEOPLE_OF_OTHERS)
    for n in range(teams - 1):
        other = add_team(store, small, FILES, START).team
        fill(store, other, PEOPLE_OF_OTHERS, ANSWERS_OF_OTHERS, n, football.calls)
    bench = Bench(FastAPI(), store, team, token, players, at, stored=10**6)
    app = make_app(
        load_settings(data_dir=Path(tempfile.gettempdir())), store=store, football=football, now=lambda: bench.at
    )
    bench.app = app
    return bench


@contextmanager
def capturing(bench: Bench) -> Iterator[None]:
    """Capture the context of the board's template."""
    used = conditional.page

    def page(request: Any, template: str, status: int = 200, **context: Any) -> Any:
        bench.values = {"viewer": request.state.viewer, "path": request.url.path, **context}
        return used(request, template, status, **context)

    conditional.page = page  # type: ignore[attr-defined]
    try:
        yield
    finally:
        conditional.page = used  # type: ignore[attr-defined]


def bare(bench: Bench) -> None:
    """Render the template alone."""
    pages_in(language("en")).get_template("coach/board.html").render(**bench.values)


async def measure(bench: Bench, rounds: int) -> dict[str, list[float]]:
    """Seconds of each case, in alternation."""
    took: dict[str, list[float]] = {}

    async def timed(name: str, path: str, query: str = "") -> None:
        start = time.perf_counter()
        status, _ = await bench.get(path, query)
        took.setdefault(name, []).append(time.perf_counter() - start)
        assert status == 200, (name, status)

    await timed("first board", "/coach/board")
    await timed("first call", "/coach/call", "name=Call%201")
    await timed("first player", f"/coach/players/{bench.players[0]}", "call=Call%201")
    with capturing(bench):
        await bench.get("/coach/board")
    for _ in range(rounds):
        start = time.perf_counter()
        bare(bench)
        took.setdefault("bare", []).append(time.perf_counter() - start)
        await timed("board", "/coach/board")
        bench.store_answer()
        await timed("new", "/coach/board")
        await timed("call", "/coach/call", "name=Call%201")
        await timed("player", f"/coach/players/{bench.players[0]}", "call=Call%201")
        bench.at += timedelta(hours=1)
        await timed("after an hour", "/coach/board")
        with bench.store.write(bench.team.id) as t:
            for one in t.rows(SignIn):
                one.seen_at = bench.at + timedelta(hours=1)
                t.add(one)
    return took


def tell(name: str, took: dict[str, list[float]]) -> None:
    """Print the ratios."""
    print(f"\n{name}: bare template {statistics.median(took['bare']) * 1000:.1f} ms")
    for work in ("board", "new", "after an hour", "call", "player"):
        ratios = [own / bare for own, bare in zip(took[work], took["bare"], strict=True)]
        print(f"  {work:14} {statistics.median(ratios):5.2f} x   ({statistics.median(took[work]) * 1000:.1f} ms)")
    firsts = ", ".join(
        f"{work} {took[work][0] * 1000:.0f} ms" for work in ("first board", "first call", "first player")
    )
    print(f"  {firsts}")


def run(url: str, arguments: argparse.Namespace, name: str) -> None:
    """Measure on one database."""
    with tempfile.TemporaryDirectory() as folder:
        store = open_store(load_settings(data_dir=Path(folder), database_url=url))
        store.migrate()
        bench = set_up(store, Football(arguments.players, arguments.calls), arguments.teams)
        took = asyncio.run(measure(bench, arguments.rounds))
        tell(f"{name}, {arguments.players} players x {arguments.calls} calls, {arguments.teams} teams", took)
        if arguments.profile:
            profile(bench)
        store.close()


def profile(bench: Bench) -> None:
    """Profile a board with one new answer."""
    import cProfile
    import pstats

    async def some() -> None:
        for _ in range(20):
            bench.store_answer()
            counter.enable()
            await bench.get("/coach/board")
            counter.disable()

    counter = cProfile.Profile()
    asyncio.run(some())
    pstats.Stats(counter).sort_stats("cumulative").print_stats(60)


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    asked.add_argument("--players", type=int, default=60)
    asked.add_argument("--calls", type=int, default=20)
    asked.add_argument("--teams", type=int, default=1)
    asked.add_argument("--rounds", type=int, default=ROUNDS)
    asked.add_argument("--postgres", action="store_true", help="on a PostgreSQL of its own too")
    asked.add_argument("--profile", action="store_true", help="say where the time goes")
    arguments = asked.parse_args()
    structlog.configure(processors=[structlog.processors.KeyValueRenderer()], logger_factory=lambda *_: Silent())
    run("", arguments, "SQLite")
    if arguments.postgres:
        with own_database() as database:
            run(database.url, arguments, "PostgreSQL")


class Silent:
    """A logger that drops its lines."""

    def __getattr__(self, _name: str) -> Callable[..., None]:
        return lambda *_a, **_k: None


if __name__ == "__main__":
    main()
