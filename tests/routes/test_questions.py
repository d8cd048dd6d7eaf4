"""Questions are served from memory after the first time, unchanged, and only to their player."""

from __future__ import annotations

import pytest
from sqlalchemy import event

from server.accounts.sessions import RECENT
from server.database.tables import AccountRole
from tests.harness.house import PAGE, House


def asked(house: House) -> tuple:
    """A phone with an opened set, the address of one of its questions, and all statements sent to the database
    since."""
    set_id, phone = house.send_set(), house.player()
    rep = house.open_set(phone, set_id)[0]["rep_id"]
    house.clock.move(seconds=10)
    statements: list[str] = []
    event.listen(house.store.engine, "before_cursor_execute", lambda *given: statements.append(given[2]))
    return phone, f"/api/sets/{set_id}/reps/{rep}", statements


@pytest.mark.parametrize("packed", ["gzip", "identity"])
def test_asked_again_it_is_the_same_without_a_query(house: House, packed: str) -> None:
    phone, url, statements = asked(house)
    replies = []
    for _ in range(2):
        statements.clear()
        replies.append(phone.get(url, headers={"accept-encoding": packed}))
    assert statements == []
    first, again = replies
    assert (first.status_code, first.content) == (200, again.content)
    assert {**first.headers, "x-request-id": ""} == {**again.headers, "x-request-id": ""}
    assert first.headers.get("content-encoding", "identity") == packed


def test_nobody_else_gets_it(house: House) -> None:
    phone, url, _ = asked(house)
    mate, coach = house.player(33), house.coach(AccountRole.OWNER)
    other = house.player(team=house.add_team())
    for client in (mate, coach, other):
        client.get("/")  # so that all of them are known by now
        client.get(url)
    assert phone.get(url).status_code == 200
    for client, status in ((mate, 404), (coach, 403), (other, 404), (house.client(), 401)):
        assert client.get(url).status_code == status


def test_the_last_of_two_session_cookies_counts(house: House) -> None:
    phone, url, _ = asked(house)
    mate = house.player(33)
    own, other = (f"{name}={value}" for client in (phone, mate) for name, value in client.cookies.items())
    for status, cookies in ((200, (other, own)), (404, (own, other))):
        for client in (phone, mate):  # both are known by now, and the question is in memory
            client.get(url)
        found = house.client().get(url, headers=[("cookie", one) for one in cookies])
        assert found.status_code == status


def test_an_ended_session_gets_no_question_after_a_moment(house: House) -> None:
    phone, url, _ = asked(house)
    assert phone.get(url).status_code == 200
    member = house.member()
    house.coach().post("/coach/roster/codes", data={"players": [member.id]}, headers=PAGE)
    house.clock.move(seconds=RECENT.total_seconds())
    assert phone.get(url).status_code == 401


def test_the_log_names_the_route(house: House, capsys: pytest.CaptureFixture[str]) -> None:
    phone, url, _ = asked(house)
    phone.get(url)
    capsys.readouterr()
    phone.get(url)
    assert "route='/api/sets/{set_id}/reps/{rep_id}'" in capsys.readouterr().out
