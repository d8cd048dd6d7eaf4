"""Who gets a set, what the form keeps and says, what becomes of a set: single players, copies, sending again."""

import html
import re
from collections import Counter
from datetime import timedelta
from urllib.parse import parse_qs, urlparse

import pytest
from starlette.testclient import TestClient

from server.database.tables import AccountRole, Assignment, Member, Opponent, Purpose
from server.mastery.replay import replay
from server.mastery.values import TeamSettings
from server.opponents.tendencies import find_next, settings_of
from server.playbook.rep_summary import RepSummary, facts
from server.progress.team_state import TeamState
from server.sets.set_layout import plan, settings_for
from tests.harness.fake_football import REPS
from tests.harness.house import PAGE, House, answer_url, chosen, local_time


def form(house: House, **fields: object) -> dict:
    """A valid set form."""
    due = local_time(house.clock.at, hours=24)
    whole = {"call": "Hammer", "positions": ["Mike"], "stages": ["1", "2"], "sides": ["left", "right"], "length": "4"}
    return whole | {"due": due} | fields


def stored(house: House, set_id: str) -> Assignment:
    with house.store.read(house.team.id) as t:
        return t.get(Assignment, set_id)


def ticked(text: str, name: str) -> list[str]:
    """The values ticked on a page under a name."""
    boxes = re.findall(rf'<input type="(?:checkbox|radio)" name="{name}" value="([^"]*)"([^>]*)>', text)
    return [value for value, more in boxes if "checked" in more]


def finish(house: House, phone: TestClient, set_id: str, wrong: int = 0) -> None:
    """Open a set and answer all of it, the first few wrong, everything that returns right."""
    house.open_set(phone, set_id)
    while (place := phone.get(f"/api/sets/{set_id}").json()["next_place"]) is not None:
        rep = next(p["rep_id"] for p in phone.get(f"/api/sets/{set_id}").json()["places"] if p["place"] == place)
        body = {"rep_id": rep, "chosen": chosen(rep, "a" if place <= wrong else "b")}
        assert phone.put(answer_url(set_id), json=body).status_code == 201


# Who gets it ----------------------------------------------------------------------------------------------------------


def test_a_set_for_single_players_goes_to_them_alone(house: House) -> None:
    dale, rory = house.member(54), house.member(33)
    set_id = house.send_set(players=[rory.id])
    assert stored(house, set_id).player_ids == [rory.id]
    assert set_id in house.player(33).get("/home", headers=PAGE).text
    assert set_id not in house.player(54).get("/home", headers=PAGE).text
    assert house.player(54).post(f"/sets/{set_id}/open").status_code == 404
    coach = house.coach()
    page = coach.get(f"/coach/sets/{set_id}", headers=PAGE).text
    assert "Rory" in page
    assert dale.name not in page
    assert "it is for 1 player" in page
    assert "0 of 1" in coach.get("/coach/sets", headers=PAGE).text


def test_a_picked_player_answers_for_the_ticked_position_or_else_for_his_own(house: House) -> None:
    rory, gus = house.member(33), house.member(71)
    set_id = house.send_set(players=[rory.id, gus.id], positions=["Mike"])
    assert stored(house, set_id).positions == ["Mike", "Nose"]
    places = house.open_set(house.player(33), set_id)
    assert {p["rep_id"].split("-")[1] for p in places} == {"mike"}  # he plays Will too, which was not ticked
    places = house.open_set(house.player(71), set_id)
    assert {p["rep_id"].split("-")[1] for p in places} == {"nose"}


def test_both_positions_of_a_player_are_asked_when_both_are_ticked(house: House) -> None:
    set_id = house.send_set(positions=["Mike", "Will"], length="12", stages=["1", "2", "3"])
    places = house.open_set(house.player(33), set_id)
    assert {p["rep_id"].split("-")[1] for p in places} == {"mike", "will"}


def test_a_player_whose_positions_changed_keeps_a_set_he_was_picked_for(house: House) -> None:
    picked = house.send_set(players=[house.member(54).id])
    for_all = house.send_set()
    with house.store.write(house.team.id) as t:
        dale = t.get(Member, house.member(54).id)
        dale.positions = ["Nose"]
        t.add(dale)
    phone = house.player(54)
    assert {p["rep_id"].split("-")[1] for p in house.open_set(phone, picked)} == {"nose"}
    assert phone.post(f"/sets/{for_all}/open").status_code == 404


def test_a_player_off_the_roster_counts_nowhere(house: House) -> None:
    set_id = house.send_set(players=[house.member(54).id, house.member(33).id])
    finish(house, house.player(54), set_id)
    with house.store.write(house.team.id) as t:
        dale = t.get(Member, house.member(54).id)
        dale.removed_at = house.clock()
        t.add(dale)
    page = house.coach().get(f"/coach/sets/{set_id}", headers=PAGE).text
    assert "Dale" not in page
    assert "it is for 1 player" in page
    assert "1 of 1" not in page


def test_a_player_of_others_is_refused_like_a_missing_one(house: House) -> None:
    other = house.add_team()
    removed = house.member(33)
    with house.store.write(house.team.id) as t:
        row = t.get(Member, removed.id)
        row.removed_at = house.clock()
        t.add(row)
    owner, of_the_line = house.coach(), house.coach(AccountRole.POSITION_COACH)
    line = form(house, positions=["Nose"])
    for coach, player, fields in (
        (owner, "nobody-of-the-kind", form(house)),
        (owner, house.member(54, other).id, form(house)),
        (owner, removed.id, form(house)),
        (of_the_line, "nobody-of-the-kind", line),
        (of_the_line, house.member(54).id, line),
    ):
        page = coach.post("/coach/sets", data=fields | {"players": [player]}, headers=PAGE)
        assert page.status_code == 422, player
        assert "players: expected players of yours who are on the roster" in page.text
    assert "None so far" in owner.get("/coach/sets", headers=PAGE).text


# A position coach -----------------------------------------------------------------------------------------------------


def test_a_position_coachs_form_has_his_groups_and_players_only(house: House) -> None:
    page = house.coach(AccountRole.POSITION_COACH).get("/coach/assign", headers=PAGE).text
    assert ticked(page, "positions") == ["Nose"]
    assert "Gus" in page
    assert "Dale" not in page
    assert 'value="Mike"' not in page


def test_a_position_coach_picks_a_player_of_two_groups_for_his_own_group_only(house: House) -> None:
    with house.store.write(house.team.id) as t:
        rory = t.get(Member, house.member(33).id)
        rory.positions = ["Will", "Nose"]
        t.add(rory)
    sent = house.coach(AccountRole.POSITION_COACH).post(
        "/coach/sets", data=form(house, positions=[], players=[rory.id]), headers=PAGE
    )
    assert stored(house, sent.url.path.rsplit("/", 1)[1]).positions == ["Nose"]


def test_a_position_coach_sees_sets_of_his_people_and_changes_his_own(house: House) -> None:
    backers, both = house.send_set(), house.send_set(positions=["Mike", "Nose"])
    line = house.send_set(positions=["Nose"])
    coach = house.coach(AccountRole.POSITION_COACH)
    listed = coach.get("/coach/sets", headers=PAGE).text
    assert backers not in listed
    assert both in listed
    assert coach.get(f"/coach/sets/{backers}", headers=PAGE).status_code == 404
    page = coach.get(f"/coach/sets/{both}", headers=PAGE).text
    assert "Gus" in page
    assert "Dale" not in page
    assert "Close it now" not in page
    assert coach.post(f"/coach/sets/{backers}/call-back", headers=PAGE).status_code == 404
    assert coach.post(f"/coach/sets/{both}/call-back", headers=PAGE).status_code == 403
    due = {"due": local_time(house.clock.at, days=3)}
    assert coach.post(f"/coach/sets/{both}/change", data=due, headers=PAGE).status_code == 403
    assert coach.post(f"/coach/sets/{line}/call-back", headers=PAGE).status_code == 200
    assert stored(house, both).closed_at is None
    assert stored(house, line).closed_at is not None


def test_of_picked_players_a_position_coach_changes_a_set_that_is_of_his_alone(house: House) -> None:
    gus, dale = house.member(71), house.member(54)
    shared = house.send_set(positions=["Nose"], players=[gus.id, dale.id])
    own = house.send_set(positions=["Nose"], players=[gus.id])
    coach = house.coach(AccountRole.POSITION_COACH)
    assert coach.get(f"/coach/sets/{shared}", headers=PAGE).status_code == 200
    assert coach.post(f"/coach/sets/{shared}/call-back", headers=PAGE).status_code == 403
    assert coach.post(f"/coach/sets/{own}/call-back", headers=PAGE).status_code == 200


def test_a_players_own_practice_is_no_set_of_the_coachs(house: House) -> None:
    dale = house.member(54)
    with house.store.write(house.team.id) as t:
        one = Assignment(team_id=t.team_id, id="own-practice", call="Hammer", length=4, created_by=dale.id)
        one.purpose, one.player_ids, one.positions = Purpose.PRACTICE.value, [dale.id], ["Mike"]
        one.created_at, one.due_at = house.clock(), house.clock() + timedelta(days=1)
        t.add(one)
    coach = house.coach()
    assert "own-practice" not in coach.get("/coach/sets", headers=PAGE).text
    assert coach.get("/coach/sets/own-practice", headers=PAGE).status_code == 404
    assert coach.get("/coach/assign?again=own-practice", headers=PAGE).status_code == 404
    assert coach.post("/coach/sets/own-practice/call-back", headers=PAGE).status_code == 404


# The form -------------------------------------------------------------------------------------------------------------


def test_stages_are_ticked_by_where_most_of_them_are_and_the_form_says_so(house: House) -> None:
    coach = house.coach()
    page = coach.get("/coach/assign?call=Hammer&positions=Mike", headers=PAGE).text
    assert ticked(page, "stages") == ["1"]
    assert "2 of 2 are at stage 1 of Hammer now. Ticked: the stage with the most of them." in page
    for number in (54, 33):  # stage 1 right from both sides opens stage 2
        finish(house, house.player(number), house.send_set(stages=["1"], players=[house.member(number).id]))
    page = coach.get("/coach/assign?call=Hammer&positions=Mike", headers=PAGE).text
    assert ticked(page, "stages") == ["2"]
    assert "2 of 2 are at stage 2 of Hammer now" in page
    page = coach.get("/coach/assign?call=Hammer", headers=PAGE).text
    assert "1 of 3 is at stage 1 of Hammer now, 2 at stage 2. Ticked: the stage with the most of them." in page
    page = coach.get("/coach/assign?call=Hammer&is_filled=1&positions=Mike&stages=3&sides=left", headers=PAGE).text
    assert ticked(page, "stages") == ["3"]
    assert "Ticked:" not in page
    page = coach.get(
        "/coach/assign?call=Hammer&is_filled=1&positions=Mike&stages=3&sides=left&pick=stages", headers=PAGE
    ).text
    assert ticked(page, "stages") == ["2"]


def test_players_from_the_board_bring_their_positions_along(house: House) -> None:
    gus = house.member(71)
    page = house.coach().get(f"/coach/assign?call=Hammer&players={gus.id}", headers=PAGE).text
    assert ticked(page, "players") == [gus.id]
    assert ticked(page, "positions") == ["Nose"]
    assert "Send to 1 player<" in page
    page = house.coach().get("/coach/assign?call=Hammer&group=backers", headers=PAGE).text
    assert ticked(page, "positions") == ["Mike", "Will"]


def test_those_not_there_yet_are_picked_with_one_click(house: House) -> None:
    for _ in range(3):
        finish(house, house.player(54), house.send_set(length="12", stages=["1", "2", "3"]))
        house.clock.move(days=2)
    coach = house.coach()
    filled = "/coach/assign?call=Hammer&is_filled=1&positions=Mike&stages=1&stages=2&sides=left&length=7"
    page = coach.get(filled, headers=PAGE).text
    assert "Only the 1 who is not there yet on Hammer" in page
    page = coach.get(f"{filled}&pick=behind", headers=PAGE).text
    assert ticked(page, "players") == [house.member(33).id]
    assert ticked(page, "stages") == ["1", "2"]
    assert ticked(page, "sides") == ["left"]
    assert 'value="7"' in page
    page = coach.get(f"{filled}&players={house.member(33).id}&pick=nobody", headers=PAGE).text
    assert ticked(page, "players") == []


@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        ({"length": "99"}, "length: expected 1 to 20 reps, found &#39;99&#39;"),
        ({"length": "eight"}, "length: expected 1 to 20 reps"),
        ({"length": "³"}, "length: expected 1 to 20 reps"),
        ({"length": ""}, "length: expected 1 to 20 reps"),
        ({"stages": ["6"]}, "stages: expected one of 1, 2, 3, 4, 5"),
        ({"sides": ["up"]}, "sides: expected one of left, right"),
        ({"sides": []}, "sides: expected at least one, found none"),
        ({"purpose": "practice"}, "purpose: expected one of reps, check"),
        ({"due": ""}, "due: expected a day and time"),
        ({"due": "2099-01-01T12:00"}, "due: expected a day within the next 400 days"),
        ({"positions": [], "players": []}, "positions: expected at least one, found none"),
        ({"is_weighted": "1"}, "weighting: expected a next opponent"),
        ({"players": ["x"]}, "players: expected players of yours"),
    ],
)
def test_bad_input_shows_on_the_form_and_nothing_typed_is_lost(house: House, wrong: dict, message: str) -> None:
    whole = form(house, positions=["Will"], stages=["3"], sides=["right"], length="7", players=[house.member(33).id])
    page = house.coach().post("/coach/sets", data=whole | wrong, headers=PAGE)
    assert page.status_code == 422
    assert message in page.text
    for name in ("positions", "stages", "sides", "players"):
        if name not in wrong:
            assert ticked(page.text, name) == whole[name]
    for name in ("length", "due"):
        assert f'value="{html.escape(str((whole | wrong)[name]))}"' in page.text
    with house.store.read(house.team.id) as t:
        assert t.count(Assignment) == 0


def test_an_unknown_call_shows_on_the_form(house: House) -> None:
    page = house.coach().get("/coach/assign?call=Mallet", headers=PAGE)
    assert page.status_code == 422
    assert "call: expected one of Hammer, Anvil" in page.text
    assert 'id="call"' in page.text


def test_weighting_is_offered_by_the_opponents_name_and_stored(house: House) -> None:
    coach = house.coach()
    assert "No next opponent is set." in coach.get("/coach/assign", headers=PAGE).text
    with house.store.write(house.team.id) as t:
        t.add(Opponent(team_id=t.team_id, id="o", key="o", name="Oak Ridge", is_next=True, changed_at=house.clock()))
    assert "Nothing is charted of Oak Ridge yet." in coach.get("/coach/assign", headers=PAGE).text
    with house.store.write(house.team.id) as t:
        opponent = t.get(Opponent, "o")
        opponent.runs, opponent.stage_counts = [("zone", "", "", 30.0)], {"2": 30.0}
        t.add(opponent)
    page = coach.get("/coach/assign", headers=PAGE).text
    assert "By what Oak Ridge runs" in page
    assert ticked(page, "is_weighted") == ["1"]
    assert stored(house, house.send_set(is_weighted="1")).is_weighted
    assert not stored(house, house.send_set()).is_weighted


def drawn(house: House, reps: list[RepSummary], settings: TeamSettings) -> Counter[int]:
    """How often each stage is drawn for a player without answers, over many different sets."""
    member, at = house.member(54), house.clock()
    state = replay([], settings, {})
    found: Counter[int] = Counter()
    for number in range(60):
        one = Assignment(team_id=member.team_id, id=f"set-{number}", call="Hammer", stages=[1, 2, 3], length=4)
        one.purpose, one.player_ids, one.positions = Purpose.REPS.value, [], ["Mike"]
        found.update(rep.stage for rep, _ in plan(reps, member, state, settings, one, at.timestamp()))
    return found


def test_only_a_weighted_set_asks_more_of_what_the_opponent_runs(house: House) -> None:
    with house.store.write(house.team.id) as t:
        t.add(Opponent(team_id=t.team_id, id="o", key="o", name="Oak Ridge", is_next=True, changed_at=house.clock()))
        opponent = t.get(Opponent, "o")
        opponent.runs, opponent.stage_counts = [("zone", "", "", 300.0)], {"3": 300.0}
        t.add(opponent)
        team_state = TeamState(replay([], TeamSettings(), {}), settings_of(find_next(t)))
    reps = [facts(rep) for rep in REPS if (rep.call, rep.position) == ("Hammer", "Mike")]
    plain, weighted = (
        drawn(house, reps, settings_for(Assignment(is_weighted=yes), team_state)) for yes in (False, True)
    )
    assert settings_for(Assignment(is_weighted=False), team_state) == TeamSettings()
    assert weighted[3] > 1.5 * plain[3]
    assert weighted[1] < plain[1]


# Copies, sending again, the list --------------------------------------------------------------------------------------


def test_a_copy_is_the_same_order_with_another_due_date(house: House) -> None:
    set_id = house.send_set(positions=["Will"], stages=["2", "3"], sides=["right"], length="6")
    house.clock.move(days=3)
    coach = house.coach()
    page = coach.get(f"/coach/assign?again={set_id}", headers=PAGE).text
    assert ticked(page, "positions") == ["Will"]
    assert ticked(page, "stages") == ["2", "3"]
    assert ticked(page, "sides") == ["right"]
    assert 'value="6"' in page
    assert 'value="2026-09-05T12:00"' in page  # noon of the next day in Chicago
    assert coach.get("/coach/assign?again=nothing", headers=PAGE).status_code == 404
    other = house.coach(team=house.add_team())
    assert other.get(f"/coach/assign?again={set_id}", headers=PAGE).status_code == 404


def test_sending_again_to_those_who_have_not_finished_or_have_missed(house: House) -> None:
    set_id = house.send_set(positions=["Mike", "Nose"])
    coach = house.coach()
    finish(house, house.player(54), set_id, wrong=1)
    house.open_set(house.player(33), set_id)
    page = coach.get(f"/coach/sets/{set_id}", headers=PAGE).text
    links = [urlparse(html.unescape(at)) for at in re.findall(r'href="(/coach/assign\?[^"]+)"', page)]
    by_who = {parse_qs(link.query).get("who", ["all"])[0]: link.geturl() for link in links}
    assert set(by_who) == {"all", "unfinished", "missed"}
    assert "the 2 who have not finished" in page
    again = coach.get(by_who["unfinished"], headers=PAGE).text
    assert set(ticked(again, "players")) == {house.member(33).id, house.member(71).id}
    again = coach.get(by_who["missed"], headers=PAGE).text
    assert ticked(again, "players") == [house.member(54).id]
    assert "Goes to 1 player alone" in again
    for number in (33, 71):
        finish(house, house.player(number), set_id)
    assert "who=unfinished" not in coach.get(f"/coach/sets/{set_id}", headers=PAGE).text
    nobody = coach.get(by_who["unfinished"], headers=PAGE)
    assert nobody.status_code == 422
    assert "Nobody is left to send that set to again." in nobody.text


def test_the_sets_page_shows_each_players_results_by_side_and_late_answers(house: House) -> None:
    set_id = house.send_set(stages=["1"], hours=2)
    phone = house.player(54)
    places = house.open_set(phone, set_id)
    for place in (p for p in places if not p["again_of"]):
        rep = place["rep_id"]
        if place["place"] == 4:
            house.clock.move(hours=3)
        assert phone.put(answer_url(set_id), json={"rep_id": rep, "chosen": chosen(rep)}).status_code == 201
    page = house.coach().get(f"/coach/sets/{set_id}", headers=PAGE).text
    row = re.search(r"<tr><th[^>]*><a[^>]*>#54.*?</tr>", page, re.DOTALL)[0]
    assert "finished " in row
    assert re.findall(r'<td class="count">(\d of \d)', row) == ["4 of 4", "2 of 2", "2 of 2"]
    assert "1 late" in row
    assert "not proven" in row  # before and after: four answers are too few in a new team
    assert re.search(r"#33.*?not opened", page, re.DOTALL)
    assert page.index("#33") < page.index("#54")  # a player who has not seen yet it comes first


def test_a_bad_extension_shows_on_the_sets_page(house: House) -> None:
    set_id = house.send_set()
    coach = house.coach()
    for due, message in (("soon", "due: expected a day and time such as"), ("2020-01-01T10:00", "one that is past")):
        page = coach.post(f"/coach/sets/{set_id}/change", data={"due": due}, headers=PAGE)
        assert page.status_code == 422
        assert message in page.text
        assert f'value="{due}"' in page.text
        assert "Hammer" in page.text


def test_the_list_of_sets_is_filtered_and_paged(house: House) -> None:
    coach = house.coach()
    hammer = [house.send_set() for _ in range(27)]
    anvil = house.send_set(call="Anvil")
    coach.post(f"/coach/sets/{hammer[0]}/call-back", headers=PAGE)

    def listed(query: str) -> list[str]:
        return re.findall(r'href="/coach/sets/([^"?]+)">', coach.get(f"/coach/sets?{query}", headers=PAGE).text)

    assert listed("") == [anvil, *hammer[:2:-1]]
    assert listed("page=2") == hammer[2::-1]
    assert listed("page=99") == hammer[2::-1]
    assert listed("call=Anvil") == [anvil]
    assert listed("state=over") == [hammer[0]]
    assert hammer[0] not in listed("state=open&page=2")
    assert "No set like that." in coach.get("/coach/sets?call=Anvil&state=over", headers=PAGE).text
    assert coach.get("/coach/sets?page=0", headers=PAGE).status_code == 422
