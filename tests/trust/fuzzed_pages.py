"""Uploads and edits of a coach, spoiled and sent through the pages of a running server step by step.

A correct parser may still be called with unexpected input; here a refusal changes nothing, what is accepted is stored
completely, and no reply is a 500.
"""

import functools
import random
import re
import tempfile
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from html import unescape
from pathlib import Path
from typing import Any

import httpx
from sqlalchemy import select

from server.accounts.members import add_coach
from server.app import make_app
from server.database.store import Store
from server.database.tables import TABLES, AccountRole, ContentFile
from server.errors import BadInput
from server.opponents.play_list import BODY_MAX
from server.playbook.engine import Engine
from server.playbook.noun_names import read_names
from server.settings import load_settings
from server.team.install import ROSTER, add_team, current_players, to_roster, update_in
from tests.harness.databases import open_migrated
from tests.harness.house import PAGE, PASSPHRASE_HASH, Clock, House, TestClient, make_house
from tests.opponents.test_play_list import fields
from tests.trust.fuzzed_files import DEMO, LISTS, MEANT, SHEETS, encoded
from tests.trust.fuzzing import spoiled

#: Tables that any request may change.
MOVING = {"sign_in", "failed_try", "call_families"}
ALERT = re.compile(r'role="alert"[^>]*>(.*?)</(?:p|div)>', re.S)


def rows_of(store: Store) -> dict[str, list[tuple[Any, ...]]]:
    """Everything stored, by table."""
    with store.engine.connect() as connection:
        tables = [one.__table__ for one in TABLES if one.__tablename__ not in MOVING]  # type: ignore[attr-defined]
        return {
            table.name: [tuple(row) for row in connection.execute(select(table).order_by(*table.primary_key.columns))]
            for table in tables
        }


def changed(before: dict[str, list[tuple[Any, ...]]], after: dict[str, list[tuple[Any, ...]]]) -> set[str]:
    return {name for name in before if before[name] != after[name]}


def check_reply(reply: httpx.Response) -> None:
    """Raises: BadInput with the page's message when it is a refusal."""
    assert reply.status_code < 500, f"{reply.request.url.path}: {reply.status_code} to {reply.request.read()[:300]!r}"
    if reply.status_code >= 400:
        said = ALERT.search(reply.text) or re.search("<h1>.*?</main>", reply.text, re.S)
        assert said, f"{reply.request.url.path}: {reply.status_code} and not a word"
        raise BadInput(re.sub("<[^>]*>", " ", said[0].partition(">")[2]))


def as_parts(form: dict[str, str | list[str]]) -> list[tuple[str, tuple[None, str]]]:
    """A form as a browser sends one with a file in it."""
    return [(k, (None, one)) for k, v in form.items() for one in (v if isinstance(v, list) else [v])]


@dataclass(frozen=True)
class Upload:
    """A file, and the changes that a coach makes in the forms after it."""

    raw: bytes
    typed: dict[str, str | list[str]] = field(default_factory=dict)


@dataclass
class Office:
    """A signed-in coach with a server that stays up, and the opponent whose play lists are imported."""

    house: House
    coach: TestClient
    imports: str

    def post(self, path: str, **sent: Any) -> httpx.Response:
        return self.coach.post(path, headers=PAGE, follow_redirects=False, **sent)


@functools.cache
def office() -> Office:
    houses = keep(make_house(Path(tempfile.mkdtemp(prefix="gapsound-fuzz-"))))
    coach = houses.coach()
    opponent = coach.post("/coach/opponents", data={"name": "Oakdale"}, headers=PAGE).url.path
    return Office(houses, coach, f"{opponent}/import")


KEPT: list[Iterator[House]] = []


def keep(houses: Iterator[House]) -> House:
    """The house, kept for as long as the process lasts."""
    KEPT.append(houses)
    return next(houses)


def some(chance: random.Random, words: Iterable[str], most: int) -> list[str]:
    return chance.choices(list(words), k=chance.randrange(most))


def sendable(text: str) -> str:
    """The text without lone surrogates, which no client can send as UTF-8."""
    return text.encode("utf-8", "replace").decode()


# play lists

RUNS = {"opponent", "audit_entry"}


def spoiled_upload(chance: random.Random) -> Upload:
    raw = encoded(chance, spoiled(chance, chance.choice(LISTS), LISTS))
    if chance.random() < 0.03 and raw:
        raw = (raw * (BODY_MAX // len(raw)))[: chance.choice((700_000, 990_000, 1_040_000, BODY_MAX))]
    typed: dict[str, str | list[str]] = {}
    places = ("", "0", "1", "2", "7", "59", "99", "x", "-1", "٣")
    for name in ("heading", "play", "count", "formation", "motion", "direction", "down", "distance"):
        if chance.random() < 0.12:
            typed[name] = chance.choice(places)
    if chance.random() < 0.3:
        typed["meant"] = some(chance, (*MEANT, "nothing of ours"), 9)
    if chance.random() < 0.2:
        typed["formation_meant"] = some(chance, ("+", "", "pro", "trips-left/trips-right", "nothing"), 5)
    if chance.random() < 0.2:
        typed["sides"] = chance.choice(("theirs", "ours", "x"))
    if chance.random() < 0.1:
        typed["word"] = some(chance, ("zone", "Zone Rt", "x" * 501, ""), 6)
    if chance.random() < 0.3:
        typed["way"] = chance.choice(("add", "add", "both"))
    if chance.random() < 0.1:
        typed["stands"] = chance.choice(("", "1", "9" * 20))
    return Upload(raw, typed)


def take_upload(given: Upload) -> None:
    """Choose the file, map it, look at the dry run, store it."""
    desk = office()
    before = rows_of(desk.house.store)
    try:
        form = (
            fields(checked(desk.post(desk.imports, files={"file": ("plays.csv", given.raw, "text/csv")}))) | given.typed
        )
        desk.post(f"{desk.imports}/map", files=as_parts(form))
        form |= fields(checked(desk.post(f"{desk.imports}/try", files=as_parts(form)))) | given.typed
        assert changed(before, rows_of(desk.house.store)) == set(), "a look stored something"
        checked(desk.post(f"{desk.imports}/store", files=as_parts(form)))
    except BadInput:
        assert changed(before, rows_of(desk.house.store)) == set(), "half of it was stored"
        raise
    after = rows_of(desk.house.store)
    assert {"opponent", "audit_entry"} <= changed(before, after) <= {*RUNS, "play_word", "formation_word"}
    assert len(after["audit_entry"]) == len(before["audit_entry"]) + 2


def checked(reply: httpx.Response) -> str:
    check_reply(reply)
    return reply.text


# rosters


def spoiled_roster(chance: random.Random) -> Upload:
    text = spoiled(chance, chance.choice(SHEETS), SHEETS)
    typed: dict[str, str | list[str]] = {}
    if chance.random() < 0.3:
        typed["use"] = some(chance, ("number", "name", "positions", "nothing"), 6)
    if chance.random() < 0.2:
        typed["others"] = chance.choice(("go", "stay", "x"))
    if chance.random() < 0.1:
        typed["digest"] = chance.choice(("", "0" * 64, "x"))
    if chance.random() < 0.1:
        typed["text"] = sendable(spoiled(chance, text, SHEETS))
    return Upload(encoded(chance, text), typed)


def take_roster_upload(given: Upload) -> None:
    """Choose the file, map its columns, look at the preview, import it."""
    desk = office()
    before = rows_of(desk.house.store)
    try:
        looked = checked(desk.post("/coach/roster/import", files={"file": ("r.csv", given.raw, "text/csv")}))
        form: dict[str, str | list[str]] = roster_fields(looked) | given.typed
        looked = checked(desk.post("/coach/roster/import/take", files=as_parts(form | {"action": "look"})))
        form |= {"digest": roster_fields(looked)["digest"]} | given.typed
        assert changed(before, rows_of(desk.house.store)) == set(), "a look stored something"
        checked(desk.post("/coach/roster/import/take", files=as_parts(form | {"action": "take"})))
    except BadInput:
        assert changed(before, rows_of(desk.house.store)) == set(), "half of it was stored"
        raise
    assert changed(before, rows_of(desk.house.store)) <= {"member", "content_file", "audit_entry"}
    with desk.house.store.read(desk.house.team.id) as t:
        assert t.get(ContentFile, ROSTER, what="file").text == to_roster(current_players(t), read_names(t)), (
            "file and players differ"
        )


def roster_fields(page: str) -> dict[str, str | list[str]]:
    """The fields that the roster page's form would send unchanged."""
    hidden = dict(re.findall(r'<input type="hidden" name="(text|digest)" value="([^"]*)">', page))
    uses = re.findall(r'<option value="(\w+)" selected>', page)
    return {name: unescape(value) for name, value in hidden.items()} | {"use": uses}


# the defense, edited in the browser

PAGES = ("/coach/defense", "/coach/board", "/coach/assign", "/coach/roster", "/coach/opponents", "/coach/results")


@functools.cache
def study() -> Office:
    """One for all edits."""
    return open_study()


def open_study() -> Office:
    """A coach of the demo team, with the real football behind his pages."""
    settings = load_settings(data_dir=Path(tempfile.mkdtemp(prefix="gapsound-fuzz-")))
    store, clock = open_migrated(settings), Clock()
    team = add_team(store, Engine(), DEMO, clock()).team
    with store.write(team.id) as t:
        t.add(add_coach(t, "owner", AccountRole.OWNER, PASSPHRASE_HASH, clock()))
    house = House(settings, store, clock, make_app(settings, store=store, football=Engine(), now=clock), [team])
    return Office(house, house.coach(), "")


@dataclass(frozen=True)
class FileEdit:
    """One of the team's files as typed; ``is_stale``: opened before somebody else saved."""

    name: str
    text: str
    is_stale: bool


def spoiled_edit(chance: random.Random) -> FileEdit:
    name = chance.choice([one for one in sorted(DEMO) if one != ROSTER] * 9 + [ROSTER, "nothing.toml"])
    text = DEMO.get(name, "")
    if chance.random() < 0.9:
        text = sendable(spoiled(chance, text, [text]))
    return FileEdit(name, text, chance.random() < 0.05)


def take_edit(given: FileEdit) -> None:
    """Save the file, then restore the demo, so that each edit starts from it."""
    desk = study()
    store, team_id = desk.house.store, desk.house.team.id
    before = rows_of(store)
    with store.read(team_id) as t:
        stands = "0" * 64 if given.is_stale else t.team().content_hash
    form = {"text": given.text, "stands": stands, "action": "save"}
    try:
        checked(desk.post(f"/coach/defense/files/{given.name}", data=form))
    except BadInput:
        assert changed(before, rows_of(store)) == set(), "half of it was saved"
        raise
    assert changed(before, rows_of(store)) <= {"content_file", "team", "audit_entry"}
    statuses = {path: desk.coach.get(path, headers=PAGE).status_code for path in PAGES}
    with store.write(team_id) as t:
        update_in(t, Engine(), DEMO, desk.house.clock())
    assert set(statuses.values()) == {200}, f"saved, and then {statuses}"
