"""A user who wanders: opens pages, follows their links, and sends their forms with a field or two spoiled.

The forms come from the pages and are otherwise right, so that they get past the first check. Neither a schema nor a
single parser's samples can do that.
"""

import functools
import random
import tempfile
from dataclasses import dataclass, field
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import urljoin, urlsplit

import httpx

from server.database.tables import AccountRole
from server.errors import BadInput
from tests.harness.house import PAGE, House, TestClient, make_house
from tests.trust.fuzzed_pages import check_reply, keep, sendable
from tests.trust.fuzzing import spoiled
from tests.trust.marked import devices_of, fill

#: A house is used for this many walks: they remove what it has.
WALKS = 25
STEPS = 5
STARTS = ("/home", "/my-data", "/coach/board", "/coach/assign", "/coach/sets", "/coach/days", "/coach/opponents")
STARTS += (
    "/coach/roster",
    "/coach/roster/import",
    "/coach/coaches",
    "/coach/results",
    "/coach/audit",
    "/coach/erasing",
    "/coach/season",
    "/coach/defense",
)
WORDS = ("a", "54", "Hammer", "Mike", "2026-10-02T15:30", "15:30", "left", "3", "zone", "12,5", "owner", "1")


@dataclass
class Form:
    """A form on a page: its fields as they would be sent, and the other values of each."""

    action: str
    method: str
    is_with_file: bool
    fields: list[tuple[str, str]] = field(default_factory=list)
    choices: list[tuple[str, str]] = field(default_factory=list)
    files: list[str] = field(default_factory=list)


class Reader(HTMLParser):
    """The forms and links of a page."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.forms: list[Form] = []
        self.links: list[str] = []
        self.select, self.text = "", ""
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        own = {name: value or "" for name, value in attrs}
        if tag == "a" and own.get("href", "").startswith("/"):
            self.links.append(own["href"])
        elif tag == "form":
            self.forms.append(
                Form(own.get("action", ""), own.get("method", "get"), "multipart" in own.get("enctype", ""))
            )
        elif self.forms and tag in ("input", "button", "select", "option", "textarea"):
            self.take(self.forms[-1], tag, own)

    def take(self, form: Form, tag: str, own: dict[str, str]) -> None:
        name, value = own.get("name", ""), own.get("value", "")
        if tag == "select":
            self.select = name
        elif tag == "option":
            form.choices.append((self.select, value))
            if "selected" in own:
                form.fields.append((self.select, value))
        elif tag == "textarea":
            self.text = name
            form.fields.append((name, ""))
        elif own.get("type") == "file":
            form.files.append(name)
        elif own.get("type") in ("checkbox", "radio"):
            form.choices.append((name, value or "on"))
            if "checked" in own:
                form.fields.append((name, value or "on"))
        elif tag == "button":
            form.choices.append((name, value))
        elif name:
            form.fields.append((name, value))

    def handle_data(self, data: str) -> None:
        if self.text:
            name, so_far = self.forms[-1].fields[-1]
            self.forms[-1].fields[-1] = (name, so_far + data)

    def handle_endtag(self, tag: str) -> None:
        self.text = "" if tag == "textarea" else self.text


@dataclass
class Town:
    """A house and the devices that walk in it, for a number of walks."""

    house: House
    devices: list[TestClient]
    walks: int = 0


@functools.cache
def towns() -> list[Town]:
    return []


def town() -> Town:
    if not towns() or towns()[-1].walks >= WALKS:
        house = keep(make_house(Path(tempfile.mkdtemp(prefix="gapsound-fuzz-"))))
        fill(house, house.team)
        devices = devices_of(house, house.team)
        towns().append(
            Town(
                house,
                [
                    devices[one]
                    for one in (AccountRole.OWNER, AccountRole.OWNER, AccountRole.POSITION_COACH, AccountRole.PLAYER)
                ],
            )
        )
    towns()[-1].walks += 1
    return towns()[-1]


def walk(seed: int) -> None:
    """Some steps of somebody. Raises: BadInput with the last refusal if nothing else happened."""
    chance = random.Random(seed)
    device = chance.choice(town().devices)
    path, refusal = chance.choice(STARTS), None
    reply = device.get(path, headers=PAGE)
    for _ in range(STEPS):
        refusal = look_at(reply)
        page = Reader(reply.text)
        forms = [form for form in page.forms if form.action not in ("/sign-out", "/language")]
        here = str(reply.request.url)
        if forms and chance.random() < 0.7:
            reply = fill_in(device, chance, chance.choice(forms), here)
        elif page.links:
            reply = device.get(urljoin(here, chance.choice(page.links)), headers=PAGE)
        else:
            break
    refusal = look_at(reply) or refusal
    if refusal:
        raise refusal


def look_at(reply: httpx.Response) -> Exception | None:
    """The refusal on a page, if it is one; a missing page is a failure."""
    try:
        check_reply(reply)
    except BadInput as refusal:
        return refusal
    return None


def fill_in(device: TestClient, chance: random.Random, form: Form, here: str) -> httpx.Response:
    """Send a form unchanged except for a field or two."""
    fields = list(form.fields)
    for name, value in chance.sample(form.choices, min(len(form.choices), chance.choice((0, 1, 2, 5)))):
        fields = [one for one in fields if one[0] != name or chance.random() < 0.5] + [(name, value)]
    for _ in range(chance.choice((0, 0, 1, 1, 2))):
        if fields:
            at = chance.randrange(len(fields))
            name, value = fields[at]
            fields[at] = (name, sendable(spoiled(chance, value or chance.choice(WORDS), WORDS)))
            if chance.random() < 0.2:
                fields.append((name, value)) if chance.random() < 0.5 else fields.pop(at)
    fields = [one for one in fields if one[0]]
    action = urlsplit(urljoin(here, form.action or here)).path
    if form.method.lower() == "get":
        return device.get(action, params=fields, headers=PAGE)
    if form.is_with_file:
        parts = [(name, (None, value)) for name, value in fields]
        sheet = sendable(spoiled(chance, "Number,Name,Positions\n5,Al,Mike\nPlay,Count\n", WORDS)).encode()
        return device.post(action, files=[*parts, *((name, ("f.csv", sheet)) for name in form.files)], headers=PAGE)
    names = dict.fromkeys(name for name, _ in fields)
    return device.post(action, data={n: [v for k, v in fields if k == n] for n in names}, headers=PAGE)
