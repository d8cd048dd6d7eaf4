"""Results as CSV: the board's figures, each answer once, only what the coach sees, and no formulas."""

import csv
import io
import re

import pytest
from starlette.testclient import TestClient

from server.database.tables import AccountRole, Answer, AuditEntry, Member
from server.progress import results_csv
from tests.harness.house import PAGE, House, answer_url, chosen


def answered(house: House, *, wrong: int = 1, number: int = 54) -> str:
    """A set on Hammer with four answered reps, some of them wrong; return its id."""
    set_id, phone = house.send_set(positions=["Mike", "Nose"]), house.player(number)
    for n, place in enumerate([p for p in house.open_set(phone, set_id) if p.get("again_of") is None]):
        body = {
            "rep_id": place["rep_id"],
            "chosen": chosen(place["rep_id"], "a" if n < wrong else "b"),
            "took_ms": 1500,
        }
        assert phone.put(answer_url(set_id), json=body).status_code == 201
    return set_id


def rows(coach: TestClient, **query: str) -> list[dict[str, str]]:
    reply = coach.get("/coach/results.csv", params=query)
    assert reply.status_code == 200, reply.text
    assert reply.headers["content-type"] == "text/csv; charset=utf-8"
    assert reply.content.startswith(b"\xef\xbb\xbf")
    return list(csv.DictReader(io.StringIO(reply.content.decode("utf-8-sig"), newline="")))


def promised(coach: TestClient, **query: str) -> tuple[int, int]:
    """Rows and players, as the page shows them before the download."""
    text = coach.get("/coach/results", params=query, headers=PAGE).text
    found = re.search(r"(\d+) rows? about (\d+) player", text)
    assert found, text
    return int(found[1]), int(found[2])


def test_a_row_for_each_player_and_call(house: House) -> None:
    answered(house)
    coach = house.coach()
    found = rows(coach)
    assert promised(coach) == (6, 3) == (len(found), len({row["Name"] for row in found}))
    [mike] = [row for row in found if (row["Name"], row["Call"]) == ("Dale", "Hammer")]
    assert (mike["Right"], mike["Answered"], mike["Last answer"]) == ("3", "4", "2026-09-01")
    sides = [int(mike[f"{what} to our {side}"]) for side in ("left", "right") for what in ("Right", "Answered")]
    assert (sides[0] + sides[2], sides[1] + sides[3]) == (3, 4)
    assert 0 < float(mike["P(can)"]) < 1
    [none] = [row for row in found if (row["Name"], row["Call"]) == ("Gus", "Anvil")]
    assert (none["State"], none["Answered"], none["Last answer"]) == ("not proven", "0", "")


def test_the_file_agrees_with_the_board(house: House) -> None:
    answered(house, wrong=4)
    coach = house.coach()
    board = coach.get("/coach/board", headers=PAGE).text
    cells = re.findall(r'class="count">(\d+) of (\d+)</span></a></td>', board)
    file = [(row["Right"], row["Answered"]) for row in rows(coach) if row["Answered"] != "0"]
    assert sorted(set(cells)) == sorted(set(file)) == [("0", "4")]


def test_it_is_read_as_of_the_same_moment_as_the_board(house: House, monkeypatch: pytest.MonkeyPatch) -> None:
    """Boards are read as of a year ahead here instead of the end of the hour, so that a difference would show."""
    answered(house, wrong=0)
    monkeypatch.setattr("server.progress.team_state.HOUR_S", 365 * 86_400.0)
    [row] = [row for row in rows(house.coach(), call="Hammer") if row["Name"] == "Dale"]
    services, dale = house.app.state.services, house.member().id
    playbook = services.playbooks.of(house.team)
    team_state = services.team_states.of(house.store, house.team.id, playbook)
    board = team_state.board([dale], ["Hammer"], house.clock())[dale, "Hammer"]
    assert (row["P(can)"], row["State"]) == (str(round(board.p_can, 3)), board.state.value)


def test_a_row_for_each_answer_in_any_number_of_batches(house: House, monkeypatch: pytest.MonkeyPatch) -> None:
    answered(house)
    answered(house, number=71)
    with house.store.write(house.team.id) as t:
        for answer in t.rows(Answer):
            answer.received_at = house.clock.at  # all at one moment
            t.add(answer)
    coach = house.coach()
    whole = rows(coach, kind="answers")
    assert promised(coach, kind="answers") == (8, 3) == (len(whole), 3)
    assert sorted((row["Name"], row["Right"]) for row in whole) == sorted(
        [("Dale", "no"), *[("Dale", "yes")] * 3, ("Gus", "no"), *[("Gus", "yes")] * 3]
    )
    assert {row["Seconds"] for row in whole} == {"1.5"}
    assert {row["Answered at"][:13] for row in whole} == {"2026-09-01 15"}  # Chicago is five hours behind in September
    monkeypatch.setattr(results_csv, "BATCH", 3)
    assert rows(coach, kind="answers") == whole


def test_filters_and_the_log_entry(house: House) -> None:
    answered(house)
    coach = house.coach()
    assert promised(coach, call="Hammer", group="backers") == (2, 2)
    assert {row["Name"] for row in rows(coach, call="Hammer", group="backers")} == {"Dale", "Rory"}
    assert rows(coach, kind="answers", group="line") == []
    with house.store.read(house.team.id) as t:
        notes = [entry.subject for entry in t.rows(AuditEntry) if entry.action == "exported results"]
    assert sorted(notes) == ["answers: 0 rows about 1 players", "calls: 2 rows about 2 players"]
    bad = coach.get("/coach/results.csv", params={"call": "Nonesuch"}, headers=PAGE)
    assert (bad.status_code, "Nonesuch" in bad.text) == (422, True)
    assert coach.get("/coach/results.csv", params={"kind": "all"}, headers=PAGE).status_code == 422


def test_a_position_coach_gets_his_group_only(house: House) -> None:
    answered(house)
    line = house.coach(AccountRole.POSITION_COACH)
    assert {row["Name"] for row in rows(line)} == {"Gus"}
    assert rows(line, kind="answers") == []


def test_a_name_is_no_formula(house: House) -> None:
    with house.store.write(house.team.id) as t:
        member = t.get(Member, house.member().id)
        member.name = '=HYPERLINK("x")'
        t.add(member)
    assert '\'=HYPERLINK("x")' in {row["Name"] for row in rows(house.coach())}
