"""Answers are stored exactly once and never changed, whatever arrives and however often."""

import itertools
import threading
from collections import Counter
from collections.abc import Callable
from datetime import timedelta

import pytest

from server.answers.recording import AnswerRecorder, GivenAnswer, RecordedAnswer, SentAnswer, words_of
from server.database import engine
from server.database.store import Store, open_store
from server.database.tables import Answer, KeptRep
from server.playbook.kept_reps import KeptReps
from tests.harness.house import House, answer_url, chosen


def stored(house: House) -> list[Answer]:
    with house.store.read(house.team.id) as t:
        return t.rows(Answer)


def opened(house: House) -> tuple:
    set_id = house.send_set()
    phone = house.player()
    [first, second, *_] = house.open_set(phone, set_id)
    return set_id, phone, first["rep_id"], second["rep_id"]


def exactly_once(house: House) -> None:
    set_id, phone, rep, other_rep = opened(house)
    url = answer_url(set_id)
    new = phone.put(url, json={"rep_id": rep, "chosen": chosen(rep)})
    assert new.status_code == 201
    assert new.json()["answer"]["is_right"] is True
    assert new.json()["answer"]["svg"].startswith("<svg")
    again = phone.put(url, json={"rep_id": rep, "chosen": chosen(rep)})
    assert again.status_code == 200
    assert again.json()["answer"] == new.json()["answer"]
    for id_, body in (
        (url, {"rep_id": rep, "chosen": chosen(rep, "a")}),
        (url, {"rep_id": other_rep, "chosen": chosen(other_rep)}),
        (answer_url(set_id), {"rep_id": rep, "chosen": chosen(rep, "a")}),
        (answer_url(set_id), {"rep_id": rep, "chosen": chosen(rep)}),
    ):
        reply = phone.put(id_, json=body)
        assert reply.status_code == 409
        assert reply.json()["answer"] == new.json()["answer"]
    [row] = stored(house)
    assert (row.chosen, row.is_right, row.is_late) == (chosen(rep), True, False)


def test_201_200_409(house: House) -> None:
    exactly_once(house)


def test_201_200_409_on_postgresql(postgres_house: House) -> None:
    exactly_once(postgres_house)


def test_another_players_id_does_not_stand_in_the_way(house: House) -> None:
    set_id, phone, rep, _ = opened(house)
    other = house.player(33)
    rep_of_other = next(p["rep_id"] for p in house.open_set(other, set_id))
    url = answer_url(set_id)
    assert phone.put(url, json={"rep_id": rep, "chosen": chosen(rep)}).status_code == 201
    assert other.put(url, json={"rep_id": rep_of_other, "chosen": chosen(rep_of_other)}).status_code == 201


def test_a_late_answer_is_kept_and_marked(house: House) -> None:
    set_id, phone, rep, other_rep = opened(house)
    house.clock.move(hours=30)
    reply = phone.put(answer_url(set_id), json={"rep_id": rep, "chosen": chosen(rep)})
    assert reply.status_code == 201
    assert reply.json()["answer"]["is_late"] is True
    house.coach().post(f"/coach/sets/{set_id}/call-back")
    late = phone.put(answer_url(set_id), json={"rep_id": other_rep, "chosen": chosen(other_rep)})
    assert late.json()["answer"]["is_late"] is True


def test_the_order_is_the_servers(house: House) -> None:
    set_id, phone, rep, other_rep = opened(house)
    for one in (other_rep, rep):
        phone.put(answer_url(set_id), json={"rep_id": one, "chosen": chosen(one)})
    rows = sorted(stored(house), key=lambda row: row.received_at)
    assert [row.rep_id for row in rows] == [other_rep, rep]
    assert rows[1].received_at - rows[0].received_at > timedelta(0)


def test_a_double_tap_on_the_plain_form_is_one_answer(house: House) -> None:
    set_id, phone, rep, _ = opened(house)
    form = {"answer_id": "d" * 24, "choice_1": "a"} | ({"choice_2": "a"} if len(chosen(rep)) == 2 else {})
    for _ in range(2):
        reply = phone.post(f"/sets/{set_id}/reps/1", data=form, headers={"accept": "text/html"})
        assert reply.status_code == 200
        assert "Left B stays open." in reply.text
    assert len(stored(house)) == 1


BAD_BODIES = [
    ({"chosen": ["b"]}, 422, "rep_id: expected a value"),
    ({"rep_id": "REP", "chosen": ["zz"]}, 422, "answer: expected"),
    ({"rep_id": "REP", "chosen": ["b", "b", "b"]}, 422, "answer: expected"),
    ({"rep_id": "REP", "chosen": []}, 422, "chosen:"),
    ({"rep_id": "REP", "chosen": "b"}, 422, "chosen:"),
    ({"rep_id": "REP", "chosen": ["b"], "attempt": 2}, 422, "attempt:"),
    ({"rep_id": "REP", "chosen": ["b"], "is_right": True}, 422, "is_right: expected no such field"),
    ({"rep_id": "REP", "chosen": ["b"], "took_ms": -1}, 422, "took_ms:"),
    ({"rep_id": "anvil-mike-track-left-pro", "chosen": ["b"]}, 404, "no such rep"),
    ({"rep_id": "x\u0000y", "chosen": ["b"]}, 422, "rep_id:"),
]


@pytest.mark.parametrize(("body", "status", "message"), BAD_BODIES)
def test_bad_answers_get_one_message_and_change_nothing(house: House, body: dict, status: int, message: str) -> None:
    set_id, phone, rep, _ = opened(house)
    sent = {**body, "rep_id": rep} if body.get("rep_id") == "REP" else body
    reply = phone.put(answer_url(set_id), json=sent)
    assert reply.status_code == status
    assert message in reply.json()["error"]["message"]
    assert stored(house) == []


@pytest.mark.parametrize(
    "raw",
    [
        b'{"rep_id": "r", "chosen": ["b"], "took_ms": NaN}',
        b'{"rep_id": "\\ud800", "chosen": ["b"]}',
        b'{"rep_id": "r", "chosen": ["\\u0000"]}',
        b'{"rep_id": "\xff\xfe", "chosen": ["b"]}',
        b"{",
        b"",
        b"[" * 5000,
        b"null",
        b'{"rep_id": 1e400, "chosen": {}}',
    ],
)
def test_bytes_that_are_no_answer_are_refused(house: House, raw: bytes) -> None:
    set_id, phone, _, _ = opened(house)
    reply = phone.put(answer_url(set_id), content=raw, headers={"content-type": "application/json"})
    assert reply.status_code in (400, 422)
    assert reply.json()["error"]["message"]
    assert "Traceback" not in reply.text


def test_bad_ids_and_places_in_the_address(house: House) -> None:
    set_id, phone, rep, _ = opened(house)
    body = {"rep_id": rep, "chosen": chosen(rep)}
    assert phone.put(answer_url(set_id, "short"), json=body).status_code == 422
    assert phone.put(answer_url("nosuchset"), json=body).status_code == 404
    assert phone.get(f"/sets/{set_id}/reps/99").status_code == 404
    assert phone.get(f"/sets/{set_id}/reps/0").status_code == 422
    assert phone.get(f"/sets/{set_id}/reps/one").status_code == 422
    again = next(p["place"] for p in phone.get(f"/api/sets/{set_id}").json()["places"] if p["again_of"])
    assert phone.get(f"/sets/{set_id}/reps/{again}").status_code == 404  # nothing was missed yet


def test_a_question_holds_no_trace_of_its_answer(house: House) -> None:
    set_id, phone, rep, _ = opened(house)
    reply = phone.get(f"/api/sets/{set_id}/reps/{rep}")
    assert reply.headers["cache-control"] == "private, max-age=31536000, immutable"
    assert set(reply.json()) == {"id", "kind", "stem", "parts", "svg"}
    choices = [choice for part in reply.json()["parts"] for choice in part["choices"]]
    assert {tuple(choice) for choice in choices} == {("id", "label")}
    for word in ("stays open", 'right":', "because", "after "):
        assert word not in reply.text


def test_answers_survive_a_restart(house: House) -> None:
    set_id, phone, rep, _ = opened(house)
    phone.put(answer_url(set_id), json={"rep_id": rep, "chosen": chosen(rep)})
    before = [row.model_dump() for row in stored(house)]
    house.store.close()
    again = open_store(house.settings)
    with again.read(house.team.id) as t:
        assert [row.model_dump() for row in t.rows(Answer)] == before
    again.close()


@pytest.fixture
def patient(monkeypatch: pytest.MonkeyPatch) -> None:
    """Connections that wait for their turn however slow the machine is: how long is not what a race tests."""
    monkeypatch.setattr(engine, "BUSY_TIMEOUT_MS", 120_000)
    monkeypatch.setattr(engine, "STATEMENT_TIMEOUT_MS", 120_000)


def race(house: House, make_store: Callable[[], Store]) -> None:
    """Eight answers at once to the same rep, each through its own connection: one is stored, all replies agree."""
    set_id, phone, rep, _ = opened(house)
    assert phone
    member = house.member()
    outcomes: list[tuple[int, str]] = []
    ready = threading.Barrier(8)
    numbers = itertools.count()

    def answer() -> None:
        store = make_store()
        given = GivenAnswer(f"racer-number-{next(numbers):06d}", rep, tuple(chosen(rep)))
        ready.wait()
        with store.write(house.team.id) as t:
            outcome = AnswerRecorder(KeptReps()).record(t, SentAnswer(set_id, member, given, house.clock()))
            told = (outcome.status, outcome.answer.id)
        outcomes.append(told)
        store.close()

    threads = [threading.Thread(target=answer) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert Counter(status for status, _ in outcomes) == {201: 1, 409: 7}
    [row] = stored(house)
    assert {id_ for _, id_ in outcomes} == {row.id}


@pytest.mark.usefixtures("patient")
def test_of_eight_at_once_one_stands(house: House) -> None:
    race(house, lambda: open_store(house.settings))


@pytest.mark.usefixtures("patient")
def test_of_eight_at_once_one_stands_on_postgresql(postgres_house: House) -> None:
    race(postgres_house, lambda: open_store(postgres_house.settings))


def recorded_together(house: House) -> None:
    """Answers of two players that wait together: each gets what it would have got alone, in the order they came."""
    set_id, _, rep, other_rep = opened(house)
    first_of_other = house.open_set(house.player(33), set_id)[0]["rep_id"]
    mike, other = house.member(), house.member(33)
    sent = [
        SentAnswer(set_id, member, GivenAnswer(id_, rep_id, tuple(taps)), house.clock())
        for member, id_, rep_id, taps in (
            (mike, "a" * 20, rep, chosen(rep, "a")),
            (other, "a" * 20, first_of_other, ["zz"]),
            (mike, "b" * 20, rep, chosen(rep)),
            (other, "a" * 20, first_of_other, chosen(first_of_other)),
            (mike, "a" * 20, rep, chosen(rep, "a")),
            (mike, "c" * 20, other_rep, chosen(other_rep)),
            (mike, "d" * 20, "no-such-rep", ["b"]),
        )
    ]
    with house.store.write(house.team.id) as t:
        found = AnswerRecorder(KeptReps()).record_all(t, sent)
    assert [one.status for one in found] == [201, 422, 409, 201, 200, 201, 404]
    assert [one.done.answered for one in found if isinstance(one, RecordedAnswer)] == [1, 1, 1, 1, 2]
    assert {(row.member_id, row.id) for row in stored(house)} == {
        (mike.id, "a" * 20), (other.id, "a" * 20), (mike.id, "c" * 20)
    }  # fmt: skip


def test_answers_that_wait_together(house: House) -> None:
    recorded_together(house)


def test_answers_that_wait_together_on_postgresql(postgres_house: House) -> None:
    recorded_together(postgres_house)


@pytest.mark.parametrize(
    ("choices", "join", "said"),
    [
        (
            {"Between the left guard and the center": "between the left guard and the center",
             "Between the center and the right guard": "between the center and the right guard"},
            "{some} or {last}",
            "Between the left guard and the center or between the center and the right guard",
        ),
        ({"Left Ash": "left Ash", "Right Ash": "right Ash"}, "{some} or {last}", "Left Ash or right Ash"),
        ({"Mike": "Mike", "Will": "Will"}, "{some} or {last}", "Mike or Will"),
        ({"Outside the left end": "outside the left end"}, "{some} or {last}", "Outside the left end"),
        (
            {"Entre el guard y el center": "entre el guard y el center", "Ash derecho": "Ash derecho"},
            "{some} o {last}",
            "Entre el guard y el center o Ash derecho",
        ),
    ],
)  # fmt: skip
def test_several_choices_read_as_one_sentence(choices: dict[str, str], join: str, said: str) -> None:
    listed = [
        {"id": id_, "label": label, "phrase": phrase}
        for id_, (label, phrase) in zip("ab", choices.items(), strict=False)
    ]
    rep = KeptRep(rep_id="rep", parts=[{"prompt": "Where?", "choices": listed, "right": ["a", "b"]}])
    assert words_of([["a", "b"]], rep, join) == said


def test_what_is_stored_names_choices_by_key_part_by_part(house: House) -> None:
    set_id, phone, *_ = opened(house)
    places = phone.get(f"/api/sets/{set_id}").json()["places"]
    for place in places:
        rep = place["rep_id"]
        assert phone.put(answer_url(set_id), json={"rep_id": rep, "chosen": chosen(rep, "a")}).status_code in (201, 404)
    rows = {len(row.chosen): row for row in stored(house)}
    assert (rows[1].chosen_key, rows[1].right_key) == ("lane:left A", "lane:left B")
