"""Every parser of ours as a target: content, rep ids, forms, secrets, cookies, orders, dates, settings. Parsers of
files are in `fuzzed_files.py`, multi-step forms in `fuzzed_pages.py`.

Paths and queries are left to schemathesis (`asking.py`).
"""

import asyncio
import functools
import io
import os
import random
import string
from collections.abc import Callable
from contextlib import redirect_stderr, redirect_stdout
from typing import Any
from unittest import mock

from fastapi.exceptions import RequestValidationError
from pydantic import BaseModel, ValidationError
from starlette.requests import Request
from starlette.responses import PlainTextResponse

import server.routes  # noqa: F401 - its forms are subclasses of Sent
from quizgen.content import load_team
from quizgen.content.documents import parse_files, write_files
from quizgen.content.dump import dump_team
from quizgen.reps.catalogue import Catalogue, Filter
from server.accounts.credentials import address_subject, find_token_team, from_typed_code, is_secret, make_token
from server.accounts.sessions import Viewer
from server.commands.main import run as run_command
from server.database.columns import Moment
from server.database.tables import AccountRole, Member, Purpose, Team
from server.errors import BadInput
from server.i18n.languages import language_of, negotiate
from server.opponents.tendencies import parse_counts, parse_number
from server.playbook.engine import Engine
from server.playbook.playbooks import Playbook, read_playbook
from server.reading.fields import Sent
from server.routes.entry import parse_number as parse_jersey
from server.sets.assignment import (
    AssignmentFields,
    check_due,
    check_order,
    parse_due,
    parse_length,
    parse_order,
    parse_purpose,
    parse_sides,
    parse_stages,
)
from server.sets.picks import parse_why
from server.sets.practice_days import DayForm, next_due, parse_day, parse_time
from server.settings import Settings, load_settings
from server.team.install import check_files
from server.web.metrics import may_read
from server.web.middleware import RequestMiddleware
from server.web.responses import refuse, to_refusal
from tests.harness.fake_football import FILES, FakeFootball
from tests.trust import fuzzed_files as files
from tests.trust import fuzzed_pages as pages
from tests.trust.fuzzed_files import DEMO, NOW
from tests.trust.fuzzing import Target, spoiled
from tests.trust.wandering import walk


def texts(*samples: str) -> Callable[[random.Random], str]:
    """Spoiled versions of these texts."""
    return lambda chance: (
        spoiled(chance, chance.choice(samples), samples) if chance.random() < 0.9 else chance.choice(samples)
    )


# content and reps


def spoiled_content(chance: random.Random) -> dict[str, str]:
    name = chance.choice(sorted(DEMO))
    return {**DEMO, name: spoiled(chance, DEMO[name], list(DEMO.values()) if chance.random() < 0.3 else [DEMO[name]])}


def take_content(files: dict[str, str]) -> None:
    check_files(Engine(), files)
    team = load_team(files)
    assert load_team(dump_team(team)) == team, "it does not come back the same"
    parsed = parse_files(files)
    assert write_files(parsed, files, parsed) == files, "unchanged files are written anew"


@functools.cache
def demo_reps() -> tuple[Catalogue, list[str]]:
    catalogue = Catalogue(load_team(DEMO))
    return catalogue, [rep.id for rep, _ in zip(catalogue.reps(), range(40), strict=False)]


def spoiled_rep_id(chance: random.Random) -> str:
    known = demo_reps()[1]
    return chance.choice(known) if chance.random() < 0.05 else spoiled(chance, chance.choice(known), known)


def take_rep_id(rep_id: str) -> None:
    assert demo_reps()[0].rep(rep_id).id == rep_id


def take_filter(words: dict[str, list[str]]) -> None:
    wanted = Filter(**words)
    assert all(wanted.takes(setup) for setup in demo_reps()[0].wanted(wanted)[:3])


def spoiled_filter(chance: random.Random) -> dict[str, list[str]]:
    team = demo_reps()[0].team
    known = {
        "positions": [p.name for p in team.positions],
        "calls": [p.name for p in team.pressures],
        "formations": [f.name for f in team.formations],
        "schemes": [s.name for s in team.schemes],
        "kinds": ["track", "moved-gap", "support"],
    }
    return {
        name: [spoiled(chance, chance.choice(words), words) if chance.random() < 0.3 else chance.choice(words)]
        for name, words in known.items()
        if chance.random() < 0.4
    }


COMMANDS = (
    "fit --call Moraine --to left --formation|Open I right|--play|Guard kick|--play-to right",
    "check --call Moraine --unsound",
    "reps --call Moraine --stage 2 --limit 2 --json",
    "reps --position Mike --to right --kind hooked --limit 1 --csv",
    "reps --id abc",
    "team check nowhere",
)


def spoiled_command(chance: random.Random) -> list[str]:
    words = [
        w
        for part in chance.choice(COMMANDS).split("|")
        for w in ([part] if " I " in part or "kick" in part else part.split())
    ]
    at = chance.randrange(1, len(words))
    if chance.random() < 0.9:
        words[at] = spoiled(chance, words[at], words)
    return [word for word in words if word not in ("--help", "--show-completion", "--install-completion", "0")]


def take_command(words: list[str]) -> None:
    said, told = io.StringIO(), io.StringIO()
    with redirect_stdout(said), redirect_stderr(told):
        code = run_command(words)
    assert code in (0, 1, 2), f"exit code {code}"
    assert "Traceback" not in said.getvalue() + told.getvalue()
    if code == 2:
        raise BadInput(told.getvalue().encode("utf-8", "replace").decode() or "nothing said")


# forms

FORMS = sorted(Sent.__subclasses__(), key=lambda form: form.__name__)
WORDS = (
    "a",
    "b",
    "54",
    "123456",
    "Hammer",
    "Mike",
    "1",
    "left",
    "2026-10-02T15:30",
    "take",
    "0123abcd",
    "x" * 20,
    "/home",
)


def spoiled_form(chance: random.Random) -> tuple[type[BaseModel], dict[str, Any]]:
    form = chance.choice(FORMS)
    sent: dict[str, Any] = {}
    for name in [*form.model_fields, *(["role"] if chance.random() < 0.1 else [])]:
        word = chance.choice(WORDS)
        one: Any = spoiled(chance, word, WORDS) if chance.random() < 0.4 else word
        if chance.random() < 0.4:
            one = [one, word] if chance.random() < 0.5 else [one] * chance.choice((0, 1, 500))
        if chance.random() < 0.9:
            sent[name] = one if chance.random() < 0.95 else chance.choice((None, float("nan"), 10**400, {"a": 1}, True))
    return form, sent


SCOPE = {"type": "http", "path": "/api/x", "method": "POST", "headers": [], "state": {}}


def take_form(given: tuple[type[BaseModel], dict[str, Any]]) -> None:
    form, sent = given
    try:
        found = form.model_validate(sent)
    except ValidationError as error:
        lines = [{**line, "loc": ("body", *line["loc"])} for line in error.errors()]
        refusal = to_refusal(RequestValidationError(lines))
        assert b"Traceback" not in bytes(refuse(SCOPE, refusal).body)
        raise refusal from None
    assert form.model_validate(found.model_dump()) == found


# signing in


def take_token(text: str) -> None:
    team = find_token_team(text)
    if team is None:
        raise BadInput("no token")
    assert find_token_team(make_token(team)) == team


#: A valid head.
HEAD = {
    "cookie": "gapsound-plain=abcdefgh.x; lang=es",
    "accept-language": "es-MX,es;q=0.9,en;q=0.8",
    "origin": "http://testserver",
    "sec-fetch-site": "same-origin",
    "host": "gaps.example.org",
    "accept": "text/html",
    "authorization": "Bearer abc",
    "content-length": "17",
}


def spoiled_head(chance: random.Random) -> dict[str, Any]:
    """A part of that head, some of it spoiled."""
    words = [*HEAD.values(), "65537", "https://gaps.example.org"]
    share = chance.choice((0.1, 0.5))
    heads = []
    for name in (one for one in HEAD if chance.random() < 0.8):
        word = spoiled(chance, HEAD[name], words) if chance.random() < share else HEAD[name]
        # The HTTP parser in front of us accepts only digits as a length, and at most twenty of them.
        heads.append((name.encode(), (word[:20] if name == "content-length" else word).encode("utf-8", "replace")))
    query = spoiled(chance, "code=ABCD%20", words).encode("utf-8", "replace")
    path = "/" + spoiled(chance, "team", words)
    return {**SCOPE, "scheme": "http", "path": path, "query_string": query, "headers": heads}


def take_head(scope: dict[str, Any]) -> None:
    """The head through the middleware: a refusal that can be sent, or on to the application."""
    heard: list[Any] = []

    async def receive() -> dict[str, Any]:
        return {"type": "http.request", "body": b"", "more_body": False}

    async def send(message: Any) -> None:
        heard.append(message)

    async def behind(scope: Any, receive: Any, send: Any) -> None:
        assert language_of(scope).code in ("en", "es")
        assert not may_read(Request(scope), "0123456789" * 3)
        await PlainTextResponse("in")(scope, receive, send)

    asyncio.run(RequestMiddleware(behind, refuse, "https://gaps.example.org", 65_536)(scope, receive, send))
    assert heard[0]["status"] in (200, 400, 403, 413, 422), heard
    if heard[0]["status"] != 200:
        raise BadInput(heard[1]["body"].decode())


def take_language(text: str) -> None:
    assert negotiate(text) in ("en", "es")


def take_secrets(text: str) -> None:
    assert from_typed_code(from_typed_code(text)) == from_typed_code(text)
    assert address_subject(text).startswith("address:")
    assert not is_secret("x", text)


def take_jersey(text: str) -> None:
    assert 0 <= parse_jersey(text) <= 999


# coaches' input


def take_due(text: str) -> None:
    due = parse_due(text, "America/Chicago")
    check_due(due, NOW)
    stored = Moment().process_bind_param(due, mock.Mock())
    back = Moment().process_result_value(stored, mock.Mock())
    assert back is not None
    assert back.timestamp() == due.timestamp()
    assert parse_due(due.strftime("%Y-%m-%dT%H:%M"), "America/Chicago").timestamp() == due.timestamp()


def take_order_words(text: str) -> None:
    reason, number = parse_why(text)  # what a row holds, which is never refused
    assert number == 0 or reason is not None
    found = 0
    for parse in (
        parse_time,
        lambda t: parse_stages([t]),
        lambda t: parse_sides([t, "left"]),
        parse_purpose,
        lambda t: parse_length(t, Purpose.REPS),
    ):
        try:
            parse(text)
            found += 1
        except BadInput as refusal:
            last = refusal
    if not found:
        raise last


@functools.cache
def made_up() -> tuple[Playbook, Any, list[Member]]:
    """A playbook, a coach who sees part of the team, and the players that he sees."""
    playbook = read_playbook(FakeFootball(), FILES)
    team = Team(id="t", name="T", join_code="c", time_zone="America/Chicago", content_hash="", created_at=NOW)
    own = {"team_id": "t", "created_at": NOW}
    coach = Member(**own, id="c", name="c", role=AccountRole.POSITION_COACH.value, groups=["backers"])
    seen = [Member(**own, id="p", name="p", role=AccountRole.PLAYER.value, number=54, positions=["Mike"])]
    return playbook, Viewer(team, coach, ""), seen


ORDER = {
    "call": "Hammer",
    "positions": ["Mike"],
    "players": [],
    "stages": ["1", "2"],
    "sides": ["left"],
    "purpose": "reps",
    "length": "8",
    "due": "2026-10-02T15:30",
    "is_weighted": "",
}
DAY = {"name": "Runs", "weekday": "1", "due": "15:30", "purpose": "reps", "stages": ["2"], "sides": ["left"]}


def spoiled_order(chance: random.Random) -> dict[str, Any]:
    """A coach's input for sending a set or saving a day, most of it right."""
    sent = {**chance.choice((ORDER, DAY)), "length": "8"}
    for name in chance.sample(sorted(sent), chance.choice((0, 1, 1, 2))):
        word = spoiled(chance, str(sent[name] or "p"), (*WORDS, "check", "15:30"))[:200]
        sent[name] = chance.choice(([word], [], [word, "left"])) if isinstance(sent[name], list) else word
    return sent


def take_order(sent: dict[str, Any]) -> None:
    playbook, viewer, seen = made_up()
    try:
        form = (AssignmentFields if "call" in sent else DayForm).model_validate(sent)
    except ValidationError as error:
        raise to_refusal(RequestValidationError(error.errors())) from None
    if isinstance(form, DayForm):
        day = parse_day(form, mock.Mock(team_id="t"))
        assert next_due(day.weekday, day.due, "America/Chicago", NOW) > NOW
        return
    order = check_order(parse_order(form, viewer, NOW), playbook, viewer, seen, has_opponent=True)
    assert set(order.positions) <= {"Mike", "Will"}, "a position of another coach's"
    assert order.due_at > NOW


def take_number(text: str) -> None:
    number = parse_number(text, "Guard kick")
    assert 0 <= number <= 100_000
    parse_counts([text, "Guard kick"], [text, "3"], (), is_percent=len(text) % 2 == 0, snaps=text)


# settings

SETTINGS = (
    "postgresql://user@host/name",
    "https://gaps.example.org:8443",
    "10.0.0.0/8, 127.0.0.1",
    "64",
    "::1/128",
    "/tmp",
)


def spoiled_settings(chance: random.Random) -> dict[str, str]:
    names = chance.sample(sorted(Settings.model_fields), chance.choice((1, 1, 2)))
    return {f"GAPSOUND_{n.upper()}": spoiled(chance, chance.choice(SETTINGS), SETTINGS) for n in names}


def take_settings(given: dict[str, str]) -> None:
    with mock.patch.dict(os.environ):
        for name, value in given.items():
            try:
                os.environ[name] = value
            except (ValueError, UnicodeEncodeError):
                raise BadInput("no operating system takes this as a variable") from None
        found = load_settings()
        assert found.effective_database_url
        assert 16 <= found.body_limit_kb <= 1024


def targets() -> list[Target]:
    """All of them."""
    signs = string.ascii_letters + string.digits
    token = "aBcDeFgHiJkLmNoP." + signs[:43]
    return [
        Target("content", 30, spoiled_content, take_content),
        Target("rep ids", 60, spoiled_rep_id, take_rep_id),
        Target("filters", 15, spoiled_filter, take_filter),
        Target("commands", 2, spoiled_command, take_command),
        Target("forms", 200, spoiled_form, take_form),
        Target("tokens", 60, texts(token, token[:-1]), take_token),
        Target("heads", 150, spoiled_head, take_head),
        Target("accept-language", 60, texts("es-MX,es;q=0.9,en;q=0.8", "*", "en-US;q=0.5, fr"), take_language),
        Target(
            "codes and addresses",
            60,
            texts("ACDE-FGHJ", "192.0.2.7", "2001:db8::1%eth0", "$argon2id$v=19$m=1"),
            take_secrets,
        ),
        Target("jersey numbers", 40, texts("54", "#7", "007"), take_jersey),
        Target(
            "due dates",
            80,
            texts("2026-10-02T15:30", "2026-11-01T01:30", "9999-12-31T23:59", "0001-01-01T00:00"),
            take_due,
        ),
        Target("times, stages, sides, lengths", 60, texts("15:30", "3", "left", "reps", "8"), take_order_words),
        Target("counts", 60, texts("12", "12,5", "30 %", "Guard kick"), take_number),
        Target("orders and days", 60, spoiled_order, take_order),
        Target("sheets", 60, files.spoiled_sheet, files.take_sheet),
        Target("sheets as text", 40, texts(*files.SHEETS), files.take_sheet_text),
        Target("play lists", 60, files.spoiled_list, files.take_list),
        Target("play lists through the pages", 4, pages.spoiled_upload, pages.take_upload),
        Target("rosters through the pages", 3, pages.spoiled_roster, pages.take_roster_upload),
        Target("the defense edited in the browser", 3, pages.spoiled_edit, pages.take_edit),
        Target("pages and their forms", 5, lambda chance: chance.randrange(10**9), walk),
        Target("backup files", 30, files.spoiled_backup, files.take_backup),
        Target("backup rows", 2, files.spoiled_rows, files.take_restore),
        Target("settings", 30, spoiled_settings, take_settings),
    ]
