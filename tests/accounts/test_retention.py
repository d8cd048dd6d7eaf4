"""Results are erased some time after the season, nothing of another team's, and never by a slip or a wrong clock."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta

import pytest

from server.accounts.retention import erase_results
from server.database.erasing_table import Erasing
from server.database.tables import (
    AccountRole,
    Answer,
    Assignment,
    AuditEntry,
    KeptRep,
    Member,
    MissPicture,
)
from server.playbook.playbooks import Playbook
from server.team.personal_data import erase
from tests.harness.house import PAGE, House, answer_url, chosen


def answered(house: House, index: int) -> None:
    team = house.teams[index]
    set_id = house.send_set(team=team)
    phone = house.player(team=team)
    [first, *_] = house.open_set(phone, set_id)
    reply = phone.put(answer_url(set_id), json={"rep_id": first["rep_id"], "chosen": chosen(first["rep_id"], "a")})
    assert reply.status_code == 201


def look(house: House, at: datetime, forget: Callable[[str], None] = lambda _: None) -> int:
    """One look at what is due, 30 days after the season."""
    return erase_results(house.app.state.services.writes, 30, at, erase, forget)


def run_until(house: House, at: datetime, forget: Callable[[str], None] = lambda _: None) -> int:
    """The looks of a server that ran all the time until this moment; how many answers they erased."""
    erased, moment = 0, house.clock.at
    while moment < at:
        erased += look(house, moment, forget)
        moment += timedelta(days=10)
    return erased + look(house, at - timedelta(days=1), forget) + look(house, at, forget)


def erasing(house: House) -> tuple[str, str]:
    """The state of the first team, and its reason."""
    with house.store.read(house.team.id) as t:
        row = t.find(Erasing)
        return (row.state, row.reason) if row else ("", "")


def set_season_end(house: House, day: str) -> None:
    with house.store.write(house.team.id) as t:
        team = t.team()
        team.season_end = day
        t.session.add(team)


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
    assert run_until(house, last_minute) == 0
    assert erasing(house) == ("", "")
    assert look(house, last_minute + timedelta(minutes=2)) == 0
    assert erasing(house) == ("grace", "")
    assert look(house, last_minute + timedelta(hours=24)) == 0
    assert counts(house, 0) == (1, 1, 1, True, True)
    assert look(house, last_minute + timedelta(hours=24, minutes=2)) == 1
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
    assert run_until(house, datetime(2027, 1, 17, tzinfo=UTC)) == 1
    assert b"Zqmarker" not in files()


def test_erased_results_are_in_no_cache(house: House) -> None:
    set_id, phone = house.send_set(), house.player()
    [first, *_] = house.open_set(phone, set_id)
    question, shown = f"/api/sets/{set_id}/reps/{first['rep_id']}", house.app.state.services.kept_reps
    body = {"rep_id": first["rep_id"], "chosen": chosen(first["rep_id"], "a")}
    assert phone.put(answer_url(set_id), json=body).status_code == 201
    assert phone.get(question).status_code == 200
    assert shown.find_miss(house.team.id, "en", first["rep_id"], "+".join(body["chosen"])) is not None
    assert run_until(house, datetime(2027, 1, 17, tzinfo=UTC), shown.forget) == 1
    assert phone.get(question).status_code == 404
    assert shown.find_miss(house.team.id, "en", first["rep_id"], "+".join(body["chosen"])) is None


def test_a_set_that_is_erased_while_it_is_laid_out_is_not_there(house: House, monkeypatch: pytest.MonkeyPatch) -> None:
    set_id, phone, drawn = house.send_set(), house.player(), Playbook.snapshots

    def erase_meanwhile(self: Playbook, *asked: object) -> list:
        run_until(house, datetime(2027, 1, 17, tzinfo=UTC))
        return drawn(self, *asked)

    monkeypatch.setattr(Playbook, "snapshots", erase_meanwhile)
    assert phone.post(f"/sets/{set_id}/open", headers=PAGE).status_code == 404


def test_no_set_is_sent_after_the_season(house: House) -> None:
    """A new season has begun, and nobody has changed the last day in the team's files."""
    house.clock.at = datetime(2027, 8, 2, 20, 0, tzinfo=UTC)
    form = {"call": "Hammer", "positions": ["Mike"], "stages": ["1"], "sides": ["left"], "length": "4"}
    form |= {"due": "2027-08-03T12:00"}
    refused = house.coach().post("/coach/sets", data=form, headers=PAGE)
    assert (refused.status_code, "season_end: 2026-12-15 is over" in refused.text) == (422, True)
    with house.store.write(house.team.id) as t:
        t.team().season_end = "2027-11-19"
    assert house.coach().post("/coach/sets", data=form, headers=PAGE).url.path.startswith("/coach/sets/")


@pytest.mark.parametrize("years", [3, -3])
@pytest.mark.parametrize("is_new", [True, False], ids=["never looked before", "looked yesterday"])
def test_a_clock_that_jumps_erases_nothing(house: House, years: int, is_new: bool) -> None:
    answered(house, 0)
    if not is_new:
        look(house, house.clock.at)
    jumped = house.clock.at.replace(year=2026 + years)
    for hours in (0, 1, 23, 25, 49, 24 * 9):
        assert look(house, jumped + timedelta(hours=hours)) == 0
    assert erasing(house) == (("waiting", "clock") if years > 0 else ("", ""))
    assert look(house, house.clock.at + timedelta(days=2)) == 0
    assert erasing(house) == ("", "")
    assert counts(house, 0) == (1, 1, 1, True, True)


def test_a_clock_that_jumps_in_the_day_of_grace_stops_it(house: House) -> None:
    answered(house, 0)
    begun = datetime(2027, 1, 15, 12, tzinfo=UTC)
    run_until(house, begun)
    assert erasing(house) == ("grace", "")
    assert look(house, begun + timedelta(days=3 * 365)) == 0
    assert erasing(house) == ("waiting", "clock")
    assert look(house, begun + timedelta(days=3 * 365 + 2)) == 0


@pytest.mark.parametrize("day", ["2025-12-15", "2026-07-31", "0206-12-15"])
def test_a_wrong_year_typed_erases_nothing(house: House, day: str) -> None:
    answered(house, 0)
    look(house, house.clock.at)
    set_season_end(house, day)
    for hours in (1, 2, 26, 51, 24 * 30):
        assert look(house, house.clock.at + timedelta(hours=hours)) == 0
    assert erasing(house) == ("waiting", "past")
    set_season_end(house, "2026-12-15")
    look(house, house.clock.at + timedelta(days=31))
    assert erasing(house) == ("", "")
    assert counts(house, 0) == (1, 1, 1, True, True)


def test_results_that_still_come_in_wait(house: House) -> None:
    set_season_end(house, "2026-09-05")
    look(house, house.clock.at)
    house.clock.move(days=20)
    answered(house, 0)
    assert run_until(house, datetime(2026, 10, 8, tzinfo=UTC)) == 0
    assert erasing(house) == ("waiting", "recent")


def test_the_owner_confirms_with_the_name_and_has_a_way_back(house: House) -> None:
    answered(house, 0)
    owner, name = house.coach(), house.team.name
    shown = owner.get("/coach/erasing", headers=PAGE).text
    assert "1 answer<" in shown
    assert "1 set<" in shown
    wrong = owner.post("/coach/erasing", data={"typed": "another"}, headers=PAGE)
    assert (wrong.status_code, name in wrong.text, erasing(house)) == (422, True, ("", ""))
    owner.post("/coach/erasing", data={"typed": f" {name.upper()} "}, headers=PAGE)
    assert erasing(house) == ("grace", "")
    assert "/coach/erasing" in owner.get("/coach/roster", headers=PAGE).text
    owner.post("/coach/erasing/keep", headers=PAGE)
    assert look(house, house.clock.at + timedelta(days=2)) == 0
    assert counts(house, 0) == (1, 1, 1, True, True)
    owner.post("/coach/erasing", data={"typed": name}, headers=PAGE)
    assert look(house, house.clock.at + timedelta(hours=23)) == 0
    assert look(house, house.clock.at + timedelta(hours=25)) == 1
    assert counts(house, 0) == (0, 0, 0, False, True)


def test_who_changed_what_stays_when_the_results_go(house: House) -> None:
    answered(house, 0)
    assert run_until(house, datetime(2027, 1, 17, tzinfo=UTC)) == 1
    with house.store.read(house.team.id) as t:
        actions = {entry.action for entry in t.rows(AuditEntry)}
    assert {"sent a set", "erased the results"} <= actions


def test_other_coaches_read_who_the_owner_is_and_change_nothing(house: House) -> None:
    answered(house, 0)
    for role in (AccountRole.COACH, AccountRole.POSITION_COACH):
        coach = house.coach(role)
        shown = coach.get("/coach/erasing", headers=PAGE).text
        assert "Owner: owner" in shown
        assert 'action="/coach/erasing' not in shown
        for path in ("/coach/erasing", "/coach/erasing/keep"):
            assert coach.post(path, data={"typed": house.team.name}, headers=PAGE).status_code == 403
    assert erasing(house) == ("", "")
