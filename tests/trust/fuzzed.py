"""Every parser of ours as a target: content, rep ids, forms, secrets, cookies, CSV, backups, settings, dates."""

import functools
import gzip
import hashlib
import io
import json
import os
import random
import string
import tempfile
from collections.abc import Callable
from contextlib import redirect_stderr, redirect_stdout, suppress
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from unittest import mock

from fastapi.exceptions import RequestValidationError
from pydantic import BaseModel, ValidationError

import server.inputs
from quizgen.content import load_team
from quizgen.content.dump import dump_team
from quizgen.reps.catalogue import Catalogue, Filter
from server.backup import read_backup, restore, write_backup
from server.cli import run as run_command
from server.csv_in import Sheet, decode, parse_csv, to_csv, unguarded
from server.football import Engine
from server.gate import find_origin_problem, find_text_problem
from server.languages import language_of, negotiate
from server.opponents import parse_counts, parse_number
from server.orders import check_due, parse_due, parse_length, parse_purpose, parse_sides, parse_stages
from server.paths import SEED_CONTENT
from server.practice_days import parse_time
from server.problems import BadInput, Refusal
from server.replies import refuse, to_refusal
from server.roster_csv import Use, parse_entry, propose
from server.routes.entry import parse_number as parse_jersey
from server.security import address_subject, find_token_team, from_typed_code, is_secret, make_token
from server.settings import Settings, load_settings
from server.store import open_store
from server.tables import Moment, Purpose
from server.teams import check_files
from tests.server.fake_football import FILES, FakeFootball
from tests.trust.fuzzing import Target, spoiled, spoiled_bytes

NOW = datetime(2026, 9, 1, 20, 0, tzinfo=UTC)
DEMO = {p.name: p.read_text(encoding="utf-8") for p in sorted((SEED_CONTENT / "tarrow_falls").glob("*.toml"))}


def texts(*samples: str) -> Callable[[random.Random], str]:
    """Spoiled texts of these samples."""
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

FORMS = [
    one
    for one in vars(server.inputs).values()
    if isinstance(one, type) and issubclass(one, server.inputs.Sent) and one is not server.inputs.Sent
]
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


# who asks


def take_token(text: str) -> None:
    team = find_token_team(text)
    if team is None:
        raise BadInput("no token")
    assert find_token_team(make_token(team)) == team


def spoiled_head(chance: random.Random) -> dict[str, Any]:
    words = (
        "gapsound-plain=abcdefgh.x; lang=es",
        "es-MX,es;q=0.9,en;q=0.8",
        "http://testserver",
        "same-origin",
        "gzip",
    )
    names = (b"cookie", b"accept-language", b"origin", b"sec-fetch-site", b"host", b"accept", b"content-length")
    heads = [
        (n, spoiled(chance, chance.choice(words), words).encode("utf-8", "replace"))
        for n in names
        if chance.random() < 0.7
    ]
    query = spoiled(chance, "code=ABCD%20", words).encode("utf-8", "replace")
    return {
        **SCOPE,
        "scheme": "http",
        "path": "/" + spoiled(chance, "join", words),
        "query_string": query,
        "headers": heads,
    }


def take_head(scope: dict[str, Any]) -> None:
    from starlette.datastructures import Headers

    spoken = language_of(scope)
    assert spoken.code in ("en", "es")
    problem = find_text_problem(scope) or find_origin_problem(scope, Headers(scope=scope), "https://gaps.example.org")
    if problem:
        refusal = BadInput(problem)
        assert bytes(refuse(scope, refusal).body)
        raise refusal


def take_language(text: str) -> None:
    assert negotiate(text) in ("en", "es")


def take_secrets(text: str) -> None:
    assert from_typed_code(from_typed_code(text)) == from_typed_code(text)
    assert address_subject(text).startswith("address:")
    assert not is_secret("x", text)


def take_jersey(text: str) -> None:
    assert 0 <= parse_jersey(text) <= 999


# what coaches type


def take_due(text: str) -> None:
    due = parse_due(text, "America/Chicago")
    check_due(due, NOW)
    stored = Moment().process_bind_param(due, mock.Mock())
    back = Moment().process_result_value(stored, mock.Mock())
    assert back is not None
    assert back.timestamp() == due.timestamp()
    assert parse_due(due.strftime("%Y-%m-%dT%H:%M"), "America/Chicago").timestamp() == due.timestamp()


def take_order_words(text: str) -> None:
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


def take_number(text: str) -> None:
    number = parse_number(text, "Guard kick")
    assert 0 <= number <= 100_000
    parse_counts([text, "Guard kick"], [text, "3"], (), is_percent=len(text) % 2 == 0, snaps=text)


# files

SHEETS = (
    'Number,Name,Positions\n54,Dale,Mike\n33,Rory,"Will, Mike"\n',
    "sep=;\r\n#;First name;Pos\r\n7;'=Al;Nose\r\n",
    "No\tPlayer\tPos 1\tPos 2\n1\tÑandu\tMike\tWill\n",
)


def spoiled_sheet(chance: random.Random) -> bytes:
    text = spoiled(chance, chance.choice(SHEETS), SHEETS)
    raw = text.encode(chance.choice(("utf-8", "utf-8-sig", "utf-16", "utf-16-le", "cp1252")), "replace")
    return spoiled_bytes(chance, raw) if chance.random() < 0.4 else raw


def take_sheet(raw: bytes) -> None:
    sheet: Sheet = parse_csv(decode(raw))
    again = parse_csv(decode(b"".join(to_csv(sheet.header, [line.cells for line in sheet.lines]))))
    back = [tuple(unguarded(cell) for cell in line.cells) for line in again.lines]
    plain = [line.cells for line in sheet.lines]
    if len(sheet.header) > 1:  # one column and an empty cell is an empty line
        assert [tuple(c.strip() for c in line) for line in back] == plain, "it does not come back the same"
    uses = propose(sheet)
    columns = {use: [place for place, one in enumerate(uses) if one is use] for use in Use}
    if all(columns[use] for use in (Use.NUMBER, Use.NAME)):
        for line in sheet.lines:
            with suppress(BadInput):
                entry = parse_entry(line, columns, {"mike": "Mike", "will": "Will"})
                assert 0 <= entry.number <= 99
                assert entry.name
                assert entry.positions


def take_sheet_text(text: str) -> None:
    parse_csv(text)


@functools.cache
def backup_sample() -> bytes:
    """A backup of a made-up team."""
    from server.teams import add_team

    with tempfile.TemporaryDirectory(prefix="gapsound-fuzz-") as name:
        store = open_store(load_settings(data_dir=Path(name), database_url=""))
        store.migrate()
        add_team(store, FakeFootball(), FILES, NOW)
        write_backup(store, Path(name) / "backup", NOW)
        store.close()
        return (Path(name) / "backup").read_bytes()


@functools.cache
def scratch() -> Path:
    return Path(tempfile.mkdtemp(prefix="gapsound-fuzz-"))


def spoiled_backup(chance: random.Random) -> bytes:
    if chance.random() < 0.3:
        return spoiled_bytes(chance, backup_sample())
    text = spoiled(chance, gzip.decompress(backup_sample()).decode(), ("[]\n", '{"rows": {}}\n', '["team", 3]\n'))
    return gzip.compress(text.encode("utf-8", "replace"), 1)


def take_backup(raw: bytes) -> None:
    path = scratch() / "backup"
    path.write_bytes(raw)
    for table, row in read_backup(path):
        assert isinstance(table, str)
        assert isinstance(row, dict)


def spoiled_rows(chance: random.Random) -> bytes:
    """A backup with a sound checksum, whose rows are not what the tables take."""
    head, *lines, _ = gzip.decompress(backup_sample()).splitlines()
    rows = [json.loads(line) for line in lines]
    for _ in range(chance.choice((1, 1, 3))):
        table, row = chance.choice(rows)
        name = chance.choice(sorted(row))
        way = chance.randrange(5)
        if way == 0:
            row.pop(name)
        elif way == 1:
            row[chance.choice(("x", "Team_id", "id; --", ""))] = 1
        elif way == 2:
            row[name] = chance.choice((None, 3, -1, 1e300, "text", [], {}, True, 10**30, "\ud800"))
        elif way == 3:
            rows.append([table, dict(row)])
        else:
            rows.remove([table, row])
        if not rows:
            break
    counts: dict[str, int] = {}
    digest, body = hashlib.sha256(), b""
    for table, row in rows:
        line = json.dumps([table, row], separators=(",", ":"), sort_keys=True).encode() + b"\n"
        digest.update(line)
        body += line
        counts[table] = counts.get(table, 0) + 1
    foot = json.dumps({"rows": counts, "sha256": digest.hexdigest()}).encode() + b"\n"
    return gzip.compress(head + b"\n" + body + foot, 1)


def take_restore(raw: bytes) -> None:
    path = scratch() / "rows"
    path.write_bytes(raw)
    with tempfile.TemporaryDirectory(prefix="gapsound-fuzz-") as name:
        store = open_store(load_settings(data_dir=Path(name), database_url=""))
        try:
            restore(store, path)
        except Refusal:
            assert store.teams() == [], "half of it was restored"
            raise
        finally:
            store.close()


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
        Target("sheets", 60, spoiled_sheet, take_sheet),
        Target("sheets as text", 40, texts(*SHEETS), take_sheet_text),
        Target("backup files", 30, spoiled_backup, take_backup),
        Target("backup rows", 2, spoiled_rows, take_restore),
        Target("settings", 30, spoiled_settings, take_settings),
    ]
