"""The team's state in memory matches the stored answers, whichever process stored them, in whatever order."""

from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta

from sqlalchemy import delete
from sqlmodel import col

from server.database.tables import Answer
from server.mastery.replay import MasteryState
from server.mastery.values import State
from server.progress.team_state import HURRIED_MS, TeamStates
from tests.harness.house import House, answer_url, chosen
from tests.mastery.mastery_examples import values_of


def state_of(house: House, team_states: TeamStates) -> MasteryState:
    playbook = house.app.state.services.playbooks.of(house.team)
    return team_states.of(house.store, house.team.id, playbook).state


def test_added_one_by_one_is_the_same_as_read_at_once(house: House) -> None:
    team_states = TeamStates()
    set_id = house.send_set(length="8")
    phone = house.player()
    assert state_of(house, team_states).answers == 0
    for index, place in enumerate(house.open_set(phone, set_id)[:6]):
        house.clock.move(hours=1)
        choice = "a" if index % 3 == 0 else "b"
        phone.put(answer_url(set_id), json={"rep_id": place["rep_id"], "chosen": chosen(place["rep_id"], choice)})
        assert state_of(house, team_states).answers == index + 1
    assert values_of(state_of(house, team_states)) == values_of(state_of(house, TeamStates()))


def test_an_answer_stored_out_of_order_by_another_process_is_not_missed(house: House) -> None:
    team_states = TeamStates()
    set_id = house.send_set(length="8")
    phone = house.player()
    for place in house.open_set(phone, set_id)[:3]:
        phone.put(answer_url(set_id), json={"rep_id": place["rep_id"], "chosen": chosen(place["rep_id"])})
    with house.store.write(house.team.id) as t:
        [first, *_] = t.rows(Answer, order_by=(col(Answer.received_at),))
        earlier = Answer(**first.model_dump())
        t.execute(delete(Answer).where(col(Answer.team_id) == t.team_id, col(Answer.id) == first.id))
    assert state_of(house, team_states).answers == 2
    earlier.received_at -= timedelta(minutes=5)
    with house.store.write(house.team.id) as t:
        t.add_once(earlier)
    assert state_of(house, team_states).answers == 3
    assert values_of(state_of(house, team_states)) == values_of(state_of(house, TeamStates()))


def test_many_new_answers_are_added_once_for_concurrent_requests(house: House) -> None:
    """Four ask at once; the state handed out before doesn't change."""
    team_states = TeamStates()
    set_id, phone = house.send_set(length="8"), house.player()
    [place, *_] = house.open_set(phone, set_id)
    phone.put(answer_url(set_id), json={"rep_id": place["rep_id"], "chosen": chosen(place["rep_id"])})
    before = state_of(house, team_states)
    was, many = values_of(before), 60
    with house.store.write(house.team.id) as t:
        [first] = t.rows(Answer)
        for n in range(1, many):
            own = {"id": f"{first.id}{n}", "attempt": n + 1, "received_at": first.received_at + timedelta(seconds=n)}
            t.add(Answer(**first.model_dump() | own))
    with ThreadPoolExecutor(4) as pool:
        found = list(pool.map(lambda _: state_of(house, team_states).answers, range(4)))
    assert found == [many] * 4
    assert values_of(before) == was
    assert values_of(state_of(house, team_states)) == values_of(state_of(house, TeamStates()))


def test_answers_faster_than_reading_prove_nothing_and_the_coach_sees_how_many(house: House) -> None:
    def p_can(took_ms: int) -> tuple[float, str]:
        set_id = house.send_set(length="8")
        phone, member = house.player(54), house.member(54)
        for place in house.open_set(phone, set_id)[:8]:
            house.clock.move(days=1)
            body = {"rep_id": place["rep_id"], "chosen": chosen(place["rep_id"], "b"), "took_ms": took_ms}
            assert phone.put(answer_url(set_id), json=body).is_success
        playbook = house.app.state.services.playbooks.of(house.team)
        found = TeamStates().of(house.store, house.team.id, playbook).board([member.id], ["Hammer"], house.clock())
        with house.store.write(house.team.id) as t:
            t.execute(delete(Answer).where(col(Answer.team_id) == t.team_id))
        return found[member.id, "Hammer"].p_can, str(found[member.id, "Hammer"].state)

    read, hurried = p_can(HURRIED_MS), p_can(HURRIED_MS - 1)
    assert hurried[0] < read[0]
    assert hurried[1] == State.NOT_PROVEN
