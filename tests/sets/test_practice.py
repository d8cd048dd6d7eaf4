"""A player's own page: his state on his calls in his words, and practice that he starts himself."""

import re
from datetime import UTC, datetime

import pytest
from sqlmodel import col
from starlette.testclient import TestClient

from server.database.tables import Answer, Assignment, ContentFile, Member, PlayerSet, Purpose, SetRep
from server.mastery.replay import MasteryState, replay
from server.mastery.values import DAY_S, LEFT, RIGHT, AnswerFact, TeamSettings
from server.progress.team_state import TeamState
from server.sets import practice
from server.sets.practice import (
    KEPT_DAYS,
    LENGTHS,
    MAX_OPEN,
    OwnCallState,
    StageToShow,
    nearest_first,
    own_calls,
    suggest_call,
)
from tests.harness.house import PAGE, House, answer_url, chosen

SIDES = (LEFT, RIGHT)


def play(phone: TestClient, set_id: str, choice: str = "b") -> None:
    """Answer a whole set."""
    phone.post(f"/sets/{set_id}/open", headers=PAGE)
    while place := phone.get(f"/api/sets/{set_id}").json()["next_place"]:
        places = phone.get(f"/api/sets/{set_id}").json()["places"]
        rep = next(one["rep_id"] for one in places if one["place"] == place)
        phone.put(answer_url(set_id), json={"rep_id": rep, "chosen": chosen(rep, choice)})


def begin(phone: TestClient, call: str = "Hammer", length: int = 4) -> str:
    """Begin a practice; return the id of its set."""
    reply = phone.post("/practice", data={"call": call, "length": length}, headers=PAGE)
    assert reply.status_code == 200, reply.text
    found = re.match(r"/sets/([^/]+)/reps/\d+$", reply.url.path)
    assert found, reply.url
    return found[1]


def sets_of(house: House) -> list[Assignment]:
    with house.store.read(house.team.id) as t:
        return t.rows(Assignment, order_by=(col(Assignment.created_at),))


# Free practice


def test_a_practice_whose_reps_are_erased_meanwhile_is_not_begun(house: House, monkeypatch: pytest.MonkeyPatch) -> None:
    """They were there when it was laid out, and are gone when it is stored."""
    house.send_set()
    monkeypatch.setattr(practice, "missing_reps", lambda *_: [])
    reply = house.player().post("/practice", data={"call": "Hammer", "length": 4}, headers=PAGE)
    assert (reply.status_code, len(sets_of(house))) == (404, 1)


def test_practice_is_a_set_for_himself_alone_and_its_answers_count(house: House) -> None:
    house.send_set()
    phone = house.player()
    practice = begin(phone, length=6)
    row = sets_of(house)[-1]
    assert (row.id, row.purpose, row.length, row.call) == (practice, Purpose.PRACTICE, 6, "Hammer")
    assert row.player_ids == [house.member().id] == [row.created_by]
    play(phone, practice)
    with house.store.read(house.team.id) as t:
        answers = t.rows(Answer, col(Answer.assignment_id) == practice)
        assert t.get(PlayerSet, practice, house.member().id).finished_at is not None
    assert len(answers) == 6
    assert {one.side for one in answers} == {"left", "right"}
    assert "6 of 6 right" in phone.get("/home", headers=PAGE).text
    assert "6 of 6" in house.coach().get(f"/coach/players/{house.member().id}", headers=PAGE).text


def test_nobody_else_sees_it(house: House) -> None:
    house.send_set()
    practice = begin(house.player(54))
    other = house.player(33)  # he plays Mike too
    assert other.get(f"/sets/{practice}", headers=PAGE).status_code == 404
    assert other.post(f"/sets/{practice}/open", headers=PAGE).status_code == 404
    assert other.get("/home", headers=PAGE).text.count("/open") == 1  # the coach's set
    assert practice not in house.coach().get("/coach/sets", headers=PAGE).text


@pytest.mark.parametrize("number", [33, 54])
def test_many_practices_do_not_hide_a_coachs_sets(house: House, number: int) -> None:
    """Neither a teammate's nor his own."""
    sent = house.send_set()
    with house.store.write(house.team.id) as t:
        mate = house.member(number)
        row = t.get(Assignment, sent)
        for n in range(70):
            values = row.model_dump() | {"id": f"own-{n}", "purpose": Purpose.PRACTICE, "player_ids": [mate.id]}
            t.add(Assignment(**values | {"created_by": mate.id, "created_at": house.clock()}))
    assert sent in house.player(54).get("/home", headers=PAGE).text


def test_an_open_practice_continues_and_only_a_few_may_be_open(house: House) -> None:
    for call in ("Hammer", "Anvil"):
        house.send_set(call=call)
    phone = house.player()
    first = begin(phone)
    assert begin(phone, length=8) == first
    assert len([one for one in sets_of(house) if one.purpose == Purpose.PRACTICE]) == 1
    with house.store.write(house.team.id) as t:
        row = t.get(Assignment, first)
        for n in range(MAX_OPEN - 1):
            t.add(Assignment(**row.model_dump() | {"id": f"own-{n}", "call": f"Old call {n}"}))
            own = {"team_id": t.team_id, "assignment_id": f"own-{n}", "member_id": row.created_by}
            t.add(PlayerSet(**own, opened_at=house.clock()))
            t.add(SetRep(**own, place=1, rep_id=t.rows(SetRep)[0].rep_id))
    refused = phone.post("/practice", data={"call": "Anvil"}, headers=PAGE)
    assert refused.status_code == 422
    assert "You have 3 practices open" in refused.text
    assert 'action="/practice"' not in phone.get("/home", headers=PAGE).text
    play(phone, first)
    assert begin(phone, "Anvil") != first


@pytest.mark.parametrize(
    ("form", "status", "said"),
    [
        ({"call": "Anvil"}, 422, "Anvil is not open to you yet"),
        ({"call": "Mallet"}, 422, "call: expected one of Hammer, Anvil"),
        ({"call": "Hammer", "length": "5"}, 422, "length: expected one of 4, 6, 8 reps, found 5"),
        ({"call": "Hammer", "length": "many"}, 422, "length"),
        ({}, 422, "call: expected a value, found none"),
    ],
)
def test_what_cannot_be_practiced_gets_a_message(house: House, form: dict, status: int, said: str) -> None:
    house.send_set()
    reply = house.player().post("/practice", data=form, headers=PAGE)
    assert (reply.status_code, said in reply.text) == (status, True), reply.text
    assert len(sets_of(house)) == 1


def test_only_stages_that_are_open_to_him_are_asked(house: House) -> None:
    house.send_set(stages=["1"])
    phone = house.player()
    practice = begin(phone)
    assert sets_of(house)[-1].stages == [1]
    assert all("track" in one["rep_id"] for one in phone.get(f"/api/sets/{practice}").json()["places"])
    play(phone, practice)  # right from both sides: the next stage opens
    begin(phone)
    assert sets_of(house)[-1].stages == [1, 2]


def test_an_expired_practice_disappears(house: House) -> None:
    phone = house.player()
    play(phone, house.send_set())
    practice = begin(phone)
    home = phone.get("/home", headers=PAGE).text
    assert "You have begun practice on Hammer: 0 of 4 reps." in home
    house.clock.move(days=KEPT_DAYS, seconds=1)
    home = phone.get("/home", headers=PAGE).text
    assert "You have begun" not in home
    assert practice not in home
    assert begin(phone) != practice


def test_a_due_set_comes_first_then_an_open_practice(house: House) -> None:
    phone = house.player()
    sent = house.send_set()
    practice = begin(phone)
    home = phone.get("/home", headers=PAGE).text
    assert home.index(f"/sets/{sent}/open") < home.index("Your practice") < home.index(f"/sets/{practice}/open")
    play(phone, sent)
    home = phone.get("/home", headers=PAGE).text
    assert "Nothing due" in home
    assert "You have begun practice on Hammer: 0 of 4 reps." in home
    assert home.index(f"/sets/{practice}/open") < home.index("How far to yours")


def test_a_new_player_sees_only_what_is_due(house: House) -> None:
    home = house.player().get("/home", headers=PAGE).text
    assert "Nothing due" in home
    for absent in ("How far to yours", "Practice", "faded"):
        assert absent not in home


def test_home_shows_what_is_due_even_when_the_teams_files_are_broken(house: House) -> None:
    sent = house.send_set()
    phone = house.player()
    with house.store.write(house.team.id) as t:
        team = t.team()
        team.content_hash = "f" * 64
        t.session.add(team)
        row = t.rows(ContentFile)[0]
        row.text = "broken"
        t.add(row)
    home = phone.get("/home", headers=PAGE)
    assert home.status_code == 200
    assert sent in home.text


# His state


def make_team_state(*answers: AnswerFact) -> TeamState:
    return TeamState(replay(answers, TeamSettings(), {}), TeamSettings())


def facts(right: str, *, call: str = "Hammer", day: float = 0.0, stage: int = 0) -> list[AnswerFact]:
    """Answers, left and right in turn, one letter each: r is right, w is wrong; stage 0: the stages in turn."""
    return [
        AnswerFact(
            "p",
            call,
            stage or i // 2 % 5 + 1,
            SIDES[i % 2],
            6,
            letter == "r",
            (day + i // 10) * DAY_S + 60.0 * i,
            snap=str(i),
        )
        for i, letter in enumerate(right)
    ]


def stand(answers: list[AnswerFact], day: float, opened: dict | None = None) -> list:
    member = Member(team_id="t", id="p", role="player", name="Dale", created_at=datetime(2026, 9, 1, tzinfo=UTC))
    now = datetime.fromtimestamp(day * DAY_S, UTC)
    return own_calls(opened or {"Hammer": {1, 2, 3, 4, 5}}, member, make_team_state(*answers), now)


@pytest.mark.parametrize(
    ("answers", "day", "expected"),
    [
        ("", 0.0, OwnCallState.NEW),
        ("rr", 0.1, OwnCallState.COMING),
        ("r" * 10, 0.1, OwnCallState.COMING),  # all on one day
        ("r" * 20, 1.1, OwnCallState.OWNED),
        ("r" * 20, 10.0, OwnCallState.OWNED),
        ("r" * 20, 13.0, OwnCallState.KEEP_SHARP),  # after fourteen days without an answer it is no longer his
        ("r" * 20, 16.0, OwnCallState.FADING),
        ("r" * 20, 40.0, OwnCallState.FADING),
        ("w" * 10, 0.1, OwnCallState.NOT_YET),
    ],
)
def test_each_state(answers: str, day: float, expected: OwnCallState) -> None:
    [one] = stand(facts(answers), day)
    assert (one.right, one.answered) == (answers.count("r"), len(answers))
    assert one.stand is expected


def test_the_day_on_which_it_is_due_again_is_the_fifteenth_without_an_answer() -> None:
    """source: the four states' rule that the last answer is at most fourteen days old."""
    [one] = stand(facts("r" * 20), 13.5)
    assert one.until == datetime.fromtimestamp(15.5 * DAY_S, UTC)
    [one] = stand(facts("r" * 20), 4.0)
    assert one.until is None


def test_what_is_still_to_show_by_stage_and_side() -> None:
    answers = facts("rw", stage=2) + facts("ww", stage=3, day=0.01) + facts("rr", stage=1, day=0.02)
    [one] = stand(answers, 1.0)
    shown = set(one.to_show)
    assert shown == {StageToShow(2, "right", is_old=False), StageToShow(3, "", is_old=False)}
    [one] = stand(answers, 1.0, {"Hammer": {2}})  # a stage that is not open to him is not asked of him
    assert {lack.stage for lack in one.to_show} == {2}
    [one] = stand(facts("rr", stage=2), 30.0)
    assert one.to_show == (StageToShow(2, "", is_old=True),)


def test_fading_calls_are_offered_first() -> None:
    opened = {call: {2} for call in ("Anvil", "Hammer", "Tongs", "Bellows")}
    answers = (
        facts("r" * 20, call="Hammer") + facts("r" * 20, call="Tongs", day=38) + facts("rw", call="Anvil", day=39.5)
    )
    found = stand(answers, 40.0, opened)
    assert {one.call: one.stand for one in found} == {
        "Anvil": OwnCallState.COMING,
        "Hammer": OwnCallState.FADING,
        "Tongs": OwnCallState.OWNED,
        "Bellows": OwnCallState.NEW,
    }
    assert [one.call for one in found] == list(opened)
    best = suggest_call(found)
    assert best is not None
    assert best.call == "Hammer"
    assert suggest_call([one for one in found if one.stand is OwnCallState.OWNED]) is None
    assert suggest_call([]) is None


def test_the_page_says_it_in_plain_words(house: House) -> None:
    phone = house.player()
    play(phone, house.send_set(length="12", stages=["1", "2", "3"]))
    for _ in range(5):
        house.clock.move(days=2)
        play(house.player(), house.send_set(length="12", stages=["1", "2", "3"]))
    house.clock.move(days=60)
    home = house.player().get("/home", headers=PAGE).text
    assert "Hammer is fading. A few reps now help." in home
    assert "Practice Hammer: 4 reps" in home
    assert home.count("<b>faded</b>") == 2
    assert "last asked" in home
    for word in ("can&#39;t", "weak", "worst", "behind", "streak", "points", "level"):
        assert word not in home
    assert LENGTHS == (4, 6, 8)
    assert [f'value="{n}"' in home for n in LENGTHS] == [True] * 3
    assert isinstance(make_team_state().state, MasteryState)


# The distance to a call


def test_the_distance_is_what_the_model_needs_for_can() -> None:
    """Giving exactly the answers said to be missing, on another day, makes the call his; one fewer does not."""
    answers = facts("r" * 40) + facts("w", day=4.0, stage=2)
    [one] = stand(answers, 4.1)
    assert one.stand is not OwnCallState.OWNED
    left, right = one.distance.sides
    assert (left.side, right.side) == SIDES
    total = one.distance.more
    assert total is not None
    for given, expected in ((total, True), (total - 1, False)):
        more = (["left"] * (left.more or 0) + ["right"] * (right.more or 0))[:given]
        later = [AnswerFact("p", "Hammer", 2, side, 6, right=True, at=5.1 * DAY_S) for side in more]
        [after] = stand(answers + later, 5.1)
        assert (after.stand is OwnCallState.OWNED) is expected, given


def test_what_is_far_is_said_to_be_several_and_what_is_his_needs_no_more() -> None:
    [far] = stand(facts("w" * 10), 0.1)
    assert (far.distance.more, far.distance.now, far.distance.before) == (None, (0, 10), None)
    [own] = stand(facts("r" * 20), 1.1)
    assert own.distance.more == 0


def test_last_time_and_now_are_told_apart_by_a_pause() -> None:
    [one] = stand(facts("wrwr") + facts("rrrr", day=2.0), 2.1)
    assert (one.distance.before, one.distance.now) == ((2, 4), (6, 8))
    left, right = one.distance.sides
    assert (left.before, left.now) == (0.0, pytest.approx(2 / 6))
    assert (right.before, right.now) == (pytest.approx(2 / 6), pytest.approx(4 / 6))
    [first] = stand(facts("rrrr"), 0.1)
    assert [side.before for side in first.distance.sides] == [side.now for side in first.distance.sides]


def test_calls_are_shown_nearest_first_and_what_is_his_last() -> None:
    opened = {call: {1, 2, 3, 4, 5} for call in ("Anvil", "Hammer", "Tongs")}
    answers = facts("w" * 10, call="Anvil") + facts("r" * 20, call="Hammer", day=0.1)
    found = nearest_first(stand(answers, 1.2, opened))
    assert [one.call for one in found][-1] == "Hammer"


def test_a_practice_can_be_dropped_and_keeps_its_answers(house: House) -> None:
    house.send_set()
    phone = house.player()
    practice = begin(phone)
    assert f"/practice/{practice}/drop" in phone.get("/home", headers=PAGE).text
    assert house.player(33).post(f"/practice/{practice}/drop", headers=PAGE).status_code == 404
    assert phone.post(f"/practice/{practice}/drop", headers=PAGE).url.path == "/home"
    home = phone.get("/home", headers=PAGE).text
    assert practice not in home
    assert phone.post(f"/practice/{practice}/drop", headers=PAGE).status_code == 200
    assert begin(phone) != practice
    sent = sets_of(house)[0].id
    assert phone.post(f"/practice/{sent}/drop", headers=PAGE).status_code == 404
