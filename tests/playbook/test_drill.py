"""Which reps are worth asking: worked out in the background, stored, and handed to sets and to mastery."""

import pytest
from sqlmodel import col

from server.database.tables import Answer, KeptRep
from server.mastery.values import SIDES, STAGES
from server.playbook.playbooks import Playbooks
from server.web.warm_up import WarmUp
from tests.harness.fake_football import DRILL_WORTH, FakeFootball
from tests.harness.house import House, answer_url, chosen


class Counting(FakeFootball):
    """Counts how often the reps are looked at."""

    looks = 0

    def drill(self, catalogue: object) -> dict:
        self.looks += 1
        return super().drill(catalogue)


def test_a_set_doesnt_wait_for_it_and_later_draws_by_worth(house: House) -> None:
    playbook = house.app.state.services.playbooks.of(house.team)
    before = playbook.pool("Hammer", ["Mike"], STAGES, SIDES)
    assert {rep.worth for rep in before} == {1.0}
    playbook.prepare()
    after = playbook.pool("Hammer", ["Mike"], STAGES, SIDES)
    assert {rep.id for rep in after} == {rep.id for rep in before}
    assert {rep.kind: rep.worth for rep in after} == {
        kind: DRILL_WORTH.get(kind, 1.0) for kind in {r.kind for r in after}
    }


def test_it_is_worked_out_once_for_each_content(house: House) -> None:
    football = Counting()
    for _ in range(2):
        Playbooks(house.store, football, house.app.state.services.writes).of(house.team).prepare()
    assert football.looks == 1


def test_the_server_prepares_each_playbook_that_it_reads(house: House) -> None:
    services = house.app.state.services
    warming = WarmUp(services)
    warming.start()
    playbook = services.playbooks.of(house.team)
    for _ in range(200):
        if playbook.guess_rate("track", "Mike"):
            break
        house.store.is_ready()
        warming._is_over.wait(0.05)
    warming.stop()
    assert playbook.guess_rate("track", "Mike") == 0.5


@pytest.mark.parametrize(("kind", "guess"), [("track", 0.5), ("moved-gap", 0.0)])
def test_a_reps_rate_is_kept_with_it_and_with_its_answers(house: House, kind: str, guess: float) -> None:
    house.app.state.services.playbooks.of(house.team).prepare()
    phone = house.player()
    for _ in range(40):  # a set draws its kinds: go on until one has this kind
        set_id = house.send_set()
        places = house.open_set(phone, set_id)
        for place in places:
            if place["again_of"] is None:
                body = {"rep_id": place["rep_id"], "chosen": chosen(place["rep_id"])}
                assert phone.put(answer_url(set_id), json=body).status_code == 201
        if any(kind in place["rep_id"] for place in places if place["again_of"] is None):
            break
    with house.store.read(house.team.id) as t:
        kept = t.rows(KeptRep, col(KeptRep.kind) == kind)
        given = t.rows(Answer, col(Answer.kind) == kind)
    assert {one.guess for one in kept} == {guess}
    assert {one.guess for one in given} == {guess}
