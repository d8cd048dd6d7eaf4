"""The verdict on a whole snap: open, doubled, late, the numbers and the proof of what is lacking. Worked by hand."""

from __future__ import annotations

from collections.abc import Iterable

import pytest

from quizgen.engine.reasons import why
from quizgen.engine.timing import Arrival
from quizgen.engine.verdict import Numbers, RunAnswer, coverers
from quizgen.football.defense import PlayerClass
from quizgen.football.pressure import RunJob
from quizgen.football.rules import Pace, TeamRules, Timing
from quizgen.football.sides import Side
from tests.engine.snap import ONE_BACK, TWO_BACKS, lane_names, lane_of, play, six
from tests.engine.test_support import line_without
from tests.outside.field import BASE, GUARD_KICK, POWER, Defense, call_gap, owners

SAFETY = PlayerClass.SAFETY


def names(answer: RunAnswer, indices: Iterable[int]) -> list[str]:
    return [answer.lanes[i].name for i in indices]


def test_six_men_on_six_gaps_are_sound() -> None:
    answer = six().against(ONE_BACK, BASE, Side.RIGHT)
    assert (answer.sound, answer.open, answer.doubled, answer.late, answer.short) == (True, (), (), (), None)
    assert answer.frontside == answer.backside == Numbers(3, 3)
    assert why(answer) == "each of the 6 lanes has a man there in time"


def test_one_gap_without_a_man_is_open_and_proves_itself() -> None:
    answer = line_without("R B").against(ONE_BACK, BASE, Side.RIGHT)
    assert names(answer, answer.open) == ["right B"]
    assert not answer.sound
    assert (answer.frontside, answer.backside) == (Numbers(3, 2), Numbers(3, 3))
    assert answer.short == ((4,), ())
    assert why(answer) == "1 lane (right B) for 0 men in time (nobody)"


def test_numbers_follow_the_side_of_the_play() -> None:
    answer = line_without("R B").against(ONE_BACK, BASE, Side.LEFT)
    assert (answer.frontside, answer.backside) == (Numbers(3, 3), Numbers(3, 2))
    assert answer.numbers(Side.RIGHT) == Numbers(3, 2)


def test_two_men_in_one_gap_double_it() -> None:
    answer = line_without("R B").down("extra", "2", "R", "R A").against(ONE_BACK, BASE, Side.RIGHT)
    assert names(answer, answer.doubled) == ["right A"]
    assert [fit.man.position for fit in answer.owners(3)] == ["R A", "extra"]
    assert (answer.frontside.lanes, answer.frontside.defenders) == (3, 3)


def test_one_free_man_for_two_open_lanes_is_one_short() -> None:
    # Right A and right B are open; the one free man can be in either. Both lanes and he are the proof.
    defense = line_without("R A", "R B").support("free", RunJob.FREE, "R", 1.5, 4.0, SAFETY)
    answer = defense.against(ONE_BACK, BASE, Side.RIGHT)
    assert len(answer.open) == 1
    assert answer.short == ((3, 4), ("free",))
    assert why(answer) == "2 lanes (right A, right B) for 1 men in time (free)"
    assert {(i, who) for i, who in coverers(answer.right) if who == "free"} == {(3, "free"), (4, "free")}


def test_the_proof_leaves_out_lanes_that_have_their_man() -> None:
    # Right A has nobody who may take it; force on our left has left C, which is no part of the lack.
    defense = line_without("R A", "L C").support("force", RunJob.FORCE, "L", 6.0, 4.0, SAFETY)
    answer = defense.against(ONE_BACK, BASE, Side.RIGHT)
    assert answer.short == ((3,), ())


def test_three_lanes_for_two_men() -> None:
    # Right A, B and C are open. Alley and force may take any of them.
    defense = line_without("R A", "R B", "R C").support("alley", RunJob.ALLEY, "R", 2.5, 4.0, SAFETY)
    defense.support("force", RunJob.FORCE, "R", 5.5, 4.0, SAFETY)
    answer = defense.against(ONE_BACK, BASE, Side.RIGHT)
    assert len(answer.open) == 1
    assert {pair for pair in coverers(answer.right) if pair[1] in ("alley", "force")} == {
        (3, "alley"),
        (4, "alley"),
        (5, "alley"),
        (3, "force"),
        (4, "force"),
        (5, "force"),
    }
    assert answer.short is not None
    assert answer.short == ((3, 4, 5), ("alley", "force"))


def of(answer: RunAnswer, position: str) -> set[str]:
    """The lanes that a man could cover in time."""
    lanes = answer.lanes[::-1] if answer.is_turned else answer.lanes
    return {lanes[i].name for i, who in coverers(answer.right) if who == position}


def test_a_fold_man_could_cover_a_merged_lane() -> None:
    defense = line_without("L A", "L B", "R B").support("fold", RunJob.FOLD, "L", 2.0, 4.0, PlayerClass.BACKER)
    answer = defense.against(ONE_BACK, play("base: line", "fake: back side guard"), Side.RIGHT)
    assert of(answer, "fold") == {"left A/B"}
    assert answer.short == ((3,), ())  # right B, the fourth lane from the left


def test_a_cutback_man_could_cover_what_is_away_from_the_play() -> None:
    for to, expected in ((Side.LEFT, {"right A", "right B"}), (Side.RIGHT, set())):
        defense = line_without("R A", "R B").support("cutback", RunJob.CUTBACK, "R", 1.5, 4.0, SAFETY)
        assert of(defense.against(ONE_BACK, BASE, to), "cutback") == expected


def test_a_man_who_would_be_late_covers_nothing_unless_he_is_force_outside() -> None:
    # A backer reads for 0.5 s and goes 2.7 yd/s: from 5.5 yd deep he is at right B after 0.5 + 5.5 / 2.7 = 2.54 s in
    # time (ball at 2.514, slack 0.2), from 6.5 yd after 2.91 s, too late.
    for depth, expected in ((5.5, {"right B"}), (6.5, set())):
        defense = line_without("R B", "L B").support("free", RunJob.FREE, "R", 2.355, depth, PlayerClass.BACKER)
        assert of(defense.against(ONE_BACK, BASE, Side.RIGHT), "free") - {"left B"} == expected
    # Late by a slack of -0.3 s (2.656 s against 2.871 s): enough for force in the outermost lane.
    rules = TeamRules(timing=Timing(late_after_s=-0.3, never_after_s=1.0))
    defense = line_without("R C", "L B", rules=rules).support("force", RunJob.FORCE, "R", 6.0, 8.0, SAFETY)
    answer = defense.against(ONE_BACK, BASE, Side.RIGHT)
    assert of(answer, "force") == {"right C"}
    assert answer.short == ((1,), ())


def test_a_two_gap_man_counts_once_a_lane() -> None:
    # Nose on both A gaps; right B has nobody: the nose is no part of the lack.
    defense = line_without("L A", "R A", "R B").down("nose", "0", "R", "R A", "L A")
    answer = defense.against(ONE_BACK, BASE, Side.RIGHT)
    assert answer.short == ((4,), ())
    assert (answer.frontside, answer.backside) == (Numbers(3, 2), Numbers(3, 3))


def test_conceded_lanes_are_not_open() -> None:
    defense = line_without("R B")
    defense.conceded.append(call_gap("R B"))
    answer = defense.against(ONE_BACK, BASE, Side.RIGHT)
    assert names(answer, sorted(answer.conceded)) == ["right B"]
    assert answer.sound
    assert why(answer) == "each of the 5 lanes has a man there in time; conceded on purpose: right B"
    turned = defense.against(ONE_BACK, BASE, Side.LEFT)
    assert names(turned, sorted(turned.conceded)) == ["right B"]
    # With a man in it nothing is conceded.
    owned = six()
    owned.conceded.append(call_gap("R B"))
    assert owned.against(ONE_BACK, BASE, Side.RIGHT).conceded == frozenset()


def test_two_names_in_a_reason_stand_apart() -> None:
    defense = line_without("L B", "R B")
    defense.conceded.extend((call_gap("R B"), call_gap("L B")))
    conceded = why(defense.against(ONE_BACK, BASE, Side.RIGHT))
    assert conceded == "each of the 4 lanes has a man there in time; conceded on purpose: left B, right B"
    # Two free men for left A, right A and right B.
    defense = line_without("L A", "R A", "R B").support("a", RunJob.FREE, "L", 0.5, 4.0, SAFETY)
    defense.support("b", RunJob.FREE, "R", 1.5, 4.0, SAFETY)
    lacking = why(defense.against(ONE_BACK, BASE, Side.RIGHT))
    assert lacking == "3 lanes (left A, right A, right B) for 2 men in time (a, b)"


def test_a_conceded_lane_is_nobodys_to_fill_and_no_part_of_a_lack() -> None:
    defense = line_without("R A", "R B").support("free", RunJob.FREE, "R", 2.3, 4.0, SAFETY)
    defense.conceded.append(call_gap("R B"))
    answer = defense.against(ONE_BACK, BASE, Side.RIGHT)
    assert owners(answer)["right B"] == []
    assert owners(answer)["right A"] == ["free"]
    lacking = line_without("R A", "R B")
    lacking.conceded.append(call_gap("R B"))
    assert lacking.against(ONE_BACK, BASE, Side.RIGHT).short == ((3,), ())


def slow(late_after_s: float, never_after_s: float, speed_yd_s: float = 3.0) -> TeamRules:
    """Rules under which a rusher starts after 2 s and goes at that speed."""
    pace = dict.fromkeys(PlayerClass, Pace(2.0, speed_yd_s))
    return TeamRules(timing=Timing(rush=pace, read=pace, late_after_s=late_after_s, never_after_s=never_after_s))


def test_a_late_owner_leaves_a_lane_late_and_one_who_cannot_come_leaves_it_open() -> None:
    # A lineman shaded 0.45 yd on the center, a yard off the ball, gets to right A's middle (0.785 yd out) by
    # 2 + sqrt(0.335^2 + 1) / 3 = 2.352 s; the ball at 2.2 s is 0.152 s ahead of him.
    late = line_without(rules=slow(0.15, 3.0)).against(ONE_BACK, BASE, Side.RIGHT)
    assert names(late, late.late) == ["right A"]
    assert late.open == ()
    assert not late.sound
    assert late.fit("R A").gets_there
    assert late.short == ((3,), ())
    out = line_without(rules=slow(0.1, 0.15)).against(ONE_BACK, BASE, Side.RIGHT)
    assert names(out, out.open) == ["right A"]
    assert out.late == ()
    assert not out.fit("R A").gets_there
    assert out.fit("R A").owns
    assert out.frontside == Numbers(3, 2)


def test_force_may_be_late_in_the_outermost_lane_and_nobody_else_may() -> None:
    # 8 yd deep and 1.86 yd outside the spot a yard outside the tackle: 0.7 + 8.213 / 4.2 = 2.656 s; the ball is there
    # at 2.2 + 0.671 = 2.871 s. A slack of -0.3 s makes him late.
    rules = TeamRules(timing=Timing(late_after_s=-0.3, never_after_s=1.0))
    for job, sound in ((RunJob.FORCE, True), (RunJob.ALLEY, False)):
        defense = line_without("R C", rules=rules).support("man", job, "R", 6.0, 8.0, SAFETY)
        answer = defense.against(ONE_BACK, BASE, Side.RIGHT)
        assert owners(answer)["right C"] == ["man"]
        at = answer.fit("man").clock
        assert at is not None
        assert at.arrival is Arrival.LATE
        assert answer.sound is sound
        assert names(answer, answer.late) == ([] if sound else ["right C"])


def test_a_lane_with_one_man_in_time_is_not_late() -> None:
    # The sixth man through, 6 yd deep, is there at 0.2 + 5 x 0.25 + 6 / 3.6 = 3.1 s, after the ball; the lineman is in
    # time.
    defense = line_without().rush("sixth", "guard", "R", "R A", order=6, depth=6.0)
    answer = defense.against(ONE_BACK, BASE, Side.RIGHT)
    sixth = answer.fit("sixth").clock
    assert sixth is not None
    assert sixth.arrival is Arrival.LATE
    assert answer.late == ()
    assert answer.sound


def test_power_is_two_more_on_the_play_side_and_one_less_on_the_back_side() -> None:
    answer = six().against(TWO_BACKS, POWER, Side.LEFT)
    assert (answer.frontside, answer.backside) == (Numbers(5, 3), Numbers(2, 3))
    assert names(answer, answer.open) == ["left C between the wrap and the kick", "left C inside the wrap"]
    assert names(answer, answer.doubled) == ["right A/B"]


def test_men_who_stand_in_one_file_are_listed_the_shallower_first() -> None:
    defense = Defense().rush("deep", "guard", "R", "R A", depth=5.0).down("near", "2", "R", "R B")
    order = [fit.man.position for fit in defense.against(ONE_BACK, BASE, Side.RIGHT).fits]
    assert order.index("near") + 1 == order.index("deep")


@pytest.mark.parametrize("to", list(Side))
def test_a_position_the_defense_has_not_is_a_key_error(to: Side) -> None:
    answer = six().against(ONE_BACK, BASE, to)
    assert answer.fit("left end").man.position == "left end"
    with pytest.raises(KeyError, match="Nobody"):
        answer.fit("Nobody")


def test_turned_round_the_aim_is_turned_round() -> None:
    right = six().against(ONE_BACK, GUARD_KICK, Side.RIGHT)
    left = six().against(ONE_BACK, GUARD_KICK, Side.LEFT)
    # The aim is C: the leftmost lane of it to the right is the one inside the kick, halfway between the tackle, down at
    # 2.198, and the kick at 3.498.
    assert right.aim_x == pytest.approx(2.848)
    assert left.aim_x == pytest.approx(-2.848)
    assert lane_names(left) == [
        "left C outside the kick",
        "left C inside the kick",
        "left B",
        "left A",
        "right A/B",
        "right C",
    ]


def test_a_rusher_who_meets_another_on_the_way_is_late() -> None:
    # Both first, crossing over the center: the second named must wait .15 s to be clear, and the call is late there.
    defense = line_without("L A", "R A")
    defense.rush("first", "guard", "L", "R A", depth=4.5).rush("second", "guard", "R", "L A", depth=4.5)
    answer = defense.against(ONE_BACK, BASE, Side.RIGHT)
    late = [fit.man.position for fit in answer.fits if fit.clock and fit.clock.arrival is Arrival.LATE]
    assert len(late) == 1
    assert [answer.lanes[i].name for i in answer.late] == [lane_of(answer, late[0])]
    assert not answer.sound
    in_order = line_without("L A", "R A")
    in_order.rush("first", "guard", "L", "R A", depth=4.5).rush("second", "guard", "R", "L A", depth=4.5, order=2)
    assert in_order.against(ONE_BACK, BASE, Side.RIGHT).late == ()


def test_late_men_are_none_of_the_numbers() -> None:
    # The rusher on right B comes fifth from 6 yd: 0.2 + 1.67 + 4 x 0.25 = 2.87 s, the ball is there after 2.2 s or so.
    defense = line_without("R B").rush("late", "guard", "R", "R B", depth=6.0, order=5)
    answer = defense.against(ONE_BACK, BASE, Side.RIGHT)
    assert [answer.lanes[i].name for i in answer.late] == ["right B"]
    assert (answer.frontside.lanes, answer.frontside.defenders) == (3, 2)
