"""Who has whom in protection. Each table is worked by hand from the slide rules (common practice).

Defense's left and right; the rush is six men on the six gaps of five linemen.
"""

from __future__ import annotations

import pytest

from quizgen.engine.protection import Half, PassAnswer, Release, on_release, solve_pass
from quizgen.football.defense import PlayerClass
from quizgen.football.errors import CannotRun, NoRule
from quizgen.football.formation import Formation, Role
from quizgen.football.pressure import Pressure, RunJob
from quizgen.football.scheme import Protection, Slide, parse_who
from quizgen.football.sides import Side
from quizgen.football.team import PassSituation
from tests.engine.test_pulls import ONE_BACK, six_man_cross
from tests.outside.field import Defense, formation

BACK_IN = (parse_who("tailback"),)


def solve(
    protection: Protection, turn: Side, defense: Defense | None = None, offense: Formation = ONE_BACK
) -> PassAnswer:
    defense = defense or six_man_cross()
    front, pressure = defense.pressure()
    return solve_pass(
        PassSituation(defense.rules, tuple(defense.positions), front, pressure, Side.RIGHT, offense, protection, turn)
    )


def blockers(answer: PassAnswer) -> dict[str, list[str]]:
    return {m.man.position: [p.word for p in m.blockers] for m in answer.matchups}


def test_full_slide_right_each_lineman_has_the_gap_to_his_right_and_the_left_edge_is_free() -> None:
    answer = solve(Protection("slide", Slide.FULL), Side.RIGHT)
    assert blockers(answer) == {
        "left end": [],
        "left tackle": ["left tackle"],  # left B is on the left tackle's right
        "second": ["left guard"],
        "first": ["center"],
        "right tackle": ["right guard"],
        "right end": ["right tackle"],
    }
    assert answer.free == ("left end",)


def test_a_back_in_protection_takes_the_free_edge_of_a_full_slide() -> None:
    answer = solve(Protection("slide", Slide.FULL, BACK_IN), Side.RIGHT)
    assert blockers(answer)["left end"] == ["tailback"]
    assert answer.free == ()


def test_half_slide_right_leaves_the_left_guard_and_tackle_on_men() -> None:
    # Right of the center slides right: center A, guard B, tackle C. Left: the guard and the tackle have the two men
    # at the line (big on big: B and the edge); the man through left A is left for the back, or free without one.
    answer = solve(Protection("half", Slide.HALF), Side.RIGHT)
    found = blockers(answer)
    assert found["first"] == ["center"]
    assert found["right tackle"] == ["right guard"]
    assert found["right end"] == ["right tackle"]
    assert found["left tackle"] == ["left guard"]
    assert found["left end"] == ["left tackle"]
    assert answer.free == ("second",)
    assert blockers(solve(Protection("half", Slide.HALF, BACK_IN), Side.RIGHT))["second"] == ["tailback"]


def test_big_on_big_four_down_linemen_leave_the_center_one_backer() -> None:
    answer = solve(Protection("man", Slide.MAN), Side.RIGHT)
    found = blockers(answer)
    assert found["left end"] == ["left tackle"]
    assert found["left tackle"] == ["left guard"]
    assert found["right tackle"] == ["right guard"]
    assert found["right end"] == ["right tackle"]
    assert sorted((found["first"], found["second"])) == [[], ["center"]]


@pytest.mark.parametrize(("stay", "men"), [((), 5), (("tailback",), 6), (("tailback", "fullback"), 7)])
def test_free_rushers_follow_from_the_count_in_man(stay: tuple[str, ...], men: int) -> None:
    offense = formation("GT", "GT", ("tailback", 1.0, 5.0), ("fullback", -1.0, 5.0))
    protection = Protection("man", Slide.MAN, tuple(parse_who(who) for who in stay))
    answer = solve(protection, Side.LEFT, offense=offense)
    assert len(answer.protectors) == men
    assert len(answer.free) == max(0, 6 - men)


def test_contain_takes_the_outside_half_and_an_interior_man_the_half_of_his_lane() -> None:
    answer = solve(Protection("slide", Slide.FULL, BACK_IN), Side.RIGHT)
    assert answer.matchup("right end").half is Half.OUTSIDE
    assert answer.matchup("right end").contains
    # The left tackle slides inside to left B: that lane is inside of him.
    assert answer.matchup("left tackle").half is Half.INSIDE
    # The right guard slides outside to right B: that lane is outside of him.
    assert answer.matchup("right tackle").half is Half.OUTSIDE
    # The center turns right into the man through right A: the lane is on the center's right, his half nearer that
    # sideline.
    assert answer.matchup("first").half is Half.OUTSIDE


def test_a_lineman_with_an_empty_gap_helps_his_neighbour() -> None:
    four = (
        Defense()
        .down("left end", "5", "L", "L edge")
        .down("nose", "1", "L", "L A")
        .down("tackle", "3", "R", "R B")
        .down("right end", "5", "R", "R edge")
    )
    answer = solve(Protection("slide", Slide.FULL, BACK_IN), Side.RIGHT, four)
    found = blockers(answer)
    assert found["nose"][0] == "left guard"
    assert found["tackle"][0] == "right guard"
    assert len(found["nose"]) + len(found["tackle"]) == 4  # the center and the left tackle have empty gaps and help
    assert answer.alone == ("left end", "right end")


def peel_call(*, peel: bool) -> PassAnswer:
    defense = six_man_cross().support("flat", RunJob.FORCE, "L", 7.0, 4.0, PlayerClass.SAFETY)
    front, pressure = defense.pressure()
    changed = Pressure(pressure.name, pressure.front, pressure.rushes, pressure.drops, pressure.coverage, peel=peel)
    s = PassSituation(
        defense.rules,
        tuple(defense.positions),
        front,
        changed,
        Side.RIGHT,
        ONE_BACK,
        Protection("slide", Slide.FULL),
        Side.RIGHT,
    )
    return solve_pass(s)


@pytest.mark.parametrize("side", list(Side))
def test_under_a_peel_rule_the_edge_on_the_release_side_takes_the_back(side: Side) -> None:
    answer = peel_call(peel=True)
    back = ONE_BACK.find(Role.TAILBACK)
    assert back is not None
    jobs = on_release(answer, back, side)
    assert [position for position, job in jobs.items() if job is Release.TAKE_BACK] == [f"{side.value} end"]
    assert jobs["first"] is Release.KEEP_RUSHING


def test_nobody_with_the_back_is_an_error_that_says_so() -> None:
    answer = peel_call(peel=False)
    back = ONE_BACK.find(Role.TAILBACK)
    assert back is not None
    with pytest.raises(NoRule, match="nobody takes the tailback releasing left"):
        on_release(answer, back, Side.LEFT)


def test_a_protection_that_keeps_in_a_man_who_is_not_there_cannot_run() -> None:
    with pytest.raises(CannotRun, match="has no fullback to stay in"):
        solve(Protection("seven", Slide.MAN, (parse_who("fullback"),)), Side.LEFT)


@pytest.mark.parametrize("slide", list(Slide))
def test_turning_everything_round_turns_every_matchup_round(slide: Slide) -> None:
    left = solve(Protection("p", slide, BACK_IN), Side.LEFT, six_man_cross_turned())
    right = solve(Protection("p", slide, BACK_IN), Side.RIGHT)
    turned = {_turn(position): [_turn(word) for word in words] for position, words in blockers(left).items()}
    assert turned == blockers(right)


def _turn(words: str) -> str:
    swap = {"left": "right", "right": "left"}
    return " ".join(swap.get(word, word) for word in words.split())


def six_man_cross_turned() -> Defense:
    """The same six, written out for the other side."""
    return (
        Defense()
        .down("right end", "5", "R", "R edge")
        .down("right tackle", "3", "R", "R B")
        .down("left tackle", "3", "L", "L B")
        .down("left end", "5", "L", "L edge")
        .rush("first", "guard", "R", "L A", order=1)
        .rush("second", "guard", "L", "R A", order=2)
    )
