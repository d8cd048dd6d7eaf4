"""A player's data: shown and exported completely, and gone for good once erased, on both databases."""

import csv
import io
import json
import re

import pytest
from sqlalchemy import select

from server.database.tables import TABLES, AccountRole, Answer, Assignment, FailedTry, Member, PlayerSet, Purpose
from server.playbook.playbooks import Playbook
from server.team.personal_data import BY_MEMBER, ERASED, erase
from tests.harness.house import PAGE, PIN, START, House, answer_url, chosen

MARK = "Zqmarker"


def plant(house: House) -> str:
    """Add a player with rows in every table and the mark in all his texts; return his id."""
    member = house.member()
    phone = house.player()
    house.client().post(f"/team/{house.team.join_code}", data={"number": "54", "pin": "999999"}, headers=PAGE)
    set_id = house.send_set()
    for place in house.open_set(phone, set_id)[:3]:
        phone.put(answer_url(set_id), json={"rep_id": place["rep_id"], "chosen": chosen(place["rep_id"], "a")})
    with house.store.write(house.team.id) as t:
        known = t.get(Member, member.id)
        known.name = MARK
        t.add(known)
        for answer in t.rows(Answer):
            answer.chosen_words, answer.right_words, answer.explanation = MARK, f"r {MARK}", f"e {MARK}"
            t.add(answer)
        for one, ids in (("named", [member.id]), ("shared", [member.id, "other"])):
            t.add(make_set(t.team_id, one, "a coach", Purpose.REPS, ids))
        t.add(make_set(t.team_id, "practice", member.id, Purpose.PRACTICE, [member.id]))
    coach = house.coach()
    coach.get(f"/coach/players/{member.id}", headers=PAGE)
    coach.get(f"/coach/players/{member.id}/data", headers=PAGE)
    text = f"Number,Name,Positions\n54,{MARK},Mike\n7,New,Mike\n"
    reply = coach.post("/coach/roster/import", files={"file": ("r.csv", text.encode())}, headers=PAGE)
    assert MARK in reply.text
    phone.get("/my-data.json")
    return member.id


def make_set(team_id: str, one: str, by: str, purpose: str, ids: list[str]) -> Assignment:
    return Assignment(
        team_id=team_id,
        id=one,
        call="Hammer",
        length=4,
        purpose=purpose,
        player_ids=ids,
        due_at=START,
        created_at=START,
        created_by=by,
    )


def whole_database(house: House) -> str:
    """Every value of every row."""
    with house.store.engine.connect() as connection:
        return repr([connection.execute(select(table.__table__)).all() for table in TABLES])


@pytest.fixture(params=["sqlite", "postgresql"])
def any_house(request: pytest.FixtureRequest) -> House:
    """A server on each database."""
    return request.getfixturevalue("house" if request.param == "sqlite" else "postgres_house")


def test_erasing_leaves_no_trace(any_house: House) -> None:
    house = any_house
    player_id = plant(house)
    coach, phone = house.coach(), house.player()
    assert whole_database(house).count(MARK) >= 8
    refused = coach.post(f"/coach/players/{player_id}/erase", data={"typed": "Rory"}, headers=PAGE)
    assert (refused.status_code, "nothing was erased" in refused.text) == (422, True)
    assert MARK in whole_database(house)
    reply = coach.post(f"/coach/players/{player_id}/erase", data={"typed": f" {MARK.lower()} "}, headers=PAGE)
    assert reply.url.path == "/coach/roster"
    left = whole_database(house)
    assert MARK not in left
    assert player_id not in left
    assert {house.member(33).name, house.member(71).name} == {"Rory", "Gus"}
    for path in ("/coach/roster", "/coach/board", "/coach/sets", "/coach/call?name=Hammer", "/coach/roster/roster.csv"):
        page = coach.get(path, headers=PAGE)
        assert page.status_code == 200
        assert MARK not in page.text
        assert player_id not in page.text
    assert coach.get(f"/coach/players/{player_id}/data", headers=PAGE).status_code == 404
    assert phone.get("/home", headers=PAGE, follow_redirects=False).status_code == 303
    with house.store.read(house.team.id) as t:
        assert {one.id: one.player_ids for one in t.rows(Assignment) if one.player_ids} == {
            "named": [ERASED],
            "shared": ["other"],
        }
    assert "'erased a player', '3 answers'" in left


def test_the_file_on_disk_forgets_too(house: House) -> None:
    """By default, SQLite leaves deleted data in its file and its log until it needs the space."""
    player_id = plant(house)
    files = lambda: b"".join(path.read_bytes() for path in house.settings.data_dir.iterdir())  # noqa: E731
    assert MARK.encode() in files()
    house.coach().post(f"/coach/players/{player_id}/erase", data={"typed": MARK}, headers=PAGE)
    assert MARK.encode() not in files()


def test_the_next_player_with_the_number_keeps_his_own_wrong_pins(house: House) -> None:
    gone, coach = house.member().id, house.coach()
    coach.post(f"/coach/roster/{gone}/remove", headers=PAGE)
    tries = [house.client().post(f"/team/{house.team.join_code}", data={"number": "54", "pin": "999999"}) for _ in "12"]
    assert {reply.status_code for reply in tries} == {401}
    assert coach.get(f"/coach/players/{gone}/data.json").json()["wrong_pins_counted"] == 0
    coach.post(f"/coach/players/{gone}/erase", data={"typed": "Dale"}, headers=PAGE)
    with house.store.read(house.team.id) as t:
        assert {one.tries for one in t.rows(FailedTry, FailedTry.subject == "number:54")} == {2}


@pytest.mark.parametrize("path", ["/sets/{}/open", "/practice"])
def test_erasing_a_player_while_his_set_is_laid_out(house: House, monkeypatch: pytest.MonkeyPatch, path: str) -> None:
    set_id, phone, drawn = house.send_set(), house.player(), Playbook.snapshots

    def erase_during_layout(self: Playbook, *asked: object) -> list:
        with house.store.write(house.team.id) as t:
            erase(t, t.get(Member, house.member().id))
        return drawn(self, *asked)

    monkeypatch.setattr(Playbook, "snapshots", erase_during_layout)
    assert phone.post(path.format(set_id), data={"call": "Hammer"}, headers=PAGE).status_code == 404
    with house.store.read(house.team.id) as t:
        assert (t.count(PlayerSet), t.count(Assignment)) == (0, 1)


def test_every_table_that_names_a_member_is_covered() -> None:
    assert {t for t in TABLES if "member_id" in t.__table__.columns} == set(BY_MEMBER)


def test_everything_is_exported(house: House) -> None:
    player_id = plant(house)
    coach, phone = house.coach(), house.player()
    mine, his = phone.get("/my-data.json"), coach.get(f"/coach/players/{player_id}/data.json")
    assert his.headers["content-disposition"] == 'attachment; filename="player-54.json"'
    found = json.loads(his.text)
    assert found["player"]["name"] == MARK
    assert len(found["answers"]) == 3
    assert found["answers"][0]["question"].endswith("where do you go?")
    assert {one["id"] for one in found["sets_sent_to_him_by_name"]} == {"named", "shared", "practice"}
    assert [one["id"] for one in found["sets_he_started"]] == ["practice"]
    assert len(found["sign_ins"]) == 2
    assert "viewed a player's data" in [one["action"] for one in found["noted_about_him"]]
    assert json.loads(mine.text)["answers"] == found["answers"]
    for secret in ("argon2", "hash", PIN):
        assert secret not in his.text
    rows = list(csv.reader(io.StringIO(phone.get("/my-data.csv").content.decode("utf-8-sig"), newline="")))
    assert [row[0] for row in rows].count("answered") == 3
    assert [row[7] for row in rows if row[0] == "answered"] == [MARK] * 3
    assert {len(row) for row in rows} == {13}


def test_the_page_says_what_is_held_in_words(house: House) -> None:
    player_id = plant(house)
    for page in (
        house.coach().get(f"/coach/players/{player_id}/data", headers=PAGE),
        house.player().get("/my-data", headers=PAGE),
    ):
        assert page.status_code == 200
        for words in (f"#54 {MARK}, Mike", "3 answers", "1 opened", "No e-mail, birthday"):
            assert words in page.text


def test_only_head_coaches_see_it_and_only_within_their_team(house: House) -> None:
    mine, other = house.member(), house.member(54, house.add_team())
    assert (
        house.coach(AccountRole.POSITION_COACH).get(f"/coach/players/{mine.id}/data", headers=PAGE).status_code == 403
    )
    coach = house.coach()
    for what in ("data", "data.json", "data.csv"):
        assert coach.get(f"/coach/players/{other.id}/{what}").status_code == 404
    assert coach.post(f"/coach/players/{other.id}/erase", data={"typed": "Dale"}, headers=PAGE).status_code == 404
    with house.store.read(house.teams[1].id) as t:
        owner = t.first(Member, Member.role == AccountRole.OWNER)
    assert owner is not None
    with house.store.read(house.team.id) as t:
        me = t.first(Member, Member.role == AccountRole.OWNER)
    assert me is not None
    assert coach.post(f"/coach/players/{me.id}/erase", data={"typed": "owner"}, headers=PAGE).status_code == 404


def test_the_stored_fields_of_a_player_are_those_of_the_roster(house: House) -> None:
    coach, player = house.coach(), house.member().id
    for path, page in (
        (f"/coach/players/{player}/data", "/coach/roster"),
        (f"/coach/players/{player}", "/coach/board"),
    ):
        assert re.findall(r'href="([^"]+)" aria-current="page"', coach.get(path, headers=PAGE).text) == [page]
