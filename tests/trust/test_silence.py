"""What is one team's stays there, and what is a person's stays out of the log.

A marker is planted in everything that team A stored; then team B, and nobody, ask for everything there is.
"""

import re
from pathlib import Path

import httpx
import pytest
from sqlalchemy import Text, text, update
from sqlalchemy.exc import IntegrityError
from sqlmodel import AutoString

from server.access import ACCESS
from server.settings import load_settings
from server.store import open_store
from server.tables import TABLES, Member, Role
from tests.server.house import PAGE, PASSPHRASE, House, TestClient, answer_url, chosen
from tests.trust.live import prepare, serving

MARKER = "zqx-planted-marker"
#: Ids, words that the server compares, and what a person signs in with: a marker there would break the team itself.
KEPT = {"role", "time_zone", "secret_hash", "token_hash", "season_end", "content_hash", "join_code", "side", "stretch"}
KEPT |= {"call", "position", "kind", "sign_in_name", "picture", "guise", "formation", "to", "play", "play_to", "path"}
JSON = {"accept": "application/json"}


def plant(house: House) -> int:
    """Write the marker into each text of the first team that is not an id; give the number of columns."""
    planted = 0
    with house.store.writing() as connection:
        for table in (one.__table__ for one in TABLES):
            owner = table.c.id if table.name == "team" else table.c.team_id
            for column in table.columns:
                plain = (
                    isinstance(column.type, AutoString | Text) and not column.primary_key and column.name not in KEPT
                )
                if plain and not column.name.endswith("_id"):
                    new = (MARKER + column) if column.name != "text" else column
                    connection.execute(update(table).where(owner == house.team.id).values({column.name: new}))
                    planted += column.name != "text"
    return planted


def fill(house: House) -> dict[str, str]:
    """An answered set of the first team; what its addresses hold."""
    set_id, phone = house.send_set(), house.player()
    places = house.open_set(phone, set_id)
    rep = places[0]["rep_id"]
    assert phone.put(answer_url(set_id, "a" * 24), json={"rep_id": rep, "chosen": chosen(rep, "a")}).is_success
    member = house.member()
    return {"set_id": set_id, "rep_id": rep, "answer_id": "a" * 24, "player_id": member.id, "place": "1"}


def everything(ids: dict[str, str], code: str) -> list[tuple[str, str]]:
    """Every route, with these ids in its address; signing out comes last. A name that stands for nothing here, such as
    a new route brings, is tried with every id there is."""
    found = {}
    for method, path in sorted(ACCESS, key=lambda route: route[1] == "/sign-out"):
        unknown = set(re.findall(r"{(\w+)}", path)) - {*ids, "code"}
        for value in ids.values() if unknown else ("",):
            found[method, path.format(**ids, code=code, **dict.fromkeys(unknown, value))] = None
    return list(found)


def said(client: TestClient, method: str, path: str, ids: dict[str, str]) -> str:
    """All that is said back: the head and the body, for a page and for a program."""
    body = {"rep_id": ids["rep_id"], "chosen": chosen(ids["rep_id"])}
    form = {"players": [ids["player_id"]], "due": "2026-09-05T12:00", "answer_id": ids["answer_id"], "choice_1": "a"}
    heard = []
    for headers in (PAGE, JSON):
        sent = {"json": body} if method == "PUT" else {"data": form} if method == "POST" else {}
        reply = client.request(method, path, headers=headers, follow_redirects=False, **sent)
        assert reply.status_code < 500, (method, path, reply.text)
        heard.append(f"{dict(reply.headers)}{reply.text}")
    return "".join(heard)


def test_a_marker_in_one_team_is_in_no_reply_to_another(house: House) -> None:
    other = house.add_team()
    own, foreign = fill(house), {}
    swapped, house.teams = house.teams, house.teams[::-1]
    foreign = fill(house)
    house.teams = swapped
    assert plant(house) >= 9
    with house.store.read(house.team.id) as t:
        assert [m.name for m in t.rows(Member) if MARKER not in m.name] == []
    seen_at_home = said(house.coach(), "GET", f"/coach/players/{own['player_id']}", own)
    assert MARKER in seen_at_home, "the marker does not show even where it should: this test would see nothing"
    strangers = [
        house.player(team=other),
        *(house.coach(r, other) for r in Role if r not in (Role.PLAYER, Role.NOBODY)),
    ]
    asked = 0
    for stranger in [*strangers, house.client()]:
        for ids in (own, foreign):
            for method, path in everything(ids, other.join_code):
                if path == "/sign-out" and ids is own:
                    continue
                assert MARKER not in said(stranger, method, path, own), (method, path)
                asked += 2
    assert asked > 2 * len(ACCESS) * 5


BROKEN = (
    "CREATE TRIGGER broken BEFORE INSERT ON failed_try WHEN new.subject LIKE 'name:%' "
    "BEGIN SELECT RAISE(ABORT, 'x'); END"
)
NAMES = ("Zebulonia", "Quixotrina")


def test_no_log_line_holds_a_name_a_pin_a_passphrase_or_a_token(tmp_path: Path) -> None:
    site, log = prepare(tmp_path, players=2, sets=1), tmp_path / "log"
    store = open_store(load_settings(data_dir=tmp_path))
    with store.write(site.team.id) as t:
        for member, name in zip(t.rows(Member), NAMES, strict=False):
            member.name = name
            t.add(member)
    phone = site.phones[0]
    rep = phone.reps[0]
    with serving(site.settings, log=log) as process:
        origin, cookie = {"origin": process.base}, phone.headers(process.base)
        with httpx.Client(base_url=process.base, timeout=30) as client:
            for path in ("/home", f"/api/sets/{rep.set_id}", f"/sets/{rep.set_id}", f"/join?code={NAMES[0]}"):
                client.get(path, headers={**cookie, "user-agent": NAMES[1]})
            client.put(rep.path("x" * 20), json=rep.body("a"), headers=cookie)
            client.post(f"/join/{site.team.join_code}", data={"number": "1", "pin": "918273"}, headers=origin)
            form = {"team": site.team.id, "name": NAMES[0], "passphrase": PASSPHRASE}
            client.post("/coach/sign-in", data=form, headers=origin)
            client.post("/coach/sign-in", data={**form, NAMES[1]: NAMES[1]}, headers=origin)
            with store.writing() as connection:  # a fault of ours, so that the log gets a traceback
                connection.execute(text(BROKEN))
            broken = client.post("/coach/sign-in", data=form, headers=origin)
            assert broken.status_code == 500
    store.close()
    lines = log.read_text(encoding="utf-8")
    assert lines.count('"event": "request"') >= 8
    assert '"event": "fault"' in lines
    for secret in (*NAMES, "918273", PASSPHRASE, phone.token, site.team.join_code):
        assert secret.lower() not in lines.lower()


def test_a_fault_in_the_database_puts_no_stored_value_into_the_log(house: House) -> None:
    """A failed statement's own message holds its values: hashes of PINs, names. None of them may reach a log line."""
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
def test_what_postgresql_says_of_a_row_reaches_neither_log_nor_reply(
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
