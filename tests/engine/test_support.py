"""Who fills the lanes that no gap owner has, and when he and the ball are there. Worked by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest

from quizgen.engine.reads import Read
from quizgen.engine.reasons import why
from quizgen.engine.timing import Arrival, arrival_s, clock
from quizgen.football.defense import PlayerClass
from quizgen.football.errors import NoRule
from quizgen.football.pressure import RunJob
from quizgen.football.rules import CrackRule, Pace, TeamRules, Timing
from quizgen.football.scheme import Scheme, SchemeFamily
from quizgen.football.sides import Letter, Side, Toward
from tests.engine.snap import ONE_BACK, STEP, lane_of, men_of, play, read_of
from tests.outside.field import BASE, GUARD_KICK, Defense, formation, owners, row

SAFETY, BACKER = PlayerClass.SAFETY, PlayerClass.BACKER
ALL_GAPS = {"L C": "5", "L B": "3", "L A": "1", "R A": "1", "R B": "3", "R C": "5"}


def line_without(*gone: str, rules: TeamRules | None = None) -> Defense:
    """A down lineman on each of the six gaps but those."""
    defense = Defense(rules)
    for gap, technique in ALL_GAPS.items():
        if gap not in gone:
            defense.down(gap, technique, gap[0], gap)
    return defense


def takes(job: RunJob, side: str, gap: str, scheme: Scheme = BASE, to: Side = Side.RIGHT) -> bool:
    """Whether a man with that job on that side fills the one gap that is left, standing near enough."""
    x = 2.0 if side == gap[0] else -2.0
    defense = line_without(gap).support("man", job, side, x, 4.0, SAFETY)
    return defense.against(ONE_BACK, scheme, to).fit("man").owns


# Job, his side, the open gap, whether he takes it; the play goes to the right.
JOBS = [
    (RunJob.FORCE, "R", "R C", True),
    (RunJob.FORCE, "R", "R B", True),  # nothing wider is open: he comes inside
    (RunJob.FORCE, "R", "L C", False),
    (RunJob.FORCE, "L", "L C", True),
    (RunJob.ALLEY, "R", "R A", True),
    (RunJob.ALLEY, "R", "R C", True),
    (RunJob.ALLEY, "R", "L A", False),
    (RunJob.ALLEY, "L", "L B", True),
    (RunJob.FOLD, "R", "R B", False),  # neither merged nor left behind
    (RunJob.FOLD, "L", "L A", False),
    (RunJob.FREE, "R", "R A", True),
    (RunJob.FREE, "R", "L B", True),
    (RunJob.CUTBACK, "R", "L A", True),
    (RunJob.CUTBACK, "R", "L C", True),
    (RunJob.CUTBACK, "R", "R A", False),
    (RunJob.CUTBACK, "L", "R B", False),
    (RunJob.COVER, "R", "R C", False),
]


@pytest.mark.parametrize(("job", "side", "gap", "expected"), JOBS)
def test_what_each_run_job_may_take(job: RunJob, side: str, gap: str, expected: bool) -> None:
    assert takes(job, side, gap) is expected


def test_the_cutback_man_takes_the_side_away_from_the_play() -> None:
    assert takes(RunJob.CUTBACK, "R", "R A", to=Side.LEFT)
    assert not takes(RunJob.CUTBACK, "R", "L A", to=Side.LEFT)


def test_fold_takes_a_merged_lane_and_one_that_was_left() -> None:
    gone = play("base: line", "fake: back side guard")
    merged = line_without("L A", "L B").support("fold", RunJob.FOLD, "L", 2.0, 4.0, BACKER)
    answer = merged.against(ONE_BACK, gone, Side.RIGHT)
    assert (lane_of(answer, "fold"), read_of(answer, "fold")) == ("left A/B", "fold")
    # On the other side it is not his.
    other = line_without("L A", "L B").support("fold", RunJob.FOLD, "R", 2.0, 4.0, BACKER)
    assert not other.against(ONE_BACK, gone, Side.RIGHT).fit("fold").owns
    # Across the center it is.
    center = play("base: line", "fake: center")
    across = line_without("L A", "R A").support("fold", RunJob.FOLD, "R", 1.0, 4.0, BACKER)
    assert lane_of(across.against(ONE_BACK, center, Side.RIGHT), "fold") == "left A/right A"


def test_fold_takes_the_lane_of_a_man_who_went_over_the_top() -> None:
    # The left guard kicks: the second rusher leaves left A/B for the play side, the fold man on the left has it.
    defense = (
        line_without("L A", "L B", "R C")
        .rush("second", "guard", "L", "L A", order=2)
        .support("fold", RunJob.FOLD, "L", 2.5, 4.5, BACKER)
    )
    answer = defense.against(ONE_BACK, GUARD_KICK, Side.RIGHT)
    assert lane_of(answer, "second") == "right C inside the kick"
    assert (lane_of(answer, "fold"), read_of(answer, "fold")) == ("left A/B", "fold")


READS = [
    (RunJob.FORCE, "R C", "force"),
    (RunJob.ALLEY, "R B", "alley"),
    (RunJob.FREE, "R B", "free"),
    (RunJob.CUTBACK, "L A", "cutback"),
]


@pytest.mark.parametrize(("job", "gap", "read"), READS)
def test_support_says_why_it_is_there(job: RunJob, gap: str, read: str) -> None:
    answer = line_without(gap).support("man", job, "R", 1.0, 4.0, SAFETY).against(ONE_BACK, BASE, Side.RIGHT)
    assert read_of(answer, "man") == read
    assert answer.fit("man").job == job.value


def test_support_that_no_lane_needs_comes_late() -> None:
    defense = line_without().support("force", RunJob.FORCE, "L", 7.0, 5.0, SAFETY)
    defense.support("free", RunJob.FREE, "R", 0.0, 9.0, SAFETY).support("cover", RunJob.COVER, "R", 15, 7, SAFETY)
    defense.support("alley", RunJob.ALLEY, "R", 5.0, 5.0, SAFETY)
    answer = defense.against(ONE_BACK, BASE, Side.RIGHT)
    force, alley, free, cover = (answer.fit(name) for name in ("force", "alley", "free", "cover"))
    # Force and alley come to the outermost lane on their side, where they own nothing.
    assert (force.lane, force.owns, force.read) == (0, False, Read.EXTRA)
    assert (alley.lane, alley.owns, alley.read) == (5, False, Read.EXTRA)
    # To the left lane's fit, 4.14 yd out: 2.86 yd along and 5 yd up at 4.2 yd/s after 0.7 s.
    assert force.clock is not None
    assert force.clock.at_s == pytest.approx(0.7 + (2.86**2 + 25) ** 0.5 / 4.2, abs=0.001)
    assert (free.lane, free.owns, free.read) == (None, False, Read.EXTRA)
    assert (cover.lane, cover.owns, cover.read) == (None, False, Read.COVER)
    assert not any(fit.gets_there for fit in (force, alley, free, cover))
    assert answer.doubled == ()


# --- who of several


def test_more_lanes_filled_come_before_less_time() -> None:
    # Left B and left C are open. The alley man may take both, force only C. The alley man is nearer to C than to B, but
    # only if he takes B are both filled.
    defense = line_without("L B", "L C").support("alley", RunJob.ALLEY, "L", 4.0, 3.0, SAFETY)
    defense.support("force", RunJob.FORCE, "L", 6.0, 4.0, SAFETY)
    answer = defense.against(ONE_BACK, BASE, Side.RIGHT)
    assert (lane_of(answer, "alley"), lane_of(answer, "force")) == ("left B", "left C")
    assert answer.sound


def test_the_nearer_man_takes_it() -> None:
    defense = line_without("R B").support("far", RunJob.FREE, "R", 2.3, 7.0, SAFETY)
    defense.support("near", RunJob.FREE, "R", 2.3, 4.0, SAFETY)
    answer = defense.against(ONE_BACK, BASE, Side.RIGHT)
    assert answer.fit("near").owns
    assert not answer.fit("far").owns


def test_each_of_two_takes_the_lane_on_his_side() -> None:
    defense = line_without("R B", "L B").support("right", RunJob.FREE, "R", 2.0, 5.0, SAFETY)
    defense.support("left", RunJob.FREE, "L", 2.0, 5.0, SAFETY)
    answer = defense.against(ONE_BACK, BASE, Side.RIGHT)
    assert (lane_of(answer, "right"), lane_of(answer, "left")) == ("right B", "left B")


def test_in_time_comes_before_less_time_together() -> None:
    # Right A (0.785 yd out, ball at 2.2 s) and right C (4.14 yd out, ball at 2.871 s) are open; 0.2 s of slack.
    # p (0.5 yd out, 7.194 deep) is at A after 0.7 + 7.2 / 4.2 = 2.414 s, too late. q (2 yd out, 6.5 deep) is at A after
    # 2.274 s, at C after 2.329 s. r (4.14 yd out, 9.5 deep) is at C after 2.962 s. p and q would be 4.743 s together,
    # q and r 5.236 s, but in time.
    defense = line_without("R A", "R C").support("p", RunJob.FREE, "R", 0.5, 7.194, SAFETY)
    defense.support("q", RunJob.FREE, "R", 2.0, 6.5, SAFETY).support("r", RunJob.FREE, "R", 4.14, 9.5, SAFETY)
    answer = defense.against(ONE_BACK, BASE, Side.RIGHT)
    assert (lane_of(answer, "q"), lane_of(answer, "r")) == ("right A", "right C")
    assert not answer.fit("p").owns
    assert answer.sound


def crossing(rules: TeamRules | None = None) -> dict[str, str]:
    """Two free men almost in one file, for right A (0.785 yd out) and right B (2.355 yd out).

    a: 1.7 yd out, 4 deep; b: 1.8 yd out, 10 deep. a to B and b to A is 4.053 + 10.051 = 14.105 yd, and their paths
    cross; a to A and b to B is 4.103 + 10.015 = 14.119 yd.
    """
    defense = line_without("R A", "R B", rules=rules).support("a", RunJob.FREE, "R", 1.7, 4.0, SAFETY)
    defense.support("b", RunJob.FREE, "R", 1.8, 10.0, SAFETY)
    answer = defense.against(ONE_BACK, BASE, Side.RIGHT)
    return {name: lane_of(answer, name) for name in ("a", "b")}


def test_two_men_of_support_never_cross() -> None:
    easy = TeamRules(timing=Timing(late_after_s=3.0, never_after_s=5.0))
    assert crossing(easy) == {"a": "right A", "b": "right B"}
    # With the usual slack b is late in both (0.7 + 10 / 4.2 = 3.08 s and more), and right B has the late man.
    assert crossing() == {"a": "right A", "b": "right B"}


def test_men_in_one_file_do_not_cross() -> None:
    # Both 1.5 yd out, 4 and 7 deep: a to right A and b to right B is 4.063 + 7.052 = 11.115 yd, the other way round
    # 4.090 + 7.036 = 11.127.
    defense = line_without("R A", "R B").support("a", RunJob.FREE, "R", 1.5, 4.0, SAFETY)
    defense.support("b", RunJob.FREE, "R", 1.5, 7.0, SAFETY)
    answer = defense.against(ONE_BACK, BASE, Side.RIGHT)
    assert (lane_of(answer, "a"), lane_of(answer, "b")) == ("right A", "right B")


def test_fold_men_who_cross_trade_merged_lanes() -> None:
    # Left guard and left end are gone: left A/B (middle 1.57 yd out) and left C/D (fit 4.14 yd out) are merged. Both
    # men fold; a, 2.72 yd out and 4 deep, to A/B and b, 2.70 out and 10 deep, to C/D is the less ground, but crosses.
    rules = TeamRules(timing=Timing(late_after_s=3.0, never_after_s=5.0))
    defense = line_without("L A", "L B", "L C", rules=rules).support("a", RunJob.FOLD, "L", 2.72, 4.0, SAFETY)
    defense.support("b", RunJob.FOLD, "L", 2.70, 10.0, SAFETY)
    gone = play("base: line", "fake: back side guard", "fake: back side end")
    answer = defense.against(formation("GTE", "GT", ("tailback", 0.0, 6.9)), gone, Side.RIGHT)
    assert (lane_of(answer, "a"), lane_of(answer, "b")) == ("left C/D", "left A/B")


def test_force_who_stands_inside_the_alley_man_fits_inside_him() -> None:
    # Only force may be late, in left C alone; but he stands 2 yd out and the alley man 5: they would cross.
    rules = TeamRules(timing=Timing(late_after_s=-0.5, never_after_s=2.0))
    defense = line_without("L B", "L C", rules=rules).support("force", RunJob.FORCE, "L", 2.0, 9.0, SAFETY)
    defense.support("alley", RunJob.ALLEY, "L", 5.0, 9.0, SAFETY)
    answer = defense.against(ONE_BACK, BASE, Side.RIGHT)
    assert (lane_of(answer, "force"), lane_of(answer, "alley")) == ("left B", "left C")
    assert [answer.lanes[i].name for i in answer.late] == ["left C", "left B"]


def test_a_lane_that_only_men_who_cross_could_fill_stays_open() -> None:
    # The alley man stands on our left and may take right A only; the free man, on our right, could have left A. Hall's
    # theorem finds a man for each lane, so the reason is the crossing.
    defense = line_without("L A", "R A").support("alley", RunJob.ALLEY, "R", -2.0, 4.0, SAFETY)
    defense.support("free", RunJob.FREE, "R", 2.0, 4.0, SAFETY)
    answer = defense.against(ONE_BACK, BASE, Side.RIGHT)
    assert lane_of(answer, "free") == "right A"
    assert not answer.fit("alley").owns
    assert (answer.sound, answer.short) == (False, None)
    assert why(answer) == "nobody in time for left A: two men of support would have to cross, and they never do"


@pytest.mark.parametrize("to", list(Side))
def test_of_force_and_alley_the_one_open_lane_is_forces(to: Side) -> None:
    # The alley man is there sooner, both in time.
    defense = line_without("R C").support("alley", RunJob.ALLEY, "R", 4.0, 4.0, SAFETY)
    defense.support("force", RunJob.FORCE, "R", 7.0, 5.0, SAFETY)
    answer = defense.against(ONE_BACK, BASE, to)
    assert answer.fit("force").owns
    assert not answer.fit("alley").owns


def test_but_not_where_force_is_late_and_the_alley_man_is_not() -> None:
    # Right B, 2.355 yd out, ball at 2.514 s and 0.2 s of slack. Force, 9 yd out and 6 deep, 0.7 + 8.961 / 4.2 = 2.834.
    defense = line_without("R B").support("alley", RunJob.ALLEY, "R", 2.3, 4.0, SAFETY)
    defense.support("force", RunJob.FORCE, "R", 9.0, 6.0, SAFETY)
    answer = defense.against(ONE_BACK, BASE, Side.RIGHT)
    assert (answer.fit("alley").owns, answer.fit("force").owns) == (True, False)
    assert answer.sound


def test_men_in_one_file_take_either_lane() -> None:
    # Both over the ball. The deeper one is the alley man of our left and may have left A only, the other right A only.
    defense = line_without("L A", "R A").support("left", RunJob.ALLEY, "L", 0.0, 7.0, SAFETY)
    defense.support("right", RunJob.ALLEY, "R", 0.0, 4.0, SAFETY)
    answer = defense.against(ONE_BACK, BASE, Side.RIGHT)
    assert (lane_of(answer, "left"), lane_of(answer, "right")) == ("left A", "right A")


@pytest.mark.parametrize("to", list(Side))
def test_force_goes_to_the_outermost_lane_that_is_left_on_his_side(to: Side) -> None:
    # Right A and B are open and C has its man: of the two, B is his, though A would be as near.
    defense = line_without("R A", "R B").support("force", RunJob.FORCE, "R", 1.6, 4.0, SAFETY)
    answer = defense.against(ONE_BACK, BASE, to)
    assert lane_of(answer, "force") == "right B"
    assert [answer.lanes[i].name for i in answer.open] == ["right A"]


def test_force_comes_inside_a_man_who_boxes() -> None:
    # The left guard pulls and kicks to our right; the end boxes, outside the kick. Nobody came over the top: C inside
    # the kick is force's.
    defense = line_without().support("force", RunJob.FORCE, "R", 7.0, 5.0, SAFETY)
    answer = defense.against(ONE_BACK, GUARD_KICK, Side.RIGHT)
    assert lane_of(answer, "R C") == "right C outside the kick"
    assert lane_of(answer, "force") == "right C inside the kick"


def test_support_takes_the_lane_of_a_man_who_cannot_get_there() -> None:
    # The rusher on right B stands 16 yd deep: the alley man is there, so the lane is not open.
    defense = line_without("R B").rush("deep", "guard", "R", "R B", depth=16.0)
    defense.support("alley", RunJob.ALLEY, "R", 2.3, 4.0, SAFETY)
    answer = defense.against(ONE_BACK, BASE, Side.RIGHT)
    assert owners(answer)["right B"] == ["alley"]
    assert answer.open == ()


@pytest.mark.parametrize("to", list(Side))
def test_a_man_who_cannot_get_there_takes_no_lane(to: Side) -> None:
    # 16 yd deep: 0.7 + 16 / 4.2 = 4.5 s and more, against the ball at 2.2 s and the 1.2 s after which he is out of it.
    defense = line_without("R B").support("deep", RunJob.FREE, "R", 2.3, 16.0, SAFETY)
    answer = defense.against(ONE_BACK, BASE, to)
    assert not answer.fit("deep").owns
    assert owners(answer)["right B"] == []
    assert [answer.lanes[i].name for i in answer.open] == ["right B"]


# --- crack


def cracked(rule: CrackRule) -> Defense:
    """A force safety and two corners on the right, a corner on the left; right C is theirs to fill."""
    defense = line_without("R C", rules=TeamRules(crack=rule))
    defense.support("safety", RunJob.FORCE, "R", 6.0, 6.0, SAFETY)
    defense.support("corner", RunJob.COVER, "R", 8.0, 5.0, PlayerClass.CORNER)
    return defense.support("far corner", RunJob.COVER, "L", 18.0, 6.0, PlayerClass.CORNER)


SPLIT = formation("GT", "GT", ("tailback", 0.0, 6.9), ("receiver", 9.0, 0.0), ("receiver", -9.0, 0.0))
CRACK = play("base: line", "crack: play side receiver")


def test_the_corner_is_force_when_the_force_man_is_cracked() -> None:
    answer = cracked(CrackRule.REPLACE).against(SPLIT, CRACK, Side.RIGHT)
    assert (lane_of(answer, "corner"), read_of(answer, "corner")) == ("right C", "crack replace")
    assert (answer.fit("safety").owns, read_of(answer, "safety")) == (False, "cover")
    assert answer.fit("corner").man.replaces == "safety"
    assert answer.fit("corner").man.side is Side.RIGHT
    assert read_of(answer, "far corner") == "cover"


def test_told_to_stay_nobody_replaces_him() -> None:
    answer = cracked(CrackRule.STAY).against(SPLIT, CRACK, Side.RIGHT)
    assert read_of(answer, "corner") == "cover"
    assert [answer.lanes[i].name for i in answer.open] == ["right C"]


def test_uncracked_the_force_man_is_force() -> None:
    for scheme in (play("base: line"), play("base: line", "crack: back side receiver")):
        answer = cracked(CrackRule.REPLACE).against(SPLIT, scheme, Side.RIGHT)
        assert (lane_of(answer, "safety"), read_of(answer, "safety")) == ("right C", "force")
        assert read_of(answer, "corner") == "cover"


def test_the_widest_man_who_covers_there_replaces_him() -> None:
    defense = cracked(CrackRule.REPLACE).support("inner", RunJob.COVER, "R", 7.0, 5.0, PlayerClass.CORNER)
    answer = defense.against(SPLIT, CRACK, Side.RIGHT)
    assert answer.fit("corner").man.replaces == "safety"
    assert answer.fit("inner").man.replaces is None


def test_a_wider_man_with_another_job_does_not_replace_him() -> None:
    defense = cracked(CrackRule.REPLACE).support("free", RunJob.FREE, "R", 10.0, 8.0, SAFETY)
    assert defense.against(SPLIT, CRACK, Side.RIGHT).fit("corner").man.replaces == "safety"


def test_his_replacement_takes_over_his_side() -> None:
    # A corner who covers on no side, 8 yd out to the right.
    defense = cracked(CrackRule.REPLACE)
    defense.drops = [replace(drop, toward=None) if drop.position == "corner" else drop for drop in defense.drops]
    man = defense.against(SPLIT, CRACK, Side.RIGHT).fit("corner").man
    assert man.replaces == "safety"
    assert man.side is Side.RIGHT
    assert man.drop_toward is Toward.TO
    assert man.drop is not None
    assert man.drop.run is RunJob.FORCE


@pytest.mark.parametrize("to", list(Side))
def test_as_near_to_two_lanes_he_takes_the_play_side(to: Side) -> None:
    defense = line_without("L A", "R A").support("free", RunJob.FREE, "R", 0.0, 5.0, SAFETY)
    assert lane_of(defense.against(ONE_BACK, BASE, to), "free") == f"{to.value} A"


def test_turned_round_the_other_corner_replaces() -> None:
    defense = line_without("L C").support("safety", RunJob.FORCE, "L", 6.0, 6.0, SAFETY)
    defense.support("corner", RunJob.COVER, "L", 8.0, 5.0, PlayerClass.CORNER)
    answer = defense.against(SPLIT, CRACK, Side.LEFT)
    assert (lane_of(answer, "corner"), answer.fit("corner").man.replaces) == ("left C", "safety")
    assert answer.fit("corner").man.side is Side.LEFT


# --- times


SLOW = Pace(1.0, 2.0)
TIMING = Timing(
    read=dict.fromkeys(PlayerClass, SLOW),
    rush=dict.fromkeys(PlayerClass, Pace(0.25, 4.0)),
    order_delay_s=0.5,
    late_after_s=0.2,
    never_after_s=1.2,
)


def test_arrival_is_reaction_delay_and_the_straight_way() -> None:
    # 3 yd aside and 4 yd deep make 5 yd.
    defense = Defense().rush("second", "center", "R", "R A", order=2, depth=4.0)
    man = next(m for m in men_of(defense) if m.position == "second")
    assert arrival_s(man, 3.0, TIMING, reads=True) == pytest.approx(1.0 + 0.5 + 5 / 2)
    assert arrival_s(man, -3.0, TIMING, reads=False) == pytest.approx(0.25 + 0.5 + 5 / 4)


@pytest.mark.parametrize(
    ("at_s", "arrival"),
    [
        (0.0, Arrival.ON_TIME),
        (2.25, Arrival.ON_TIME),  # by the slack at the latest
        (2.375, Arrival.LATE),
        (3.25, Arrival.LATE),
        (3.375, Arrival.NEVER),
    ],
)
def test_on_time_late_or_out_of_it(at_s: float, arrival: Arrival) -> None:
    found = clock(at_s, 2.0, Timing(late_after_s=0.25, never_after_s=1.25))
    assert (found.at_s, found.ball_s, found.arrival) == (at_s, 2.0, arrival)


@pytest.mark.parametrize("to", list(Side))
def test_the_ball_goes_to_its_aim_and_then_sideways(to: Side) -> None:
    # Base takes 2.2 s to right A (middle 0.785 yd out); at 5 yd/s it is 0.314 s a gap further on either side, and at
    # the edge, a yard outside the tackle, (4.14 - 0.785) / 5 = 0.671 s.
    answer = line_without().against(ONE_BACK, BASE, to)
    side = to.value
    for name, seconds in (
        (f"{side} A", 2.2),
        (f"{side} B", 2.2 + STEP / 5),
        (f"{to.other.value} A", 2.2 + STEP / 5),
        (f"{side} C", 2.2 + 3.355 / 5),
    ):
        fit = next(f for f in answer.fits if f.lane is not None and answer.lanes[f.lane].name == name)
        assert fit.clock is not None
        assert fit.clock.ball_s == pytest.approx(seconds, abs=0.001)


def test_a_play_may_have_a_time_of_its_own() -> None:
    own = Scheme("quick", SchemeFamily.BASE, (row("base", "line"),), Letter.A, ball_s=1.5)
    fit = line_without().against(ONE_BACK, own, Side.RIGHT).fit("R A")
    assert fit.clock is not None
    assert fit.clock.ball_s == pytest.approx(1.5)


def test_a_play_without_a_time_is_refused_in_words() -> None:
    timing = Timing(ball_s={SchemeFamily.POWER: 2.5})
    with pytest.raises(NoRule) as caught:
        line_without(rules=TeamRules(timing=timing)).against(ONE_BACK, BASE, Side.RIGHT)
    assert str(caught.value) == ("no rule for call 'table' from front 'table' against 'base': no ball time for 'base'")
