"""A call on the field: what each man is told, links over the men, how often it is sound; and whose answers new content
changes."""

from collections.abc import Mapping
from xml.etree import ElementTree as ET

import pytest

from quizgen.content import edits, load_team
from quizgen.content.compare import compare
from quizgen.content.documents import Documents, parse_files, write_files
from quizgen.content.man_rows import choices_of, job_edit, men_of_call, nudged, place_edit
from quizgen.football.errors import FootballValueError
from quizgen.football.sides import Side
from quizgen.football.team import TeamBook
from quizgen.reps.answer_changes import answer_changes
from quizgen.reps.call_field import call_field, count_sound
from quizgen.reps.catalogue import Catalogue
from quizgen.reps.whiteboard import Hold, sound_table
from server.commands.demo import demo_files

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def documents() -> Documents:
    return parse_files(demo_files())


@pytest.fixture(scope="module")
def team() -> TeamBook:
    return load_team(demo_files())


def after(documents: Documents, edit: edits.ContentEdit) -> dict[str, str]:
    files = demo_files()
    return write_files(edit.apply(documents), files, documents)


def test_every_man_is_a_link_from_left_to_right_and_one_is_chosen(team: TeamBook) -> None:
    field = call_field(team, "Moraine", Side.RIGHT, "Open I right", "will")
    svg = ET.fromstring(field.drawn({man.key: f"/x?man={man.key}&a=1" for man in field.men}, "will"))
    links = svg.findall(f".//{SVG}a")
    assert len(links) == 11
    assert [one.get("aria-label") for one in links if one.get("aria-current")] == ["Will"]
    xs = [float(one.find(f"{SVG}rect").get("x")) for one in links]  # type: ignore[union-attr, arg-type]
    assert xs == sorted(xs)
    assert svg.get("role") == "group"


def test_before_the_snap_nothing_moves_and_after_the_blocks_it_does(team: TeamBook) -> None:
    before = call_field(team, "Moraine", Side.RIGHT, "Open I right", "will")
    assert not before.scene.motions
    run = call_field(team, "Moraine", Side.RIGHT, "Open I right", "will", run="Guard kick", run_to=Side.LEFT)
    assert run.scene.motions
    # common practice: the looper goes over the top when the guard pulls away
    assert "over the top" in next(man.told for man in run.men if man.key == "will")


def test_the_count_is_that_of_the_table(team: TeamBook) -> None:
    catalogue = Catalogue(team)
    for side in Side:
        table = list(sound_table(catalogue, "Scree", side))
        count = count_sound(team, "Scree", side)
        assert (count.sound, count.of) == (sum(one.hold is Hold.SOUND for one in table), len(table))


def test_a_man_of_a_call_is_read_as_it_is_written(documents: Documents) -> None:
    men = {one.key: one for one in men_of_call(documents, "moraine")}
    assert len(men) == 11
    assert men["will"].place == {"technique": 20, "side": "away", "depth": 4}
    assert men["will"].is_own_place
    assert men["will"].does == "rush"
    assert men["will"].job == {"gap": "to B", "order": 2, "path": "cross"}
    assert men["sam"].does == "drop"
    assert not men["pick"].is_own_place
    with pytest.raises(FootballValueError, match="call: expected one of"):
        men_of_call(documents, "no-such-call")


def test_a_job_is_written_without_its_defaults_and_takes_the_place_of_the_other(documents: Documents) -> None:
    edit = job_edit(documents, "moraine", "sam", "rush", {"gap": "to D", "order": 1, "path": "straight", "part": "gap"})
    changed = edit.apply(documents)
    row = next(one for one in edits.rows_of(changed, "call") if one["name"] == "Moraine")
    assert {"position": "Sam", "gap": "to D"} in row["rush"]
    assert all(one["position"] != "Sam" for one in row["drop"])


def test_half_a_yard_each_way() -> None:
    place = {"on": "last man", "side": "to", "out": 3, "depth": 5}
    assert nudged(place, "out", 5.0)["out"] == 3.5
    assert nudged(place, "in", 5.0)["out"] == 2.5
    assert nudged(place, "deeper", 5.0)["depth"] == 5.5
    assert nudged({"technique": 3, "side": "to", "depth": 0.5}, "closer", 0.5)["depth"] == 0.5
    assert nudged({"technique": 3, "side": "to"}, "deeper", 0.0)["depth"] == 1.5
    assert nudged({"on": "middle", "depth": 11}, "out", 11.0) == {"on": "middle", "depth": 11}


def test_a_place_is_moved_and_given_back_to_the_front(documents: Documents) -> None:
    moved = place_edit(documents, "moraine", "pick", {"technique": "9", "side": "to"}).apply(documents)
    pick = next(one for one in men_of_call(moved, "moraine") if one.key == "pick")
    assert pick.place == {"technique": 9, "side": "to"}
    assert pick.is_own_place
    back = place_edit(moved, "moraine", "pick", {}).apply(moved)
    assert not next(one for one in men_of_call(back, "moraine") if one.key == "pick").is_own_place


def test_techniques_are_those_of_the_teams_own_numbering(documents: Documents) -> None:
    # source: Bryant 1960, ch. 4, fig. 1, for the order from the inside out
    assert choices_of(documents).techniques[:8] == ("0", "1", "2i", "2", "3", "4i", "4", "5")
    other: Mapping[str, Mapping[str, object]] = {"rules.toml": {"rules": {"numbering": "three a man"}}}
    assert "2i" not in choices_of(other).techniques


def test_only_answers_that_change_are_counted_and_a_renaming_changes_none(documents: Documents, team: TeamBook) -> None:
    before = Catalogue(team)
    other = job_edit(documents, "moraine", "will", "rush", {"gap": "to C", "order": 2, "path": "loop"})
    changes = answer_changes(before, Catalogue(load_team(after(documents, other))), 400)
    [will] = [one for one in changes.changes if one.position == "will"]
    assert (will.was, will.now) == ("left Bay", "left Cedar")
    assert {call for (call, *_), _ in changes.asked} == {"moraine"}
    assert {one.name for one in changes.changes}.isdisjoint(changes.unchanged)
    renamed = edits.rename(documents, "position", "will", "Whip")
    assert answer_changes(before, Catalogue(load_team(after(documents, renamed))), 400).count == 0


def test_versions_are_compared_noun_by_noun(documents: Documents) -> None:
    changed = job_edit(documents, "moraine", "will", "rush", {"gap": "to C"}).apply(documents)
    changed = edits.rename(changed, "front", "granite", "Bedrock").apply(changed)
    changed = edits.add_call(changed, "Harrow", "moraine").apply(changed)
    changed = edits.set_word(changed, "A", "Alder").apply(changed)
    found = {(one.noun, one.name): one for one in compare(documents, changed)}
    assert found["call", "Moraine"].parts == ("rush (Will)",)  # that its front is called otherwise is no change of it
    assert (found["front", "Bedrock"].how, found["front", "Bedrock"].was) == ("renamed", "Granite")
    assert found["call", "Harrow"].how == "added"
    assert found["rules.toml", "rules"].parts == ("words",)
    assert compare(documents, documents) == ()
    assert {one.how for one in compare(changed, documents)} == {"changed", "renamed", "removed"}


def test_a_renamed_position_changes_no_call(documents: Documents) -> None:
    renamed = edits.rename(documents, "position", "will", "Whip").apply(documents)
    assert [(one.noun, one.how) for one in compare(documents, renamed) if one.noun == "call"] == []


def test_an_older_content_comes_back_but_for_the_last_day(documents: Documents) -> None:
    then = {**documents, "team.toml": {**documents["team.toml"], "season_end": "2020-01-01", "name": "Old name"}}
    back = edits.replace_all(documents, then).apply(documents)
    assert back["team.toml"]["name"] == "Old name"
    assert back["team.toml"].get("season_end") == documents["team.toml"].get("season_end")
