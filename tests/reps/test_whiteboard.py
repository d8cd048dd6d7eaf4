"""A coach's own defense: a snap drawn, a call held against every run, and what an edit does to that."""

from xml.etree import ElementTree as ET

import pytest

from quizgen.content import load_team
from quizgen.drawing.svg import draw
from quizgen.football.errors import CannotRun, UnknownName
from quizgen.football.sides import Side
from quizgen.reps.catalogue import Catalogue
from quizgen.reps.whiteboard import Hold, change, look, sound_table
from server.commands.demo import demo_files

LOOP = 'position = "Will", gap = "to B", order = 2, path = "cross"'


@pytest.fixture(scope="module")
def demo() -> Catalogue:
    return Catalogue(load_team(demo_files()))


def test_a_snap_names_every_man_with_the_owners_in_front(demo: Catalogue) -> None:
    found = look(demo, "Moraine", Side.LEFT, "Open I right", "Guard kick", Side.RIGHT, "Will")
    assert found.hold is Hold.SOUND
    assert len(found.men) == 11
    assert [bool(man.lane) for man in found.men] == sorted((bool(man.lane) for man in found.men), reverse=True)
    # common practice: the looper goes over the top when the guard pulls away, and fits inside the kick
    [will] = [man for man in found.men if man.position == "Will"]
    assert will.lane == "right Cedar inside the kick"
    assert "over the top" in will.told
    assert [one.label for one in found.scene.defenders if one.is_own] == ["W"]
    ET.fromstring(draw(found.scene, at_s=found.scene.end_s))


def test_a_pass_says_who_has_whom(demo: Catalogue) -> None:
    play = demo.team.protections[0].name
    found = look(demo, "Moraine", Side.LEFT, "Open I right", play, Side.RIGHT)
    assert found.hold is None
    assert len(found.men) == 6
    assert all(man.told.endswith(".") for man in found.men)


def test_what_the_team_does_not_have_or_cannot_run_is_said(demo: Catalogue) -> None:
    with pytest.raises(UnknownName, match="call: expected one of"):
        look(demo, "Nothing", Side.LEFT, "Open I right", "Guard kick", Side.RIGHT)
    with pytest.raises(UnknownName, match="position: expected one of"):
        look(demo, "Moraine", Side.LEFT, "Open I right", "Guard kick", Side.RIGHT, "Jack")
    # the table leaves out exactly what can't be run, so what it lacks is what is refused
    can = {(one.formation, one.play) for one in sound_table(demo, "Moraine", Side.LEFT)}
    pairs = [(f.name, s.name) for f in demo.team.formations for s in demo.team.schemes]
    formation, play = next(pair for pair in pairs if pair not in can)
    with pytest.raises(CannotRun, match="has no man for one of its jobs"):
        look(demo, "Moraine", Side.LEFT, formation, play, Side.RIGHT)


def test_the_table_says_what_each_snap_says(demo: Catalogue) -> None:
    held = list(sound_table(demo, "Moraine", Side.RIGHT))
    assert len({(one.formation, one.play, one.play_to) for one in held}) == len(held)
    assert {one.hold for one in held} >= {Hold.SOUND, Hold.OPEN}
    for one in held[::97]:
        found = look(demo, one.call, one.to, one.formation, one.play, one.play_to)
        assert (found.hold, found.lanes) == (one.hold, one.lanes)
        assert bool(one.lanes) is (one.hold is not Hold.SOUND)


def test_an_edit_touches_what_it_is_about_and_nothing_else(demo: Catalogue) -> None:
    files = demo_files()
    assert LOOP in files["pressures.toml"]
    same = change(demo, Catalogue(load_team(files)), 100)
    assert (same.touched, same.looked_at, same.worse) == (0, 0, ())
    # Will on Mike's heels into the same A: the call-side B is nobody's
    bad = {**files, "pressures.toml": files["pressures.toml"].replace(LOOP, LOOP.replace("to B", "to A"), 1)}
    found = change(demo, Catalogue(load_team(bad)), 10_000)
    # where it is checked to Varve nothing changes
    played = [setup.played.pressure.name for setup in demo.setups.values()]
    assert found.touched == played.count("Moraine")
    assert found.sound_after < found.sound_before
    assert {one.call for one in found.worse} == {"Moraine"}
    assert change(demo, Catalogue(load_team(bad)), 10).looked_at == 10
