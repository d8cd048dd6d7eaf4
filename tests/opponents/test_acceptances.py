"""A lack that the staff accepts: with a reason, quiet while nothing else is short, who and when, and taken back."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from html import unescape
from pathlib import Path

import pytest
from rich.console import Console
from sqlmodel import col

from server.app import make_app
from server.commands.demo import prepare
from server.database.store import Store
from server.database.tables import Acceptance, AccountRole, AuditEntry, Opponent
from server.settings import load_settings
from tests.harness.databases import open_migrated
from tests.harness.house import PAGE, House, TestClient

SOUND, ACCEPT = "/coach/defense/sound", "/coach/defense/accepted"
LACK = {"call": "Hammer", "play": "zone", "at": "away", "why": "we chase it"}


def add(house: House) -> str:
    return house.coach().post("/coach/opponents", data={"name": "Oakdale"}, headers=PAGE).url.path.rsplit("/", 1)[1]


def rows(house: House) -> list[Acceptance]:
    with house.store.read(house.team.id) as t:
        return t.rows(Acceptance)


def test_accepted_with_who_when_and_why_and_taken_back(house: House) -> None:
    foe, coach = add(house), house.coach(AccountRole.COACH)
    page = coach.get(SOUND, params={"call": "Hammer", "against": foe}, headers=PAGE).text
    assert "Sound on 87 of his 100 snaps." in page
    assert "13 of the other 13: zone from pro." in page
    assert "We live with this" in page
    done = coach.post(ACCEPT, data=LACK | {"against": foe}, headers=PAGE)
    assert done.url.path == SOUND
    assert "“we chase it”. coach, " in done.text
    assert "We live with this" not in done.text
    [row] = rows(house)
    assert (row.call, row.to, row.formation, row.play, row.play_to) == ("Hammer", "left", "pro", "zone", "right")
    assert (row.why, row.lack) == ("we chase it", "0123456789ab")
    assert "“we chase it”" in coach.get(SOUND, params={"call": "Hammer"}, headers=PAGE).text
    undone = coach.post(f"{ACCEPT}/{row.id}/undo", data={"call": "Hammer", "against": foe}, headers=PAGE)
    assert "We live with this" in undone.text
    assert rows(house) == []
    with house.store.read(house.team.id) as t:
        actions = [one.action for one in t.rows(AuditEntry, order_by=(col(AuditEntry.at),))]
    assert actions[-2:] == ["accepted a lack", "no longer accepts a lack"]
    assert coach.post(f"{ACCEPT}/{row.id}/undo", data={"call": "Hammer"}, headers=PAGE).status_code == 404


def test_without_a_reason_nothing_is_accepted(house: House) -> None:
    foe = add(house)
    for why, found in (("", "0"), ("   ", "0")):
        reply = house.coach().post(ACCEPT, data=LACK | {"against": foe, "why": why}, headers=PAGE)
        assert reply.status_code == 422
        assert f"reason: expected 1 to 200 characters, found {found}" in reply.text
    long = house.coach().post(ACCEPT, data=LACK | {"against": foe, "why": "x" * 201}, headers=PAGE)
    assert long.status_code == 422
    assert rows(house) == []


def test_what_is_not_short_is_not_accepted(house: House) -> None:
    foe, coach = add(house), house.coach()
    for other in ({"at": "call"}, {"play": "power"}):
        reply = coach.post(ACCEPT, data=LACK | {"against": foe} | other, headers=PAGE)
        assert reply.status_code == 422
        assert "Nothing of it is short any more" in reply.text
    for _ in range(2):  # a double tap
        coach.post(ACCEPT, data=LACK | {"against": foe}, headers=PAGE)
    assert len(rows(house)) == 1


def test_a_position_coach_sees_it_and_changes_nothing(house: House) -> None:
    foe, coach = add(house), house.coach(AccountRole.POSITION_COACH)
    assert "Accept it" not in coach.get(SOUND, params={"call": "Hammer", "against": foe}, headers=PAGE).text
    assert coach.post(ACCEPT, data=LACK | {"against": foe}, headers=PAGE).status_code == 403
    house.coach().post(ACCEPT, data=LACK | {"against": foe}, headers=PAGE)
    page = coach.get(SOUND, params={"call": "Hammer", "against": foe}, headers=PAGE).text
    assert "“we chase it”" in page
    assert "Undo" not in page


def test_another_teams_opponent_and_acceptance_are_not_there(house: House) -> None:
    foe = add(house)
    house.coach().post(ACCEPT, data=LACK | {"against": foe}, headers=PAGE)
    stranger = house.coach(team=house.add_team())
    assert stranger.get(SOUND, params={"call": "Hammer", "against": foe}, headers=PAGE).status_code == 404
    assert stranger.post(ACCEPT, data=LACK | {"against": foe}, headers=PAGE).status_code == 404
    undo = f"{ACCEPT}/{rows(house)[0].id}/undo"
    assert stranger.post(undo, data={"call": "Hammer"}, headers=PAGE).status_code == 404
    assert len(rows(house)) == 1


def test_a_page_says_why_a_call_goes_to_one_side_only(house: House) -> None:
    page = house.coach().get(SOUND, params={"call": "Hammer", "to": "left"}, headers=PAGE).text
    assert "Hammer goes to our left against 1 of 3 formations: its own rule (tight end)" in page


# The demo team, with quizgen itself


@pytest.fixture(scope="module")
def real(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[TestClient, Store]]:
    folder: Path = tmp_path_factory.mktemp("accepted")
    settings = load_settings(data_dir=folder)
    store = open_migrated(settings)
    access = prepare(store, folder, Console(file=io.StringIO()), with_season=False)
    with TestClient(make_app(settings, store=store), headers=PAGE) as client:
        form = {"team": access.team_id, "name": access.coach_name, "passphrase": access.passphrase}
        client.post("/coach/sign-in", data=form)
        yield client, store


def figures(page: str) -> dict[str, int]:
    counts = re.search(r'sound-counts">(.*?)</ul>', page, re.S)
    assert counts
    return {what: int(number) for number, what in re.findall(r"<strong>(\d+)</strong> ([a-z ]+)<", counts[1])}


def test_a_lack_is_quiet_until_a_change_of_the_call_makes_another(real: tuple[TestClient, Store]) -> None:
    client, store = real
    team_id = store.teams()[0].id
    with store.read(team_id) as t:
        foe = t.rows(Opponent)[0].id
    offered = re.compile(r'name="play" value="([^"]+)"><input type="hidden" name="at" value="(\w+)"')
    asked, page, found = {}, "", None
    for call in ("Moraine", "Kettle", "Arete", "Erratic", "Tarn"):  # the first with a short run that nobody lives with
        asked = {"call": call, "against": foe}
        page = client.get(SOUND, params=asked).text
        found = offered.search(page)
        if found:
            break
    assert found
    before = figures(page)
    assert sum(before.get(what, 0) for what in ("open", "late", "sound")) in (99, 100, 101)
    run = {"play": unescape(found[1]), "at": found[2], "why": "so be it"}
    after = client.post(ACCEPT, data=asked | run)
    assert found[0] not in after.text
    accepted = "of those short are accepted"
    assert figures(after.text)[accepted] > before.pop(accepted, 0)
    assert {k: v for k, v in figures(after.text).items() if k in before} == before
    with store.write(team_id) as t:
        for row in (one for one in t.rows(Acceptance) if one.lack):  # those of the demo's file have none
            assert re.fullmatch("[0-9a-f]{12}", row.lack)
            row.lack = "0" * 12  # as if something else had been short then
            t.add(row)
    loud = client.get(SOUND, params=asked).text
    assert found[0] in loud
    assert "What is short there now is something else" in loud
