"""A guard pulls away from a six-man cross: who stays, who goes over the top, what is short. Worked by hand from the
trade's rules."""

from __future__ import annotations

import pytest

from quizgen.engine.fits import Threat
from quizgen.engine.reads import Read
from quizgen.engine.reasons import because, why
from quizgen.engine.verdict import RunAnswer
from quizgen.football.defense import PlayerClass
from quizgen.football.pressure import Path, RunJob
from quizgen.football.rules import EdgeRule, PullFirst, PullSecond, TeamRules
from quizgen.football.scheme import Scheme
from quizgen.football.sides import Side
from tests.outside.field import GUARD_KICK, POWER, ZONE, Defense, formation, owners

ONE_BACK = formation("GT", "GT", ("tailback", 0.0, 6.9))
TWO_BACKS = formation("GT", "GT", ("tailback", 0.0, 6.9), ("fullback", 0.0, 4.5))


def six_man_cross(rules: TeamRules | None = None, second_gap: str = "L A") -> Defense:
    """Six rushers on six gaps; the second rusher loops into the left A, beside the left guard."""
    return (
        Defense(rules)
        .down("left end", "5", "L", "L edge")
        .down("left tackle", "3", "L", "L B")
        .down("right tackle", "3", "R", "R B")
        .down("right end", "5", "R", "R edge")
        .rush("first", "guard", "L", "R A", order=1, path=Path.CROSS)
        .rush("second", "guard", "R", second_gap, order=2, path=Path.CROSS)
    )


def against(rules: TeamRules, play: Scheme = GUARD_KICK, to: Side = Side.RIGHT) -> RunAnswer:
    return six_man_cross(rules).against(ONE_BACK, play, to)


def test_first_man_stays_on_the_hip_and_the_second_reads_out_to_the_play_side() -> None:
    answer = against(TeamRules())
    assert owners(answer) == {
        "left C": ["left end"],
        "left A/B": ["left tackle"],
        "right A": ["first"],
        "right B": ["right tackle"],
        "right C inside the kick": ["second"],
        "right C outside the kick": ["right end"],
    }
    assert answer.fit("left tackle").read is Read.HIP
    assert answer.fit("second").read is Read.OVER_THE_TOP
    assert answer.fit("right end").read is Read.BOX
    assert answer.sound
    assert (answer.frontside.lanes, answer.frontside.defenders) == (4, 4)
    assert (answer.backside.lanes, answer.backside.defenders) == (2, 2)


def test_told_to_stay_exactly_the_play_side_lane_is_open() -> None:
    answer = against(TeamRules().all_stay)
    assert [answer.lanes[i].name for i in answer.open] == ["right C inside the kick"]
    assert [answer.lanes[i].name for i in answer.doubled] == ["left A/B"]
    assert answer.fit("second").read is Read.TOLD_TO_STAY
    assert answer.fit("left tackle").read is Read.SQUAT
    assert not answer.sound
    assert why(answer) == "1 lane (right C inside the kick) for 0 men in time (nobody)"


def test_spilled_kick_sends_the_man_over_the_top_outside_it() -> None:
    found = owners(against(TeamRules(edge=EdgeRule.SPILL)))
    assert found["right C inside the kick"] == ["right end"]
    assert found["right C outside the kick"] == ["second"]


@pytest.mark.parametrize("first", list(PullFirst))
@pytest.mark.parametrize("second", list(PullSecond))
def test_rules_of_the_first_and_the_second_man_are_separate(first: PullFirst, second: PullSecond) -> None:
    answer = against(TeamRules(pull_first=first, pull_second=second))
    assert answer.fit("left tackle").read is (Read.HIP if first is PullFirst.HIP else Read.SQUAT)
    assert answer.fit("second").read is (Read.TOLD_TO_STAY if second is PullSecond.STAY else Read.OVER_THE_TOP)


def test_a_second_man_away_from_the_puller_does_not_go_over_the_top() -> None:
    answer = against(TeamRules(), GUARD_KICK, Side.LEFT)  # the right guard pulls: right A and B merge
    assert answer.fit("second").read is Read.KEEP
    assert owners(answer)["left C inside the kick"] == []


def test_zone_threats_come_from_the_side_the_line_steps_from() -> None:
    right = six_man_cross().against(ONE_BACK, ZONE, Side.RIGHT)
    for position, blocker, lost in (
        ("left tackle", "left tackle", "left C"),
        ("second", "left guard", "left B"),
        ("first", "center", "left A"),
        ("right tackle", "right guard", "right A"),
        ("right end", "right tackle", "right B"),
    ):
        fit = right.fit(position)
        assert fit.threat is Threat.HOOK
        assert [m.player.word for m in fit.threats] == [blocker]
        assert fit.lost_to is not None
        assert right.lanes[fit.lost_to].name == lost
    assert right.fit("left end").threat is None


def test_a_down_block_washes_him_one_lane_away_from_it() -> None:
    answer = against(TeamRules())
    fit = answer.fit("right tackle")  # the right tackle blocks down into right B from outside
    assert fit.threat is Threat.WASH
    assert fit.lost_to is not None
    assert answer.lanes[fit.lost_to].name == "right A"


def test_power_with_a_kick_and_a_wrap_needs_one_more_than_six() -> None:
    answer = six_man_cross().against(TWO_BACKS, POWER, Side.RIGHT)
    assert len(answer.lanes) == 7
    assert [answer.lanes[i].name for i in answer.open] == ["right C between the wrap and the kick"]


def test_force_meets_the_lane_that_a_spill_leaves_outside() -> None:
    defense = six_man_cross(TeamRules(edge=EdgeRule.SPILL))
    defense.support("force", RunJob.FORCE, "R", 6.5, 5.0, PlayerClass.SAFETY)
    answer = defense.against(TWO_BACKS, POWER, Side.RIGHT)
    assert owners(answer)["right C outside the kick"] == ["force"]
    assert answer.sound


def test_every_reason_names_the_lane_it_scores() -> None:
    answer = against(TeamRules())
    for fit in answer.fits:
        if fit.owns and fit.lane is not None:
            assert answer.lanes[fit.lane].name.lower() in because(answer, fit).lower()
