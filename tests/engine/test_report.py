"""Answers as plain values: every key of the stable interface with a value worked by hand."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from quizgen.engine.protection import solve_pass
from quizgen.engine.report import (
    check_situations,
    crossing_warnings,
    fit_report,
    pass_report,
    row_values,
    situations,
)
from quizgen.football.calling import call_sides
from quizgen.football.defense import Alignment, Landmark, PlayerClass, Shade
from quizgen.football.errors import NoRule, UnknownName
from quizgen.football.pressure import RunJob
from quizgen.football.rules import EdgeRule, OptionRule, TeamRules
from quizgen.football.scheme import Phase, Protection, ReadMan, Slide, parse_who
from quizgen.football.sides import Side, Toward
from quizgen.football.team import PassSituation, TeamBook
from tests.engine.snap import ONE_BACK, TWO_BACKS, play, six
from tests.engine.test_support import line_without
from tests.outside.field import BASE, GUARD_KICK, Defense, call_gap, formation, option
from tests.page_solver.snaps import DEMO


def test_a_situation_as_values() -> None:
    # Right B is open, left B conceded; the free man is too deep to get anywhere in time.
    defense = line_without("R B", "L B").support("free", RunJob.FREE, "R", 0.0, 16.0, PlayerClass.SAFETY)
    defense.conceded.append(call_gap("L B"))
    report = fit_report(defense.against(ONE_BACK, BASE, Side.RIGHT))
    assert json.loads(json.dumps(report)) == report
    fits = {fit["position"]: fit for fit in report.pop("fits")}
    lanes = report.pop("lanes")
    assert report == {
        "call": "table",
        "to": "right",
        "formation": "table",
        "motion": None,
        "play": "base",
        "play_to": "right",
        "adjusted": None,
        "sound": False,
        "open": ["right B"],
        "doubled": [],
        "late": [],
        "conceded": ["left B"],
        "phases": {},
        "frontside": {"lanes": 3, "defenders": 2},
        "backside": {"lanes": 3, "defenders": 2},
        "why": "1 lane (right B) for 0 men in time (nobody)",
    }
    assert lanes[0] == {
        "name": "left C",
        "between": [None, "left tackle"],
        "owners": ["L C"],
        "x": [-6.14, -3.14],
    }
    assert lanes[3] == {"name": "right A", "between": ["center", "right guard"], "owners": ["R A"], "x": [0.0, 1.57]}
    assert lanes[4]["owners"] == []
    assert fits["R A"] == {
        "position": "R A",
        "job": "gap",
        "lane": "right A",
        "side": "right",
        "owns": True,
        "threat": [],
        "lost_to": None,
        "arrival": "on time",
        "because": "Right A is still between the center and the right guard, wherever they take it.",
    }
    assert fits["free"]["job"] == "free"
    assert (fits["free"]["lane"], fits["free"]["side"], fits["free"]["owns"]) == (None, None, False)
    assert fits["free"]["arrival"] is None
    assert len(fits) == 11


def test_threats_doubles_and_two_gaps_as_values() -> None:
    defense = six().down("nose", "0", "R", "R A", "L A")
    report = fit_report(defense.against(ONE_BACK, play("zone: line"), Side.LEFT))
    fits = {fit["position"]: fit for fit in report["fits"]}
    # Zone to the left: the right guard comes for the man in right A, who is hooked into right B.
    assert (fits["right nose"]["threat"], fits["right nose"]["lost_to"]) == (["right guard"], "right B")
    assert fits["nose"]["lane"] == "right A and left A"
    assert report["doubled"] == ["left A", "right A"]
    assert (report["play_to"], report["sound"]) == ("left", True)


def test_late_lanes_and_phases_as_values() -> None:
    rules = TeamRules(options={"table": OptionRule(Phase.QUARTERBACK, Phase.DIVE, Phase.PITCH)})
    defense = Defense(rules).down("end", "5", "R", "R edge").rush("sixth", "guard", "R", "R A", order=6, depth=6.0)
    read = option("table", ReadMan.PLAY_EDGE, Phase.QUARTERBACK, Phase.DIVE)
    report = fit_report(defense.against(ONE_BACK, read, Side.RIGHT))
    assert report["phases"] == {"quarterback": "end", "dive": "sixth"}
    assert "right A" in report["late"]
    assert next(fit for fit in report["fits"] if fit["position"] == "sixth")["arrival"] == "late"


def test_a_lane_across_the_center_is_on_no_side() -> None:
    gone = play("base: line", "fake: center")
    report = fit_report(six().against(ONE_BACK, gone, Side.RIGHT))
    nose = next(fit for fit in report["fits"] if fit["position"] == "left nose")
    assert (nose["lane"], nose["side"]) == ("left A/right A", None)


def test_a_row_of_the_table_as_values() -> None:
    assert row_values(line_without("R B").against(ONE_BACK, BASE, Side.LEFT)) == {
        "call": "table",
        "to": "right",
        "formation": "table",
        "motion": None,
        "play": "base",
        "play_to": "left",
        "sound": False,
        "open": ["right B"],
        "doubled": [],
        "late": [],
        "why": "1 lane (right B) for 0 men in time (nobody)",
    }


def test_doubled_and_late_lanes_of_a_row_as_values() -> None:
    # A sixth man through right B, 6 yd deep, is late; two linemen share right A.
    defense = line_without("R B").rush("sixth", "guard", "R", "R B", order=6, depth=6.0).down("extra", "2", "R", "R A")
    row = row_values(defense.against(ONE_BACK, BASE, Side.RIGHT))
    assert (row["open"], row["doubled"], row["late"]) == ([], ["right A"], ["right B"])
    assert row["why"] == "1 lane (right B) for 0 men in time (nobody)"


def test_yards_to_two_places() -> None:
    # Zone to the right moves the line 0.942 yd: right A lies from 0.942 to 2.512.
    report = fit_report(six().against(ONE_BACK, play("zone: line"), Side.RIGHT))
    assert report["lanes"][3]["x"] == [0.94, 2.51]


# --- the table


def team() -> TeamBook:
    """One call, two formations (one without a fullback), two plays (one that needs him)."""
    defense = six()
    front, call = defense.pressure()
    kick = play("base: line", "kick: fullback")
    return TeamBook(
        "team", tuple(defense.positions), (front,), (call,), (ONE_BACK, TWO_BACKS), (BASE, kick), rules=defense.rules
    )


def test_the_table_is_every_call_side_formation_play_and_direction() -> None:
    found = list(situations(team()))
    assert len(found) == 1 * 2 * 2 * 2 * 2
    assert len({(s.to, len(s.formation.players), s.play.name, s.play_to) for s in found}) == 16
    assert len(list(situations(team(), call="TABLE"))) == 16
    assert {s.play.name for s in situations(team(), play="base")} == {"base"}
    assert len(list(situations(team(), play="base"))) == 8


@pytest.mark.parametrize(
    ("call", "named", "words"),
    [
        ("nix", None, "call: expected one of table, found 'nix'"),
        (None, "nix", "play: expected one of base, table play, found 'nix'"),
    ],
)
def test_an_unknown_call_or_play_is_refused(call: str | None, named: str | None, words: str) -> None:
    with pytest.raises(UnknownName) as caught:
        next(situations(team(), call=call, play=named))
    assert str(caught.value) == words


def test_formations_that_cannot_run_the_play_have_no_answer() -> None:
    answers = list(check_situations(situations(team())))
    # The kick can't be run from the formation without a fullback: 2 sides x 2 directions.
    assert len(answers) == 16 - 4
    assert all(
        len(a.situation.formation.players) == len(TWO_BACKS.players) for a in answers if a.situation.play.name != "base"
    )
    # Each is the answer to its own situation, line-up and all.
    for answer in answers:
        assert answer.fit("right end").man.x == pytest.approx(3.59 * answer.situation.to.sign)


def test_a_missing_rule_is_not_passed_over() -> None:
    one = team()
    flexbone = option("flexbone", ReadMan.PLAY_EDGE, Phase.DIVE)
    bad = TeamBook(one.name, one.positions, one.fronts, one.pressures, one.formations, (flexbone,), rules=one.rules)
    with pytest.raises(NoRule, match="no team rule for the option 'flexbone'"):
        list(check_situations(situations(bad)))


def test_the_eleven_are_lined_up_anew_for_another_formation_side_or_call() -> None:
    with_end = formation("GTE", "GT", ("tailback", 0.0, 6.9))
    defense = Defense().down("end", "5", "L", "L edge").down("last", "5", "R", "R edge")
    front, call = defense.pressure()
    one = TeamBook("team", tuple(defense.positions), (front,), (call,), (ONE_BACK, with_end), (GUARD_KICK,))
    gaps = {
        (a.situation.to, len(a.situation.formation.surface)): a.fit("end").man.gaps[0].name
        for a in check_situations(s for s in situations(one) if s.play_to is Side.RIGHT)
    }
    assert gaps == {
        (Side.RIGHT, 5): "left C",
        (Side.RIGHT, 6): "left D",
        (Side.LEFT, 5): "right C",
        (Side.LEFT, 6): "right C",
    }


def test_the_eleven_are_lined_up_anew_for_other_rules_positions_or_calls() -> None:
    first = next(iter(situations(team())))
    wide = replace(first, rules=replace(first.rules, edge=EdgeRule.SPILL))
    named = replace(first, positions=tuple(replace(p, label=p.label[:1]) for p in first.positions))
    moved = replace(
        first,
        pressure=replace(
            first.pressure, align=(("right end", Alignment(Landmark.LAST, Toward.TO, Shade.WIDE, depth_yd=3.0)),)
        ),
    )
    others = []
    for other in (wide, named, moved):
        plain, changed = (answer.fit("right end").man for answer in check_situations((first, other)))
        others.append(changed)
    assert (plain.rules.edge, plain.label, plain.depth_yd) == (EdgeRule.BOX, "rig", 1.0)
    assert [man.rules.edge for man in others] == [EdgeRule.SPILL, EdgeRule.BOX, EdgeRule.BOX]
    assert [man.label for man in others] == ["rig", "r", "rig"]
    assert [man.depth_yd for man in others] == [1.0, 1.0, 3.0]


# --- pass


def test_a_protection_as_values() -> None:
    defense = line_without("R A")
    front, call = defense.pressure()
    protection = Protection("slide", Slide.FULL, (parse_who("tailback"),))
    report = pass_report(
        solve_pass(
            PassSituation(
                defense.rules, tuple(defense.positions), front, call, Side.RIGHT, ONE_BACK, protection, Side.RIGHT
            )
        )
    )
    assert json.loads(json.dumps(report)) == report
    rushers = {one["position"]: one for one in report.pop("rushers")}
    assert report == {
        "call": "table",
        "to": "right",
        "formation": "table",
        "motion": None,
        "play": "slide",
        "play_to": "right",
        "adjusted": None,
        "protectors": ["left tackle", "left guard", "center", "tailback", "right guard", "right tackle"],
        "free": [],
        "one_on_one": ["L C", "L B", "L A", "R C"],
    }
    assert rushers["R B"] == {
        "position": "R B",
        "blockers": ["right guard", "center"],
        "half": "outside",
        "contains": False,
        "because": (
            "The center turns right: outside half of the right guard, that is where your rush lane is; "
            "the center helps on you."
        ),
    }
    assert rushers["L C"]["blockers"] == ["tailback"]
    bare = Protection("slide", Slide.FULL)
    s = PassSituation(defense.rules, tuple(defense.positions), front, call, Side.RIGHT, ONE_BACK, bare, Side.RIGHT)
    free = pass_report(solve_pass(s))
    assert free["free"] == ["L C"]
    assert free["rushers"][0]["half"] is None


def test_rushers_in_each_others_way_are_warned_of_once_a_call() -> None:
    assert crossing_warnings(DEMO) == ()
    scree = DEMO.pressure("Scree")
    together = replace(scree, rushes=tuple(replace(rush, order=1) for rush in scree.rushes))
    lines = crossing_warnings(replace(DEMO, pressures=(together,)))
    assert lines
    for line in lines:
        assert line.startswith("pressures.toml: 'Scree': ")
        assert line.endswith(" line-ups): the call is late there")


def test_a_table_holds_only_the_sides_that_the_call_goes_to() -> None:
    for one in situations(DEMO):
        assert one.to in call_sides(one.pressure, one.formation, None)
