"""The lanes after the snap: how many, where, and what they are called. Worked by hand from who left and who arrived."""

from __future__ import annotations

import pytest

from quizgen.engine.lanes import at_surface
from quizgen.engine.verdict import RunAnswer
from quizgen.football.formation import Formation
from quizgen.football.sides import Letter, Side
from tests.engine.snap import ONE_BACK, STEP, TWO_BACKS, lane_names, play
from tests.outside.field import BASE, ZONE, Defense, formation

THREE_BACKS = formation("GT", "GT", ("tailback", 0.0, 6.9), ("fullback", 0.0, 4.5), ("slotback", -6.0, 1.0))


def against(*rows: str, offense: Formation = ONE_BACK, to: Side = Side.RIGHT, aim: Letter = Letter.A) -> RunAnswer:
    return Defense().against(offense, play(*rows, aim=aim), to)


# Rows, formation, side, lanes from left to right.
NAMES = [
    # The left guard has gone: his A and B are one.
    (("base: line", "fake: back side guard"), ONE_BACK, Side.RIGHT, "left C, left A/B, right A, right B, right C"),
    # The center has gone: both A gaps are one, named from left to right.
    (("base: line", "fake: center"), ONE_BACK, Side.RIGHT, "left C, left B, left A/right A, right B, right C"),
    # Guard and center have gone: three gaps are one.
    (
        ("base: line", "fake: center", "fake: back side guard"),
        ONE_BACK,
        Side.RIGHT,
        "left C, left B/left A/right A, right B, right C",
    ),
    # The tackle has gone: the outermost two are one.
    (("base: line", "fake: back side tackle"), ONE_BACK, Side.RIGHT, "left B/C, left A, right A, right B, right C"),
    # Guard and tackle lead: by their words where they do the same, the nearer inside.
    (
        ("base: line", "pull and lead: back side guard", "pull and lead: back side tackle"),
        ONE_BACK,
        Side.RIGHT,
        (
            "left A/B/C, right A, right B, right C inside the left guard's lead, "
            "right C between the left guard's lead and the left tackle's lead, right C outside the left tackle's lead"
        ),
    ),
    # To the left the words run from the inside out as well.
    (
        ("base: line", "pull and lead: back side guard", "pull and wrap: back side tackle"),
        ONE_BACK,
        Side.LEFT,
        (
            "left C outside the lead, left C between the wrap and the lead, left C inside the wrap, left B, left A, "
            "right A/B/C"
        ),
    ),
    # A kick across splits the outermost gap away from the play.
    (
        ("base: line", "kick across: fullback"),
        TWO_BACKS,
        Side.RIGHT,
        "left C outside the kick, left C inside the kick, left B, left A, right A, right B, right C",
    ),
    # Two men from the back side of the play in the far gap: kick across, to the left of the center.
    (
        ("base: line", "kick across: fullback", "kick across: slotback"),
        THREE_BACKS,
        Side.RIGHT,
        (
            "left C outside the left slotback's kick, left C between the fullback's kick and the left slotback's kick, "
            "left C inside the fullback's kick, left B, left A, right A, right B, right C"
        ),
    ),
    # The center pulls and a back leads through his place: a lane on neither side is split into left and right.
    (
        ("base: line", "pull and kick: center", "lead to the aim: fullback"),
        TWO_BACKS,
        Side.RIGHT,
        (
            "left C, left B, left A/right A left of the lead, left A/right A right of the lead, right B, "
            "right C inside the kick, right C outside the kick"
        ),
    ),
    (
        ("base: line", "pull and kick: center", "lead to the aim: fullback"),
        TWO_BACKS,
        Side.LEFT,
        (
            "left C outside the kick, left C inside the kick, left B, left A/right A left of the lead, "
            "left A/right A right of the lead, right B, right C"
        ),
    ),
    # Two leads through it: named from left to right, whichever way the play goes. To the right the tailback, nearer
    # as he comes first of two as near, is inside (left); to the left he is on the right.
    (
        ("base: line", "fake: center", "lead to the aim: tailback", "lead to the aim: slotback"),
        THREE_BACKS,
        Side.RIGHT,
        (
            "left C, left B, left A/right A left of the tailback's lead, "
            "left A/right A between the tailback's lead and the left slotback's lead, "
            "left A/right A right of the left slotback's lead, right B, right C"
        ),
    ),
    (
        ("base: line", "fake: center", "lead to the aim: tailback", "lead to the aim: slotback"),
        THREE_BACKS,
        Side.LEFT,
        (
            "left C, left B, left A/right A left of the left slotback's lead, "
            "left A/right A between the left slotback's lead and the tailback's lead, "
            "left A/right A right of the tailback's lead, right B, right C"
        ),
    ),
]


@pytest.mark.parametrize(("rows", "offense", "to", "names"), NAMES)
def test_names_of_merged_and_split_lanes(rows: tuple[str, ...], offense: Formation, to: Side, names: str) -> None:
    answer = against(*rows, offense=offense, to=to)
    assert lane_names(answer) == names.split(", ")
    assert len(answer.lanes) == len(at_surface(answer.moves)) + 1


def test_blockers_at_the_surface_are_those_in_the_line_and_those_who_arrive() -> None:
    answer = against("base: line", "pull and kick: back side guard", "fake: tailback")
    words = [m.player.word for m in at_surface(answer.moves)]
    assert words == ["left tackle", "center", "right guard", "right tackle", "left guard"]


@pytest.mark.parametrize("to", list(Side))
def test_edges_middles_and_what_a_lane_covers(to: Side) -> None:
    # Base blocks: men stay at -3.14, -1.57, 0, 1.57, 3.14. The outermost lanes are drawn 3 yd wide, a man in them
    # stands a yard outside the last blocker, and they reach to the sideline.
    lanes = Defense().against(ONE_BACK, BASE, to).lanes
    edges = [-2 * STEP - 3, -2 * STEP, -STEP, 0, STEP, 2 * STEP, 2 * STEP + 3]
    assert [lane.x_from for lane in lanes] == pytest.approx(edges[:-1])
    assert [lane.x_to for lane in lanes] == pytest.approx(edges[1:])
    middles = [-2 * STEP - 1, -1.5 * STEP, -0.5 * STEP, 0.5 * STEP, 1.5 * STEP, 2 * STEP + 1]
    assert [lane.middle_x for lane in lanes] == pytest.approx(middles)
    assert [lane.is_outermost for lane in lanes] == [True, False, False, False, False, True]
    assert [lane.side for lane in lanes] == [Side.LEFT] * 3 + [Side.RIGHT] * 3
    for x, index in ((-26.0, 0), (-3.2, 0), (-3.1, 1), (-1.0, 2), (1.0, 3), (3.1, 4), (3.2, 5), (26.0, 5)):
        assert [i for i, lane in enumerate(lanes) if lane.covers(x)] == [index]


def test_a_spot_at_a_blocker_is_in_the_lanes_on_both_sides_of_him() -> None:
    lanes = Defense().against(ONE_BACK, BASE, Side.RIGHT).lanes
    assert [i for i, lane in enumerate(lanes) if lane.covers(0.0)] == [2, 3]


def test_lanes_go_where_the_line_goes() -> None:
    # Zone to the right: everybody 0.942 yd to the right.
    lanes = Defense().against(ONE_BACK, ZONE, Side.RIGHT).lanes
    assert lanes[3].x_from == pytest.approx(0.942)
    assert lanes[3].x_to == pytest.approx(STEP + 0.942)
    assert lanes[0].left is None
    assert lanes[5].right is None
    assert lanes[3].left is not None
    assert lanes[3].left.player.word == "center"


def test_merged_lanes_know_their_gaps_and_their_side() -> None:
    lanes = against("base: line", "fake: center").lanes
    assert [lane.is_merged for lane in lanes] == [False, False, True, False, False]
    assert [lane.side for lane in lanes] == [Side.LEFT, Side.LEFT, None, Side.RIGHT, Side.RIGHT]
    assert [gap.name for gap in lanes[2].gaps] == ["left A", "right A"]
    turned = against("base: line", "fake: center", to=Side.LEFT).lanes
    assert [gap.name for gap in turned[2].gaps] == ["left A", "right A"]
