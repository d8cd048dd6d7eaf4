"""The log: it has every look, export and change, without names; coaches read it page by page."""

import re
from pathlib import Path

import server
from server.accounts.members import write_audit
from server.database.tables import AccountRole, AuditEntry, Member
from server.routes.audit import ACTIONS, PAGE_SIZE
from tests.harness.house import PAGE, House


def actions(house: House) -> list[str]:
    with house.store.read(house.team.id) as t:
        return [entry.action for entry in t.rows(AuditEntry, order_by=(AuditEntry.at,))]


def test_actions_are_logged_without_names(house: House) -> None:
    coach, dale = house.coach(), house.member()
    coach.get(f"/coach/players/{dale.id}/data", headers=PAGE)
    coach.get(f"/coach/players/{dale.id}/data.json")
    coach.get("/coach/results.csv")
    coach.get("/coach/roster/roster.csv")
    coach.post("/coach/roster/codes", data={"players": [dale.id]}, headers=PAGE)
    coach.post(f"/coach/roster/{dale.id}/remove", headers=PAGE)
    coach.post(f"/coach/roster/{dale.id}/bring-back", headers=PAGE)
    assert actions(house) == [
        "viewed a player's data",
        "exported a player's data",
        "exported results",
        "exported the roster",
        "new PINs",
        "removed a player",
        "brought a player back",
    ]
    with house.store.read(house.team.id) as t:
        stored = repr([(entry.member_id, entry.action, entry.subject) for entry in t.rows(AuditEntry)])
        names = [member.name for member in t.rows(Member) if member.role == AccountRole.PLAYER]
    assert names
    assert not [name for name in names if name in stored]
    shown = coach.get("/coach/audit", headers=PAGE).text
    assert shown.count("#54 Dale") == 4
    only = coach.get("/coach/audit", params={"action": "removed a player"}, headers=PAGE).text
    assert only.count("#54 Dale") == 1
    coach.post(f"/coach/players/{dale.id}/erase", data={"typed": "Dale"}, headers=PAGE)
    shown = coach.get("/coach/audit", headers=PAGE).text
    assert "Dale" not in shown
    assert "erased a player" in shown


def test_a_wrong_name_shows_his_data_and_is_logged_as_a_look(house: House) -> None:
    reply = house.coach().post(f"/coach/players/{house.member().id}/erase", data={"typed": "x"}, headers=PAGE)
    assert (reply.status_code, actions(house)) == (422, ["viewed a player's data"])


def test_it_is_read_a_page_at_a_time(house: House) -> None:
    with house.store.write(house.team.id) as t:
        for n in range(PAGE_SIZE * 2 + 3):
            house.clock.move(seconds=1)
            write_audit(t, "gone", "did a thing", f"thing no. {n}", house.clock())
    coach = house.coach()
    seen: list[int] = []
    for number, count in ((1, PAGE_SIZE), (2, PAGE_SIZE), (3, 3)):
        page = coach.get("/coach/audit", params={"number": str(number)}, headers=PAGE).text
        found = [int(n) for n in re.findall(r"thing no\. (\d+)", page)]
        assert len(found) == count
        seen += found
    assert seen == list(reversed(range(PAGE_SIZE * 2 + 3)))
    assert "page 3 of 3" in coach.get("/coach/audit", params={"number": "999"}, headers=PAGE).text
    assert coach.get("/coach/audit", params={"number": "0"}, headers=PAGE).status_code == 422


def test_of_one_team_and_for_its_heads_only(house: House) -> None:
    other = house.add_team()
    with house.store.write(other.id) as t:
        write_audit(t, "gone", "did a thing", "over there", house.clock())
    assert "over there" not in house.coach().get("/coach/audit", headers=PAGE).text
    assert house.coach(AccountRole.POSITION_COACH).get("/coach/audit", headers=PAGE).status_code == 403
    assert house.player().get("/coach/audit", headers=PAGE).status_code == 403


def test_every_logged_action_can_be_translated() -> None:
    sources = [path.read_text(encoding="utf-8") for path in Path(server.__path__[0]).rglob("*.py")]
    calls = [
        call for text in sources for call in re.findall(r"(?:write_audit|look_up)\(((?:[^()]|\([^()]*\))*)\)", text)
    ]
    noted = {found for call in calls for found in re.findall(r'"([a-z][^"]+)"', call)}
    assert noted
    assert noted - {str(action) for action in ACTIONS} == set()
