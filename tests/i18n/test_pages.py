"""Pages in Spanish, for a player and a coach of the demo team, chosen by the browser or by the form."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path

import pytest
from fastapi import FastAPI
from lxml import html

from quizgen.content import load_team_dir
from server.accounts.credentials import hash_passphrase, hash_pin
from server.accounts.members import add_coach
from server.app import make_app
from server.commands.demo import demo_files
from server.database.store import Store
from server.database.tables import AccountRole, Answer, KeptRep, Member, Team
from server.playbook.engine import Engine
from server.settings import load_settings
from server.team.install import add_team
from tests.harness.databases import open_migrated
from tests.harness.house import TestClient
from tests.i18n.test_reps import DEMO, ENGLISH, OWN

ORIGIN = "http://testserver"
SPANISH = {"accept": "text/html", "accept-language": "es-US,es;q=0.9"}
PASSPHRASE = "seven gaps, seven men, no excuses"
PIN = "246810"
CALL = "moraine"


@dataclass
class Site:
    app: FastAPI
    store: Store
    team: Team

    def device(self, **headers: str) -> TestClient:
        return TestClient(self.app, headers={"origin": ORIGIN, **headers})

    def player(self, position: str) -> tuple[TestClient, Member]:
        with self.store.read(self.team.id) as t:
            member = next(m for m in t.rows(Member) if position in m.positions)
            t.session.expunge(member)
        phone = self.device(**SPANISH)
        reply = phone.post(f"/team/{self.team.join_code}", data={"number": str(member.number), "pin": PIN})
        assert reply.url.path == "/home", reply.text
        return phone, member

    def coach(self) -> TestClient:
        device = self.device(**SPANISH)
        reply = device.post("/coach/sign-in", data={"team": self.team.id, "name": "coach", "passphrase": PASSPHRASE})
        assert reply.url.path == "/coach/board", reply.text
        return device

    def send(self, coach: TestClient, **fields: object) -> str:
        due = (datetime.now(UTC) + timedelta(days=2)).strftime("%Y-%m-%dT%H:%M")
        form = {"call": CALL, "positions": ["mike"], "stages": ["2"], "sides": ["left", "right"], "length": "3"}
        reply = coach.post("/coach/sets", data={**form, "due": due, **fields})
        assert reply.url.path.startswith("/coach/sets/"), reply.text
        return reply.url.path.rsplit("/", 1)[1]


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Site]:
    folder: Path = tmp_path_factory.mktemp("languages")
    settings = load_settings(data_dir=folder, database_url="", public_url="")
    store = open_migrated(settings)
    now = datetime.now(UTC)
    team = add_team(store, Engine(), demo_files(), now).team
    pin = hash_pin(PIN)
    with store.write(team.id) as t:
        for member in t.rows(Member):
            member.secret_hash = pin
            t.add(member)
        t.add(add_coach(t, "coach", AccountRole.OWNER, hash_passphrase(PASSPHRASE), now))
    yield Site(make_app(settings, store=store), store, team)
    store.close()


def words_of(page: str) -> list[str]:
    """All words on a page: texts, names of controls, descriptions of pictures."""
    tree = html.fromstring(page)
    found = []
    for element in tree.iter():
        if not isinstance(element.tag, str) or element.tag in ("script", "style"):
            continue
        named = [element.get(name) for name in ("aria-label", "title", "placeholder")]
        found += [element.text, element.tail if element is not tree else None, *named]
    return [text.strip() for text in found if text and text.strip()]


def english_in(page: str) -> set[str]:
    """Texts of a page that contain English, except the word "English" and the team's own names."""
    return {text for text in words_of(page) if text != "English" and ENGLISH.search(OWN.sub("", without_names(text)))}


@cache
def own_names() -> list[str]:
    """The team's names of positions, plays and formations, longest first."""
    team = load_team_dir(DEMO)
    named = (*team.positions, *team.schemes, *team.protections, *team.formations)
    return sorted({one.name for one in named}, key=lambda name: (-len(name), name))


def without_names(text: str) -> str:
    for name in own_names():
        text = text.replace(name, "")
    return text


def read(device: TestClient, path: str, status: int = 200) -> str:
    reply = device.get(path)
    assert reply.status_code == status, path
    assert html.fromstring(reply.text).get("lang") == "es", path
    assert reply.headers["content-language"] == "es"
    assert english_in(reply.text) == set(), path
    return reply.text


def test_sign_in_pages_are_spanish_for_a_spanish_browser(site: Site) -> None:
    device = site.device(**SPANISH)
    assert "Tu equipo" in read(device, "/team")
    read(device, f"/team/{site.team.join_code}")
    read(device, "/coach/sign-in")
    assert "se esperaban 8 letras" in read(device, "/team?code=AB", 422)


def test_english_stays_english(site: Site) -> None:
    page = site.device(accept="text/html").get("/team").text
    assert html.fromstring(page).get("lang") == "en"
    assert "Your team" in page
    assert "data-words" not in page


def test_the_form_keeps_the_language_on_the_device(site: Site) -> None:
    device = site.device(accept="text/html")
    reply = device.post("/language", data={"lang": "es", "back": "/team"}, follow_redirects=False)
    assert (reply.status_code, reply.headers["location"]) == (303, "/team")
    assert "httponly" in reply.headers["set-cookie"].lower()
    read(device, "/team")
    device.post("/language", data={"lang": "en", "back": "/coach/sign-in"})
    assert html.fromstring(device.get("/team", headers=SPANISH).text).get("lang") == "en"


@pytest.mark.parametrize(
    "form",
    [{"lang": "fr"}, {"lang": "es", "back": "//elsewhere"}, {"lang": "es", "back": "https://elsewhere"}, {}],
)
def test_an_unknown_language_or_an_outside_address_is_refused(site: Site, form: dict[str, str]) -> None:
    reply = site.device(**SPANISH).post("/language", data=form, follow_redirects=False)
    assert reply.status_code == 422
    assert "set-cookie" not in reply.headers


def test_refusals_are_in_spanish(site: Site) -> None:
    device = site.device(**SPANISH)
    page = device.get("/nowhere").text
    assert "No hay ninguna página en esta dirección." in page
    assert english_in(page) == set()
    message = site.device(**{"accept-language": "es"}).get("/api/sets/x").json()["error"]["message"]
    assert message == "Primero inicia sesión."
    wrong = device.post(f"/team/{site.team.join_code}", data={"number": "54", "pin": "000000"})
    assert "Este número y este PIN no van juntos." in wrong.text


def test_a_player_does_a_set_in_spanish_and_what_is_stored_is_english(site: Site) -> None:
    set_id = site.send(site.coach())
    phone, member = site.player("mike")
    read(phone, "/home")
    read(phone, f"/sets/{set_id}")
    page = phone.post(f"/sets/{set_id}/open")
    assert english_in(page.text) == set()
    asked = 0
    while "/reps/" in page.url.path:
        asked += 1
        form = {"answer_id": re.search(r'name="answer_id" value="([^"]+)"', page.text)[1]}
        for name in sorted(set(re.findall(r'name="(choice_\d)"', page.text))):
            form[name] = re.search(rf'name="{name}" value="(\w+)"', page.text)[1]
        feedback = phone.post(page.url.path, data=form)
        assert english_in(feedback.text) == set()
        address = html.fromstring(feedback.text).xpath("//a[contains(@class, 'button-main')]")[0].get("href")
        page = phone.get(address)
    assert asked >= 3
    read(phone, f"/sets/{set_id}")
    read(phone, "/home")
    with site.store.read(site.team.id) as t:
        stored = [row for row in t.rows(Answer) if row.member_id == member.id]
        reps = {row.rep_id: row for row in t.rows(KeptRep)}
    assert len(stored) == asked
    for row in stored:
        assert ENGLISH.search(reps[row.rep_id].stem)
        assert row.explanation.endswith(reps[row.rep_id].because)


def test_scripts_get_spanish_too(site: Site) -> None:
    set_id = site.send(site.coach(), positions=["will"])
    phone, _ = site.player("will")
    page = phone.post(f"/sets/{set_id}/open").text
    assert '"Received.": "Recibido."' in html.fromstring(page).find("body").get("data-words")
    rep_id = phone.get(f"/api/sets/{set_id}").json()["places"][0]["rep_id"]
    reply = phone.get(f"/api/sets/{set_id}/reps/{rep_id}")
    assert {"Accept-Language", "Cookie"} <= set(reply.headers["vary"].split(", "))
    question = reply.json()
    assert question["stem"] in " ".join(html.fromstring(page).xpath("string(//*[@id='stem'])").split())
    chosen = [part["choices"][0]["id"] for part in question["parts"]]
    body = {"rep_id": rep_id, "chosen": chosen}
    told = phone.put(f"/api/sets/{set_id}/answers/{'a' * 32}", json=body).json()["answer"]
    assert not ENGLISH.search(OWN.sub("", told["explanation"]))
    assert told["chosen_words"] == " · ".join(part["choices"][0]["label"] for part in question["parts"])


def test_a_coach_works_in_spanish(site: Site) -> None:
    coach = site.coach()
    set_id = site.send(coach)
    _, member = site.player("mike")
    for path in (
        "/coach/board",
        "/coach/board?group=Line&stage=2",
        f"/coach/assign?call={CALL}",
        f"/coach/call?name={CALL}",
        f"/coach/assign?call={CALL}&pick=behind",
        "/coach/days",
        "/coach/sets",
        f"/coach/sets/{set_id}",
        "/coach/roster",
        f"/coach/players/{member.id}",
        f"/coach/sheets/walk-through?call={CALL}",
        f"/coach/sheets/scout-cards?call={CALL}",
    ):
        read(coach, path)
    wrong = coach.post("/coach/sets", data={"call": CALL, "due": "x"})
    assert "vence: se esperaba un día y una hora" in wrong.text
    codes = coach.post("/coach/roster/codes", data={"players": [member.id]})
    assert english_in(codes.text) == set()
