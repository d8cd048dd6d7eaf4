"""Signing in: who gets in, who has to wait, and when a session ends."""

import asyncio
import re

import pytest
from sqlalchemy import event
from sqlmodel import col

from server.accounts.credentials import (
    address_subject,
    from_typed_code,
    make_code,
    make_passphrase,
    make_pin,
    passphrase_problems,
)
from server.accounts.members import take_roster
from server.accounts.sessions import Viewer, end_sessions
from server.app import make_app
from server.database.engine import away
from server.database.store import open_store
from server.database.tables import AccountRole, AuditEntry, FailedTry, Member, SignIn, Team
from server.errors import Unavailable
from server.web.deps import ViewerLookup
from tests.harness.fake_football import ROSTER, FakeFootball
from tests.harness.house import PAGE, PASSPHRASE, PIN, House, TestClient, answer_url, chosen

JSON = {"accept": "application/json"}


def try_pin(client: TestClient, house: House, number: int = 54, pin: str = "000000"):
    form = {"number": str(number), "pin": pin}
    return client.post(f"/team/{house.team.join_code}", data=form, headers=PAGE, follow_redirects=False)


def test_a_wrong_pin_shows_on_the_form_and_the_number_stays(house: House) -> None:
    reply = try_pin(house.client(), house)
    assert reply.status_code == 401
    assert "do not belong together" in reply.text
    assert 'value="54"' in reply.text
    assert "set-cookie" not in reply.headers


def test_an_unknown_number_is_answered_like_a_wrong_pin(house: House) -> None:
    known, unknown = try_pin(house.client(), house, 54), try_pin(house.client(), house, 55)
    assert known.status_code == unknown.status_code
    assert known.text.replace('"54"', "") == unknown.text.replace('"55"', "")


def test_after_five_wrong_pins_even_the_right_one_must_wait(house: House) -> None:
    client = house.client()
    assert [try_pin(client, house).status_code for _ in range(6)] == [401] * 5 + [429]
    waiting = try_pin(client, house, pin=PIN)
    assert waiting.status_code == 429
    assert 0 < int(waiting.headers["retry-after"]) <= 900
    assert try_pin(house.client(), house, 33, PIN).status_code == 303  # the others are not locked out
    house.clock.move(minutes=16)
    assert try_pin(client, house, pin=PIN).status_code == 303


def test_a_new_pin_opens_the_number_at_once(house: House) -> None:
    teammate, coach, player = house.client(), house.coach(), house.member()
    assert [try_pin(teammate, house).status_code for _ in range(6)][-1] == 429
    sheet = coach.post("/coach/roster/codes", data={"players": [player.id]}, headers=PAGE)
    [pin] = re.findall(r">\s*(\d{3} ?\d{3})\s*<", sheet.text)
    assert try_pin(house.client(), house, pin=pin).status_code == 303


def test_a_day_allows_at_most_four_times_a_quarter_hour(house: House) -> None:
    house.clock.at = house.clock.at.replace(hour=1)
    codes = []
    for _ in range(8):
        codes += [try_pin(house.client(), house).status_code for _ in range(5)]
        house.clock.move(minutes=16)
    assert codes == [401] * 20 + [429] * 20


def test_wrong_tries_count_across_a_restart(house: House) -> None:
    for _ in range(5):
        try_pin(house.client(), house)
    store = open_store(house.settings)
    app = make_app(house.settings, store=store, football=FakeFootball(), now=house.clock)
    with TestClient(app, headers=PAGE) as client:
        assert try_pin(client, house, pin=PIN).status_code == 429
    store.close()


def test_a_right_pin_starts_the_count_afresh(house: House) -> None:
    client = house.client()
    for _ in range(3):
        assert [try_pin(client, house).status_code for _ in range(4)] == [401] * 4
        assert try_pin(client, house, pin=PIN).status_code == 303


def test_addresses_are_stored_hashed(house: House) -> None:
    try_pin(house.client(), house)
    address = address_subject("testclient")
    with house.store.read(house.team.id) as t:
        subjects = {row.subject for row in t.rows(FailedTry)}
    assert subjects == {"number:54", f"number:54@{address}", address}
    assert "testclient" not in "".join(subjects)


def test_one_address_of_a_household_is_one_subject() -> None:
    assert address_subject("2001:db8:1:2::1") == address_subject("2001:db8:1:2:ffff::9")
    assert address_subject("2001:db8:1:2::1") != address_subject("2001:db8:1:3::1")
    assert address_subject("::ffff:192.0.2.7") == address_subject("192.0.2.7")


def test_a_team_code_is_found_however_it_is_typed(house: House) -> None:
    code = house.team.join_code
    client = house.client()
    for typed in (code, code.lower(), f"{code[:4]}-{code[4:]}", f" {code[:4]} {code[4:]} "):
        assert client.get("/team", params={"code": typed}, headers=PAGE).url.path == f"/team/{code}"
        assert from_typed_code(typed) == code
    assert client.get("/team", params={"code": "OOPS"}, headers=PAGE).status_code == 422
    wrong = client.get("/team/AAAAAAAA", headers=PAGE)
    assert wrong.status_code == 404
    assert "No team has this code" in wrong.text


def test_the_addresses_before_team_still_lead_there(house: House) -> None:
    code = house.team.join_code
    client = house.client()
    for old, new in (
        ("/join", "/team"),
        (f"/join?code={code}", f"/team?code={code}"),
        (f"/join/{code}", f"/team/{code}"),
    ):
        reply = client.get(old, headers=PAGE, follow_redirects=False)
        assert (reply.status_code, reply.headers["location"]) == (308, new)
    assert client.get(f"/join/{code}", headers=PAGE).status_code == 200


def test_guessing_team_codes_is_limited_per_address(house: House) -> None:
    codes = [house.client().get("/team/AAAAAAAA", headers=JSON).status_code for _ in range(102)]
    assert codes == [404] * 101 + [429]
    house.clock.move(seconds=10)
    assert house.client().get("/team/AAAAAAAA", headers=JSON).status_code == 404  # slowed, not shut


def test_a_coach_needs_team_name_and_passphrase(house: House) -> None:
    house.add_team()
    client = house.client()
    right = {"team": house.team.id, "name": "Owner", "passphrase": PASSPHRASE}
    for wrong in (
        {"team": house.teams[1].id + "x"},
        {"name": "nobody"},
        {"passphrase": PASSPHRASE + "."},
        {"team": ""},
    ):
        reply = client.post("/coach/sign-in", data=right | wrong, headers=PAGE)
        assert reply.status_code == 401
        assert "do not belong together" in reply.text
        assert PASSPHRASE not in reply.text
    assert client.post("/coach/sign-in", data=right, headers=PAGE).url.path == "/coach/board"


def test_a_player_cannot_come_in_by_the_coachs_door_nor_the_other_way(house: House) -> None:
    form = {"team": house.team.id, "name": "54", "passphrase": PIN}
    assert house.client().post("/coach/sign-in", data=form, headers=PAGE).status_code == 401
    assert try_pin(house.client(), house, 0, PASSPHRASE).status_code == 401


def test_the_cookie_is_out_of_reach_of_scripts_and_hashed_at_rest(house: House) -> None:
    reply = try_pin(house.client(), house, pin=PIN)
    cookie = reply.headers["set-cookie"]
    assert cookie.startswith("gapsound-plain=")
    for flag in ("HttpOnly", "SameSite=lax", "Path=/"):
        assert flag in cookie
    assert "Secure" not in cookie
    token = cookie.split("=", 1)[1].split(";")[0]
    with house.store.read(house.team.id) as t:
        [row] = t.rows(SignIn)
    assert token.split(".")[1] not in row.token_hash
    assert len(row.token_hash) == 64


def test_with_https_the_cookie_is_bound_to_the_host(house: House) -> None:
    with TestClient(house.app, base_url="https://testserver", headers={"origin": "https://testserver"}) as client:
        form = {"number": "54", "pin": PIN}
        reply = client.post(f"/team/{house.team.join_code}", data=form, follow_redirects=False)
    cookie = reply.headers["set-cookie"]
    assert cookie.startswith("__Host-gapsound=")
    assert "Secure" in cookie
    assert "Domain" not in cookie


def test_sessions_end_when_idle_and_in_any_case(house: House) -> None:
    phone, coach = house.player(), house.coach()

    def move(**span: int) -> None:
        house.app.state.services.writes.finish()  # that a session was seen is stored after the reply
        house.clock.move(**span)

    move(hours=11)
    assert coach.get("/coach/board", headers=JSON).status_code == 200  # seen again: the idle time starts over
    move(hours=11)
    assert coach.get("/coach/board", headers=JSON).status_code == 200
    move(hours=13)
    assert coach.get("/coach/board", headers=JSON).status_code == 401
    for _ in range(6):
        assert phone.get("/home", headers=JSON).status_code == 200
        move(days=33)
    move(days=5)
    assert phone.get("/home", headers=JSON).status_code == 401  # 200 days are over, though it was used lately


def test_a_new_pin_ends_the_old_one_and_its_sessions_and_is_shown_once(house: House) -> None:
    phone, coach, player = house.player(), house.coach(), house.member()
    sheet = coach.post("/coach/roster/codes", data={"players": [player.id]}, headers=PAGE)
    assert sheet.status_code == 200
    assert "Dale" in sheet.text
    [pin] = re.findall(r">\s*(\d{3} ?\d{3})\s*<", sheet.text)
    assert phone.get("/home", headers=JSON).status_code == 401
    assert try_pin(house.client(), house, pin=PIN).status_code == 401
    assert try_pin(house.client(), house, pin=pin).status_code == 303
    assert try_pin(house.client(), house, pin=pin.replace(" ", "")).status_code == 303
    assert pin not in coach.get("/coach/roster", headers=PAGE).text
    with house.store.read(house.team.id) as t:
        assert [a.action for a in t.rows(AuditEntry)] == ["new PINs"]


def test_sign_out_ends_this_device_only(house: House) -> None:
    one, two = house.player(), house.player()
    one.post("/sign-out", headers=PAGE)
    assert one.get("/home", headers=JSON).status_code == 401
    assert two.get("/home", headers=JSON).status_code == 200


def test_a_new_team_code_ends_the_old_one(house: House) -> None:
    house.coach().post("/coach/roster/team-code", headers=PAGE)
    assert try_pin(house.client(), house, pin=PIN).status_code == 404


def test_a_player_off_the_roster_is_out_and_his_number_free(house: House) -> None:
    phone = house.player()
    with house.store.write(house.team.id) as t:
        assert take_roster(t, ROSTER[1:], house.clock()) == (0, 0, 1)
    assert phone.get("/home", headers=JSON).status_code == 401
    assert try_pin(house.client(), house, pin=PIN).status_code == 401
    with house.store.write(house.team.id) as t:
        assert take_roster(t, ROSTER, house.clock()) == (1, 0, 0)
        assert len(t.rows(Member, col(Member.number) == 54)) == 2
        assert t.count(Member, col(Member.role) == AccountRole.PLAYER.value, col(Member.removed_at).is_(None)) == 3


def test_codes_and_pins_are_random_and_readable(house: House) -> None:
    codes, pins = {make_code() for _ in range(50)}, {make_pin() for _ in range(50)}
    assert len(codes) == 50
    assert len(pins) > 45
    assert all(len(code) == 8 and not set(code) & set("0O1IL2Z5S8BUV") for code in codes)
    assert all(len(pin) == 6 and pin.isdigit() for pin in pins)
    assert passphrase_problems(make_passphrase()) == []
    assert passphrase_problems("fourteen chars") == ["passphrase: expected 15 to 200 characters, found 14"]
    assert passphrase_problems("a" * 20) == ["passphrase: expected at least 5 different characters"]


def test_an_invalid_token_signs_nobody_in(house: House) -> None:
    client = house.client()
    for token in ("", "x", f"{house.team.id}.{'A' * 43}", "a.b.c", "é", "x" * 5000):
        client.cookies.clear()
        if token.isascii():
            client.cookies.set("gapsound-plain", token)
        assert client.get("/home", headers=JSON).status_code == 401


#: Changes to the signed-in member and his team.
CHANGES: tuple[tuple[type[Member] | type[Team], str, object], ...] = (
    (Member, "role", "coach"),
    (Member, "name", "Ray"),
    (Member, "number", 98),
    (Member, "positions", ["Sam"]),
    (Member, "groups", ["line"]),
    (Team, "name", "Oakdale"),
    (Team, "time_zone", "America/Denver"),
    (Team, "season_end", "2027-01-31"),
    (Team, "content_hash", "another"),
    (Team, "join_code", "ANOTHER3"),
)


def check_changes_are_seen(house: House) -> None:
    people, token = house.app.state.services.sessions, house.player().cookies["gapsound-plain"]
    first = people.find_viewers([token], house.clock())[0]
    assert people.find_viewers([token], house.clock())[0] is first
    for table, name, value in CHANGES:
        with house.store.write(house.team.id) as t:
            row = t.team() if table is Team else t.get(Member, first.member.id)
            setattr(row, name, value)
            t.add(row) if table is Member else t.session.add(row)
        viewer = people.find_viewers([token], house.clock())[0]
        assert getattr(viewer.team if table is Team else viewer.member, name) == value


def test_changes_to_a_member_or_his_team_apply_at_the_next_request(house: House) -> None:
    check_changes_are_seen(house)


def test_the_same_on_postgresql(postgres_house: House) -> None:
    check_changes_are_seen(postgres_house)


def test_a_session_that_was_ended_still_reads_questions_for_two_seconds_and_nothing_else(house: House) -> None:
    set_id, phone = house.send_set(), house.player()
    [first, *_] = house.open_set(phone, set_id)
    question = f"/api/sets/{set_id}/reps/{first['rep_id']}"
    body = {"rep_id": first["rep_id"], "chosen": chosen(first["rep_id"])}
    for seconds, expected in ((1.9, 200), (2.1, 401)):
        assert phone.get(question).status_code == 200
        with house.store.write(house.team.id) as t:
            end_sessions(t, house.member().id)
        house.clock.move(seconds=seconds)
        assert phone.get(question).status_code == expected
        assert phone.put(answer_url(set_id), json=body).status_code == 401
        assert phone.get(question).status_code == 401
        phone = house.player()


def test_a_question_in_memory_is_served_only_to_its_player(house: House) -> None:
    set_id, phone = house.send_set(), house.player(54)
    [first, *_] = house.open_set(phone, set_id)
    question = f"/api/sets/{set_id}/reps/{first['rep_id']}"
    mate, stranger = house.player(33), house.player(54, house.add_team())  # the mate has the set too, not opened yet
    assert [client.get(question).status_code for client in (phone, mate, stranger, phone)] == [200, 404, 404, 200]


async def look_up_at_once(lookup: ViewerLookup, tokens: list[str]) -> list[Viewer | BaseException | None]:
    return await asyncio.gather(*map(lookup.find, tokens), return_exceptions=True)


def test_viewers_that_are_looked_up_at_once_share_statements_and_failures(
    house: House, monkeypatch: pytest.MonkeyPatch
) -> None:
    tokens = [house.player(number).cookies["gapsound-plain"] for number in (54, 33)]
    tokens += [f"{house.team.id}.unknown", "no team"]
    services, statements = house.app.state.services, []
    event.listen(house.store.engine, "before_cursor_execute", lambda *args: statements.append(args[2]))
    lookup = ViewerLookup(services.sessions, house.clock)
    found = asyncio.run(look_up_at_once(lookup, [*tokens, tokens[0]] * 20))
    assert [one and one.member.number for one in found] == [54, 33, None, None, 54] * 20
    assert sum("sign_in.token_hash IN" in one for one in statements) == 1

    def fail(*_: object, **__: object) -> None:
        raise away()

    monkeypatch.setattr(house.store, "look", fail)
    assert {type(one) for one in asyncio.run(look_up_at_once(lookup, tokens))} == {Unavailable}
