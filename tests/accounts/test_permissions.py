"""The access table against the routes, each role against each route, and one team against another."""

import re

import pytest
from fastapi import APIRouter
from starlette.testclient import TestClient

from server.accounts.permissions import ACCESS
from server.accounts.sessions import Viewer
from server.app import check_routes, routes_of
from server.database.tables import TABLES, AccountRole, Member, PracticeDay, Team
from server.opponents.tendencies import add_opponent
from server.routes import ROUTERS
from server.sets.practice_days import take_suggestion
from tests.harness.house import PAGE, House, answer_url, chosen

JSON = {"accept": "application/json"}
ROUTES = sorted(ACCESS)


def fill(path: str) -> str:
    """An address that matches the pattern and names nothing that exists."""
    return re.sub(r"\{(\w+)\}", lambda m: "1" if m[1] == "place" else "nothing-of-the-kind", path)


def device(house: House, role: AccountRole) -> TestClient:
    """A client signed in with that role."""
    if role is AccountRole.NOBODY:
        return house.client()
    return house.player() if role is AccountRole.PLAYER else house.coach(role)


def test_a_route_that_the_table_lacks_stops_the_start() -> None:
    extra = APIRouter()
    extra.add_api_route("/coach/secrets", lambda: None)
    with pytest.raises(ValueError, match="/coach/secrets"):
        check_routes(routes_of([*ROUTERS, extra]))
    with pytest.raises(ValueError, match="not there"):
        check_routes(routes_of(ROUTERS[1:]))


@pytest.mark.parametrize("role", list(AccountRole))
def test_each_role_gets_where_the_table_says_and_nowhere_else(house: House, role: AccountRole) -> None:
    client = device(house, role)
    outside = 401 if role is AccountRole.NOBODY else 403
    for method, path in ROUTES:
        if path == "/sign-out":
            continue
        body = {"json": {"rep_id": "r", "chosen": ["b"]}} if method == "PUT" else {}
        reply = client.request(method, fill(path), headers=JSON, follow_redirects=False, **body)
        if role in ACCESS[method, path]:
            is_try = method == "POST" and path in ("/coach/sign-in", "/team/{code}")
            assert is_try or reply.status_code not in (401, 403), (method, path)
        else:
            assert reply.status_code == outside, (method, path)
            assert reply.json()["error"]["message"]
    assert client.post("/sign-out", headers=JSON, follow_redirects=False).status_code == (
        401 if role is AccountRole.NOBODY else 303
    )


def test_what_the_table_must_contain() -> None:
    """Written out by hand, so that a mistake in the table shows."""
    for (method, path), roles in ACCESS.items():
        if path.startswith("/coach") and path != "/coach/sign-in":
            assert not roles & {AccountRole.PLAYER, AccountRole.NOBODY}, (method, path)
        if path.startswith(("/home", "/sets", "/api")):
            assert roles == {AccountRole.PLAYER}, (method, path)
        if "codes" in path or "team-code" in path:
            assert roles == {AccountRole.OWNER, AccountRole.COACH}, (method, path)


def test_a_browser_is_sent_to_its_sign_in_page(house: House) -> None:
    client = house.client()
    assert client.get("/coach/board", headers=PAGE).url.path == "/coach/sign-in"
    assert client.get("/home", headers=PAGE).url.path == "/team"
    refused = house.player().get("/coach/board", headers=PAGE)
    assert refused.status_code == 403
    assert "This page is for coaches" in refused.text


def test_a_position_coach_sees_and_assigns_his_groups_only(house: House) -> None:
    coach = house.coach(AccountRole.POSITION_COACH)  # of the line
    board = coach.get("/coach/board", headers=PAGE).text
    assert "Gus" in board
    assert "Dale" not in board
    assert "Rory" not in coach.get("/coach/roster", headers=PAGE).text
    assert coach.get(f"/coach/players/{house.member(71).id}", headers=PAGE).status_code == 200
    assert coach.get(f"/coach/players/{house.member(54).id}", headers=PAGE).status_code == 404
    form = {"call": "Hammer", "positions": ["Mike"], "stages": ["1"], "sides": ["left"], "length": "4"}
    form |= {"due": "2026-09-03T12:00"}
    refused = coach.post("/coach/sets", data=form, headers=PAGE)
    assert refused.status_code == 422
    assert "your groups only" in refused.text


def without_ids(text: str) -> str:
    """A reply without the parts that differ between requests."""
    return re.sub(r'"request_id":"\w+"', "", text)


def test_another_teams_things_answer_exactly_like_missing_ones(house: House) -> None:
    other = house.add_team()
    set_id = house.send_set()
    phone = house.player()
    [first, *_] = house.open_set(phone, set_id)
    rep = first["rep_id"]
    phone.put(answer_url(set_id, "a" * 20), json={"rep_id": rep, "chosen": chosen(rep)})
    stranger, strange_coach = house.player(team=other), house.coach(team=other)
    answer = {"rep_id": rep, "chosen": chosen(rep)}
    player_id = house.member().id
    asks = [
        (stranger, "GET", "/sets/{}", set_id, {}),
        (stranger, "POST", "/sets/{}/open", set_id, {}),
        (stranger, "GET", "/sets/{}/reps/1", set_id, {}),
        (stranger, "POST", "/sets/{}/reps/1", set_id, {"data": {"answer_id": "b" * 20, "choice_1": "b"}}),
        (stranger, "GET", "/api/sets/{}", set_id, {}),
        (stranger, "GET", f"/api/sets/{{}}/reps/{rep}", set_id, {}),
        (stranger, "PUT", f"/api/sets/{{}}/answers/{'c' * 20}", set_id, {"json": answer}),
        (strange_coach, "GET", "/coach/players/{}", player_id, {}),
        (strange_coach, "GET", "/coach/sets/{}", set_id, {}),
        (strange_coach, "GET", "/coach/assign?again={}", set_id, {}),
        (strange_coach, "POST", "/coach/sets/{}/call-back", set_id, {}),
        (strange_coach, "POST", "/coach/sets/{}/change", set_id, {"data": {"due": "2026-09-05T12:00"}}),
        (strange_coach, "POST", "/coach/roster/codes", "", {"data": {"players": [player_id]}}),
        *((strange_coach, *one) for one in requests_by_id(house, player_id)),
    ]
    untouched = whole_database(house)
    for client, method, path, real, body in asks:
        foreign = client.request(method, path.format(real), headers=JSON, **body)
        missing_body = {"data": {"players": ["nothing"]}} if "codes" in path else body
        missing = client.request(method, path.format("nothing"), headers=JSON, **missing_body)
        assert foreign.status_code == missing.status_code == 404, path
        assert without_ids(foreign.text) == without_ids(missing.text), path
    assert whole_database(house) == untouched


def requests_by_id(house: House, player_id: str) -> list[tuple[str, str, str, dict]]:
    """Method, path, id of a thing of the first team, and body, for everything that a coach reaches by id."""
    with house.store.write(house.team.id) as t:
        opponent = add_opponent(t, "coach", "Tarrow", house.clock()).id
        take_suggestion(t, Viewer(t.team(), t.get(Member, player_id), ""), "walk", "Monday", house.clock())
        [day] = [one.id for one in t.rows(PracticeDay)]
        coach = next(one.id for one in t.rows(Member) if one.role == AccountRole.COACH)
    sheet = {"sheet": "Play\nPower\n", "heading": "1", "play": "0", "listed": "1/0"}
    return [
        *(("GET", f"/coach/players/{{}}/{what}", player_id, {}) for what in ("data", "data.json", "data.csv")),
        ("POST", "/coach/players/{}/erase", player_id, {"data": {"typed": "Dale"}}),
        *(("POST", f"/coach/roster/{{}}/{what}", player_id, {}) for what in ("remove", "bring-back")),
        ("POST", "/coach/coaches/{}/passphrase", coach, {}),
        ("POST", "/coach/coaches/{}/remove", coach, {}),
        *(("GET", f"/coach/opponents/{{}}{what}", opponent, {}) for what in ("", "/plays.csv", "/import")),
        ("POST", "/coach/opponents/{}", opponent, {"data": {"play": "Power", "number": "3"}}),
        ("POST", "/coach/opponents/{}/name", opponent, {"data": {"name": "Dunmere"}}),
        ("POST", "/coach/opponents/{}/delete", opponent, {}),
        *(
            ("POST", f"/coach/opponents/{{}}/import/{what}", opponent, {"data": sheet})
            for what in ("map", "try", "store")
        ),
        ("GET", "/coach/assign?day={}", day, {}),
        ("POST", "/coach/days/{}/delete", day, {}),
    ]


def whole_database(house: House) -> str:
    """Every value in every row of the first team."""
    with house.store.read(house.team.id) as t:
        return repr([sorted(map(repr, t.rows(table))) for table in TABLES if table is not Team] + [t.team()])


def test_a_marker_planted_in_one_team_never_reaches_another(house: House) -> None:
    other = house.add_team()
    with house.store.write(house.team.id) as t:
        for member in t.rows(Member):
            member.name = "MARKER"
            t.add(member)
        team = t.team()
        team.name = "MARKER High"
        t.session.add(team)
    house.send_set()
    for client in (house.player(team=other), house.coach(team=other), house.client()):
        for method, path in ROUTES:
            if method == "GET":
                assert "MARKER" not in client.get(fill(path), headers=PAGE).text, path
    assert "MARKER" in house.coach().get("/coach/board", headers=PAGE).text


def test_a_session_opens_nothing_of_another_team_even_with_the_same_token(house: House) -> None:
    other = house.add_team()
    client = house.player()
    [(name, token)] = client.cookies.items()
    forged = token.replace(house.team.id, other.id)
    client.cookies.clear()
    client.cookies.set(name, forged)
    assert client.get("/home", headers=JSON).status_code == 401


def test_typed_text_is_inert(house: House) -> None:
    with house.store.write(house.team.id) as t:
        member = t.get(Member, house.member().id)
        member.name = '<script>alert("x")</script>'
        t.add(member)
    for path in ("/coach/board", "/coach/roster", f"/coach/players/{member.id}"):
        page = house.coach().get(path, headers=PAGE).text
        assert "<script>alert" not in page
        assert "&lt;script&gt;" in page
    assert "<script>alert" not in house.player().get("/home", headers=PAGE).text
