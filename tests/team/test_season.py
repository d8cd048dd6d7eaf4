"""The next season: it is looked at before anything changes; who leaves has a day's way back, and then he is gone."""

from datetime import timedelta

import pytest
from sqlmodel import col

from server.accounts.retention import erase_results
from server.database.erasing_table import Erasing
from server.database.tables import Answer, Assignment, AuditEntry, Member
from server.team.personal_data import erase
from tests.harness.house import PAGE, House, answer_url, chosen


def leaver_with_answers(house: House) -> Member:
    phone, set_id = house.player(54), house.send_set()
    for place in house.open_set(phone, set_id)[:2]:
        phone.put(answer_url(set_id), json={"rep_id": place["rep_id"], "chosen": chosen(place["rep_id"])})
    return house.member(54)


def plan(house: House, *leaves: str, days: int = 90, **more: str) -> dict[str, object]:
    day = (house.clock() + timedelta(days=days)).date().isoformat()
    return {"day": day, "leaves": list(leaves), "action": "begin", **more}


def on_roster(house: House) -> set[int]:
    with house.store.read(house.team.id) as t:
        return {one.number for one in t.rows(Member, col(Member.removed_at).is_(None)) if one.number}


def look(house: House) -> int:
    return erase_results(house.app.state.services.writes, 30, house.clock(), erase)


def test_looking_at_a_plan_counts_and_changes_nothing(house: House) -> None:
    leaver, before = leaver_with_answers(house), on_roster(house)
    page = house.coach().post("/coach/season", data=plan(house, leaver.id, action="look"), headers=PAGE)
    assert page.status_code == 200
    for words in ("1 player leaves", "2 answers", f"{len(before) - 1} players stay", "<li>1 set</li>"):
        assert words in page.text, words
    assert on_roster(house) == before
    with house.store.read(house.team.id) as t:
        assert t.find(Erasing) is None


def test_who_leaves_is_off_at_once_and_gone_after_a_day(house: House) -> None:
    leaver, before = leaver_with_answers(house), on_roster(house)
    phone = house.player(54)
    house.coach().post("/coach/season", data=plan(house, leaver.id, results="keep"), headers=PAGE)
    assert on_roster(house) == before - {54}
    assert phone.get("/home", headers=PAGE).url.path != "/home"  # signed out
    house.clock.move(hours=23)
    assert look(house) == 0
    house.clock.move(hours=2)
    assert look(house) == 2
    with house.store.read(house.team.id) as t:
        assert t.find(Member, leaver.id) is None
        assert t.count(Answer) == 0
        assert t.count(Assignment) == 1  # the set stays: its coach's, and others' answers
        assert {"began the next season", "erased who left"} <= {one.action for one in t.rows(AuditEntry)}
        assert leaver.id not in {one.subject for one in t.rows(AuditEntry)}


def test_the_way_back_within_the_day(house: House) -> None:
    leaver, before = leaver_with_answers(house), on_roster(house)
    coach = house.coach()
    coach.post("/coach/season", data=plan(house, leaver.id, results="keep"), headers=PAGE)
    assert "Erased after" in coach.get("/coach/roster", headers=PAGE).text
    coach.post(f"/coach/roster/{leaver.id}/bring-back", headers=PAGE)
    house.clock.move(days=3)
    assert look(house) == 0
    assert on_roster(house) == before
    with house.store.read(house.team.id) as t:
        assert t.count(Answer) == 2


@pytest.mark.parametrize("days", [-1100, 1100])
def test_a_clock_that_jumps_erases_nobody(house: House, days: int) -> None:
    leaver = leaver_with_answers(house)
    look(house)
    house.coach().post("/coach/season", data=plan(house, leaver.id, results="keep"), headers=PAGE)
    house.clock.move(days=days)
    assert look(house) == 0
    with house.store.read(house.team.id) as t:
        erase_at = t.get(Member, leaver.id).erase_at
    assert erase_at
    assert timedelta(hours=23) < erase_at - house.clock() <= timedelta(days=1)


def test_the_results_go_after_a_day_too(house: House) -> None:
    leaver_with_answers(house)
    look(house)
    house.coach().post("/coach/season", data=plan(house), headers=PAGE)
    house.clock.move(hours=25)
    assert look(house) == 2
    with house.store.read(house.team.id) as t:
        assert t.count(Assignment) == 0


@pytest.mark.parametrize("days", [-3 * 365, -1, 3 * 365])
def test_a_wrong_year_begins_nothing(house: House, days: int) -> None:
    leaver, before = leaver_with_answers(house), on_roster(house)
    reply = house.coach().post("/coach/season", data=plan(house, leaver.id, days=days), headers=PAGE)
    assert reply.status_code == 422
    assert "last day: expected a day from" in reply.text
    assert f'value="{leaver.id}" checked' in reply.text  # what he ticked is still there
    assert on_roster(house) == before


def test_new_pins_for_all_who_stay_on_one_sheet(house: House) -> None:
    leaver = leaver_with_answers(house)
    sheet = house.coach().post("/coach/season", data=plan(house, leaver.id, pins="yes"), headers=PAGE).text
    assert sheet.count('class="pin"') == len(on_roster(house))
    assert "#54" not in sheet


def test_without_a_last_day_there_is_none_to_move(house: House) -> None:
    coach = house.coach()
    with house.store.write(house.team.id) as t:
        team = t.team()
        team.season_end = ""
        t.session.add(team)
    reply = coach.post("/coach/season/longer", headers=PAGE)
    assert reply.status_code == 422
    assert "expected one that is set before a week is added" in reply.text


def test_everybody_ticked_for_a_new_pin(house: House) -> None:
    page = house.coach().get("/coach/roster?tick=all", headers=PAGE).text
    assert page.count(" checked>") == len(on_roster(house))
