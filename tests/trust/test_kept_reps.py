"""A rep cached in memory stays usable after the request that loaded it, even if that one was rolled back."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from server.playbook.kept_reps import KeptReps
from tests.harness.house import House, answer_url, chosen, make_house


@pytest.fixture
def house(tmp_path: Path) -> Iterator[House]:
    yield from make_house(tmp_path)


def test_one_refused_answer_does_not_break_the_rep_for_the_whole_team(house: House) -> None:
    set_id, phone = house.send_set(), house.player()
    rep = house.open_set(phone, set_id)[0]["rep_id"]
    house.app.state.services.kept_reps = KeptReps()  # as after a restart: nothing is in memory yet
    refused = phone.put(answer_url(set_id), json={"rep_id": rep, "chosen": ["nosuch"] * len(chosen(rep))})
    assert refused.status_code == 422
    assert phone.put(answer_url(set_id), json={"rep_id": rep, "chosen": chosen(rep)}).status_code == 201
    assert phone.get(f"/api/sets/{set_id}/reps/{rep}").status_code == 200
