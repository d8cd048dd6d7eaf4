"""Results are erased some time after the season, and nothing of another team's."""

from datetime import UTC, datetime

import pytest

from server.accounts.retention import erase_results
from server.database.tables import Answer, Assignment, KeptRep, Member, MissPicture
from server.playbook.playbooks import Playbook
from tests.harness.house import PAGE, House, answer_url, chosen


def answered(house: House, index: int) -> None:
    team = house.teams[index]
    set_id = house.send_set(team=team)
    phone = house.player(team=team)
    [first, *_] = house.open_set(phone, set_id)
    reply = phone.put(answer_url(set_id), json={"rep_id": first["rep_id"], "chosen": chosen(first["rep_id"], "a")})
    assert reply.status_code == 201


def counts(house: House, index: int) -> tuple[int, int, int, bool, bool]:
    with house.store.read(house.teams[index].id) as t:
        few = t.count(Answer), t.count(Assignment), t.count(MissPicture)
        return *few, t.count(KeptRep) > 0, t.count(Member) > 0


def test_thirty_days_after_the_last_day_in_the_teams_time_zone(house: House) -> None:
    house.add_team()
    for index in (0, 1):
        answered(house, index)
    with house.store.write(house.teams[1].id) as t:
        other = t.team()
        other.season_end = ""
        t.session.add(other)
    last_minute = datetime(2027, 1, 15, 5, 59, tzinfo=UTC)  # 14 January in Chicago, 30 days after 15 December
    assert erase_results(house.app.state.services.writes, 30, last_minute) == 0
    assert counts(house, 0) == (1, 1, 1, True, True)
    assert erase_results(house.app.state.services.writes, 30, datetime(2027, 1, 15, 6, 1, tzinfo=UTC)) == 1
    assert counts(house, 0) == (0, 0, 0, False, True)
    assert counts(house, 1) == (1, 1, 1, True, True)
    assert house.coach().get("/coach/board", headers={"accept": "text/html"}).status_code == 200


def test_the_file_on_disk_forgets_too(house: House) -> None:
    """source: SQLite, "Write-Ahead Logging": written pages stay in the log until a checkpoint resets it."""
    answered(house, 0)
    with house.store.write(house.team.id) as t:
        [answer] = t.rows(Answer)
        answer.explanation = "Zqmarker"
        t.add(answer)
    files = lambda: b"".join(path.read_bytes() for path in house.settings.data_dir.iterdir())  # noqa: E731
    assert b"Zqmarker" in files()
    assert erase_results(house.app.state.services.writes, 30, datetime(2027, 1, 16, tzinfo=UTC)) == 1
    assert b"Zqmarker" not in files()


def test_erased_results_are_in_no_cache(house: House) -> None:
    set_id, phone = house.send_set(), house.player()
    [first, *_] = house.open_set(phone, set_id)
    question, shown = f"/api/sets/{set_id}/reps/{first['rep_id']}", house.app.state.services.kept_reps
    body = {"rep_id": first["rep_id"], "chosen": chosen(first["rep_id"], "a")}
    assert phone.put(answer_url(set_id), json=body).status_code == 201
    assert phone.get(question).status_code == 200
    assert shown.find_miss(house.team.id, "en", first["rep_id"], "+".join(body["chosen"])) is not None
    erase_results(house.app.state.services.writes, 30, datetime(2027, 1, 16, tzinfo=UTC), shown.forget)
    assert phone.get(question).status_code == 404
    assert shown.find_miss(house.team.id, "en", first["rep_id"], "+".join(body["chosen"])) is None


def test_a_set_that_is_erased_while_it_is_laid_out_is_not_there(house: House, monkeypatch: pytest.MonkeyPatch) -> None:
    set_id, phone, drawn = house.send_set(), house.player(), Playbook.snapshots

    def erase_meanwhile(self: Playbook, *asked: object) -> list:
        erase_results(house.app.state.services.writes, 30, datetime(2027, 1, 16, tzinfo=UTC))
        return drawn(self, *asked)

    monkeypatch.setattr(Playbook, "snapshots", erase_meanwhile)
    assert phone.post(f"/sets/{set_id}/open", headers=PAGE).status_code == 404


def test_no_set_is_sent_whose_results_would_be_gone_by_the_next_day(house: House) -> None:
    """A new season has begun, and nobody has changed the last day in the team's files."""
    house.clock.at = datetime(2027, 8, 2, 20, 0, tzinfo=UTC)
    form = {"call": "Hammer", "positions": ["Mike"], "stages": ["1"], "sides": ["left"], "length": "4"}
    form |= {"due": "2027-08-03T12:00"}
    refused = house.coach().post("/coach/sets", data=form, headers=PAGE)
    assert (refused.status_code, "season_end: 2026-12-15 is over" in refused.text) == (422, True)
    with house.store.write(house.team.id) as t:
        t.team().season_end = "2027-11-19"
    assert house.coach().post("/coach/sets", data=form, headers=PAGE).url.path.startswith("/coach/sets/")
