"""Sets on what each needs: each his own mix of the calls that are open to him, and the reason of each pick."""

import random
import re
from collections import Counter
from dataclasses import replace

import pytest
from sqlmodel import col

from server.database.tables import Assignment, KeptRep, PlayerSet, SetRep
from server.mastery.picker import Asked, RepOption, next_rep
from server.mastery.replay import MasteryState, replay
from server.mastery.values import DAY_S, SIDES, STAGES, AnswerFact, TeamSettings
from server.playbook.rep_summary import RepSummary
from server.sets.picks import PickReason, parse_why, why_picked
from tests.harness.fake_football import REPS
from tests.harness.house import PAGE, House
from tests.sets.test_assignment import finish, form, stored


def send_mixed(house: House, **fields: object) -> str:
    """Send a set on what each needs; its id."""
    reply = house.coach().post("/coach/sets", data=form(house, mix="1", **fields), headers=PAGE)
    assert reply.status_code == 200, reply.text
    return reply.url.path.rsplit("/", 1)[1]


def calls_asked(house: House, set_id: str) -> Counter[str]:
    with house.store.read(house.team.id) as t:
        rows = t.rows(SetRep, col(SetRep.assignment_id) == set_id, col(SetRep.again_of).is_(None))
        return Counter(t.get(KeptRep, row.rep_id).call for row in rows)


def test_the_first_set_of_a_team_is_on_a_call(house: House) -> None:
    reply = house.coach().post("/coach/sets", data=form(house, mix="1"), headers=PAGE)
    assert reply.status_code == 422
    assert "expected a call that was sent before" in reply.text
    assert re.search(r'name="mix" value="1" checked', reply.text)  # what he chose is still chosen


def test_it_asks_only_calls_that_are_open_to_him(house: House) -> None:
    finish(house, house.player(54), house.send_set())
    set_id = send_mixed(house)
    one = stored(house, set_id)
    assert (one.call, one.is_mixed, one.stages) == ("", True, list(STAGES))
    house.open_set(house.player(54), set_id)
    assert set(calls_asked(house, set_id)) == {"Hammer"}
    assert sum(calls_asked(house, set_id).values()) == 4


def test_it_mixes_the_calls_that_were_sent(house: House) -> None:
    calls = house.app.state.services.playbooks.of(house.team).calls
    for call in calls[:2]:
        finish(house, house.player(54), house.send_set(call=call))
    set_id = send_mixed(house, length="20")  # longer than either call has pictures
    house.open_set(house.player(54), set_id)
    assert set(calls_asked(house, set_id)) == set(calls[:2])


def test_every_page_names_it_and_a_player_can_finish_it(house: House) -> None:
    phone = house.player(54)
    finish(house, phone, house.send_set())
    set_id = send_mixed(house)
    assert "What you need" in phone.get("/home", headers=PAGE).text
    assert phone.post(f"/api/sets/{set_id}/load").json()["call"] == "What you need"
    finish(house, phone, set_id, wrong=1)
    summary = phone.get(f"/sets/{set_id}", headers=PAGE).text
    assert "What you need, all 4 done" in summary
    coach = house.coach()
    for address, words in (
        ("/coach/sets", "What each needs"),
        (f"/coach/sets/{set_id}", "What each needs, 4 reps"),
        (f"/coach/sets/{set_id}", "several calls"),
        (f"/coach/sets/{set_id}/change", "Change What each needs"),
        (f"/coach/sets/{set_id}/calendar.ics", "What each needs"),
        (f"/coach/assign?again={set_id}", 'value="1" checked>'),
    ):
        assert words in coach.get(address, headers=PAGE).text.replace("&#39;", "'"), address
    with house.store.read(house.team.id) as t:
        own = t.get(PlayerSet, set_id, house.member(54).id)
    assert (own.state_before, own.state_after, own.finished_at is None) == ("", "", False)


def test_the_page_of_reasons_says_why_each_got_his(house: House) -> None:
    phone, coach = house.player(54), house.coach()
    finish(house, phone, house.send_set(), wrong=1)
    set_id = send_mixed(house)
    assert "has not opened it" in coach.get(f"/coach/sets/{set_id}/picks", headers=PAGE).text.replace("have", "has")
    house.open_set(phone, set_id)
    page = coach.get(f"/coach/sets/{set_id}/picks", headers=PAGE).text
    assert any(words in page for words in ("missed last time", "not proven yet", "not asked before"))
    assert f'href="/coach/players/{house.member(54).id}"' in page


def test_a_longer_set_draws_more_of_the_same_mix(house: House) -> None:
    calls = house.app.state.services.playbooks.of(house.team).calls
    for call in calls[:2]:
        finish(house, house.player(54), house.send_set(call=call))
    set_id = send_mixed(house, length="2")
    house.open_set(house.player(54), set_id)
    change = form(house, length="4", is_filled="1")
    house.coach().post(f"/coach/sets/{set_id}/change", data=change, headers=PAGE)
    assert stored(house, set_id).length == 4
    assert sum(calls_asked(house, set_id).values()) == 4


def test_a_mixed_set_opens_no_call(house: House) -> None:
    finish(house, house.player(54), house.send_set(players=[house.member(54).id]))
    send_mixed(house)
    reply = house.player(33).post("/practice", data={"call": "Hammer", "length": 4}, headers=PAGE)
    assert "is not open to you yet" in reply.text, re.findall("<main.*", reply.text, re.S)


@pytest.mark.parametrize(
    ("fields", "message"),
    [
        ({"purpose": "check"}, "check session: expected one call to decide"),
        ({"sides": []}, "sides: expected at least one"),
        ({"length": "0"}, "length: expected 1 to 20 reps"),
    ],
)
def test_bad_input_shows_on_the_form(house: House, fields: dict, message: str) -> None:
    house.send_set()
    reply = house.coach().post("/coach/sets", data=form(house, mix="1", **fields), headers=PAGE)
    assert reply.status_code == 422
    assert message in reply.text


def test_an_empty_call_is_no_way_to_a_mixed_set(house: House) -> None:
    reply = house.coach().post("/coach/sets", data=form(house, call=""), headers=PAGE)
    assert reply.status_code == 422
    with house.store.read(house.team.id) as t:
        assert t.count(Assignment) == 0


# Reasons and weights --------------------------------------------------------------------------------------------------

REP = replace(REPS[0])
NOW = 40 * DAY_S


def fact(day: float, *, right: bool, call: str = "hammer", stage: int = 1, side: str = "left") -> AnswerFact:
    more = {"position": "mike", "kind": "k", "snap": f"s{day}"}
    return AnswerFact("p", call, stage, side, 4, right, day * DAY_S, **more)


@pytest.mark.parametrize(
    ("answers", "reason"),
    [
        ([], (PickReason.NEW, 0)),
        ([fact(1, right=True), fact(39, right=False)], (PickReason.MISSED, 0)),
        ([fact(38, right=False), fact(39, right=True)], (PickReason.FEW, 1)),
        ([fact(1, right=True), fact(24, right=True)], (PickReason.OLD, 16)),
        ([fact(39, right=False, side="right"), fact(39, right=False, stage=2)], (PickReason.NEW, 0)),
    ],
)
def test_the_reason_is_what_he_last_showed_of_that_question(
    answers: list[AnswerFact], reason: tuple[PickReason, int]
) -> None:
    state = replay(answers, TeamSettings(), {})
    rep = RepSummary("r", "k", 1, "mike", "hammer", "left", "f", "p", "x", "g")
    assert parse_why(why_picked(state, "p", rep, NOW)) == reason


def test_what_he_misses_is_drawn_more_than_what_he_knows() -> None:
    """By hand: twenty right answers on one call and ten wrong ones on another leave chances of about .95 and .2 of
    knowing; (1 - q)^2 then weighs the second some hundreds of times as much, so nearly all draws are on it."""
    known = [fact(day, right=True, call="known", side=side) for day in range(20, 40) for side in SIDES]
    missed = [fact(day, right=False, call="missed", side=side) for day in range(30, 40) for side in SIDES]
    state: MasteryState = replay(known + missed, TeamSettings(), {})
    options = [
        RepOption(f"{c}{s}{n}", f"{c}{s}{n}", c, 1, s) for c in ("known", "missed") for s in SIDES for n in range(9)
    ]
    drawn: Counter[str] = Counter()
    for seed in range(40):
        asked: list[Asked] = []
        for _ in range(4):
            one = next_rep(state, "p", options, asked, NOW, TeamSettings(), random.Random(seed), opened_by_coach=STAGES)
            assert one
            asked.append(Asked(one, right=True))
            drawn[one.call] += 1
    assert drawn["missed"] > 10 * drawn["known"]
