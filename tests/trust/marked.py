"""Teams with rows in every table, and a marker written into all of a team's texts, so that leaks show.

Ids stay unmarked, and so do words that the server compares or that people sign in with: marking those would break the
team itself.
"""

import re
from typing import Any

from sqlalchemy import JSON, Column, Table, Text, func, select, update
from sqlmodel import AutoString

from server.app import make_app
from server.database.device_table import KnownDevice
from server.database.draft_tables import DraftEdit
from server.database.invite_table import TeamInvite
from server.database.tables import TABLES, AccountRole, Team
from tests.harness.fake_football import FakeFootball
from tests.harness.house import PAGE, House, TestClient, answer_url, chosen
from tests.opponents.test_play_list import fields, send, upload

MARKER = "zqx-planted-marker"
KEPT = {"role", "time_zone", "secret_hash", "token_hash", "season_end", "content_hash", "join_code", "side", "stretch"}
KEPT |= {"call", "position", "kind", "sign_in_name", "picture", "guise", "formation", "to", "play", "play_to", "path"}
KEPT |= {"state", "reason", "asked_by", "phase", "purpose", "due", "subject", "state_before", "state_after"}
#: Keys of texts for people inside a row's lists and dicts.
SAID = {"prompt", "label", "leaves"}
#: Queries that a page requires.
QUERIES = {
    "/coach/call": "?name=Hammer",
    "/coach/call/questions.zip": "?name=Hammer",
    "/coach/defense/sound": "?call=Hammer",
    "/coach/defense/mend": "?call=Hammer&against={opponent_id}",
    "/coach/sheets/walk-through": "?call=Hammer",
    "/coach/sheets/scout-cards": "?call=Hammer",
}
DAY = {"name": "Runs", "weekday": "1", "due": "15:30", "stages": ["2"], "sides": ["left"], "length": "8"}


def owner_of(table: Table) -> Column[Any]:
    return table.c.id if table.name == "team" else table.c.team_id


def fill(house: House, team: Team) -> dict[str, str]:
    """Rows of a team in every table, most made through its pages; returns the values for its addresses."""
    set_id, phone, coach = house.send_set(team=team, hours=24 * 19), house.player(team=team), house.coach(team=team)
    rep_id = house.open_set(phone, set_id)[0]["rep_id"]
    put = phone.put(answer_url(set_id, "a" * 24), json={"rep_id": rep_id, "chosen": chosen(rep_id, "a")})
    assert put.status_code == 201
    opponent = coach.post("/coach/opponents", data={"name": "Oakdale"}, headers=PAGE).url.path
    form = fields(upload(coach, f"{opponent}/import", b"Play,Count,Form\nZone Rt,5,Trips Rt\nTear,2,\n").text)
    form["meant"] = ["zone", "+"]
    send(coach, f"{opponent}/import/store", form | {"way": "add"})
    form["meant"] = ["zone", ""]
    send(coach, f"{opponent}/import/map", form)
    assert coach.post("/coach/opponents/next", data={"opponent": last(opponent)}, headers=PAGE).is_success
    lack = {"call": "Hammer", "against": last(opponent), "play": "zone", "at": "away", "why": "we live with it"}
    assert coach.post("/coach/defense/accepted", data=lack, headers=PAGE).is_success
    snaps = {"call": "Hammer", "snaps": ["Hammer-left-moved-gap", "Hammer-right-pull-read"]}
    room = coach.post("/coach/room", data=snaps, headers=PAGE).url.path
    assert coach.post(room, data={"action": "fits", "place": 1}, headers=PAGE).is_success
    assert coach.post("/coach/days", data=DAY, headers=PAGE).is_success
    assert coach.post("/coach/erasing", data={"typed": team.name}, headers=PAGE).is_success
    wrong = house.client().post(f"/team/{team.join_code}", data={"number": "71", "pin": "000000"}, headers=PAGE)
    assert wrong.status_code == 401
    removed = house.member(71, team)
    assert coach.post(f"/coach/roster/{removed.id}/remove", headers=PAGE).is_success
    edit = {"kind": "word", "about": ["A"], "changes": []}
    with house.store.write(team.id) as t:
        t.add(DraftEdit(team_id=team.id, number=1, coach_id="", edit=edit, made_at=house.clock()))
        at = house.clock()
        known = house.member(54, team).id
        t.add(KnownDevice(team_id=team.id, key_hash="0" * 64, member_id=known, seen_at=at))
        t.add(TeamInvite(team_id=team.id, token_hash="0" * 64, made_at=at, expires_at=at, used_at=at))
    lacking = [name for name, count in row_counts(house, team).items() if not count]
    assert lacking == [], f"tables without a row of the team: {lacking}"
    with house.store.read(team.id) as t:
        rows = {table.__tablename__: t.rows(table) for table in TABLES if table is not Team}
    coach_id = next(m.id for m in rows["member"] if m.role == "coach")
    return {
        "set_id": set_id,
        "rep_id": rep_id,
        "answer_id": "a" * 24,
        "player_id": house.member(54, team).id,
        "place": "1",
        "opponent_id": last(opponent),
        "room_id": last(room),
        "day_id": rows["practice_day"][0].id,
        "coach_id": coach_id,
        "accepted_id": rows["acceptance"][0].id,
        "name": "team.toml",
    }


def last(path: str) -> str:
    return path.rsplit("/", 1)[1]


def row_counts(house: House, team: Team) -> dict[str, int]:
    """The number of a team's rows in each table."""
    with house.store.engine.connect() as connection:
        tables = [one.__table__ for one in TABLES]  # type: ignore[attr-defined]
        counted = {t.name: select(func.count()).select_from(t).where(owner_of(t) == team.id) for t in tables}
        return {name: connection.scalar(query) or 0 for name, query in counted.items()}


def plant(house: House, team: Team) -> set[tuple[str, str]]:
    """Write the marker into all texts of the team except the kept ones; return table and column of each."""
    planted = set()
    with house.store.writing() as connection:
        for table in (one.__table__ for one in TABLES):  # type: ignore[attr-defined]
            for column in table.columns:
                if column.name in KEPT or column.name.endswith("_id") or column.primary_key:
                    continue
                if table.name == "content_file":
                    planted.add((table.name, column.name))
                    marked: Any = f"# {MARKER}\n" + column
                    connection.execute(update(table).where(owner_of(table) == team.id).values({column.name: marked}))
                elif isinstance(column.type, AutoString | Text):
                    planted.add((table.name, column.name))
                    connection.execute(
                        update(table).where(owner_of(table) == team.id).values({column.name: MARKER + column})
                    )
                elif isinstance(column.type, JSON) and plant_within(connection, table, column, team):
                    planted.add((table.name, column.name))
    return planted


def plant_within(connection: Any, table: Table, column: Column[Any], team: Team) -> bool:
    """Write it into the texts for people in a column of lists and dicts; return whether there are any."""
    keys = list(table.primary_key.columns)
    found = False
    for *key, value in connection.execute(select(*keys, column).where(owner_of(table) == team.id)).all():
        marked = [[MARKER + play, *run] for play, *run in value] if column.name == "runs" else said_marked(value)
        if marked != value:
            found = True
            here = [one == part for one, part in zip(keys, key, strict=True)]
            connection.execute(update(table).where(*here).values({column.name: marked}))
    return found


def said_marked(value: Any) -> Any:
    """A value with the marker in front of its texts for people."""
    if isinstance(value, list):
        return [said_marked(one) for one in value]
    if isinstance(value, dict):
        return {k: MARKER + v if k in SAID and isinstance(v, str) else said_marked(v) for k, v in value.items()}
    return value


def addresses(pattern: str, ids: dict[str, str], code: str) -> list[str]:
    """A route's addresses with these ids. A parameter that is unknown here, as of a new route, is tried with every
    id."""
    unknown = set(re.findall(r"{(\w+)}", pattern)) - {*ids, "code"}
    values = ids.values() if unknown else ("",)
    return [pattern.format(**ids, code=code, **dict.fromkeys(unknown, value)) for value in values]


def devices_of(house: House, team: Team) -> dict[AccountRole, TestClient]:
    """A device for each role of a team, and one without a session."""
    coaches = {
        role: house.coach(role, team) for role in (AccountRole.OWNER, AccountRole.COACH, AccountRole.POSITION_COACH)
    }
    return {**coaches, AccountRole.PLAYER: house.player(team=team), AccountRole.NOBODY: house.client()}


def forget(house: House) -> None:
    """Restart the server, so that its memory holds nothing from before the marking. Sessions stay."""
    house.app = make_app(house.settings, store=house.store, football=FakeFootball(), now=house.clock)
