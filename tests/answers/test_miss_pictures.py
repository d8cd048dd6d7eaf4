"""Pictures of wrong answers: drawn once, stored, shown with the answer everywhere, and never delaying it."""

import time

import pytest

import server.answers.miss_pictures
from quizgen.football.errors import UnknownName
from server.database.tables import Answer, MissPicture
from tests.harness.fake_football import FakeCatalogue, FakeFootball
from tests.harness.house import PAGE, House, answer_url, chosen


def begun(house: House, **fields: object) -> tuple:
    """A set of reps with one part each (some made-up reps of the second stage have two)."""
    set_id = house.send_set(**{"stages": ["1", "3"], **fields})
    phone = house.player()
    return set_id, phone, [place["rep_id"] for place in house.open_set(phone, set_id)]


def put(phone, set_id: str, rep_id: str, choice: str) -> dict:
    reply = phone.put(answer_url(set_id), json={"rep_id": rep_id, "chosen": chosen(rep_id, choice)})
    assert reply.status_code == 201
    return reply.json()["answer"]


def kept(house: House) -> list[MissPicture]:
    with house.store.read(house.team.id) as t:
        return t.rows(MissPicture)


@pytest.fixture
def drawn(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The wrong answers drawn so far."""
    scenes: list[str] = []
    draw = FakeFootball.draw

    def count(self: FakeFootball, scene: str) -> str:
        scenes.extend([scene] if "missed" in scene else [])
        return draw(self, scene)

    monkeypatch.setattr(FakeFootball, "draw", count)
    return scenes


def drawn_once_and_shown_everywhere(house: House, drawn: list[str]) -> None:
    set_id, phone, reps = begun(house)
    wanted = f"after {reps[0]}, missed with a"
    assert wanted in put(phone, set_id, reps[0], "a")["svg"]
    assert "missed" not in put(phone, set_id, reps[1], "b")["svg"]
    assert [(row.rep_id, row.chosen) for row in kept(house)] == [(reps[0], "a")]
    for page in (
        phone.get(f"/sets/{set_id}/reps/1", headers=PAGE),
        house.coach().get(f"/coach/players/{house.member().id}", headers=PAGE),
    ):
        assert wanted in page.text
    while (layout := phone.get(f"/api/sets/{set_id}").json())["next_place"]:
        put(phone, set_id, next(p["rep_id"] for p in layout["places"] if p["place"] == layout["next_place"]), "b")
    summary = phone.get(f"/sets/{set_id}", headers=PAGE).text
    assert "how you did" in summary
    assert wanted in summary
    assert len(drawn) == 1


def test_drawn_once_and_shown_everywhere(house: House, drawn: list[str]) -> None:
    drawn_once_and_shown_everywhere(house, drawn)


def test_drawn_once_and_shown_everywhere_on_postgresql(postgres_house: House, drawn: list[str]) -> None:
    drawn_once_and_shown_everywhere(postgres_house, drawn)


def test_both_parts_of_an_answer_are_the_key(house: House) -> None:
    set_id, phone, reps = begun(house, stages=["2"], length="8")
    two = next(rep_id for rep_id in reps if "open-gap" in rep_id)
    assert f"after {two}, missed with a a" in put(phone, set_id, two, "a")["svg"]
    assert [row.chosen for row in kept(house)] == ["a+a"]


def test_another_process_reads_what_is_stored(house: House, drawn: list[str]) -> None:
    set_id, phone, reps = begun(house)
    told = put(phone, set_id, reps[0], "c")
    house.app.state.services.kept_reps.__init__()
    again = phone.get(f"/sets/{set_id}/reps/1", headers=PAGE).text
    assert told["svg"] in again
    assert len(drawn) == 1


def test_a_rep_that_the_content_no_longer_has_keeps_its_stored_pictures(
    house: House, monkeypatch: pytest.MonkeyPatch
) -> None:
    set_id, phone, reps = begun(house)
    first = put(phone, set_id, reps[0], "a")

    def gone(self: FakeCatalogue, rep_id: str, /) -> None:
        raise UnknownName("rep", rep_id, ())

    monkeypatch.setattr(FakeCatalogue, "rep", gone)
    assert "missed" not in put(phone, set_id, reps[1], "a")["svg"]
    assert f"after {reps[1]}" in phone.get(f"/sets/{set_id}/reps/2", headers=PAGE).text
    assert first["svg"] in phone.get(f"/sets/{set_id}/reps/1", headers=PAGE).text


def test_a_drawing_that_fails_or_takes_long_leaves_the_answer_alone(
    house: House, monkeypatch: pytest.MonkeyPatch
) -> None:
    set_id, phone, reps = begun(house)
    draw = FakeFootball.draw

    def fail(self: FakeFootball, scene: str) -> str:
        if "missed" in scene:
            raise ValueError("no such thing can be drawn")
        return draw(self, scene)

    def linger(self: FakeFootball, scene: str) -> str:
        time.sleep(0.6 if "missed" in scene else 0)
        return draw(self, scene)

    monkeypatch.setattr(FakeFootball, "draw", fail)
    assert f"after {reps[0]}</title>" in put(phone, set_id, reps[0], "a")["svg"]
    monkeypatch.setattr(FakeFootball, "draw", linger)
    monkeypatch.setattr(server.answers.miss_pictures, "PICTURE_WAIT_S", 0.1)
    assert f"after {reps[1]}</title>" in put(phone, set_id, reps[1], "a")["svg"]
    with house.store.read(house.team.id) as t:
        assert [row.is_right for row in t.rows(Answer)] == [False, False]


def test_the_answer_is_stored_before_anything_is_drawn(house: House, monkeypatch: pytest.MonkeyPatch) -> None:
    set_id, phone, reps = begun(house)
    draw, stored = FakeFootball.draw, []

    def look(self: FakeFootball, scene: str) -> str:
        if "missed" in scene:
            with house.store.read(house.team.id) as t:
                stored.append(t.count(Answer))
        return draw(self, scene)

    monkeypatch.setattr(FakeFootball, "draw", look)
    put(phone, set_id, reps[0], "a")
    assert stored == [1]
