"""Practice sheets: the most missed first, with counts; when nothing was missed, the sheet says so."""

from server.accounts.members import players
from server.playbook.kept_reps import KeptReps
from server.progress.practice_sheets import missed_situations, plays_of
from tests.harness.house import PAGE, House


def play_set(house: House, number: int, choice: str) -> None:
    """A player answers a whole set with one choice."""
    set_id = house.send_set()
    phone = house.player(number)
    phone.post(f"/sets/{set_id}/open", headers=PAGE)
    for _ in range(20):
        layout = phone.get(f"/api/sets/{set_id}").json()
        if layout["next_place"] is None:
            return
        rep_id = next(p["rep_id"] for p in layout["places"] if p["place"] == layout["next_place"])
        parts = phone.get(f"/api/sets/{set_id}/reps/{rep_id}").json()["parts"]
        body = {"rep_id": rep_id, "chosen": [choice] * len(parts)}
        reply = phone.put(f"/api/sets/{set_id}/answers/{set_id}-{layout['next_place']:06d}", json=body)
        assert reply.status_code == 201, reply.text


def test_nothing_missed(house: House) -> None:
    play_set(house, 54, "b")
    coach = house.coach()
    for name in ("walk-through", "scout-cards"):
        page = coach.get(f"/coach/sheets/{name}?call=Hammer", headers=PAGE)
        assert page.status_code == 200
        assert "Nobody has missed" in page.text
        assert '<svg class="gs"' not in page.text


def test_what_is_missed_with_its_counts_in_teaching_order(house: House) -> None:
    play_set(house, 54, "a")
    with house.store.read(house.team.id) as t:
        found = missed_situations(t, KeptReps(), "Hammer", players(t))
        nobody = missed_situations(t, KeptReps(), "Hammer", [])
    assert nobody == []
    assert found
    assert [one.rep.stage for one in found] == sorted(one.rep.stage for one in found)
    for one in found:
        assert one.missed == one.answered  # he got all of them wrong
        assert one.people == 1
    coach = house.coach()
    page = coach.get("/coach/sheets/walk-through?call=hammer", headers=PAGE).text
    for one in found:
        assert one.rep.stem in page
        assert f"{one.missed} of {one.answered}, by 1 player" in page
    assert "state association" in page
    cards = coach.get("/coach/sheets/scout-cards?call=Hammer", headers=PAGE).text
    assert cards.count("card of after") == len(plays_of(found)) > 0
    assert "state association" in cards


def test_an_unknown_call_gets_a_message(house: House) -> None:
    reply = house.coach().get("/coach/sheets/walk-through?call=Anything", headers=PAGE)
    assert reply.status_code == 422
    assert "Hammer, Anvil" in reply.text
