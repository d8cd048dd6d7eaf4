"""The board: filtered by side, weighted by the opponent, requested with a tag, the same from every process."""

import re
import tomllib
from datetime import UTC, datetime, timedelta

import pytest

from server.accounts.credentials import make_id
from server.accounts.sessions import end_sessions
from server.app import make_app
from server.commands.demo import demo_files
from server.database.tables import AccountRole, Member, Opponent
from server.mastery.judging import tally_of
from server.mastery.readout import Estimate
from server.mastery.values import State, TeamSettings
from server.playbook.engine import Engine
from server.progress.answer_counts import likely_range, monday
from tests.harness.fake_football import FakeFootball, FakeTeam
from tests.harness.house import PAGE, PASSPHRASE, House, TestClient
from tests.progress.test_confusions import plant

LEFT, RIGHT = "hammer-mike-track-left-pro", "hammer-mike-track-right-pro"


def one_sided(house: House) -> None:
    """54 is right on the left 24 times on twelve days and was never asked on the right; 33 answered nothing."""
    for day in range(12):
        house.clock.move(days=min(day, 1))
        plant(house, 54, [(LEFT, "b")] * 2)


def cell_of(page: str, member: Member, call: str = "Hammer") -> str:
    """The text of a player's cell, without tags."""
    found = re.search(
        rf'<a class="cell cell-\w+" href="/coach/players/{member.id}\?call={call}"[^>]*>(.*?)</a>', page, re.S
    )
    return re.sub(r"<[^>]+>", "", found[1]) if found else ""


def test_a_side_is_counted_and_judged_by_itself(house: House) -> None:
    one_sided(house)
    coach, dale = house.coach(), house.member(54)
    both = cell_of(coach.get("/coach/board?stage=1", headers=PAGE).text, dale)
    left = cell_of(coach.get("/coach/board?stage=1&side=left", headers=PAGE).text, dale)
    right = cell_of(coach.get("/coach/board?stage=1&side=right", headers=PAGE).text, dale)
    assert (both, left, right) == ("not proven24 of 24", "knows it24 of 24", "")


def test_one_open_side_is_named_beside_the_board(house: House) -> None:
    one_sided(house)
    page = house.coach().get("/coach/board?call=Hammer", headers=PAGE).text
    beside = page[page.index("Not there yet") :]
    assert "24 of 24 right, but nothing to our right yet" in beside


def test_how_many_of_a_group_know_it(house: House) -> None:
    one_sided(house)
    page = house.coach().get("/coach/board?side=left&stage=1&call=Hammer", headers=PAGE).text
    assert re.findall(r"(\d of \d)<span class=\"unseen\"> know it", page) == ["1 of 2", "0 of 1"]


class WithoutAWill(FakeFootball):
    """A team whose second call has no Will on the field."""

    def men(self, team: FakeTeam) -> dict[str, frozenset[str]]:
        return super().men(team) | {"Anvil": frozenset({"Mike", "Nose"})}


def test_players_without_a_job_in_a_call_are_not_counted_on_it(house: House) -> None:
    house.app = make_app(house.settings, store=house.store, football=WithoutAWill(), now=house.clock)
    with house.store.write(house.team.id) as t:
        rory = next(m for m in t.rows(Member) if m.number == 33)
        rory.positions = ["Will"]
        t.add(rory)
    coach = house.coach()
    for call, expected in (("Hammer", "3 of 3 players"), ("Anvil", "2 of 2 players")):
        page = coach.get(f"/coach/board?call={call}", headers=PAGE).text
        assert expected in page
        assert (rory.id in page[page.index("Not there yet") :]) is (call == "Hammer")
    assert page.count("no job in this call") == 1
    assert re.findall(r"(\d of \d)<span class=\"unseen\"> know it", page) == ["0 of 1", "0 of 2", "0 of 1", "0 of 1"]
    assert "2 players" in coach.get("/coach/call?name=Anvil", headers=PAGE).text
    everybody = {"positions": ["Mike", "Will", "Nose"]}
    assert "Send to 2 players" in coach.get("/coach/assign?call=Anvil", headers=PAGE).text
    set_id = house.send_set(call="Anvil", **everybody)
    assert "it is for 2 players" in coach.get(f"/coach/sets/{set_id}", headers=PAGE).text
    assert set_id not in house.player(33).get("/home", headers=PAGE).text


def test_the_men_of_a_call_are_those_who_rush_or_drop_in_it() -> None:
    """Compared with the calls' own files, read by the standard library; the server goes by the front."""
    files = demo_files()
    calls = tomllib.loads(files["pressures.toml"])["pressure"]
    expected = {
        call["name"].lower(): {line["position"].lower().replace(" ", "-") for line in [*call["rush"], *call["drop"]]}
        for call in calls
    }
    assert Engine().men(Engine().load_team(files)) == expected


def test_assigning_to_those_not_there_yet_takes_them_stage_and_side_along(house: House) -> None:
    one_sided(house)
    page = house.coach().get("/coach/board?call=Hammer&side=right&stage=1&group=backers", headers=PAGE).text
    link = re.search(r'href="(/coach/assign\?[^"]+)">Assign to these 2<', page)
    assert link is not None
    told = link[1].replace("&amp;", "&")
    assert {house.member(54).id, house.member(33).id} == set(re.findall(r"players=([^&]+)", told))
    assert "stages=1" in told
    assert "sides=right" in told
    assert house.coach().get(told, headers=PAGE).status_code == 200


def test_what_to_rep_next_is_assigned_by_one_tap_and_a_second_tap_finds_it(house: House) -> None:
    for number in (54, 33):
        plant(house, number, [(LEFT, "a"), (RIGHT, "b")] * 2)
    page = house.coach().get("/coach/board", headers=PAGE).text
    strip = page[page.index('id="rep-next"') : page.index("</section>")]
    form = {name: re.findall(rf'name="{name}" value="([^"]*)"', strip) for name in ("call", "side", "players")}
    form |= {"call": form["call"][0], "side": form["side"][0]}
    assert "asked are not there" in strip
    coach = house.coach()
    sent = [coach.post("/coach/rep-next", data=form, headers=PAGE).url.path for _ in range(2)]
    assert sent[0] == sent[1]
    assert sent[0].startswith("/coach/sets/")
    assert set(form["players"]) == {house.member(54).id, house.member(33).id}
    assert "Hammer" in house.player(33).get("/home", headers=PAGE).text
    after = coach.get("/coach/board", headers=PAGE).text
    for player in (54, 33):  # they have it to do: the board does not ask for it again
        assert f'name="players" value="{house.member(player).id}"' not in after
    house.clock.move(days=9)  # past due: they are not there yet
    coach = house.coach()
    assert f'name="players" value="{house.member(54).id}"' in coach.get("/coach/board", headers=PAGE).text
    assert coach.post("/coach/rep-next", data=form | {"players": ["nobody"]}, headers=PAGE).status_code == 422


def test_an_unknown_side_is_refused(house: House) -> None:
    assert house.coach().get("/coach/board?side=middle", headers=PAGE).status_code in (400, 422)


def test_it_names_the_opponent_of_the_weights(house: House) -> None:
    coach = house.coach()
    assert "Weighted by the usual mix" in coach.get("/coach/board", headers=PAGE).text
    with house.store.write(house.team.id) as t:
        t.add(
            Opponent(
                team_id=t.team_id, id=make_id(), key="c", name="Cedar Falls", runs=[("zone", "", "", 30.0)],
                stage_counts={"2": 30.0}, is_next=True, changed_at=house.clock(),
            )
        )  # fmt: skip
    for path in ("/coach/board", "/coach/call?name=Hammer", f"/coach/players/{house.member(54).id}"):
        assert "Weighted by what Cedar Falls runs" in coach.get(path, headers=PAGE).text


@pytest.mark.parametrize("path", ["/coach/board", "/coach/call?name=Hammer"])
def test_a_page_is_rendered_again_only_after_a_change(house: House, path: str) -> None:
    one_sided(house)
    coach = house.coach()
    first = coach.get(path, headers=PAGE)
    asked = PAGE | {"if-none-match": first.headers["etag"]}
    assert f'data-tag="{first.headers["etag"].strip(chr(34))}"' in first.text
    again = coach.get(path, headers=asked)
    assert (again.status_code, again.content) == (304, b"")
    plant(house, 33, [(LEFT, "b")])
    changed = coach.get(path, headers=asked)
    assert changed.status_code == 200
    assert changed.headers["etag"] != first.headers["etag"]
    house.clock.move(hours=1)
    assert coach.get(path, headers=PAGE | {"if-none-match": changed.headers["etag"]}).status_code == 200


def test_a_tag_is_of_one_viewer_one_view_and_one_roster(house: House) -> None:
    one_sided(house)
    owner, line = house.coach(), house.coach(AccountRole.POSITION_COACH)
    tag = owner.get("/coach/board", headers=PAGE).headers["etag"]
    asked = PAGE | {"if-none-match": tag}
    assert line.get("/coach/board", headers=asked).status_code == 200
    assert owner.get("/coach/board?side=left", headers=asked).status_code == 200
    with house.store.write(house.team.id) as t:
        member = t.get(Member, house.member(33).id)
        member.name = "Rex"
        t.add(member)
    assert "Rex" in owner.get("/coach/board", headers=asked).text


def test_a_set_is_asked_again_with_a_tag_too(house: House) -> None:
    set_id, coach = house.send_set(), house.coach()
    first = coach.get(f"/coach/sets/{set_id}", headers=PAGE)
    asked = PAGE | {"if-none-match": first.headers["etag"]}
    assert coach.get(f"/coach/sets/{set_id}", headers=asked).status_code == 304
    house.open_set(house.player(), set_id)
    assert coach.get(f"/coach/sets/{set_id}", headers=asked).status_code == 200


def test_another_process_gives_the_same_board_whatever_it_saw_before(house: House) -> None:
    plant(house, 54, [(LEFT, "b"), (RIGHT, "a")])
    coach = house.coach()
    coach.get("/coach/board", headers=PAGE)  # this process adds what follows to its state
    plant(house, 54, [(RIGHT, "b")] * 4 + [(LEFT, "b")] * 3)
    plant(house, 33, [(LEFT, "a")] * 3)
    other = TestClient(make_app(house.settings, store=house.store, football=FakeFootball(), now=house.clock))
    form = {"team": house.team.id, "name": "owner", "passphrase": PASSPHRASE}
    other.headers["origin"] = "http://testserver"
    other.post("/coach/sign-in", data=form, headers=PAGE)
    for path in ("/coach/board", "/coach/board?side=left&stage=1", "/coach/call?name=Hammer"):
        pages = [one.get(path, headers=PAGE) for one in (coach, other)]
        assert pages[0].headers["etag"] == pages[1].headers["etag"]
        assert pages[0].text == pages[1].text


def test_a_board_without_players_says_where_to_put_some(house: House) -> None:
    with house.store.write(house.team.id) as t:
        for member in t.rows(Member):
            if member.role == AccountRole.PLAYER:
                member.removed_at = house.clock()
                end_sessions(t, member.id)
                t.add(member)
    page = house.coach().get("/coach/board", headers=PAGE)
    assert page.status_code == 200
    assert "Put players on the roster" in page.text


def test_the_players_page_says_how_sure_and_why(house: House) -> None:
    one_sided(house)
    plant(house, 54, [(RIGHT, "a"), (RIGHT, "c")])
    page = house.coach().get(f"/coach/players/{house.member(54).id}?call=Hammer", headers=PAGE).text
    assert "From 26 answers on it" in page
    assert "One side of this call against the other" in page
    assert "His 2 wrong reps" in page
    assert "What his answer leads to" in page
    assert "The right picture" in page
    assert f"{RIGHT}, tapped a" in page
    assert re.search(r"24 of 24</span>\s*<span class=\"stage-name\">last 12 Sep", page)
    assert page.index('id="missed"') < page.index('id="calls"') < page.index("what the state rests on")
    why = re.search(r'<strong>Hammer</strong><span class="word">([^<]+)</span><span class="why">([^<]+)</span>', page)
    assert why
    assert why.groups() == ("not proven", "24 of 26 right, but missed the last one to our right")


def test_the_players_page_says_what_his_misses_have_in_common(house: House) -> None:
    plant(house, 54, [(LEFT, "b"), (LEFT, "a")])
    coach, dale = house.coach(), house.member(54)
    assert 'class="pattern-line"' not in coach.get(f"/coach/players/{dale.id}", headers=PAGE).text
    plant(house, 54, [(LEFT, "a")])
    page = coach.get(f"/coach/players/{dale.id}", headers=PAGE).text
    assert "2 of his last 2 misses are one thing: where he enters, one gap in." in page
    assert "Not asked: Anvil." in re.sub(r"\s+", " ", page)


def test_a_range_never_leaves_the_scale_and_holds_four_of_five() -> None:
    """source: 80 % of a normal distribution lie within 1.2816 standard deviations (NIST handbook, table of the normal
    distribution; from memory)."""
    tally = tally_of(None, (None, None), TeamSettings())

    def of(chance: float, sd: float) -> tuple[int, int, int]:
        found = likely_range(Estimate("p", "c", None, None, State.NOT_PROVEN, 0.5, chance, sd, tally, ()))
        return found.low, found.likely, found.high

    assert of(0.5, 0.1) == (37, 50, 63)
    assert of(0.95, 0.2) == (69, 95, 100)
    assert of(0.02, 0.1) == (0, 2, 15)


def test_weeks_begin_on_monday() -> None:
    sunday = datetime(2026, 11, 8, tzinfo=UTC).date()
    assert monday(sunday) == sunday - timedelta(days=6)
    assert monday(sunday + timedelta(days=1)) == sunday + timedelta(days=1)


def test_renaming_a_player_changes_the_sets_page(house: House) -> None:
    coach, path = house.coach(), f"/coach/sets/{house.send_set()}"
    asked = PAGE | {"if-none-match": coach.get(path, headers=PAGE).headers["etag"]}
    assert coach.get(path, headers=asked).status_code == 304
    with house.store.write(house.team.id) as t:
        dale = t.get(Member, house.member().id)
        dale.name = "Bo"
        t.add(dale)
    changed = coach.get(path, headers=asked)
    assert (changed.status_code, "#54 Bo" in changed.text) == (200, True)
