"""A sent set is changed or called back: what is said before, who has it then, and that no answer is lost."""

import html
import re
from datetime import timedelta
from typing import Any

import pytest
from sqlmodel import col

from server.database.tables import Answer, Assignment
from tests.harness.house import PAGE, House, answer_url, chosen, local_time


def stored(house: House, set_id: str) -> Assignment:
    with house.store.read(house.team.id) as t:
        return t.get(Assignment, set_id)


def answers(house: House, set_id: str) -> list[Answer]:
    with house.store.read(house.team.id) as t:
        return list(t.rows(Answer, col(Answer.assignment_id) == set_id, order_by=(col(Answer.received_at),)))


def own_reps(places: list[dict]) -> list[str]:
    return [one["rep_id"] for one in places if one["again_of"] is None]


def form(house: House, set_id: str, **changed: object) -> dict[str, object]:
    one = stored(house, set_id)
    fields: dict[str, object] = {"is_filled": "1", "positions": one.positions, "players": one.player_ids}
    fields |= {"length": str(one.length), "due": local_time(one.due_at)}
    return fields | changed


def says(house: House, set_id: str, **changed: object) -> str:
    page = house.coach().get(f"/coach/sets/{set_id}/change", params=form(house, set_id, **changed), headers=PAGE).text
    found = re.search(r'class="(?:says|notice notice-bad)" role="\w+">(.*?)</p>', page, re.DOTALL)
    assert found, page
    return " ".join(html.unescape(found[1]).split())


def change(house: House, set_id: str, **changed: object) -> None:
    url = f"/coach/sets/{set_id}/change"
    reply = house.coach().post(url, data=form(house, set_id, **changed), headers=PAGE)
    assert reply.url.path == f"/coach/sets/{set_id}", reply.text


def put(phone: Any, set_id: str, rep: str, choice: str = "b") -> Any:
    return phone.put(answer_url(set_id), json={"rep_id": rep, "chosen": chosen(rep, choice)})


def test_the_form_shows_the_sets_own_values_and_that_nothing_would_change(house: House) -> None:
    set_id = house.send_set(length="8", hours=30)
    page = house.coach().get(f"/coach/sets/{set_id}/change", headers=PAGE).text
    assert f'name="due" type="datetime-local" value="{local_time(stored(house, set_id).due_at)}"' in page
    assert 'max="20" value="8"' in page
    assert "Nothing would change." in page


def test_the_sentence_says_what_will_happen_before_it_does(house: House) -> None:
    set_id = house.send_set(length="4", players=[house.member(54).id, house.member(33).id])
    phone = house.player(54)
    rep = own_reps(house.open_set(phone, set_id))[0]
    put(phone, set_id, rep)
    assert re.fullmatch(r"Due .+ instead of .+\.", says(house, set_id, due=local_time(house.clock.at, days=3)))
    assert says(house, set_id, length="6") == "6 reps instead of 4 for the 2 who have not finished."
    off = says(house, set_id, players=[house.member(33).id])
    assert off == "Let off: #54 Dale. The 1 answer they gave stays and counts."
    more = says(house, set_id, players=[house.member(n).id for n in (54, 33, 71)])
    assert more == "Also goes to #71 Gus."
    assert "due: expected a day and time to come" in says(house, set_id, due="2020-01-01T10:00")
    before = stored(house, set_id)
    assert (before.length, before.let_off, len(before.player_ids)) == (4, [], 2)


def test_a_player_who_is_let_off_keeps_his_answers_and_late_ones_count_once(house: House) -> None:
    set_id = house.send_set(players=[house.member(54).id, house.member(33).id])
    phone = house.player(54)
    first, second, *_ = own_reps(house.open_set(phone, set_id))
    put(phone, set_id, first)
    change(house, set_id, players=[house.member(33).id])
    assert stored(house, set_id).let_off == [house.member(54).id]
    gone = phone.get(f"/sets/{set_id}/reps/2", headers=PAGE)
    assert gone.status_code == 410
    assert "Your coach called this set back. Your answers are kept and count." in gone.text
    assert "called Hammer back" in phone.get("/home", headers=PAGE).text
    assert phone.get(f"/api/sets/{set_id}").json()["is_over"] is True
    url, body = answer_url(set_id), {"rep_id": second, "chosen": chosen(second)}
    assert [phone.put(url, json=body).status_code for _ in range(2)] == [201, 200]
    assert [(one.rep_id, one.is_late) for one in answers(house, set_id)] == [(first, False), (second, True)]
    row = house.coach().get(f"/coach/sets/{set_id}", headers=PAGE).text
    assert "let off" in row
    # Given back to him, it goes on where he was.
    change(house, set_id, players=[house.member(54).id, house.member(33).id])
    assert stored(house, set_id).let_off == []
    assert phone.get(f"/sets/{set_id}/reps/3", headers=PAGE).status_code == 200


def test_a_set_called_back_leaves_the_phones_and_its_answers_are_stored_once(house: House) -> None:
    set_id = house.send_set()
    phone, other = house.player(54), house.player(33)
    first, second, *_ = own_reps(house.open_set(phone, set_id))
    put(phone, set_id, first)
    page = house.coach().get(f"/coach/sets/{set_id}/change", headers=PAGE).text
    assert "1 of them is in the middle of it." in page
    assert "1 answer already given stays and counts." in page
    assert house.coach().post(f"/coach/sets/{set_id}/call-back", headers=PAGE).status_code == 200
    assert f"/sets/{set_id}/open" not in phone.get("/home", headers=PAGE).text
    assert f"/sets/{set_id}/open" not in other.get("/home", headers=PAGE).text
    for page in (other.get(f"/sets/{set_id}", headers=PAGE), other.post(f"/sets/{set_id}/open", headers=PAGE)):
        assert page.status_code == 410
        assert "Your coach called this set back. There is nothing left to do." in page.text
    assert "called back by your coach" in phone.get(f"/sets/{set_id}", headers=PAGE).text
    url, body = answer_url(set_id), {"rep_id": second, "chosen": chosen(second)}
    assert [phone.put(url, json=body).status_code for _ in range(2)] == [201, 200]
    assert [one.is_late for one in answers(house, set_id)] == [False, True]
    # It can be sent again as it was.
    assert says(house, set_id).startswith("It goes out again to 2 players.")
    change(house, set_id)
    assert phone.get(f"/sets/{set_id}/reps/3", headers=PAGE).status_code == 200


def test_fewer_reps_end_it_sooner_and_an_answer_to_a_dropped_rep_is_kept(house: House) -> None:
    set_id = house.send_set(length="4")
    phone = house.player(54)
    reps = own_reps(house.open_set(phone, set_id))
    change(house, set_id, length="2")
    assert own_reps(phone.get(f"/api/sets/{set_id}").json()["places"]) == reps[:2]
    assert put(phone, set_id, reps[3]).status_code == 201  # a phone that had the longer set
    for rep in reps[:2]:
        assert put(phone, set_id, rep).status_code == 201
    assert phone.get(f"/api/sets/{set_id}").json()["is_finished"] is True
    assert len(answers(house, set_id)) == 3


def test_more_reps_reach_those_who_have_not_finished(house: House) -> None:
    set_id = house.send_set(length="2")
    finished, phone = house.player(33), house.player(54)
    for rep in own_reps(house.open_set(finished, set_id)):
        put(finished, set_id, rep)
    reps = own_reps(house.open_set(phone, set_id))
    change(house, set_id, length="4")
    longer = phone.get(f"/api/sets/{set_id}").json()["places"]
    assert own_reps(longer)[:2] == reps
    assert len(set(own_reps(longer))) == 4
    assert [one["again_of"] is not None for one in longer] == sorted(one["again_of"] is not None for one in longer)
    for rep in own_reps(longer):
        put(phone, set_id, rep)
    assert phone.get(f"/api/sets/{set_id}").json()["is_finished"] is True
    assert len(own_reps(finished.get(f"/api/sets/{set_id}").json()["places"])) == 2


def test_nobody_left_is_refused(house: House) -> None:
    set_id = house.send_set(players=[house.member(54).id])
    assert "positions: expected at least one" in says(house, set_id, players=[], positions=[])


@pytest.mark.parametrize("value", ["", "8.5", "99"])
def test_a_length_that_cannot_be_is_said(house: House, value: str) -> None:
    set_id = house.send_set(length="4")
    url, sent = f"/coach/sets/{set_id}/change", form(house, set_id, length=value)
    page = house.coach().post(url, data=sent, headers=PAGE)
    assert (page.status_code == 422) == bool(value)  # a field that was left empty stays as it was
    assert stored(house, set_id).length == 4
    assert bool(value) == ("length: expected 1 to 20 reps" in page.text)


def test_the_calendar_file_is_what_rfc_5545_asks_for(house: House) -> None:
    """RFC 5545: lines end with CRLF (3.1), PRODID and VERSION once (3.6), an event has UID and DTSTAMP (3.6.1), UTC is
    a form with Z (3.3.5)."""
    set_id = house.send_set(length="8")
    due = stored(house, set_id).due_at
    for device, url in (
        (house.coach(), f"/coach/sets/{set_id}/calendar.ics"),
        (house.player(54), f"/sets/{set_id}/calendar.ics"),
    ):
        reply = device.get(url)
        assert reply.headers["content-type"] == "text/calendar; charset=utf-8"
        text = reply.text
        assert "\n" not in text.replace("\r\n", "")
        assert all(len(line.encode()) <= 75 for line in text.split("\r\n"))
        lines = text.replace("\r\n ", "").split("\r\n")
        assert lines[0] == "BEGIN:VCALENDAR"
        assert lines[-2:] == ["END:VCALENDAR", ""]
        assert f"DTSTART:{due:%Y%m%dT%H%M%S}Z" in lines
        assert "SUMMARY:Hammer\\, reps: 8" in lines
        for name in ("VERSION:2.0", "PRODID:", "UID:", "DTSTAMP:"):
            assert sum(line.startswith(name) for line in lines) == 1
        assert "VALARM" not in text
        assert not {"Dale", "Rory"} & set(re.split(r"\W+", text))
        assert f"/team/{house.team.join_code}" in text
    house.coach().post(f"/coach/sets/{set_id}/call-back", headers=PAGE)
    assert "STATUS:CANCELLED\r\n" in house.coach().get(f"/coach/sets/{set_id}/calendar.ics").text


def test_another_players_set_has_no_calendar_file(house: House) -> None:
    set_id = house.send_set(players=[house.member(33).id])
    assert house.player(54).get(f"/sets/{set_id}/calendar.ics", headers=PAGE).status_code == 404


def test_the_message_says_call_reps_time_and_address_and_no_name(house: House) -> None:
    set_id = house.send_set(length="8")
    page = house.coach().get(f"/coach/sets/{set_id}", headers=PAGE).text
    message = html.unescape(re.search(r'id="message-text">(.*?)</p>', page, re.DOTALL)[1])
    assert re.fullmatch(rf"Hammer, 8 reps, before .+: http.+/team/{house.team.join_code}", message)


def test_eight_reps_are_eight_on_every_page(house: House) -> None:
    set_id = house.send_set(length="4")
    phone = house.player(54)
    rep = own_reps(house.open_set(phone, set_id))[0]
    put(phone, set_id, rep, "a")  # a miss, which comes back
    assert "1 of 4" in phone.get(f"/sets/{set_id}", headers=PAGE).text
    assert "4 reps, 1 done" in phone.get("/home", headers=PAGE).text
    page = house.coach().get(f"/coach/sets/{set_id}", headers=PAGE).text
    assert "<h1>Hammer, 4 reps" in page
    assert "1 of 4, since" in page
    assert timedelta(0) < stored(house, set_id).due_at - house.clock.at
