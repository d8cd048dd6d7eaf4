"""Roster import and export: previewed before anything changes, all or nothing, and always in line with the content."""

import re
import tomllib

import pytest
from starlette.testclient import TestClient

from server.database.tables import AccountRole, Answer, AuditEntry, ContentFile, Member
from server.reading.csv_files import decode, parse_csv
from server.team.install import update_team
from server.team.roster_csv import Use, propose
from tests.harness.fake_football import FILES, FakeFootball
from tests.harness.house import PAGE, House, answer_url, chosen

GOOD = "No.,Player,Pos\n54,Dale,mike\n12,Cy,W / Mike\n71,Gus,Nose\n"


def look(coach: TestClient, text: str, encoding: str = "utf-8") -> str:
    """The page that previews a file."""
    reply = coach.post("/coach/roster/import", files={"file": ("roster.csv", text.encode(encoding))}, headers=PAGE)
    assert reply.status_code in (200, 422)
    return reply.text


def take(coach: TestClient, text: str, **fields: object) -> str:
    """Preview a file, then apply it."""
    digest = re.search(r'name="digest" value="(\w+)"', look(coach, text))
    uses = re.findall(r'<option value="(\w+)" selected>', look(coach, text))
    form = {"text": text, "use": uses, "others": "stay", "digest": digest[1] if digest else "", "action": "take"}
    return send(coach, form | fields)


def send(coach: TestClient, form: dict) -> str:
    reply = coach.post("/coach/roster/import/take", data=form, headers=PAGE)
    assert reply.status_code in (200, 422), reply.text
    return reply.text


def roster(house: House) -> list[tuple[int, str, tuple[str, ...]]]:
    """The current players in the database, after checking that the content has the same."""
    with house.store.read(house.team.id) as t:
        members = [m for m in t.rows(Member) if m.role == AccountRole.PLAYER and m.removed_at is None]
        file = t.find(ContentFile, "roster.toml")
    found = sorted((m.number, m.name, tuple(m.positions)) for m in members)
    if file is not None:
        rows = tomllib.loads(file.text)["player"]
        assert [(row["number"], row["name"], tuple(row["positions"])) for row in rows] == found
    return found


def counts(text: str) -> list[int]:
    """The page's counts: new, changed, unchanged, removed, refused."""
    return [int(n) for n in re.findall(r"<dd>(\d+)</dd>", text)]


FIRST = [(33, "Rory", ("Will", "Mike")), (54, "Dale", ("Mike",)), (71, "Gus", ("Nose",))]


def test_a_preview_changes_nothing_and_says_what_would_change(house: House) -> None:
    coach = house.coach()
    text = look(coach, GOOD)
    assert counts(text) == [1, 0, 2, 0, 0]
    assert "#12 Cy" in text
    assert roster(house) == FIRST


def test_applying_it_makes_accounts_and_prints_their_pins(house: House) -> None:
    coach = house.coach()
    text = take(coach, GOOD)
    [pin] = re.findall(r'class="pin">(\d{3}) (\d{3})<', text)
    assert roster(house) == [(12, "Cy", ("Will", "Mike")), *FIRST]
    phone = house.client()
    reply = phone.post(f"/team/{house.team.join_code}", data={"number": "12", "pin": "".join(pin)}, headers=PAGE)
    assert reply.url.path == "/home"
    with house.store.read(house.team.id) as t:
        said = {(entry.action, entry.subject) for entry in t.rows(AuditEntry)}
    assert ("imported the roster", "1 added, 0 changed, 0 removed") in said


def test_players_not_in_the_file_are_removed_only_when_asked(house: House) -> None:
    coach, phone = house.coach(), house.player(33)
    take(coach, GOOD)
    assert phone.get("/home", headers=PAGE).url.path == "/home"
    form = {"text": GOOD, "use": ["number", "name", "positions"], "others": "go", "action": "look"}
    text = send(coach, form)
    assert counts(text) == [0, 0, 3, 1, 0]
    digest = re.search(r'name="digest" value="(\w+)"', text)
    assert digest
    send(coach, form | {"action": "take", "digest": digest[1]})
    assert [number for number, _, _ in roster(house)] == [12, 54, 71]
    assert phone.get("/home", headers=PAGE, follow_redirects=False).status_code == 303


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("100,Cy,Mike", "number: expected 0 to 99, found &#39;100&#39;"),
        ("x,Cy,Mike", "number: expected 0 to 99, found &#39;x&#39;"),
        ("\u0667,Cy,Mike", "number: expected 0 to 99"),
        ("12,,Mike", "name: expected a first name or nickname, found none"),
        ("12," + "x" * 61 + ",Mike", "name: expected one line of at most 60 characters"),
        ('12,"C\ny",Mike', "name: expected one line"),
        ("12,Cy,Quarterback", "positions: expected some of Mike, Will, Nose, found &#39;Quarterback&#39;"),
        ("12,Cy,", "positions: expected 1 to 6, found 0"),
        ("54,Cy,Mike", "expected each number once, found 54 on line 2 too"),
    ],
)
def test_a_bad_line_is_named_and_nothing_is_applied(house: House, line: str, said: str) -> None:
    coach = house.coach()
    text = f"Number,Name,Positions\n54,Dale,Nose\n{line}\n"
    shown = look(coach, text)
    assert said in shown
    assert '<th scope="row">3</th>' in shown
    assert "line 3" in take(coach, text)
    assert roster(house) == FIRST


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "found nothing"),
        ("Name,Positions\nCy,Mike\n", "the columns: expected one for the number"),
        ("Number,Positions\n1,Mike\n", "the columns: expected one for the name"),
        ("Number,Name\n1,Cy\n", "the columns: expected one or more for the positions"),
        ("PK\x03\x04", "found a spreadsheet workbook"),
        ("N,N\n1,2,3\n", "line 2: expected 2 cells"),
    ],
)
def test_a_file_that_is_not_a_roster_gets_one_message(house: House, text: str, said: str) -> None:
    shown = look(house.coach(), text)
    assert shown.count('role="alert"') == 1
    assert said in shown


def test_columns_are_proposed_and_the_coach_decides(house: House) -> None:
    """Typical headings of rosters; common practice."""
    for header, uses in (
        ("#,First Name,Last Name,Birthday,Pos 1,Pos 2", "number name nothing nothing positions positions"),
        ("Nombre,Número,Posición", "name number positions"),
        ("Player,Nickname,Jersey No.,Position(s)", "nothing name number positions"),
    ):
        assert " ".join(propose(parse_csv(decode(f"{header}\n".encode())))) == uses
    coach = house.coach()
    text = "A,B,C,D\n5,Secret,Al,Will\n"
    assert "expected one for the number" in look(coach, text)
    form = {"text": text, "use": ["number", "nothing", "name", "positions"], "others": "stay"}
    page = send(coach, form | {"action": "look"})
    assert counts(page) == [1, 0, 0, 0, 0]
    digest = re.search(r'name="digest" value="(\w+)"', page)
    assert digest
    send(coach, form | {"action": "take", "digest": digest[1]})
    assert roster(house)[0] == (5, "Al", ("Will",))
    assert list(Use) == ["number", "name", "positions", "nothing"]


def test_a_file_too_large_for_its_form_is_refused_at_once(house: House) -> None:
    """Exactly the size the address accepts: it used to be previewed, and only refused when applied."""
    for size, is_taken in ((59_000, True), (62_500, False)):
        lines = b"No,Name,Pos,Note\n" + b"".join(b"%d,Al,Mike,%s\n" % (n % 99, b"x" * 480) for n in range(size // 492))
        padded = lines + b"\n" * (size - len(lines))
        reply = house.coach().post("/coach/roster/import", files={"file": ("r.csv", padded)}, headers=PAGE)
        assert ("at most 60 kB" in reply.text) is not is_taken
        assert ('name="digest"' in reply.text) is is_taken
        assert ('name="file"' in reply.text) is not is_taken


@pytest.mark.parametrize("uses", [["number"], ["number", "name", "positions", "nothing"]])
def test_a_missing_or_extra_use_is_refused_with_the_columns_to_choose_again(house: House, uses: list[str]) -> None:
    form = {"text": "No,Name,Pos\n5,Al,Mike\n", "use": uses, "action": "take"}
    reply = house.coach().post("/coach/roster/import/take", data=form, headers=PAGE)
    assert reply.status_code == 422
    assert "expected a use for each of 3" in reply.text
    assert reply.text.count('name="use"') == 3


def test_what_was_previewed_is_what_is_applied(house: House) -> None:
    coach = house.coach()
    digest = re.search(r'name="digest" value="(\w+)"', look(coach, GOOD))
    assert digest
    coach.post(f"/coach/roster/{house.member(71).id}/remove", headers=PAGE)
    form = {"text": GOOD, "use": ["number", "name", "positions"], "digest": digest[1], "action": "take"}
    assert "changed since you looked" in send(coach, form)
    assert [number for number, _, _ in roster(house)] == [33, 54]


def test_importing_an_export_changes_nothing(house: House) -> None:
    coach = house.coach()
    take(coach, 'Number;Name;Positions\n7;"=1+1; ""tall""";Mike\n8;\'@x;Nose, Will\n9;Zoë;Mike\n')
    body = coach.get("/coach/roster/roster.csv")
    assert body.headers["content-type"] == "text/csv; charset=utf-8"
    assert body.content.startswith(b"\xef\xbb\xbf")
    assert b"\"'=1+1" in body.content
    before = roster(house)
    assert counts(look(coach, body.content.decode("utf-8-sig"))) == [0, 0, 6, 0, 0]
    assert counts(look(coach, body.content.decode("utf-8-sig"), "utf-16")) == [0, 0, 6, 0, 0]
    assert before == roster(house)


def test_a_player_is_removed_and_comes_back(house: House) -> None:
    coach, phone = house.coach(), house.player()
    set_id, gone = house.send_set(), house.member()
    place = house.open_set(phone, set_id)[0]
    phone.put(answer_url(set_id), json={"rep_id": place["rep_id"], "chosen": chosen(place["rep_id"])})
    coach.post(f"/coach/roster/{gone.id}/remove", headers=PAGE)
    assert 54 not in [number for number, _, _ in roster(house)]
    assert phone.get("/home", headers=PAGE, follow_redirects=False).status_code == 303
    assert coach.post(f"/coach/roster/{gone.id}/remove", headers=PAGE).status_code == 404
    take(coach, "Number,Name,Positions\n54,New,Mike\n")
    refused = coach.post(f"/coach/roster/{gone.id}/bring-back", headers=PAGE)
    assert refused.status_code == 422
    assert "54 is another player" in refused.text
    with house.store.read(house.team.id) as t:
        current_players = [m for m in t.rows(Member) if m.number == 54 and m.removed_at is None]
    for one in current_players:
        coach.post(f"/coach/roster/{one.id}/remove", headers=PAGE)
    assert coach.post(f"/coach/roster/{gone.id}/bring-back", headers=PAGE).status_code == 200
    assert (54, "Dale", ("Mike",)) in roster(house)
    with house.store.read(house.team.id) as t:
        assert t.get(Member, gone.id).secret_hash == ""
        assert t.count(Answer) == 1


def test_new_content_leaves_players_alone_unless_asked(house: House) -> None:
    coach = house.coach()
    take(coach, GOOD)
    changed = {**FILES, "roster.toml": "player = []\n", "more.toml": "x = 1\n"}
    before = roster(house)
    update_team(house.store, FakeFootball(), house.team.id, changed, house.clock())
    assert roster(house) == before
    update_team(house.store, FakeFootball(), house.team.id, FILES, house.clock(), with_roster=True)
    with house.store.read(house.team.id) as t:
        assert t.find(ContentFile, "more.toml") is None
        names = {m.name for m in t.rows(Member) if m.role == AccountRole.PLAYER and m.removed_at is None}
    assert names == {"Dale", "Rory", "Gus"}


def test_a_position_coach_sees_his_group_but_changes_nobody(house: House) -> None:
    line = house.coach(AccountRole.POSITION_COACH)
    assert [entry.cells[1] for entry in parse_csv(decode(line.get("/coach/roster/roster.csv").content)).lines] == [
        "Gus"
    ]
    for path in ("/coach/roster/import/take", f"/coach/roster/{house.member(71).id}/remove"):
        assert line.post(path, headers=PAGE).status_code == 403
    assert line.get("/coach/roster/import", headers=PAGE).status_code == 403


def test_another_teams_player_is_not_there(house: House) -> None:
    other = house.add_team()
    stranger = house.member(54, other)
    coach = house.coach()
    for what in ("remove", "bring-back"):
        assert coach.post(f"/coach/roster/{stranger.id}/{what}", headers=PAGE).status_code == 404
