"""Days of practice: stored, suggested, and due by the team's own clock, daylight saving time included."""

import re
from datetime import UTC, datetime

import pytest

from server.database.tables import AccountRole, Assignment, Opponent, PracticeDay
from server.sets.practice_days import MAX_DAYS, SUGGESTIONS, next_due
from tests.harness.house import PAGE, House

CHICAGO, PHOENIX = "America/Chicago", "America/Phoenix"


def day(**fields: object) -> dict:
    """A valid day."""
    whole = {"name": "Tuesday runs", "weekday": "1", "due": "15:30", "stages": ["2"], "sides": ["left", "right"]}
    return whole | {"length": "6"} | fields


def days(house: House) -> list[PracticeDay]:
    with house.store.read(house.team.id) as t:
        return t.rows(PracticeDay)


def at(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=UTC)


# source: the rules of daylight saving time in the United States since the Energy Policy Act of 2005 (second Sunday of
# March to first Sunday of November, at 2 a.m.; Arizona keeps standard time), worked out by hand: Central time is five
# hours behind UTC in summer and six in winter, Phoenix seven always. The calendar of 2026: 1 November and 8 March are
# Sundays.
DUE = [
    # weekday, time, zone, now, expected, both in UTC
    (2, "15:30", CHICAGO, "2026-09-01T20:00", "2026-09-02T20:30"),  # Tuesday afternoon; due Wednesday
    (1, "16:00", CHICAGO, "2026-09-01T20:00", "2026-09-01T21:00"),  # later the same day
    (1, "15:00", CHICAGO, "2026-09-01T20:00", "2026-09-08T20:00"),  # this minute doesn't count: a week later
    (1, "14:00", CHICAGO, "2026-09-01T20:00", "2026-09-08T19:00"),  # past
    (0, "07:00", CHICAGO, "2026-10-31T12:00", "2026-11-02T13:00"),  # across the end of summer time: seven local time
    (0, "07:00", CHICAGO, "2026-03-07T13:00", "2026-03-09T12:00"),  # across its start
    (0, "07:00", PHOENIX, "2026-03-07T13:00", "2026-03-09T14:00"),
    (2, "21:00", CHICAGO, "2026-09-03T01:00", "2026-09-03T02:00"),  # Wednesday evening there is Thursday in UTC
]


@pytest.mark.parametrize(("weekday", "due", "zone", "now", "expected"), DUE)
def test_when_a_day_is_next(weekday: int, due: str, zone: str, now: str, expected: str) -> None:
    found = next_due(weekday, due, zone, at(now))
    assert found.astimezone(UTC) == at(expected)
    assert found.strftime("%H:%M") == due
    assert found.weekday() == weekday


def test_one_click_on_a_day_fills_the_form_in(house: House) -> None:
    coach = house.coach()
    coach.post("/coach/days", data=day(stages=["1", "3"], sides=["right"], weekday="3"), headers=PAGE)
    [row] = days(house)
    page = coach.get(
        f"/coach/assign?is_filled=1&call=Anvil&positions=Will&stages=2&sides=left&length=9&day={row.id}", headers=PAGE
    ).text
    assert "Filled in as for Tuesday runs." in page
    assert 'value="2026-09-03T15:30"' in page  # the Thursday after Tuesday 1 September
    assert 'value="6"' in page
    assert re.findall(r'name="(?:stages|sides|positions)" value="(\w+)" checked', page) == ["Will", "1", "3", "right"]
    assert '<option value="Anvil" selected>Anvil' in page
    coach.post("/coach/days", data=day(name="Thursday check", weekday="3", purpose="check", length=""), headers=PAGE)
    check = next(row for row in days(house) if row.name == "Thursday check")
    page = coach.get(f"/coach/assign?day={check.id}", headers=PAGE).text
    assert 'value="check" checked' in page
    assert "Thursday check</button>" in page


def test_a_day_from_its_page_can_be_sent_as_it_is(house: House) -> None:
    coach = house.coach()
    coach.post("/coach/days", data=day(), headers=PAGE)
    [row] = days(house)
    page = coach.get(f"/coach/assign?call=Hammer&day={row.id}", headers=PAGE).text
    fields = {
        name: re.findall(rf'name="{name}" value="([^"]+)" checked', page)
        for name in ("positions", "stages", "sides", "purpose")
    }
    fields["due"] = re.search(r'name="due" type="datetime-local" value="([^"]+)"', page)[1]
    sent = coach.post("/coach/sets", data={"call": "Hammer", "length": "6", **fields}, headers=PAGE)
    with house.store.read(house.team.id) as t:
        one = t.get(Assignment, sent.url.path.rsplit("/", 1)[1])
    assert (one.stages, one.length, one.purpose) == ([2], 6, "reps")
    assert one.due_at == at("2026-09-01T20:30")  # it is three on a Tuesday afternoon there


def test_a_day_decides_about_weighting(house: House) -> None:
    coach = house.coach()
    with house.store.write(house.team.id) as t:
        t.add(Opponent(team_id=t.team_id, id="o", key="o", name="Oak Ridge", is_next=True, changed_at=house.clock()))
        opponent = t.get(Opponent, "o")
        opponent.runs, opponent.stage_counts = [("zone", "", "", 30.0)], {"2": 30.0}
        t.add(opponent)
    for name, is_weighted in (("Plain", ""), ("By the opponent", "1")):
        coach.post("/coach/days", data=day(name=name, is_weighted=is_weighted), headers=PAGE)
    for row in days(house):
        page = coach.get(f"/coach/assign?day={row.id}", headers=PAGE).text
        assert ('name="is_weighted" value="1" checked' in page) == (row.name != "Plain")


def test_add_change_delete(house: House) -> None:
    coach = house.coach()
    assert "None yet." in coach.get("/coach/days", headers=PAGE).text
    coach.post("/coach/days", data=day(), headers=PAGE)
    [row] = days(house)
    coach.post("/coach/days", data=day(id=row.id, name="Runs", weekday="2", is_weighted="1"), headers=PAGE)
    [row] = days(house)
    assert (row.name, row.weekday, row.due, row.is_weighted) == ("Runs", 2, "15:30", True)
    assert coach.post("/coach/days/nothing/delete", headers=PAGE).status_code == 404
    assert coach.post("/coach/days", data=day(id="nothing"), headers=PAGE).status_code == 404
    coach.post(f"/coach/days/{row.id}/delete", headers=PAGE)
    assert days(house) == []
    assert coach.get(f"/coach/assign?day={row.id}", headers=PAGE).status_code == 404


def test_each_suggestion_is_taken_with_one_click_and_then_no_longer_suggested(house: House) -> None:
    coach = house.coach()
    for key, one in SUGGESTIONS.items():
        assert f'value="{key}"' in coach.get("/coach/days", headers=PAGE).text
        page = coach.post("/coach/days/suggested", data={"key": key}, headers=PAGE).text
        assert f'name="key" value="{key}"' not in page
        assert one.name in page
    assert [row.weekday for row in sorted(days(house), key=lambda row: row.weekday)] == [0, 1, 2, 3]
    check = next(row for row in days(house) if row.purpose == "check")
    assert check.is_weighted
    assert coach.post("/coach/days/suggested", data={"key": "sunday"}, headers=PAGE).status_code == 422


def test_a_suggestion_is_named_in_the_language_of_the_page(house: House) -> None:
    coach = house.coach()
    coach.cookies.set("lang", "es")
    coach.post("/coach/days/suggested", data={"key": "runs"}, headers=PAGE)
    [row] = days(house)
    assert row.name != SUGGESTIONS["runs"].name
    assert "Tuesday" not in row.name


@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        ({"name": "  "}, "name: expected 1 to 60 characters, found 0"),
        ({"name": "x" * 61}, "name: expected 1 to 60 characters, found 61"),
        ({"weekday": "7"}, "day: expected one of the seven days"),
        ({"due": "25:00"}, "time: expected a time such as 15:30"),
        ({"due": "noon"}, "time: expected a time such as 15:30"),
        ({"stages": []}, "stages: expected at least one"),
        ({"stages": ["9"]}, "stages: expected one of"),
        ({"sides": []}, "sides: expected at least one"),
        ({"length": "0"}, "length: expected 1 to 20 reps"),
        ({"purpose": "practice"}, "purpose: expected one of reps, check"),
    ],
)
def test_problems_show_on_the_form_and_nothing_typed_is_lost(house: House, wrong: dict, message: str) -> None:
    page = house.coach().post("/coach/days", data=day(name="My day", weekday="5", length="13") | wrong, headers=PAGE)
    assert page.status_code == 422
    assert message in page.text
    if "name" not in wrong:
        assert 'value="My day"' in page.text
    if "weekday" not in wrong:
        assert 'value="5" selected' in page.text
    if "length" not in wrong:
        assert 'value="13"' in page.text
    assert days(house) == []


def test_the_number_of_days_is_limited(house: House) -> None:
    coach = house.coach()
    for _ in range(MAX_DAYS):
        assert coach.post("/coach/days", data=day(), headers=PAGE).status_code == 200
    assert "at most 20" in coach.post("/coach/days", data=day(), headers=PAGE).text
    assert len(days(house)) == MAX_DAYS


def test_a_position_coach_uses_the_days_and_leaves_them_alone(house: House) -> None:
    house.coach().post("/coach/days", data=day(), headers=PAGE)
    [row] = days(house)
    coach = house.coach(AccountRole.POSITION_COACH)
    page = coach.get("/coach/days", headers=PAGE).text
    assert "Tuesday runs" in page
    assert "Add a day" not in page
    assert coach.post("/coach/days", data=day(), headers=PAGE).status_code == 403
    assert coach.get(f"/coach/assign?day={row.id}", headers=PAGE).status_code == 200
    other = house.coach(team=house.add_team())
    assert other.get(f"/coach/assign?day={row.id}", headers=PAGE).status_code == 404
    assert other.post(f"/coach/days/{row.id}/delete", headers=PAGE).status_code == 404
