"""A team's data stays within the team, and personal data stays out of the log, on every route.

A marker is planted in everything that team A stored; then team B, and nobody, request everything. And names, PINs,
passphrases, tokens and files, stored and sent, are looked for in every log line of a server process.
"""

import json
import re
import subprocess
import sys
from collections import defaultdict
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import httpx
import pytest
from schemathesis import GenerationMode
from sqlalchemy import text, update
from sqlalchemy.exc import IntegrityError

from server.accounts.credentials import cookie_name, hash_pin
from server.accounts.permissions import ACCESS
from server.database.store import open_store
from server.database.tables import AccountRole, Member, Opponent, PracticeDay
from tests.harness.house import PAGE, House, chosen, make_house
from tests.trust.asking import ROLES, Heard, Site, ask_site, real_values
from tests.trust.documented import UNLISTED
from tests.trust.live import ROOT, prepare, serving
from tests.trust.marked import MARKER, QUERIES, addresses, devices_of, fill, forget, plant

JSON = {"accept": "application/json"}
FIGURES = "f" * 24
ROUTES = set(ACCESS) - UNLISTED
#: Reads that redirect, and reads that hold nothing of a team's, or only ids.
ONWARD = {("GET", path) for path in ("/", "/coach", "/join", "/join/{code}")}
ONLY_IDS = {("GET", path) for path in ("/api/room", "/coach/room/{room_id}/state")}
NOBODYS = {("GET", path) for path in ("/healthz", "/readyz", "/metrics", "/sw.js")} | ONWARD | ONLY_IDS
#: What the stand-in for quizgen has no football for; `tests/browser` has these pages with a whole team.
FIELD = ("/coach/defense/calls/{call}", "/coach/defense/calls/{call}/remove", "/begin/{token}")
ABSENT = {("GET", path) for path in FIELD}
#: What is packed shows no marker; its address names nothing of another team. The first rep is nobody's football.
NOBODYS |= ABSENT | {
    ("GET", path) for path in ("/coach/defense/archive.zip", "/coach/call/questions.zip", "/first-rep")
}


@pytest.fixture
def counted(tmp_path: Path) -> Any:
    """A server with metrics on, so that all of its routes exist."""
    yield from make_house(tmp_path, metrics=FIGURES)


def said(client: Any, method: str, path: str, ids: dict[str, str]) -> tuple[str, set[int]]:
    """The head and body of all replies, to a browser and to a program; and their statuses."""
    body = {"rep_id": ids["rep_id"], "chosen": chosen(ids["rep_id"])}
    form = {"players": [ids["player_id"]], "due": "2026-09-05T12:00", "answer_id": ids["answer_id"], "choice_1": "a"}
    heard, statuses = [], set()
    for headers in (PAGE, JSON):
        sent: dict[str, Any] = {"json": body} if method == "PUT" else {"data": form} if method == "POST" else {}
        asks = {**headers, "authorization": f"Bearer {FIGURES}"}
        reply = client.request(method, path, headers=asks, follow_redirects=False, **sent)
        assert reply.status_code < 500, (method, path, reply.text)
        heard.append(f"{dict(reply.headers)}{reply.text}")
        statuses.add(int(reply.status_code))
    return "".join(heard), statuses


def ordered() -> list[tuple[str, str]]:
    """Every route: reads first, since writes remove what they show; sign-out last."""
    return sorted(ACCESS, key=lambda route: (route[1] == "/sign-out", route[0] != "GET", route))


def test_a_marker_in_one_team_is_in_no_reply_to_another(counted: House) -> None:
    other = counted.add_team()
    own, foreign = fill(counted, counted.team), fill(counted, other)
    at_home, strangers = devices_of(counted, counted.team), devices_of(counted, other)
    planted = plant(counted, counted.team)
    assert {table for table, _ in planted} >= {"team", "member", "content_file", "answer", "rep_shown", "opponent"}
    assert len(planted) >= 18
    forget(counted)
    for device in (*at_home.values(), *strangers.values()):
        device._transport.app = counted.app

    seen_at_home = {
        (method, pattern)
        for method, pattern in ACCESS
        for device in at_home.values()
        for path in addresses(pattern, own, counted.team.join_code)
        if method == "GET" and MARKER in said(device, method, path + QUERIES.get(pattern, "").format(**own), own)[0]
    }
    reads = {route for route in ACCESS if route[0] == "GET"}
    assert reads - seen_at_home == NOBODYS, "the marker does not show where it should: this test would see nothing"

    heard: dict[tuple[str, str], set[int]] = defaultdict(set)
    for method, pattern in ordered():
        for device in strangers.values():
            for ids in (foreign, own) if pattern != "/sign-out" else (own,):
                for path in addresses(pattern, ids, other.join_code):
                    words, statuses = said(device, method, path + QUERIES.get(pattern, "").format(**ids), own)
                    assert MARKER not in words, (method, path)
                    heard[method, pattern] |= statuses
    assert set(heard) == set(ACCESS)
    assert {route for route in reads if 200 not in heard[route]} == ONWARD | ABSENT, "pages that were never shown"


@pytest.mark.slow
@pytest.mark.xdist_group("asking")
def test_a_marker_in_one_team_comes_back_from_nothing_that_another_sends(house: House) -> None:
    """Requests made from the schema, with ids and words of either team in them."""
    other, first = house.add_team(), house.team
    for team in (first, other):
        fill(house, team)
    plant(house, first)
    forget(house)
    house.teams = [other, first]
    real = real_values(house) | {"code": [other.join_code]}  # a team's code leads to its name
    devices = devices_of(house, other)
    site = Site(
        house, {role: devices[role] for role in ROLES}, real, lambda reply: [MARKER] * (MARKER in heard_in(reply))
    )
    heard = Heard()
    ask_site(site, 1, 31, heard)
    assert dict(heard.wrong) == {}, heard.examples
    assert set(heard.statuses) == {" ".join(route) for route in ROUTES}
    assert {200, 303, 404} <= {status for counts in heard.statuses.values() for status in counts}


def heard_in(reply: httpx.Response) -> str:
    return f"{dict(reply.headers)}{reply.text}"


# logs

#: Stored or sent, or both; none may be in a log line. Written so that nothing else looks like them.
NAMES = ("Zebulonia", "Quixotrina", "Vexmoor High", "Oakenshade", "Wyvern Walk", "coachyzq", "Jetzqx Sweep")
PIN, PASSPHRASE = "918273", "zq staple of nine horses"
CSV = f"Number,Name,Positions\n54,{NAMES[0]},Mike\n44,{NAMES[1]},Will\n"
PLAYS = f"Play,Count\n{NAMES[6]},4\nzone,2\n"
#: Values for requests made from the schema, by field.
SENT: dict[str, list[Any]] = {
    "number": ["54", PIN, NAMES[0]],
    "pin": [PIN, NAMES[1]],
    "passphrase": [PASSPHRASE, PIN],
    "name": [*NAMES, "team.toml"],
    "typed": [NAMES[0]],
    "call": ["Hammer", NAMES[0]],
    "action": ["take", "save", "look", NAMES[0]],
    "text": [CSV, f"name = '{NAMES[2]}'\n", f"broken {NAMES[0]}"],
    "sheet": [PLAYS, NAMES[6]],
    "word": [[NAMES[6]]],
    "meant": [[NAMES[6]], ["+"]],
    "play": [NAMES[6], "0"],
    "file": [PLAYS.encode(), CSV.encode()],
    "code": [NAMES[0], PIN],
    "back": [f"/{NAMES[0]}", NAMES[0]],
    "choice_1": ["a", NAMES[0]],
}


class Marked(dict[str, list[Any]]):
    """Values by the name of a field; a name of somebody for unknown fields."""

    def __contains__(self, _: object) -> bool:
        return True

    def __missing__(self, _: str) -> list[Any]:
        return [*NAMES, PIN]


class Wire(httpx.Client):
    """A client of a server process, for any host in the request. Its user agent is a name."""

    def __init__(self, base: str, token: str) -> None:
        own = {"origin": base, "user-agent": NAMES[0], "referer": f"{base}/{NAMES[1]}", "x-forwarded-for": NAMES[0]}
        super().__init__(base_url=base, headers=own, timeout=30)
        if token:
            self.cookies.set(cookie_name(False), token)

    def request(self, method: str, url: Any, **sent: Any) -> httpx.Response:
        return super().request(method, str(url).removeprefix("http://testserver"), **sent)


def name_all(house: House) -> dict[AccountRole, str]:
    """Give people, team, opponent and day the names above; return a token for each role."""
    fill(house, house.team)
    devices = devices_of(house, house.team)
    with house.store.write(house.team.id) as t:
        team = t.team()
        team.name = NAMES[2]
        t.session.add(team)
        people = t.rows(Member)
        for place, member in enumerate(people):
            member.name = NAMES[place % 2]
            if member.role == AccountRole.OWNER.value:
                member.sign_in_name, member.secret_hash = NAMES[5], hash_pin(PASSPHRASE)
            elif member.role == AccountRole.PLAYER.value:
                member.secret_hash = hash_pin(PIN)
            t.add(member)
        for table, name in ((Opponent, NAMES[3]), (PracticeDay, NAMES[4])):
            for row in t.rows(table):
                row.name = name
                t.add(row)
    return {role: device.cookies.get(cookie_name(False), "") for role, device in devices.items()}


def lines_of(log: Path) -> list[dict[str, Any]]:
    """A process's log lines from standard error, as JSON, without times and random numbers."""
    lines = [json.loads(line) for line in log.read_text(encoding="utf-8").splitlines()]
    return [{k: v for k, v in line.items() if k not in ("timestamp", "request_id", "ms")} for line in lines]


@contextmanager
def at_process(
    house: House, tokens: dict[AccountRole, str], real: dict[str, list[Any]], log: Path, *options: str
) -> Iterator[Site]:
    """A separate server process, with a device for each role."""
    with serving(house.settings, log=log, options=options) as process, ExitStack() as open_devices:
        wires = {role: open_devices.enter_context(Wire(process.base, tokens[role])) for role in ROLES}
        yield Site(house, wires, real)


def ask_by_hand(site: Site) -> set[int]:
    """Requests that no schema makes: other people's pages, too much data, invalid JSON, files; returns the statuses."""
    found = set()
    for (method, pattern), allowed in ACCESS.items():
        if method == "GET" or pattern == "/sign-out":
            continue
        device = site.devices[next(role for role in ROLES if role in allowed)]
        path = re.sub(r"{(\w+)}", lambda m: str((site.real.get(m[1]) or NAMES)[0]), pattern)
        for sent in (
            {"data": {"name": NAMES[0]}, "headers": {"origin": f"https://{NAMES[0]}.example.org"}},
            {"content": NAMES[0].encode() * 120_000, "headers": {"content-type": f"text/{NAMES[0]}"}},
            {"content": f"{{{NAMES[0]}".encode(), "headers": {"content-type": "application/json"}},
            {"content": f"--x\r\n{NAMES[0]}".encode(), "headers": {"content-type": "multipart/form-data; boundary=x"}},
            {"files": {"file": (f"{NAMES[0]}.csv", (PLAYS if "opponents" in path else CSV).encode())}},
        ):
            found.add(device.request(method, path, **sent).status_code)
    for device in site.devices.values():
        found |= {device.get(path).status_code for path in (f"/{NAMES[0]}", f"/coach/{NAMES[1]}?{NAMES[0]}={PIN}")}
    return found


def asked_in(log: Path, event: str) -> set[tuple[str, str]]:
    """The routes in the lines of that event."""
    return {(line["method"], line["route"]) for line in lines_of(log) if line["event"] == event}


@pytest.mark.slow
@pytest.mark.xdist_group("asking")
def test_no_log_line_of_any_route_holds_what_is_stored_or_sent(house: House, tmp_path: Path) -> None:
    house.clock.at = datetime.now(UTC)
    tokens, log = name_all(house), tmp_path / "log"
    plain = real_values(house)
    plain["name"].append("team.toml")
    secrets = {str(one) for one in plain[""] if len(str(one)) >= 16} | {house.team.join_code, *tokens.values()}
    with at_process(house, tokens, plain, log, "--broken") as site:
        for seed in range(0, 20_000, 1_000):
            ask_site(site, 2, seed, Heard(), [GenerationMode.POSITIVE])
            if asked_in(log, "fault") == ROUTES:
                break
    assert asked_in(log, "fault") == ROUTES, "routes whose fault was not heard"
    heard = Heard()
    with at_process(
        house, tokens, Marked({name: [*plain.get(name, ()), *NAMES] for name in plain} | SENT), log
    ) as site:
        found = ask_by_hand(site)
        ask_site(site, 1, 57, heard)
        secrets |= {device.cookies.get(cookie_name(False), "") for device in site.devices.values()}
    assert {route for route in asked_in(log, "request") if route[1]} == ROUTES
    found |= {status for counts in heard.statuses.values() for status in counts}
    assert {200, 303, 400, 401, 403, 404, 413, 422} - found == set()
    written = json.dumps(lines_of(log), ensure_ascii=False).lower()
    assert [one for one in (*NAMES, PIN, PASSPHRASE, *sorted(secrets - {""})) if one.lower() in written] == []


def test_an_errors_message_is_not_logged() -> None:
    """Ours or a library's, raised or left in an unawaited task, as JSON or on a terminal."""
    program = """
import asyncio, gc, logging, structlog, sys
from server.logs import set_up_logs
form, *names = sys.argv[1:]
set_up_logs(as_json=form == "json")
async def fail():
    try:
        raise KeyError(names[0])
    except KeyError as error:
        raise ExceptionGroup(names[1], [ValueError(names[2])]) from error
async def main():
    try:
        await fail()
    except ExceptionGroup:
        structlog.get_logger().exception("fault")
        logging.getLogger("uvicorn.error").exception("Exception in ASGI application")
    task = asyncio.create_task(fail())
    await asyncio.sleep(0.01)
    del task
    gc.collect()
asyncio.run(main())
"""
    for form in ("json", "terminal"):
        command = [sys.executable, "-c", program, form, *NAMES]
        done = subprocess.run(command, capture_output=True, cwd=ROOT, check=True, text=True)
        assert all(done.stderr.count(f"builtins.{kind}") == 3 for kind in ("KeyError", "ExceptionGroup", "ValueError"))
        assert "in fail" in done.stderr
        assert "never retrieved" in done.stderr
        assert [name for name in NAMES if name in done.stderr] == []


def test_a_fault_in_the_database_puts_no_stored_value_into_the_log(house: House) -> None:
    """A failed statement's own message has its values: hashes of PINs, names. None may reach a log line."""
    with house.store.writing() as connection:
        connection.execute(text("CREATE TRIGGER broken BEFORE UPDATE ON member BEGIN SELECT RAISE(ABORT, 'x'); END"))
    change = update(Member).values(name=NAMES[0], secret_hash="$argon2id$planted")
    with pytest.raises(IntegrityError) as caught, house.store.write(house.team.id) as t:
        t.execute(change)
    assert not re.search(f"{NAMES[0]}|planted", str(caught.value))


REFUSALS = {
    "a row that breaks a rule": "ALTER TABLE answer ADD CONSTRAINT planted CHECK (choices < 0) NOT VALID",
    "a sentence with values in it": (
        "CREATE FUNCTION tell() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN RAISE EXCEPTION 'row %', NEW; END $$; "
        "CREATE TRIGGER telling BEFORE INSERT ON answer FOR EACH ROW EXECUTE FUNCTION tell()"
    ),
    "a value that does not fit": "ALTER TABLE answer ALTER COLUMN chosen_words TYPE integer USING 0",
}


@pytest.mark.parametrize("refusal", REFUSALS)
def test_postgresqls_details_of_a_row_reach_neither_log_nor_reply(
    tmp_path: Path, postgres_url: str, refusal: str
) -> None:
    """source: PostgreSQL's manual, Error and Notice Message Fields: a detail may hold the row, a message a value."""
    site, log = prepare(tmp_path, players=1, sets=1, database_url=postgres_url), tmp_path / "log"
    phone = site.phones[0]
    rep = phone.reps[0]
    store = open_store(site.settings)
    with store.writing() as connection:
        connection.execute(text(REFUSALS[refusal]))
    store.close()
    with serving(site.settings, log=log) as process:
        reply = httpx.put(process.base + rep.path("m" * 20), json=rep.body("a"), headers=phone.headers(process.base))
    assert reply.status_code == 500
    said = log.read_text(encoding="utf-8")
    assert '"event": "fault"' in said
    assert "psycopg.errors" in said
    for value in (phone.member_id, site.team.id, rep.set_id, rep.rep_id, "m" * 20, "left A", "one gap in"):
        assert value not in said + reply.text
