"""A meeting goes from snap to snap: what counts, what a second tap does, who may look, and who is named."""

import re

import pytest
from sqlmodel import col
from starlette.testclient import TestClient

from server.database.meeting_tables import Meeting
from server.database.tables import AccountRole, Answer, SetRep
from server.sets.meeting import LASTS
from tests.harness.house import ANSWER_ID, PAGE, House

SNAPS = ("Hammer-left-moved-gap", "Hammer-right-pull-read")


def start(house: House, coach: TestClient | None = None, **fields: object) -> str:
    """Put two snaps on the wall; return the meeting's id."""
    form = {"call": "Hammer", "sides": ["left", "right"], "snaps": list(SNAPS), **fields}
    reply = (coach or house.coach()).post("/coach/room", data=form, headers=PAGE)
    assert reply.url.path.startswith("/coach/room/"), reply.text
    return reply.url.path.rsplit("/", 1)[1]


def come_in(house: House, set_id: str, number: int = 54) -> TestClient:
    phone = house.player(number)
    assert phone.post(f"/room/{set_id}/join", headers=PAGE).url.path == "/room"
    return phone


def answer(phone: TestClient, set_id: str, place: int = 1, choice: str = "b", answer_id: str = ""):
    """Answer the question on this phone with its form."""
    found = ANSWER_ID.search(phone.get("/room", headers=PAGE).text)
    form = {"answer_id": answer_id or (found[1] if found else "a" * 32), "choice_1": choice}
    return phone.post(f"/room/{set_id}/{place}", data=form, headers=PAGE)


def go(house: House, set_id: str, action: str, place: int = 1, **more: object) -> str:
    """Tap a button on the wall; return its page."""
    return (
        house.coach().post(f"/coach/room/{set_id}", data={"action": action, "place": place, **more}, headers=PAGE).text
    )


def stored(house: House, set_id: str) -> list[Answer]:
    with house.store.read(house.team.id) as t:
        return t.rows(Answer, col(Answer.assignment_id) == set_id, order_by=(col(Answer.received_at),))


def where(house: House, set_id: str) -> tuple[int, str]:
    with house.store.read(house.team.id) as t:
        meeting = t.get(Meeting, set_id)
        return meeting.place, meeting.phase


def test_the_wall_has_the_snap_and_a_count_until_the_fits(house: House) -> None:
    set_id = start(house)
    phones = {number: come_in(house, set_id, number) for number in (54, 33, 71)}
    assert answer(phones[54], set_id).status_code == 200
    assert answer(phones[33], set_id, choice="a").status_code == 200
    state = house.coach().get(f"/coach/room/{set_id}/state").json()
    assert (state["answered"], state["asked"]) == (2, 3)
    wall = house.coach().get(f"/coach/room/{set_id}", headers=PAGE).text
    assert "wall Hammer-left-moved-gap" in wall
    assert "They zone." not in wall
    assert "wall-list" not in wall
    waiting = phones[54].get("/room", headers=PAGE).text
    assert "Your answer is in" in waiting
    assert "That is it" not in waiting

    shown = go(house, set_id, "fits")
    assert "filled Hammer-left-moved-gap, missing Nose Will" in shown, "Will was wrong, and the nose has not answered"
    assert "That is it" in phones[54].get("/room", headers=PAGE).text
    assert "Not that one" in phones[33].get("/room", headers=PAGE).text
    for number in (54, 33, 71):
        assert house.member(number).name not in shown, "a name on the wall"


def test_a_count_that_would_be_a_name_is_not_shown(house: House) -> None:
    set_id = start(house)
    for number in (54, 71):
        answer(come_in(house, set_id, number), set_id)
    assert "wall-counts" in go(house, set_id, "fits")
    assert "1 of 1" not in house.coach().get(f"/coach/room/{set_id}", headers=PAGE).text
    again = start(house)
    for number in (54, 33, 71):
        answer(come_in(house, again, number), again)
    assert re.search(r"others <span class=.number.>3 of 3", go(house, again, "fits"))


def test_what_comes_after_the_fits_is_refused_and_changes_nothing(house: House) -> None:
    set_id = start(house)
    phone = come_in(house, set_id)
    go(house, set_id, "fits")
    reply = answer(phone, set_id)
    assert reply.status_code == 409
    assert "Answers that come after them don't count" in reply.text.replace("&#39;", "'")
    assert stored(house, set_id) == []


def test_an_answer_sent_twice_is_stored_once_even_when_the_fits_came_between(house: House) -> None:
    set_id = start(house)
    phone = come_in(house, set_id)
    answer(phone, set_id, answer_id="x" * 32)
    go(house, set_id, "fits")
    assert answer(phone, set_id, answer_id="x" * 32).status_code == 200
    assert [one.is_right for one in stored(house, set_id)] == [True]


def test_a_second_tap_on_next_skips_no_snap(house: House) -> None:
    set_id = start(house)
    go(house, set_id, "next")
    assert where(house, set_id) == (1, "snap"), "there is no next before the fits"
    go(house, set_id, "fits")
    go(house, set_id, "next")
    go(house, set_id, "next")
    assert where(house, set_id) == (2, "snap")
    go(house, set_id, "fits", 2)
    assert "how the room did" in go(house, set_id, "next", 2)
    assert where(house, set_id) == (2, "over")


def test_nobody_can_look_at_a_later_snap(house: House) -> None:
    set_id = start(house)
    phone = come_in(house, set_id)
    assert answer(phone, set_id, place=2).status_code == 409
    for late in (phone, house.player(33)):
        assert late.post(f"/sets/{set_id}/open", headers=PAGE).status_code == 404
        assert late.get(f"/api/sets/{set_id}").status_code == 404
    with house.store.read(house.team.id) as t:
        assert t.count(SetRep, col(SetRep.assignment_id) == set_id) == 0


def test_answers_count_like_any_other_and_home_lists_no_meeting_as_due(house: House) -> None:
    set_id = start(house)
    phone = come_in(house, set_id)
    assert "The room is on" in phone.get("/home", headers=PAGE).text
    answer(phone, set_id)
    [one] = stored(house, set_id)
    assert (one.call, one.side, one.position, one.kind, one.is_late) == ("Hammer", "left", "Mike", "moved-gap", False)
    go(house, set_id, "end")
    home = phone.get("/home", headers=PAGE).text
    assert "The room is on" not in home
    assert f"/sets/{set_id}/open" not in home
    assert f"/coach/sets/{set_id}" not in house.coach().get("/coach/sets", headers=PAGE).text
    assert "1 answer<" in house.coach().get("/coach/board", headers=PAGE).text


def test_a_man_without_a_phone_answers_aloud(house: House) -> None:
    set_id = start(house)
    nose = house.member(71)
    page = house.coach().get(f"/coach/room/{set_id}?aloud={nose.id}", headers=PAGE).text
    form = {"answer_id": ANSWER_ID.search(page)[1], "player": nose.id, "choice_1": "b"}
    house.coach().post(f"/coach/room/{set_id}/aloud/1", data=form, headers=PAGE)
    house.coach().post(f"/coach/room/{set_id}/aloud/1", data=form, headers=PAGE)
    assert [(one.member_id, one.is_right) for one in stored(house, set_id)] == [(nose.id, True)]


def test_a_meeting_that_nobody_ended_is_over_after_its_time(house: House) -> None:
    set_id = start(house)
    phone = come_in(house, set_id)
    house.clock.move(seconds=LASTS.total_seconds() + 1)
    phone = house.player()
    assert "No meeting is on" in phone.get("/room", headers=PAGE).text
    assert answer(phone, set_id).status_code == 409
    assert "how the room did" in house.coach().get(f"/coach/room/{set_id}", headers=PAGE).text


@pytest.mark.parametrize("group", ["line"])
def test_a_position_coach_leads_his_own_group_only(house: House, group: str) -> None:
    own = house.coach(AccountRole.POSITION_COACH)
    set_id = start(house, own, groups=[group])
    assert "The room is on" in house.player(71).get("/home", headers=PAGE).text
    backer = house.player(54)
    assert "The room is on" not in backer.get("/home", headers=PAGE).text
    assert backer.post(f"/room/{set_id}/join", headers=PAGE).status_code == 404
    theirs = start(house)
    assert own.get(f"/coach/room/{theirs}", headers=PAGE).status_code == 404
    assert (
        own.post("/coach/room", data={"call": "Hammer", "snaps": [SNAPS[0]], "groups": ["backers"]}).status_code == 422
    )


def test_unknown_snaps_and_another_team_get_one_clear_line(house: House) -> None:
    reply = house.coach().post("/coach/room", data={"call": "Hammer", "snaps": ["nothing"]}, headers=PAGE)
    assert reply.status_code == 422
    assert "expected at least one of the snaps offered" in reply.text
    set_id, other = start(house), house.add_team()
    for path in (f"/coach/room/{set_id}", f"/coach/room/{set_id}/state"):
        assert house.coach(team=other).get(path, headers=PAGE).status_code == 404
    assert house.player(team=other).post(f"/room/{set_id}/join", headers=PAGE).status_code == 404
