"""The main job end to end with plain forms, without scripts: coach sends, player answers, coach sees."""

from starlette.testclient import TestClient

from tests.harness.fake_football import BECAUSE
from tests.harness.house import ANSWER_ID, PAGE, House, answer_url, chosen, local_time


def answer(phone: TestClient, path: str, text: str, choice: str):
    """Answer the rep on this page with its form."""
    form = {"answer_id": ANSWER_ID.search(text)[1]}
    form |= {name: choice for name in ("choice_1", "choice_2") if f'name="{name}"' in text}
    return phone.post(path, data=form, headers=PAGE)


def body(place: dict) -> dict:
    return {"rep_id": place["rep_id"], "chosen": chosen(place["rep_id"])}


def walk(house: House) -> None:
    set_id = house.send_set()
    phone = house.player()
    assert "Hammer" in phone.get("/home", headers=PAGE).text
    page = phone.post(f"/sets/{set_id}/open", headers=PAGE)
    assert page.url.path == f"/sets/{set_id}/reps/1"
    assert BECAUSE not in page.text
    missed = next(p["again_of"] for p in phone.get(f"/api/sets/{set_id}").json()["places"] if p["again_of"])
    for place in (1, 2, 3, 4):
        page = phone.get(f"/sets/{set_id}/reps/{place}", headers=PAGE)
        page = answer(phone, page.url.path, page.text, "a" if place == missed else "b")
        assert page.url.path == f"/sets/{set_id}/reps/{place}"
        assert BECAUSE in page.text
        assert ("Left B stays open." in page.text) == (place == missed)
    places = phone.get(f"/api/sets/{set_id}").json()["places"]
    [again] = [p["place"] for p in places if p["again_of"] == missed]
    page = phone.get(f"/sets/{set_id}/reps/{again}", headers=PAGE)
    assert again > 4
    assert answer(phone, page.url.path, page.text, "b").status_code == 200
    summary = phone.get(f"/sets/{set_id}", headers=PAGE)
    assert "4" in summary.text
    assert phone.get(f"/api/sets/{set_id}").json()["is_finished"] is True
    coach = house.coach()
    assert "Dale" in coach.get("/coach/board", headers=PAGE).text
    seen = coach.get(f"/coach/players/{house.member().id}", headers=PAGE).text
    assert "left A" in seen
    assert "before hammer-mike" in seen
    assert f"/coach/players/{house.member().id}" in coach.get("/coach/call?name=Hammer", headers=PAGE).text
    assert coach.get(f"/coach/sets/{set_id}", headers=PAGE).status_code == 200


def test_from_sending_a_set_to_the_miss_on_the_players_page(house: House) -> None:
    walk(house)


def test_the_same_on_postgresql(postgres_house: House) -> None:
    walk(postgres_house)


def test_a_missed_rep_comes_back_as_another_picture_from_the_other_side(house: House) -> None:
    set_id = house.send_set(length="1", stages=["1"])
    phone = house.player()
    places = house.open_set(phone, set_id)
    proper = {p["place"]: p["rep_id"] for p in places if p["again_of"] is None}
    again = {p["again_of"]: p["rep_id"] for p in places if p["again_of"] is not None}
    assert again
    assert not set(again.values()) & set(proper.values())
    for place, rep_id in again.items():
        assert ("left" in rep_id) != ("left" in proper[place])


def test_opening_twice_lays_out_the_same_set(house: House) -> None:
    set_id = house.send_set()
    phone = house.player()
    assert house.open_set(phone, set_id) == house.open_set(house.player(), set_id)


def test_a_set_goes_to_its_positions_only(house: House) -> None:
    set_id = house.send_set(positions=["Nose"])
    assert set_id not in house.player(54).get("/home", headers=PAGE).text
    assert set_id in house.player(71).get("/home", headers=PAGE).text
    assert house.player(54).post(f"/sets/{set_id}/open").status_code == 404


def test_a_set_past_due_is_gone_and_its_answers_stay(house: House) -> None:
    set_id = house.send_set(hours=2)
    phone = house.player()
    [first, *_] = house.open_set(phone, set_id)
    phone.put(answer_url(set_id), json=body(first))
    house.clock.move(hours=3)
    gone = phone.get(f"/sets/{set_id}/reps/2", headers=PAGE)
    assert gone.status_code == 410
    assert "Your answers are kept" in gone.text
    assert BECAUSE in phone.get(f"/sets/{set_id}/reps/1", headers=PAGE).text
    assert house.player(33).post(f"/sets/{set_id}/open", headers=PAGE).status_code == 410


def test_a_closed_set_opens_again_when_its_date_is_moved(house: House) -> None:
    set_id = house.send_set()
    coach, phone = house.coach(), house.player()
    coach.post(f"/coach/sets/{set_id}/call-back", headers=PAGE)
    assert phone.post(f"/sets/{set_id}/open").status_code == 410
    moved = coach.post(f"/coach/sets/{set_id}/change", data={"due": local_time(house.clock.at, days=2)}, headers=PAGE)
    assert moved.status_code == 200
    assert phone.post(f"/sets/{set_id}/open", headers=PAGE).status_code == 200


def test_a_set_stays_answerable_when_the_content_changes(house: House) -> None:
    """The answer is judged by the stored rep, not by what the content says now."""
    set_id = house.send_set()
    phone = house.player()
    [first, *_] = house.open_set(phone, set_id)
    house.app.state.services.playbooks.football.draw = None  # nothing may be drawn or looked up from here on
    reply = phone.put(answer_url(set_id), json=body(first))
    assert reply.status_code == 201


def test_the_form_keeps_what_was_typed_and_shows_problems(house: House) -> None:
    coach = house.coach()
    form = {"call": "Hammer", "positions": ["Mike"], "stages": ["2"], "sides": ["left"], "length": "7"}
    for wrong, message in (
        ({"due": "tomorrow"}, "due: expected a day and time"),
        ({"due": local_time(house.clock.at, hours=-1)}, "due: expected a day and time to come"),
        ({"due": local_time(house.clock.at, hours=9), "call": "Mallet"}, "call: expected one of Hammer, Anvil"),
        ({"due": local_time(house.clock.at, hours=9), "positions": ["Quarter"]}, "positions: expected some of Mike"),
        ({"due": local_time(house.clock.at, hours=9), "stages": []}, "stages: expected at least one"),
        ({"due": local_time(house.clock.at, hours=9), "stages": ["5"]}, "stages: this call has no reps"),
    ):
        page = coach.post("/coach/sets", data=form | wrong, headers=PAGE)
        assert page.status_code == 422
        assert message in page.text
        assert 'value="7"' in page.text
    assert "None so far" in coach.get("/coach/sets", headers=PAGE).text


def test_samples_are_shown_before_sending(house: House) -> None:
    page = house.coach().get("/coach/assign?call=Anvil&positions=Will&stages=2&stages=3&sides=left", headers=PAGE)
    assert page.text.count("<svg") >= 3
    assert "before anvil-will-" in page.text
    assert "after " not in page.text
