"""A check session from form to verdict: it ends when the call is decided, and loses no answer."""

import re
from datetime import timedelta

import pytest
from sqlmodel import col
from starlette.testclient import TestClient

from server.database.tables import Answer, PlayerSet, Purpose
from server.mastery.picker import CHECK_MAX
from server.mastery.values import State
from tests.harness.fake_football import BECAUSE
from tests.harness.house import ANSWER_ID, PAGE, House, answer_url, chosen


def send_check(house: House, **fields: object) -> str:
    """Send a check on Hammer to Mike; return its id."""
    return house.send_set(purpose="check", length="", **fields)


def put(phone: TestClient, set_id: str, place: dict, choice: str = "b") -> dict:
    """Answer a place as the script does; return the reply."""
    reply = phone.put(answer_url(set_id), json={"rep_id": place["rep_id"], "chosen": chosen(place["rep_id"], choice)})
    assert reply.status_code == 201, reply.text
    return reply.json()


def answer_on(house: House, phone: TestClient, set_id: str, choices: str) -> int:
    """Answer place after place with these choices in turn until the set ends; return the number of answers."""
    places = house.open_set(phone, set_id)
    for count, place in enumerate(places, start=1):
        reply = put(phone, set_id, place, choices[(count - 1) % len(choices)])
        if reply["is_finished"]:
            assert reply["next_place"] is None
            return count
        assert reply["next_place"] == place["place"] + 1
    raise AssertionError("the check never ended")


def of_player(house: House, set_id: str, number: int = 54) -> tuple[PlayerSet, int]:
    """A player's copy, and the number of stored answers to it."""
    with house.store.read(house.team.id) as t:
        member_id = house.member(number).id
        count = t.count(Answer, col(Answer.assignment_id) == set_id, col(Answer.member_id) == member_id)
        return t.get(PlayerSet, set_id, member_id), count


def row_of(house: House, set_id: str, number: int = 54) -> str:
    """A player's row on the coach's page of the set, without tags."""
    page = house.coach().get(f"/coach/sets/{set_id}", headers=PAGE).text
    row = re.search(rf"<tr><th[^>]*><a[^>]*>#{number}.*?</tr>", page, re.DOTALL)
    assert row is not None
    return " ".join(re.sub(r"<[^>]+>", " ", row[0]).split())


def test_it_is_laid_out_completely_with_sides_in_turn_and_no_second_forms(house: House) -> None:
    set_id = send_check(house)
    phone = house.player()
    places = house.open_set(phone, set_id)
    assert len(places) == CHECK_MAX
    assert all(place["again_of"] is None for place in places)
    sides = [re.search("left|right", place["rep_id"])[0] for place in places]
    assert set(sides[:2]) == {"left", "right"}
    assert all(abs(sides[:n].count("left") - sides[:n].count("right")) <= 2 for n in range(1, 10))
    layout = phone.get(f"/api/sets/{set_id}").json()
    assert (layout["purpose"], layout["is_finished"], layout["next_place"]) == (Purpose.CHECK.value, False, 1)
    assert house.open_set(house.player(), set_id) == places
    assert "4 to 9" in phone.get(f"/sets/{set_id}", headers=PAGE).text


def know_it(house: House) -> None:
    """Three check sessions of Mike's, all right, two days apart, the last two days ago."""
    for _ in range(3):
        answer_on(house, house.player(), send_check(house), "b")
        house.clock.move(days=2)


def walk_to_can(house: House) -> None:
    """All right: not proven on the first day, however often he is right; decided before nine on a later one."""
    first = send_check(house)
    assert answer_on(house, house.player(), first, "b") == CHECK_MAX
    assert of_player(house, first)[0].state_after == State.NOT_PROVEN
    assert "Not proven after 9: 9 right" in row_of(house, first)
    took, set_id = CHECK_MAX, ""
    for _ in range(3):
        house.clock.move(days=2)
        set_id, phone = send_check(house), house.player()
        took = answer_on(house, phone, set_id, "b")
        if took < CHECK_MAX:
            break
    assert 4 <= took < CHECK_MAX
    own, count = of_player(house, set_id)
    assert (own.state_before, own.state_after, count) == (State.NOT_PROVEN, State.CAN, took)
    assert own.finished_at is not None
    layout = phone.get(f"/api/sets/{set_id}").json()
    assert (layout["is_finished"], layout["next_place"]) == (True, None)
    summary = phone.get(f"/sets/{set_id}", headers=PAGE).text
    assert f"You can name it: {took} of {took}, both sides" in summary
    assert f"Can name it: {took} of {took}, both sides" in row_of(house, set_id)
    page = house.coach().get(f"/coach/sets/{set_id}", headers=PAGE).text
    assert "Can name it: 1 of 1." in page


def test_all_right_is_decided_before_nine(house: House) -> None:
    walk_to_can(house)


def test_the_same_on_postgresql(postgres_house: House) -> None:
    walk_to_can(postgres_house)


def test_all_wrong_is_decided_at_four(house: House) -> None:
    set_id = send_check(house)
    phone = house.player()
    assert answer_on(house, phone, set_id, "a") == 4
    assert of_player(house, set_id)[0].state_after == State.CANNOT
    summary = phone.get(f"/sets/{set_id}", headers=PAGE).text
    assert "Not yours yet: 0 of 4, left 0 of 2, right 0 of 2" in summary
    assert "Can't name it yet: 0 of 4" in house.coach().get(f"/coach/sets/{set_id}", headers=PAGE).text


def test_alternating_answers_end_at_nine_not_proven(house: House) -> None:
    set_id = send_check(house)
    phone = house.player()
    assert answer_on(house, phone, set_id, "bba") == CHECK_MAX
    own, count = of_player(house, set_id)
    assert (own.state_after, count) == (State.NOT_PROVEN, CHECK_MAX)
    said = r"Not proven after 9: 6 right, left \d of \d, right \d of \d; likely between (\d+) and (\d+) of 10"
    for page in (phone.get(f"/sets/{set_id}", headers=PAGE).text, row_of(house, set_id)):
        found = re.search(said, page)
        assert found, page
        low, high = map(int, found.groups())
        assert (low, high) == (own.likely_low, own.likely_high)
        # Six of nine right, of which some are luck: what he knows is likely below 9 of 10, and surely not nothing.
        assert 0 < low < high < 9


def test_a_player_who_knew_it_is_still_asked_four(house: House) -> None:
    know_it(house)
    again = send_check(house)
    phone = house.player()
    assert answer_on(house, phone, again, "b") >= 4
    own, _ = of_player(house, again)
    assert own.state_after == State.CAN


def test_answers_given_without_signal_are_all_kept_and_counted(house: House) -> None:
    know_it(house)  # so that the next one is decided early
    set_id = send_check(house)
    phone = house.player()
    places = house.open_set(phone, set_id)
    replies = [put(phone, set_id, place, "b" if place["place"] < 9 else "a") for place in places]
    decided = next(n for n, reply in enumerate(replies, start=1) if reply["is_finished"])
    assert decided == 4
    assert all(reply["is_finished"] for reply in replies[decided:])
    own, count = of_player(house, set_id)
    assert (own.state_after, count) == (State.CAN, CHECK_MAX)
    more = CHECK_MAX - decided
    line = row_of(house, set_id)
    assert f"Can name it: {decided} of {decided}, both sides; {more} more answered after it was decided" in line
    assert f"{more - 1} right" in line
    assert "8 of 9" in line
    assert "8 of 9" in phone.get(f"/sets/{set_id}", headers=PAGE).text


def test_with_plain_forms_a_place_no_longer_asked_leads_to_the_summary_and_its_answer_is_kept(house: House) -> None:
    know_it(house)  # so that the next one is decided early
    set_id = send_check(house)
    phone = house.player()
    places = house.open_set(phone, set_id)
    stale = phone.get(f"/sets/{set_id}/reps/9", headers=PAGE).text
    took = 0
    for place in places:
        took = place["place"]
        if put(phone, set_id, place)["is_finished"]:
            break
    assert phone.get(f"/sets/{set_id}/reps/8", headers=PAGE).url.path == f"/sets/{set_id}"
    assert phone.post(f"/sets/{set_id}/open", headers=PAGE).url.path == f"/sets/{set_id}"
    form = {"answer_id": ANSWER_ID.search(stale)[1]}
    form |= {name: "b" for name in ("choice_1", "choice_2") if f'name="{name}"' in stale}
    reply = phone.post(f"/sets/{set_id}/reps/9", data=form, headers=PAGE)
    assert BECAUSE in reply.text
    assert of_player(house, set_id)[1] == took + 1


def test_the_plain_form_leads_from_the_last_rep_to_the_summary(house: House) -> None:
    know_it(house)
    set_id = send_check(house)
    phone = house.player()
    page = phone.post(f"/sets/{set_id}/open", headers=PAGE)
    took = 0
    while "/reps/" in page.url.path:
        form = {"answer_id": ANSWER_ID.search(page.text)[1]}
        form |= {name: "b" for name in ("choice_1", "choice_2") if f'name="{name}"' in page.text}
        after = phone.post(page.url.path, data=form, headers=PAGE)
        took += 1
        page = phone.get(re.search(rf'href="(/sets/{set_id}[^"]*)"', after.text)[1], headers=PAGE)
    assert took == 4
    assert "You can name it" in page.text


def test_an_answer_stored_before_its_verdict_still_gets_it(house: House, monkeypatch: pytest.MonkeyPatch) -> None:
    """The server stopped between the two; the player's next look at the set ends it."""

    def stop(*_: object) -> None:
        raise RuntimeError("the server stops here")

    set_id = send_check(house)
    phone = house.player()
    places = house.open_set(phone, set_id)
    team_states = house.app.state.services.team_states
    monkeypatch.setattr(type(team_states), "of", stop)
    statuses = []
    for place in places[:4]:
        body = {"rep_id": place["rep_id"], "chosen": chosen(place["rep_id"], "a")}
        statuses.append(phone.put(answer_url(set_id, f"answer-number-{place['place']:04d}"), json=body).status_code)
    assert statuses == [201, 201, 201, 500]
    monkeypatch.undo()
    own, count = of_player(house, set_id)
    assert (count, own.finished_at) == (4, None)
    assert "Not yours yet: 0 of 4" in phone.get(f"/sets/{set_id}", headers=PAGE).text
    assert of_player(house, set_id)[0].state_after == State.CANNOT


def test_a_check_of_a_call_with_few_reps_ends_with_them(house: House) -> None:
    set_id = send_check(house, stages=["1"], sides=["left"])
    phone = house.player()
    assert answer_on(house, phone, set_id, "b") == 2  # two formations, one side, one kind
    assert of_player(house, set_id)[0].state_after == State.NOT_PROVEN
    assert "Not proven after 2: 2 right, to our left only" in phone.get(f"/sets/{set_id}", headers=PAGE).text


def test_a_set_of_reps_stores_his_state_before_and_after(house: House) -> None:
    for _ in range(2):
        answer_on(house, house.player(), send_check(house), "b")
        house.clock.move(days=2)
    set_id = house.send_set(length="12", stages=["1", "2", "3"])
    phone = house.player()
    for place in (p for p in house.open_set(phone, set_id) if not p["again_of"]):
        put(phone, set_id, place)
    own, _ = of_player(house, set_id)
    assert (own.state_before, own.state_after) == (State.NOT_PROVEN, State.CAN)
    assert "Verdict" not in house.coach().get(f"/coach/sets/{set_id}", headers=PAGE).text
    assert "You can name it" not in phone.get(f"/sets/{set_id}", headers=PAGE).text


def test_a_check_that_runs_out_of_time_says_so_and_has_no_verdict(house: House) -> None:
    set_id = send_check(house, hours=2)
    phone = house.player()
    [first, second, third, *_] = house.open_set(phone, set_id)
    put(phone, set_id, first)
    house.clock.move(hours=3)
    put(phone, set_id, second)
    page = phone.get(f"/sets/{set_id}", headers=PAGE).text
    assert "closed before you finished" in page
    assert "name it" not in page
    assert "1 late" in row_of(house, set_id)
    own, _ = of_player(house, set_id)
    assert own.finished_at is None
    assert third["place"] == 3
    assert own.opened_at < house.clock.at - timedelta(hours=2)
