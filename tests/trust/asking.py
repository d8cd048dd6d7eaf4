"""Everything that may be sent to every route, made by schemathesis from the schema, and what came back.

Half of what is sent keeps to the schema and half breaks it; in what keeps to it, made-up ids and values are often
exchanged for ones that exist, so that more than "there is no such thing" is heard.
"""

import random
import re
import tempfile
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from datetime import timedelta
from itertools import product
from pathlib import Path
from typing import Any

import schemathesis
from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis.errors import Unsatisfiable
from schemathesis import GenerationMode
from schemathesis.specs.openapi.checks import negative_data_rejection, status_code_conformance
from sqlalchemy import select

from server.accounts.credentials import cookie_name, make_id, make_token, token_hash
from server.accounts.permissions import ACCESS
from server.database.tables import TABLES, Member, Role, SignIn
from server.web.middleware import HEADERS
from tests.harness.house import PASSPHRASE, PIN, House, answer_url, chosen, make_house
from tests.trust.documented import schema_of

ROLES = (Role.OWNER, Role.POSITION_COACH, Role.PLAYER, Role.NOBODY)
#: What schemathesis hands to a client of its own kind and ours takes too.
TAKEN = {"method", "url", "json", "data", "params", "headers", "content", "files"}
#: Signs that an address holds only written out; the one who makes them up leaves some as they are.
CONTROLS = re.compile(r"[\x00-\x1f\x7f]")
#: A value that exists now and then, by the name of the field.
WORDS: dict[str, Sequence[Any]] = {
    "call": ("Hammer", "anvil"),
    "name": ("Hammer", "owner", "coach"),
    "positions": (["Mike"], ["Will", "Mike"], ["Nose"]),
    "stages": ([1], [1, 2, 3]),
    "sides": (["left"], ["left", "right"]),
    "due": ("2026-09-20T15:30", "2026-08-01T00:00"),
    "number": ("54", "33", "7"),
    "pin": (PIN, "000000"),
    "passphrase": (PASSPHRASE,),
    "group": ("line", "backers"),
    "chosen": (["a"], ["b"], ["a", "b"]),
    "choice_1": ("a", "b"),
    "choice_2": ("a", "b"),
    "place": range(1, 9),
}
ERROR_KEYS = {"code", "message", "details", "request_id"}


@dataclass
class Site:
    """A server with two teams, a set opened and answered in both, and a device for each role. ``watch`` says what else
    is wrong with a reply, a line each."""

    house: House
    devices: dict[Role, Any]
    real: dict[str, list[Any]]
    watch: Callable[[Any], list[str]] = lambda _: []

    def is_signed_in(self, role: Role) -> bool:
        token = self.devices[role].cookies.get(cookie_name(False), "")
        people = self.house.app.state.services.sessions
        return role is Role.NOBODY or people.find_viewer(token, self.house.clock()) is not None


def fill(house: House, team: Any) -> None:
    """Three sets: answered in part, untouched, closed."""
    phone, ids = house.player(team=team), [house.send_set(team=team, hours=24 * 19) for _ in range(3)]
    for place in house.open_set(phone, ids[0])[:2]:
        rep = place["rep_id"]
        phone.put(answer_url(ids[0]), json={"rep_id": rep, "chosen": chosen(rep, "a")})
    house.coach(team=team).post(f"/coach/sets/{ids[2]}/close")


def real_values(house: House) -> dict[str, list[Any]]:
    """What exists in either team, by the name under which it is asked for; under "" everything that is some id."""
    found: dict[str, list[Any]] = {name: list(values) for name, values in WORDS.items()}
    found |= {"": [], "code": [team.join_code for team in house.teams], "team": [team.id for team in house.teams]}
    with house.store.engine.connect() as connection:
        for table in (one.__table__ for one in TABLES):
            for column in table.primary_key.columns:
                values = connection.scalars(select(column).distinct().limit(40)).all()
                name = {"assignment_id": "set_id", "member_id": "player_id"}.get(column.name, column.name)
                name = f"{table.name}_id" if name == "id" else name
                found.setdefault(name, []).extend(values)
                found[""].extend(str(value) for value in values)
    found["set_id"] += found["assignment_id"]
    found = {name: values for name, values in found.items() if values}
    found["players"] = [[one] for one in found["player_id"]]
    return found


@contextmanager
def open_site(**more: object) -> Iterator[Site]:
    with tempfile.TemporaryDirectory(prefix="gapsound-asking-") as folder:
        houses = make_house(Path(folder), **more)
        house = next(houses)
        house.add_team()
        for team in house.teams:
            fill(house, team)
        devices = {Role.NOBODY: house.client(), Role.PLAYER: house.player()}
        devices |= {role: house.coach(role) for role in ROLES if role not in devices}
        try:
            yield Site(house, devices, real_values(house))
        finally:
            next(houses, None)


@dataclass
class Heard:
    """How often each route replied with what, and what is wrong."""

    statuses: dict[str, Counter[int]] = field(default_factory=dict)
    wrong: Counter[str] = field(default_factory=Counter)
    examples: dict[str, str] = field(default_factory=dict)

    @property
    def asked(self) -> int:
        return sum(sum(one.values()) for one in self.statuses.values())

    def note(self, what: str, sent: object) -> None:
        self.wrong[what] += 1
        self.examples.setdefault(what, repr(sent)[:600])


def exchange(case: Any, real: dict[str, list[Any]], chance: random.Random) -> None:
    """Put values that exist in the place of some that were made up."""
    for name in case.path_parameters or {}:
        if chance.random() < 0.75:
            case.path_parameters[name] = chance.choice(real.get(name) or real[""])
    for fields in (case.query, case.body):
        for name in fields if isinstance(fields, dict) else ():
            if name in real and chance.random() < 0.6:
                fields[name] = chance.choice(real[name])


def is_sent(case: Any) -> bool:
    """Whether what was made up went out as it was meant: an empty field of a form counts as none, as browsers send it
    for what nobody filled in, and that is right where none is needed."""
    fields = case.body if isinstance(case.body, dict) else {}
    return not any(value in ("", [], [""]) for value in fields.values())


def problems_of(case: Any, reply: Any, is_allowed: bool) -> list[str]:
    """What is wrong with a reply, a line each."""
    label, found = case.operation.label, []
    for check in (
        status_code_conformance,
        *([negative_data_rejection] if is_allowed and reply.status_code < 400 and is_sent(case) else []),
    ):
        try:
            case.validate_response(reply, checks=[check])
        except BaseExceptionGroup as group:
            found += [f"{label}: {type(e).__name__} {int(reply.status_code)}" for e in group.exceptions]
    if reply.status_code >= 500:
        found.append(f"{label}: {reply.status_code}")
    found += [
        f"{label}: without the header {name.decode()}" for name, _ in HEADERS if name.decode() not in reply.headers
    ]
    if reply.status_code >= 400:
        if "Traceback" in reply.text or "sqlalchemy" in reply.text:
            found.append(f"{label}: tells of the program's inside")
        if "json" in reply.headers["content-type"] and not set(reply.json()["error"]) >= ERROR_KEYS:
            found.append(f"{label}: a refusal of another form")
    return found


def items_of(files: Any) -> list[tuple[str, Any]]:
    """The fields of a form with a file in it, by name."""
    return list(files.items() if isinstance(files, dict) else files)


def as_sent(one: Any) -> Any:
    """A field of such a form as a browser sends it: what is no file is text."""
    if isinstance(one, tuple):
        return (one[0], as_sent(one[1]), *one[2:])
    return one if isinstance(one, str | bytes) else str(one)


def ask(site: Site, operation: Any, mode: GenerationMode, role: Role, cases: int, number: int, heard: Heard) -> None:
    """Send that many made-up requests of one kind to one route, as somebody of that role."""
    chance, device = random.Random(number), site.devices[role]
    token = device.cookies.get(cookie_name(False), "")
    counts = heard.statuses.setdefault(operation.label, Counter())
    is_allowed = role in ACCESS[tuple(operation.label.split(" "))]

    @seed(number)
    @settings(
        max_examples=cases if is_allowed else 1,
        database=None,
        deadline=None,
        suppress_health_check=list(HealthCheck),
        phases=[Phase.generate],
    )
    @given(case=operation.as_strategy(generation_mode=mode))
    def send(case: Any) -> None:
        if mode is GenerationMode.POSITIVE:
            exchange(case, site.real, chance)
        sent = {k: v for k, v in case.as_transport_kwargs(base_url="http://testserver").items() if k in TAKEN}
        sent["url"] = CONTROLS.sub(lambda sign: f"%{ord(sign[0]):02X}", sent["url"])
        if sent.get("files"):
            sent["files"] = [(name, as_sent(one)) for name, one in items_of(sent["files"])]
        if isinstance(sent.get("data"), str | bytes):
            sent["content"] = sent.pop("data")
        sent["headers"] = {**(sent.get("headers") or {}), "Accept": chance.choice(("text/html", "application/json"))}
        site.house.clock.move(seconds=20)
        device.cookies.clear()  # else a try to sign in that succeeds would make him somebody else for good
        if token:
            device.cookies.set(cookie_name(False), token)
        reply = device.request(**sent, follow_redirects=False)
        reply.request.read()  # a form with a file was streamed; whoever looks at the reply may want to show it
        counts[int(reply.status_code)] += 1
        for line in (*problems_of(case, reply, is_allowed), *site.watch(reply)):
            heard.note(line, sent)

    with suppress(Unsatisfiable):  # nothing can be wrong with what takes no input
        send()
    device.cookies.clear()
    if token:
        device.cookies.set(cookie_name(False), token)


def ask_everything(cases: int, each: int = 12, first_seed: int = 0, **more: object) -> Heard:
    """Ask every route, as every role, over and over with new seeds until that many requests were sent."""
    heard, number = Heard(), first_seed
    while True:
        with open_site(**more) as site:
            number = ask_site(site, each, number, heard)
        if heard.asked >= cases:
            return heard


def ask_site(
    site: Site, each: int, number: int, heard: Heard, modes: Iterable[GenerationMode] = tuple(GenerationMode)
) -> int:
    """Ask every route of a site, as every role, so many requests of each kind; give the last seed used."""
    schema = schemathesis.openapi.from_dict(schema_of(site.house.app))
    for one in sorted((found.ok() for found in schema.get_all_operations()), key=sign_out_last):
        for role, mode in product(ROLES, modes):
            number += 1
            ask(site, one, mode, role, each, number, heard)
            if not site.is_signed_in(role):
                renew(site, role)
    return number


def sign_out_last(operation: Any) -> bool:
    return operation.label == "POST /sign-out"


def renew(site: Site, role: Role) -> None:
    """Another session for a role whose own a request has ended. A try to sign in would count, so it makes none."""
    house, token, now = site.house, make_token(site.house.team.id), site.house.clock()
    with house.store.write(house.team.id) as t:
        known = sorted((m for m in t.rows(Member) if m.role == role.value), key=lambda m: m.number not in (None, 54))
        erased = Member(team_id=t.team_id, id=make_id(), role=role.value, name="Pat", created_at=now)
        member = known[0] if known else erased
        member.removed_at = None
        t.add(member)
        own = {"team_id": t.team_id, "member_id": member.id, "token_hash": token_hash(token)}
        t.add(SignIn(**own, created_at=now, seen_at=now, ends_at=now + timedelta(days=9)))
    site.devices[role].cookies.clear()
    site.devices[role].cookies.set(cookie_name(False), token)
