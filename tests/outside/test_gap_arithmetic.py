"""How many gaps, and where a pull takes one from and adds one.

source: Wikipedia, "Gap (American football)" (A center-guard, B guard-tackle, C tackle-end, D outside the end)
source: published coaching articles on power: the back-side B goes, an extra C and D appear on the play side
source: coverage arithmetic as published: rushers + under + deep (or man) = 11
"""

from __future__ import annotations

import pytest

from quizgen.football.coverage import COVERAGES, Coverage
from quizgen.football.errors import FootballValueError
from quizgen.football.pressure import CoverJob, Drop, Pressure, RunJob, Rush
from quizgen.football.scheme import Scheme, SchemeFamily
from quizgen.football.sides import Letter, Side
from tests.outside.field import BASE, GUARD_KICK, LEAD_WEAK, POWER, Defense, call_gap, formation, row

# n men on the front make n + 1 gaps; each end or wing adds one outside.
GAP_COUNTS = [
    ("GT", "GT", "left C, left B, left A, right A, right B, right C"),
    ("GT", "GTE", "left C, left B, left A, right A, right B, right C, right D"),
    ("GTE", "GTE", "left D, left C, left B, left A, right A, right B, right C, right D"),
    ("GT", "GTEW", "left C, left B, left A, right A, right B, right C, right D, right E"),
]


@pytest.mark.parametrize(("left", "right", "names"), GAP_COUNTS)
def test_gaps_before_the_snap(left: str, right: str, names: str) -> None:
    offense = formation(left, right, ("tailback", 0.0, 6.9))
    assert [gap.name for gap in offense.gaps] == names.split(", ")
    assert len(offense.gaps) == len(offense.surface) + 1


def test_power_takes_the_back_side_b_and_adds_a_c_and_a_d() -> None:
    # The source counts one gap less on the back side and two more on the play side, for the kick and for the wrap.
    offense = formation("GT", "GTE", ("tailback", 0.0, 6.9), ("fullback", 0.0, 4.5))
    lanes = Defense().against(offense, POWER, Side.RIGHT).lanes
    play_side = [lane.name for lane in lanes if lane.side is Side.RIGHT]
    back_side = [lane.name for lane in lanes if lane.side is Side.LEFT]
    assert len(play_side) == 6  # four letters, and two from the kick and the wrap
    assert back_side == ["left C", "left A/B"]


def test_one_guard_pulling_makes_four_to_two() -> None:
    # Coaches count it as three to three becoming four to two: five blockers, six lanes before and after.
    lanes = Defense().against(formation(), GUARD_KICK, Side.RIGHT).lanes
    assert [lane.name for lane in lanes] == [
        "left C",
        "left A/B",
        "right A",
        "right B",
        "right C inside the kick",
        "right C outside the kick",
    ]


def test_a_lead_back_splits_one_gap_in_two() -> None:
    # "A fullback who inserts splits one in two."
    offense = formation("GT", "GT", ("tailback", 0.0, 6.9), ("fullback", 0.0, 4.5))
    before = Defense().against(offense, BASE, Side.RIGHT).lanes
    after = Defense().against(offense, LEAD_WEAK, Side.RIGHT).lanes
    assert len(after) == len(before) + 1
    assert [lane.name for lane in after if lane.side is Side.RIGHT] == [
        "right A",
        "right B inside the lead",
        "right B outside the lead",
        "right C",
    ]


def test_a_guard_who_pulls_on_his_own_side_merges_a_and_b_there() -> None:
    # Down (G): the play-side guard kicks outside, tackle and end block down (common practice).
    rows = (row("base", "line"), row("down", "play side tackle"), row("pull and kick", "play side guard"))
    play = Scheme("down", SchemeFamily.DOWN, rows, Letter.C)
    lanes = Defense().against(formation(), play, Side.LEFT).lanes
    assert [lane.name for lane in lanes] == [
        "left C outside the kick",
        "left C inside the kick",
        "left A/B",
        "right A",
        "right B",
        "right C",
    ]


# Five-man zone: three deep, three under. Six-man hot: three deep, two under. Six-man man: none free.
@pytest.mark.parametrize(
    ("coverage", "rushers"),
    [
        (COVERAGES["three deep, three under"], 5),
        (COVERAGES["three deep, two under"], 6),
        (COVERAGES["two deep, four under"], 5),
        (COVERAGES["three deep, four under"], 4),
        (COVERAGES["two deep, five under"], 4),
        (COVERAGES["two deep, three under"], 6),
    ],
)
def test_rushers_deep_and_under_make_eleven(coverage: Coverage, rushers: int) -> None:
    assert coverage.rushers == rushers


def test_a_coverage_whose_numbers_do_not_add_up_is_refused() -> None:
    rushes = tuple(Rush(f"r{i}", call_gap("R A")) for i in range(6))
    deep = tuple(Drop(f"d{i}", CoverJob.DEEP_THIRD, RunJob.COVER) for i in range(2))
    under = tuple(Drop(f"u{i}", CoverJob.HOOK, RunJob.COVER) for i in range(3))
    with pytest.raises(FootballValueError, match="3 deep for 'three deep, two under'"):
        Pressure("short", "front", rushes, deep + under, COVERAGES["three deep, two under"])
