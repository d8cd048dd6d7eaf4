"""Opponents: typed in, changed, chosen as next; the weights of their plays; who may do that."""

import re

import pytest
from sqlmodel import col

from server.database.tables import AccountRole, AuditEntry, Opponent
from server.errors import BadInput
from server.mastery.values import STAGES
from server.opponents.tendencies import (
    Tendency,
    find_next,
    parse_counts,
    play_weights,
    settings_of,
    tendency_of,
)
from server.playbook.charted import UNCHARTED
from tests.harness.fake_football import PLAYS
from tests.harness.house import PAGE, House

NAMES = [play.name for play in PLAYS]


def add(house: House, name: str = "Oakdale") -> str:
    """Add an opponent on the page; return the id."""
    reply = house.coach().post("/coach/opponents", data={"name": name}, headers=PAGE)
    assert reply.status_code == 200, reply.text
    return reply.url.path.rsplit("/", 1)[1]


def typed(**numbers: str) -> dict[str, list[str]]:
    """The form with these numbers beside the team's plays, and further plays below."""
    others = [name for name in numbers if name not in NAMES]
    names = [*NAMES, *others]
    return {"play": names, "number": [numbers.get(name, "") for name in names]}


def stored(house: House, opponent_id: str) -> Opponent:
    with house.store.read(house.team.id) as t:
        return t.get(Opponent, opponent_id)


def actions(house: House) -> list[str]:
    with house.store.read(house.team.id) as t:
        return [one.action for one in t.rows(AuditEntry, order_by=(col(AuditEntry.at),))]


def test_typed_in_counts_are_stored_by_play_and_stage(house: House) -> None:
    foe = add(house)
    form = typed(zone="12", power="7", counter="1", veer="4", **{"half slide": "8", "Wing bunch reverse": "3"})
    reply = house.coach().post(f"/coach/opponents/{foe}", data=form, headers=PAGE)
    assert reply.status_code == 200
    row = stored(house, foe)
    assert row.play_counts == {
        "zone": 12,
        "power": 7,
        "counter": 1,
        "veer": 4,
        "half slide": 8,
        "Wing bunch reverse": 3,
    }
    assert row.stage_counts == {"2": 12, "3": 8, "4": 4, "5": 8}
    assert "Wing bunch reverse 3 (9 %)" in reply.text  # 3 of 35
    assert "35 snaps" in reply.text
    assert "changed what an opponent runs" in actions(house)


def test_percentages_of_a_number_of_snaps_become_counts(house: House) -> None:
    foe = add(house)
    form = typed(zone="50 %", power="12,5", veer="25") | {"unit": "percent", "snaps": "40"}
    house.coach().post(f"/coach/opponents/{foe}", data=form, headers=PAGE)
    assert stored(house, foe).play_counts == {"zone": 20, "power": 5, "veer": 10}
    form = typed(zone="50") | {"unit": "percent"}
    house.coach().post(f"/coach/opponents/{foe}", data=form, headers=PAGE)
    assert stored(house, foe).play_counts == {"zone": 50}


@pytest.mark.parametrize(
    ("numbers", "more", "said"),
    [
        ({"zone": "many"}, {}, "zone: expected a number from 0 to 100000, found &#39;many&#39;"),
        ({"zone": "-3"}, {}, "zone: expected a number"),
        ({"zone": "nan"}, {}, "zone: expected a number"),
        ({"zone": "1e9"}, {}, "zone: expected a number"),
        ({"zone": "1_0"}, {}, "zone: expected a number"),
        ({"zone": "70", "power": "45"}, {"unit": "percent"}, "per cent: expected at most 100 in all, found 115"),
        ({"zone": "7", " ": "2"}, {}, "A play without a name has the number 2"),
    ],
)
def test_a_wrong_number_gets_a_message_on_the_form_and_nothing_is_lost(
    house: House, numbers: dict, more: dict, said: str
) -> None:
    foe = add(house)
    house.coach().post(f"/coach/opponents/{foe}", data=typed(lead="9"), headers=PAGE)
    reply = house.coach().post(f"/coach/opponents/{foe}", data=typed(**numbers) | more, headers=PAGE)
    assert reply.status_code == 422
    assert said in reply.text
    for number in numbers.values():
        assert f'value="{number}"' in reply.text
    assert stored(house, foe).play_counts == {"lead": 9}


def test_a_play_typed_in_another_case_is_the_teams_own() -> None:
    found = parse_counts(["zone", "  ZONE ", "any  pass"], ["3", "4", "2"], PLAYS, is_percent=False, snaps="")
    assert found == {"zone": 7, UNCHARTED: 2}
    with pytest.raises(BadInput, match="a number for each of 2 plays"):
        parse_counts(["zone", "lead"], ["3"], PLAYS, is_percent=False, snaps="")


def by_hand(tendency: Tendency) -> dict[int, float]:
    return {one.stage: one.weight for one in tendency.stages}


def test_shares_and_weights_by_hand() -> None:
    """source: the rule itself, by hand: add one to each count, no share under three per cent, then scale to one."""
    found = tendency_of({"zone": 12, "power": 6, "counter": 2, UNCHARTED: 5, "Flea flicker": 5}, PLAYS)
    assert found.total == 30
    assert found.known == 25
    assert [(one.name, one.count, one.share) for one in found.unknown] == [("Flea flicker", 5, pytest.approx(1 / 6))]
    raw = {1: 0.03 + 1 / 300, 2: 13 / 30, 3: 9 / 30, 4: 1 / 30, 5: 6 / 30}  # 1 of 30 is 3.3 %: above the floor
    assert by_hand(found) == pytest.approx(raw)
    assert sum(by_hand(found).values()) == pytest.approx(1)
    pulls = {play.name: play.weight for play in found.stages[2].plays}
    assert pulls == pytest.approx({"power": 7 / 10, "counter": 3 / 10})
    floor = 0.03 / (0.03 + 98 / 99)
    assert play_weights({"zone": 97}, PLAYS)["lead"] == pytest.approx(floor)
    assert {one.stage for one in found.stages} == set(STAGES)


def test_an_uncharted_pass_counts_for_the_stage_but_for_no_protection() -> None:
    found = tendency_of({UNCHARTED: 9, "half slide": 1}, PLAYS)
    assert found.stages[4].count == 10
    assert [(one.name, one.count, one.weight) for one in found.stages[4].plays] == [
        ("half slide", 1, 1.0),
        (UNCHARTED, 9, 0.0),
    ]


def test_without_counts_the_default_mix_is_used(house: House) -> None:
    foe = add(house)
    house.coach().post("/coach/opponents/next", data={"opponent": foe}, headers=PAGE)
    with house.store.read(house.team.id) as t:
        assert settings_of(find_next(t)).stage_mix == pytest.approx({1: 0.30, 2: 0.25, 3: 0.10, 4: 0.20, 5: 0.15})
    assert by_hand(tendency_of({"Flea flicker": 3}, PLAYS)) == pytest.approx({1: 0.3, 2: 0.25, 3: 0.1, 4: 0.2, 5: 0.15})
    assert "the usual mix holds" in house.coach().get(f"/coach/opponents/{foe}", headers=PAGE).text


def test_at_most_one_opponent_is_next(house: House) -> None:
    coach, first, second = house.coach(), add(house, "Oakdale"), add(house, "Birch Hill")
    for foe in (first, second):
        house.coach().post(f"/coach/opponents/{foe}", data=typed(power="20"), headers=PAGE)
        coach.post("/coach/opponents/next", data={"opponent": foe}, headers=PAGE)
        with house.store.read(house.team.id) as t:
            assert [one.id for one in t.rows(Opponent, col(Opponent.is_next).is_(True))] == [foe]
            assert settings_of(find_next(t)).weights()[2] > 0.6
    assert "Next: Birch Hill." in coach.get("/coach/opponents", headers=PAGE).text
    coach.post("/coach/opponents/next", data={"opponent": ""}, headers=PAGE)
    with house.store.read(house.team.id) as t:
        assert find_next(t) is None
    assert coach.post("/coach/opponents/next", data={"opponent": "nobody"}, headers=PAGE).status_code == 404


def test_renamed_and_deleted(house: House) -> None:
    coach, foe = house.coach(), add(house)
    add(house, "Birch Hill")
    coach.post(f"/coach/opponents/{foe}/name", data={"name": "  Oak   Dale "}, headers=PAGE)
    assert stored(house, foe).name == "Oak Dale"
    refused = coach.post(f"/coach/opponents/{foe}/name", data={"name": "birch hill"}, headers=PAGE)
    assert refused.status_code == 422
    assert "is already there" in refused.text
    coach.post(f"/coach/opponents/{foe}/delete", headers=PAGE)
    assert coach.get(f"/coach/opponents/{foe}", headers=PAGE).status_code == 404
    assert actions(house)[-2:] == ["renamed an opponent", "deleted an opponent"]


@pytest.mark.parametrize("name", ["", "   ", "x" * 61, "oakdale"])
def test_a_refused_name_gets_a_message_on_the_form(house: House, name: str) -> None:
    add(house)
    reply = house.coach().post("/coach/opponents", data={"name": name}, headers=PAGE)
    assert reply.status_code == 422
    assert "name: " in reply.text
    assert f'value="{name}"' in reply.text


def test_changed_plays_are_recounted_on_saving(house: House) -> None:
    foe = add(house)
    with house.store.write(house.team.id) as t:
        row = t.get(Opponent, foe)
        row.runs, row.stage_counts = [("zone", "", "", 4)], {"3": 4}
        t.add(row)
    coach = house.coach()
    assert "Your plays have changed" in coach.get(f"/coach/opponents/{foe}", headers=PAGE).text
    coach.post(f"/coach/opponents/{foe}", data=typed(zone="4"), headers=PAGE)
    assert stored(house, foe).stage_counts == {"2": 4}
    assert "Your plays have changed" not in coach.get(f"/coach/opponents/{foe}", headers=PAGE).text


def test_exported_as_a_file_without_formulas_and_logged(house: House) -> None:
    coach, foe = house.coach(), add(house)
    coach.post(f"/coach/opponents/{foe}", data=typed(zone="12", **{"=1+1": "2"}), headers=PAGE)
    reply = coach.get(f"/coach/opponents/{foe}/plays.csv", headers=PAGE)
    assert reply.headers["content-type"].startswith("text/csv")
    assert reply.content.decode("utf-8-sig").splitlines() == [
        '"Play","Count","Stage"',
        '"zone",12.0,"2"',
        '"\'=1+1",2.0,""',
    ]
    assert actions(house)[-1] == "exported an opponent"


def test_a_position_coach_can_look_but_not_change(house: House) -> None:
    foe = add(house)
    coach = house.coach(AccountRole.POSITION_COACH)
    page = coach.get(f"/coach/opponents/{foe}", headers=PAGE).text
    assert "Save what they run" not in page
    assert coach.post(f"/coach/opponents/{foe}", data=typed(zone="9"), headers=PAGE).status_code == 403
    assert stored(house, foe).play_counts == {}


def test_another_teams_opponent_is_not_there(house: House) -> None:
    foe = add(house)
    stranger = house.coach(team=house.add_team())
    paths = [("GET", ""), ("POST", ""), ("POST", "/delete"), ("GET", "/plays.csv")]
    for method, path in paths:
        assert stranger.request(method, f"/coach/opponents/{foe}{path}", headers=PAGE).status_code == 404
    assert stranger.post("/coach/opponents/next", data={"opponent": foe}, headers=PAGE).status_code == 404
    assert re.search("Oakdale", stranger.get("/coach/opponents", headers=PAGE).text) is None
    assert stored(house, foe).name == "Oakdale"


def test_names_typed_are_inert(house: House) -> None:
    foe = add(house, '<script>alert("x")</script>')
    coach = house.coach()
    coach.post(f"/coach/opponents/{foe}", data=typed(**{"<img src=x>": "2"}), headers=PAGE)
    for path in ("/coach/opponents", f"/coach/opponents/{foe}"):
        text = coach.get(path, headers=PAGE).text
        assert "<script>alert" not in text
        assert "<img src" not in text
