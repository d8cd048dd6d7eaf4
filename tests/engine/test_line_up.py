"""Where the eleven stand and which gaps they have before anything moves. Places worked by hand in yards."""

from __future__ import annotations

from dataclasses import replace

import pytest

from quizgen.engine.alignment import is_edge, is_filler, landmark_x, line_up_call, own_gaps, place
from quizgen.football.defense import Alignment, Landmark, PlayerClass, Shade
from quizgen.football.errors import NoRule
from quizgen.football.formation import Formation
from quizgen.football.pressure import RunJob, RushPart
from quizgen.football.rules import EdgeRule, Measures, TeamRules
from quizgen.football.sides import Side, Toward
from tests.engine.snap import ONE_BACK, STEP, men_of
from tests.outside.field import Defense, call_gap, formation

WIDE = formation("GT", "GTE", ("receiver", 12.0, 0.0), ("receiver", 8.0, 1.0))
WINGS = formation("GTEW", "GTW")
TWO_TIGHT = formation("GTE", "GTE")
END_YD = 1.9  # a three-foot split and 0.9 yd of man: where an end who is not there would stand

# Landmark, side, formation, yards from the center. Men are 1.57 yd apart.
LANDMARKS = [
    (Landmark.CENTER, Side.RIGHT, WIDE, 0.0),
    (Landmark.MIDDLE, Side.LEFT, WIDE, 0.0),
    (Landmark.GUARD, Side.RIGHT, WIDE, STEP),
    (Landmark.TACKLE, Side.LEFT, WIDE, -2 * STEP),
    (Landmark.END, Side.RIGHT, WIDE, 3 * STEP),
    (Landmark.END, Side.LEFT, WIDE, -2 * STEP - END_YD),  # no end there: where he would stand
    (Landmark.WING, Side.RIGHT, WIDE, 3 * STEP + END_YD),  # outside the end
    (Landmark.WING, Side.LEFT, WIDE, -2 * STEP - 2 * END_YD),  # neither end nor wing: two steps out
    (Landmark.WING, Side.LEFT, WINGS, -4 * STEP),
    (Landmark.WING, Side.RIGHT, WINGS, 3 * STEP),
    (Landmark.END, Side.RIGHT, WINGS, 3 * STEP + END_YD),
    (Landmark.WING, Side.LEFT, TWO_TIGHT, -3 * STEP - END_YD),
    (Landmark.LAST, Side.RIGHT, WIDE, 3 * STEP),
    (Landmark.LAST, Side.LEFT, WIDE, -2 * STEP),
    (Landmark.NUMBER_ONE, Side.RIGHT, WIDE, 12.0),
    (Landmark.NUMBER_TWO, Side.RIGHT, WIDE, 8.0),
    (Landmark.NUMBER_ONE, Side.LEFT, WIDE, -2 * STEP - 6),  # nobody split out there
    (Landmark.NUMBER_TWO, Side.LEFT, WIDE, -2 * STEP - 4),
    (Landmark.NUMBER_ONE, Side.LEFT, TWO_TIGHT, -3 * STEP),  # the end is the only man to count
    (Landmark.NUMBER_TWO, Side.LEFT, TWO_TIGHT, -3 * STEP - 4),
]


@pytest.mark.parametrize(("landmark", "side", "offense", "x"), LANDMARKS)
def test_landmarks(landmark: Landmark, side: Side, offense: Formation, x: float) -> None:
    assert landmark_x(landmark, side, offense, Measures()) == pytest.approx(x)


@pytest.mark.parametrize(
    ("shade", "out_yd", "to", "x"),
    [
        (Shade.HEAD, 0.0, Side.RIGHT, STEP),
        (Shade.HEAD, 0.0, Side.LEFT, -STEP),
        (Shade.OUTSIDE, 0.0, Side.RIGHT, STEP + 0.45),
        (Shade.OUTSIDE, 0.0, Side.LEFT, -STEP - 0.45),
        (Shade.INSIDE, 0.0, Side.LEFT, -STEP + 0.45),
        (Shade.WIDE, 0.5, Side.RIGHT, STEP + 1.7),
        (Shade.HEAD, -0.5, Side.LEFT, -STEP + 0.5),
    ],
)
def test_shades_and_steps_out_go_outward_on_both_sides(shade: Shade, out_yd: float, to: Side, x: float) -> None:
    # Half a man (0.45 yd) is a shade, 1.2 yd a wide one: this project's measures.
    alignment = Alignment(Landmark.GUARD, Toward.TO, shade, out_yd)
    assert place(alignment, to, ONE_BACK, Measures()) == pytest.approx(x)


def test_the_middle_is_zero_and_never_minus_zero() -> None:
    assert str(place(Alignment(Landmark.MIDDLE, Toward.AWAY), Side.RIGHT, ONE_BACK, Measures())) == "0.0"


def test_gaps_that_come_to_the_same_count_once() -> None:
    # Without an end, right C and right D are both the gap outside the tackle.
    assert [gap.name for gap in own_gaps((call_gap("R C"), call_gap("R D")), Side.RIGHT, ONE_BACK)] == ["right C"]
    with_end = formation("GT", "GTE")
    gaps = own_gaps((call_gap("R C"), None, call_gap("R D")), Side.RIGHT, with_end)
    assert [gap.name for gap in gaps] == ["right C", "right D"]
    assert [gap.name for gap in own_gaps((call_gap("R D"),), Side.LEFT, with_end)] == ["left C"]


def three() -> Defense:
    """An end each side and a force man to the call; the end and the rush end name each other as mirrors."""
    defense = (
        Defense()
        .down("end", "5", "R", "R C", part=RushPart.CONTAIN)
        .down("rush end", "5", "L", "L B", order=2)
        .support("rover", RunJob.FORCE, "R", 6.0, 5.0, PlayerClass.SAFETY)
    )
    mirrors = {"end": "rush end", "rush end": "end"}
    defense.positions = [replace(p, mirrors=mirrors.get(p.name)) for p in defense.positions]
    return defense


@pytest.mark.parametrize(
    ("to", "expected"),
    [
        # To the right as written. To the left everything flips, and the two ends trade jobs: the "end" now plays the
        # job written for the rush end, which lines up away from the call, on the right.
        (Side.RIGHT, {"end": (3.59, "right C", "contain", 1), "rush end": (-3.59, "left B", "gap", 2)}),
        (Side.LEFT, {"end": (3.59, "right B", "gap", 2), "rush end": (-3.59, "left C", "contain", 1)}),
    ],
)
def test_mirrored_positions_trade_jobs_and_the_rest_flip(
    to: Side, expected: dict[str, tuple[float, str, str, int]]
) -> None:
    defense = three()
    front, call = defense.pressure()
    men = {m.position: m for m in line_up_call(defense.rules, tuple(defense.positions), front, call, to, ONE_BACK)}
    for position, (x, gap, part, order) in expected.items():
        man = men[position]
        assert man.x == pytest.approx(x)
        assert [g.name for g in man.gaps] == [gap]
        assert man.rush is not None
        assert (man.rush.part.value, man.order) == (part, order)
        assert man.side is man.gaps[0].side
    rover = men["rover"]
    assert rover.side is to
    assert rover.x == pytest.approx(6.0 * to.sign)
    assert rover.gaps == ()
    assert (rover.order, rover.is_first) == (1, False)


def test_the_eleven_are_listed_from_left_to_right() -> None:
    men = men_of(three())
    assert len(men) == 11
    assert [(m.x, m.depth_yd) for m in men] == sorted((m.x, m.depth_yd) for m in men)


def test_labels_and_classes_come_from_the_position() -> None:
    man = next(m for m in men_of(three()) if m.position == "rover")
    assert (man.label, man.player_class) == ("rov", PlayerClass.SAFETY)
    assert man.drop_toward is Toward.TO
    end = next(m for m in men_of(three()) if m.position == "end")
    assert end.drop_toward is None
    assert end.down


def test_an_alignment_of_the_call_overrules_the_front() -> None:
    defense = three()
    front, call = defense.pressure()
    moved = replace(call, align=(("end", Alignment(Landmark.GUARD, Toward.TO, depth_yd=3.0)),))
    men = line_up_call(defense.rules, tuple(defense.positions), front, moved, Side.RIGHT, ONE_BACK)
    end = next(m for m in men if m.position == "end")
    assert (end.x, end.depth_yd) == (pytest.approx(STEP), 3.0)


@pytest.mark.parametrize(
    ("by_call", "by_position", "team", "expected"),
    [
        ("spill", EdgeRule.BOX, EdgeRule.BOX, EdgeRule.SPILL),
        (None, EdgeRule.SPILL, EdgeRule.BOX, EdgeRule.SPILL),
        (None, None, EdgeRule.SPILL, EdgeRule.SPILL),
        (None, None, EdgeRule.BOX, EdgeRule.BOX),
    ],
)
def test_the_call_overrules_the_position_and_the_position_the_team(
    by_call: str | None, by_position: EdgeRule | None, team: EdgeRule, expected: EdgeRule
) -> None:
    rules = TeamRules(edge=team, by_position={"end": (("edge", by_position),)} if by_position else {})
    defense = three()
    defense.rules = rules
    if by_call:
        defense.own_rules.append(("end", (("edge", EdgeRule(by_call)),)))
    assert next(m for m in men_of(defense) if m.position == "end").rules.edge is expected


def test_who_is_an_edge_and_who_fills() -> None:
    defense = (
        Defense()
        .down("left end", "5", "L", "L C")
        .down("two gaps", "5", "R", "R B", "R C")
        .down("tackle", "3", "R", "R B")
        .fill("Will", "last man", "L", "L edge")
        .support("rover", RunJob.FORCE, "R", 6.0, 5.0, PlayerClass.SAFETY)
    )
    men = {m.position: m for m in men_of(defense)}
    # The rusher on an outermost gap, two-gap players and droppers excepted.
    assert {name for name, man in men.items() if is_edge(man, ONE_BACK)} == {"left end"}
    assert {name for name, man in men.items() if is_filler(man)} == {"Will"}


def test_first_through_are_linemen_and_men_called_first() -> None:
    defense = (
        Defense()
        .down("slow end", "5", "L", "L C", order=2)
        .rush("first", "guard", "L", "L A", order=1)
        .rush("second", "guard", "R", "R A", order=2)
    )
    men = {m.position: m for m in men_of(defense)}
    assert {name for name, man in men.items() if man.is_first} == {"slow end", "first"}


def test_a_man_turned_round() -> None:
    man = next(m for m in men_of(three()) if m.position == "rush end")
    twin = man.mirrored
    assert (twin.x, [g.name for g in twin.gaps], twin.side) == (pytest.approx(3.59), ["right B"], Side.RIGHT)
    assert (twin.position, twin.label, twin.player_class) == (man.position, man.label, man.player_class)
    assert (twin.depth_yd, twin.down, twin.rush, twin.drop) == (man.depth_yd, man.down, man.rush, man.drop)
    assert (twin.rules, twin.replaces) == (man.rules, man.replaces)
    assert twin.mirrored is man
    assert man.mirrored is twin
    middle = replace(man, x=0.0, side=None, replaces="rover")
    assert (str(middle.mirrored.x), middle.mirrored.side, middle.mirrored.replaces) == ("0.0", None, "rover")


@pytest.mark.parametrize("to", list(Side))
def test_two_men_in_one_place_are_refused_in_words(to: Side) -> None:
    # Both over the right guard, 4.5 yd deep; half a yard of depth tells them apart.
    defense = Defense().fill("Mike", "guard", "R", "R A").rush("Sam", "guard", "R", "R B")
    front, call = defense.pressure()
    with pytest.raises(NoRule) as caught:
        line_up_call(defense.rules, tuple(defense.positions), front, call, to, ONE_BACK)
    assert str(caught.value) == (
        "no rule for call 'table' from front 'table' against 'any play': "
        "Mike and Sam line up in one place against 'table'"
    )
    apart = Defense().fill("Mike", "guard", "R", "R A").rush("Sam", "guard", "R", "R B", depth=5.0)
    assert len(men_of(apart)) == 11
