"""Who has dive, quarterback and pitch: one man each, by the team's rule. Worked by hand."""

from __future__ import annotations

import pytest

from quizgen.engine.verdict import RunAnswer
from quizgen.football.defense import PlayerClass
from quizgen.football.errors import NoRule
from quizgen.football.pressure import RunJob
from quizgen.football.rules import LINEMAN_IN_B, OptionRule, TeamRules
from quizgen.football.scheme import Option, Phase, ReadMan, Scheme, SchemeFamily
from quizgen.football.sides import Letter, Side
from tests.engine.snap import ONE_BACK, lane_of, read_of
from tests.outside.field import Defense, formation, option, row

DIVE, QB, PITCH = Phase.DIVE, Phase.QUARTERBACK, Phase.PITCH
ALL = (DIVE, QB, PITCH)
DIVE_FIRST, QB_FIRST = OptionRule(DIVE, QB, PITCH), OptionRule(QB, DIVE, PITCH)
GUN = formation("GT", "GT", ("tailback", -1.5, 4.1))


def rules(rule: OptionRule, **more: OptionRule) -> TeamRules:
    return TeamRules(options={"table": rule, **{name.replace("_", " "): one for name, one in more.items()}})


def phases(answer: RunAnswer) -> dict[Phase, str]:
    return {owner.phase: owner.position for owner in answer.phases}


def front(rule: OptionRule = DIVE_FIRST) -> Defense:
    """Four down linemen on A, B and the edges, three backers, force and alley to each side."""
    defense = (
        Defense(rules(rule))
        .down("left end", "5", "L", "L edge")
        .down("nose", "1", "L", "L A")
        .down("tackle", "3", "R", "R B")
        .down("right end", "5", "R", "R edge")
        .fill("Will", "tackle", "L", "L B")
        .fill("Mike", "guard", "R", "R A")
    )
    for side, name in (("L", "left"), ("R", "right")):
        defense.support(f"{name} force", RunJob.FORCE, side, 8.0, 6.0, PlayerClass.SAFETY)
        defense.support(f"{name} alley", RunJob.ALLEY, side, 5.0, 9.0, PlayerClass.SAFETY)
    return defense


def play(read: ReadMan, *kept: Phase, aim: Letter = Letter.A) -> Scheme:
    return option("table", read, *(kept or ALL), aim=aim)


@pytest.mark.parametrize(
    ("read", "man"),
    [
        (ReadMan.BACK_EDGE, "left end"),
        (ReadMan.PLAY_EDGE, "right end"),
        (ReadMan.FIRST_OUTSIDE_B, "right end"),
        (ReadMan.FIRST_PAST_CENTER, "tackle"),  # the innermost lineman beyond the center's edge: the 3 technique
    ],
)
@pytest.mark.parametrize("to", list(Side))
def test_the_man_read_has_the_phase_of_the_read_man(read: ReadMan, man: str, to: Side) -> None:
    if to is Side.LEFT:  # the nose stands on the center's edge, not beyond it: the end is the first lineman there
        man = {"left end": "right end", "right end": "left end", "tackle": "left end"}[man]
    answer = front(QB_FIRST).against(GUN, play(read, QB), to)
    assert phases(answer) == {QB: man}
    fit = answer.fit(man)
    assert (fit.is_read, fit.phase, fit.threat) == (True, QB, None)


def test_the_dive_is_the_read_mans_only_where_it_hits() -> None:
    # The dive hits the gap it aims at or the next one outside; on the back side he closes on it from wherever he is.
    def dive(read: ReadMan, aim: Letter) -> str:
        return phases(front().against(GUN, play(read, DIVE, aim=aim), Side.RIGHT))[DIVE]

    assert dive(ReadMan.FIRST_PAST_CENTER, Letter.A) == "tackle"  # aimed at A: he has B, the next one outside
    assert dive(ReadMan.FIRST_OUTSIDE_B, Letter.B) == "right end"  # aimed at B: he has C
    assert dive(ReadMan.FIRST_OUTSIDE_B, Letter.A) == "Mike"  # aimed at A: C is two gaps out
    assert dive(ReadMan.BACK_EDGE, Letter.A) == "left end"


def test_a_read_man_too_wide_for_the_dive_takes_the_next_mans_phase() -> None:
    answer = front().against(GUN, play(ReadMan.PLAY_EDGE, aim=Letter.A), Side.RIGHT)
    assert phases(answer) == {DIVE: "Mike", QB: "right end", PITCH: "right force"}


def test_the_end_man_on_the_line_is_read_whether_he_rushes_or_drops() -> None:
    # The tackle is 3.14 yd out: the end man stands from his inside shoulder to 4 yd outside him, at most 2 yd deep.
    def read(*men: tuple[str, float, float]) -> str:
        defense = Defense(rules(QB_FIRST)).down("end", "5", "L", "L edge")
        for name, x, depth in men:
            defense.support(name, RunJob.FORCE, "L", x, depth, PlayerClass.SAFETY)
        found = defense.against(GUN, play(ReadMan.BACK_EDGE, QB), Side.RIGHT)
        return phases(found)[QB]

    assert read() == "end"
    assert read(("dropper", 4.3, 1.0)) == "dropper"
    assert read(("dropper", 4.3, 2.1)) == "end"  # too deep
    assert read(("dropper", 7.2, 1.0)) == "end"  # too wide
    assert read(("inner", 4.3, 1.0), ("outer", 5.0, 2.0)) == "outer"
    assert read(("deep", 5.0, 2.0), ("near", 5.0, 1.0)) == "near"


def test_a_man_over_a_split_receiver_is_not_the_end_man() -> None:
    slot = formation("GT", "GT", ("tailback", -1.5, 4.1), ("receiver", -6.0, 1.0))
    defense = Defense(rules(QB_FIRST)).down("end", "5", "L", "L edge")
    defense.support("press", RunJob.COVER, "L", 6.5, 1.0, PlayerClass.CORNER)
    assert phases(defense.against(slot, play(ReadMan.BACK_EDGE, QB), Side.RIGHT)) == {QB: "end"}


def test_a_call_names_whom_they_read() -> None:
    # Inside an end nobody stands on the line: no rule, unless the call says who it is.
    tight = formation("GTE", "GT", ("tailback", -1.5, 4.1))
    defense = Defense(rules(QB_FIRST)).down("tackle", "5", "L", "L C")
    with pytest.raises(NoRule, match="nobody to read as 'back side edge'; the call may name him"):
        defense.against(tight, play(ReadMan.BACK_EDGE, QB), Side.RIGHT)
    defense.read = ["tackle"]
    assert phases(defense.against(tight, play(ReadMan.BACK_EDGE, QB), Side.RIGHT)) == {QB: "tackle"}


def test_the_first_man_outside_b_is_the_innermost_at_or_outside_the_tackle() -> None:
    offense = formation("GT", "GTE", ("tailback", 0.0, 6.9))
    defense = Defense(rules(QB_FIRST)).down("in D", "9", "R", "R D").down("in C", "4", "R", "R C")
    defense.down("in B", "4i", "R", "R B")
    answer = defense.against(offense, play(ReadMan.FIRST_OUTSIDE_B, QB), Side.RIGHT)
    assert phases(answer) == {QB: "in C"}


def test_a_stand_up_man_is_not_the_first_lineman() -> None:
    defense = Defense(rules(DIVE_FIRST)).rush("Sam", "guard", "R", "R A").down("tackle", "3", "R", "R B")
    answer = defense.against(GUN, play(ReadMan.FIRST_PAST_CENTER, DIVE), Side.RIGHT)
    assert phases(answer) == {DIVE: "tackle"}


def test_the_pitch_is_forces_then_the_alley_mans_then_the_widest_mans() -> None:
    pitch = play(ReadMan.PLAY_EDGE, PITCH)
    assert phases(front().against(GUN, pitch, Side.RIGHT)) == {PITCH: "right force"}
    assert phases(front().against(GUN, pitch, Side.LEFT)) == {PITCH: "left force"}
    # Reading the back side, it is that side's force man.
    assert phases(front().against(GUN, play(ReadMan.BACK_EDGE, PITCH), Side.RIGHT)) == {PITCH: "left force"}
    alley = Defense(rules(DIVE_FIRST)).down("end", "5", "R", "R edge")
    alley.support("wide", RunJob.COVER, "R", 15.0, 7.0, PlayerClass.CORNER)
    widest = alley.against(GUN, pitch, Side.RIGHT)
    assert phases(widest) == {PITCH: "wide"}
    alley = Defense(rules(DIVE_FIRST)).down("end", "5", "R", "R edge")
    alley.support("wide", RunJob.COVER, "R", 15.0, 7.0, PlayerClass.CORNER)
    alley.support("far alley", RunJob.ALLEY, "L", 5.0, 9.0, PlayerClass.SAFETY)
    alley.support("alley", RunJob.ALLEY, "R", 5.0, 9.0, PlayerClass.SAFETY)
    assert phases(alley.against(GUN, pitch, Side.RIGHT)) == {PITCH: "alley"}


def test_as_wide_as_each_other_the_shallower_has_the_pitch() -> None:
    defense = Defense(rules(DIVE_FIRST)).down("end", "5", "R", "R edge")
    defense.support("deep", RunJob.COVER, "R", 15.0, 9.0, PlayerClass.CORNER)
    defense.support("near", RunJob.COVER, "R", 15.0, 5.0, PlayerClass.CORNER)
    assert phases(defense.against(GUN, play(ReadMan.PLAY_EDGE, PITCH), Side.RIGHT)) == {PITCH: "near"}


def test_of_two_force_men_the_widest_then_the_shallowest_has_the_pitch() -> None:
    def pitch(*men: tuple[str, float, float]) -> str:
        defense = Defense(rules(DIVE_FIRST)).down("end", "5", "R", "R edge")
        for name, x, depth in men:
            defense.support(name, RunJob.FORCE, "R", x, depth, PlayerClass.SAFETY)
        return phases(defense.against(GUN, play(ReadMan.PLAY_EDGE, PITCH), Side.RIGHT))[PITCH]

    assert pitch(("inner", 6.0, 5.0), ("wide", 8.0, 7.0)) == "wide"
    assert pitch(("wide", 8.0, 7.0), ("inner", 6.0, 5.0)) == "wide"
    assert pitch(("deep", 8.0, 7.0), ("near", 8.0, 5.0)) == "near"


def test_the_dive_is_the_man_in_the_gap_it_aims_at() -> None:
    # The edge has the quarterback; the dive aims at right A, where the Mike is, or right B, where the tackle is.
    for aim, man in ((Letter.A, "Mike"), (Letter.B, "tackle")):
        answer = front(QB_FIRST).against(GUN, play(ReadMan.PLAY_EDGE, QB, DIVE, aim=aim), Side.RIGHT)
        assert phases(answer) == {QB: "right end", DIVE: man}


def test_with_nobody_in_that_gap_the_dive_goes_to_the_nearest_stand_up_man_on_that_side() -> None:
    # Nobody has right B. On the right stand the Mike (fills A, over the guard), and a rusher in C; nearest to the end.
    defense = (
        Defense(rules(QB_FIRST))
        .down("end", "5", "R", "R edge")
        .fill("Mike", "guard", "R", "R A")
        .rush("Sam", "tackle", "R", "R C", depth=5.0)
        .fill("Will", "tackle", "R", "L A", depth=4.0)
    )
    answer = defense.against(GUN, play(ReadMan.PLAY_EDGE, QB, DIVE, aim=Letter.B), Side.RIGHT)
    # The Will stands nearer but his gap is on the left.
    assert phases(answer)[DIVE] == "Sam"


def test_the_quarterback_goes_to_the_next_rusher_outside_the_man_read_inside() -> None:
    midline = play(ReadMan.FIRST_PAST_CENTER, DIVE, QB)
    assert phases(front().against(GUN, midline, Side.RIGHT)) == {DIVE: "tackle", QB: "right end"}
    # The first man outside B is the widest: the nearest stand-up man.
    veer = play(ReadMan.FIRST_OUTSIDE_B, DIVE, QB, aim=Letter.B)
    assert phases(front().against(GUN, veer, Side.RIGHT)) == {DIVE: "right end", QB: "right alley"}


def test_of_men_as_near_the_shallower_takes_the_quarterback() -> None:
    def found(*men: tuple[str, RunJob, float, float]) -> str:
        defense = Defense(rules(DIVE_FIRST)).down("end", "4", "R", "R edge")  # head-up the tackle: 3.14 yd out
        for name, job, x, depth in men:
            defense.support(name, job, "R", x, depth, PlayerClass.SAFETY)
        return phases(defense.against(GUN, play(ReadMan.PLAY_EDGE, DIVE, QB, aim=Letter.B), Side.RIGHT))[QB]

    assert found(("deep", RunJob.FOLD, 4.14, 8.0), ("near", RunJob.FOLD, 4.14, 5.0)) == "near"
    # As near on either side of the end and as deep: the one further to the play.
    assert found(("in", RunJob.FOLD, 2.14, 5.0), ("out", RunJob.ALLEY, 4.14, 5.0)) == "out"
    # Force, free and cover men have something else to do.
    assert found(
        ("free", RunJob.FREE, 3.2, 5.0), ("cover", RunJob.COVER, 3.2, 6.0), ("fold", RunJob.FOLD, 9.0, 9.0)
    ) == ("fold")


def test_without_a_man_on_that_side_the_nearest_gap_owner_has_it_and_failing_him_anybody() -> None:
    keeper = play(ReadMan.PLAY_EDGE, DIVE, QB, aim=Letter.B)
    left = Defense(rules(DIVE_FIRST)).down("end", "5", "R", "R edge").fill("Will", "guard", "L", "L A")
    left.down("far end", "5", "L", "L edge")
    assert phases(left.against(GUN, keeper, Side.RIGHT))[QB] == "Will"
    alone = Defense(rules(DIVE_FIRST)).down("end", "5", "R", "R edge")  # 3.59 yd out
    alone.support("cover near", RunJob.COVER, "R", 3.5, 5.0, PlayerClass.SAFETY)
    assert phases(alone.against(GUN, keeper, Side.RIGHT))[QB] == "cover near"


def test_a_lineman_does_not_cross_another_lane_for_the_quarterback() -> None:
    # The nose, a yard deep in left A, would have to cross right A and B; whoever is deep enough goes over the top.
    defense = Defense(rules(DIVE_FIRST)).down("end", "5", "R", "R edge").down("nose", "1", "L", "L A")
    found = phases(defense.against(GUN, play(ReadMan.PLAY_EDGE, DIVE, QB, aim=Letter.B), Side.RIGHT))[QB]
    assert found.startswith("cover")
    # The tackle beside him has no lane to cross.
    defense.down("tackle", "3", "R", "R B")
    assert phases(defense.against(GUN, play(ReadMan.PLAY_EDGE, DIVE, QB, aim=Letter.B), Side.RIGHT))[QB] == "tackle"


def test_the_man_read_never_has_another_phase() -> None:
    # Only the quarterback is asked for: the man read is nearest of all, but the dive would be his.
    keeper = play(ReadMan.PLAY_EDGE, QB)
    left = Defense(rules(DIVE_FIRST)).down("end", "5", "R", "R edge").fill("Will", "guard", "L", "L A")
    assert phases(left.against(GUN, keeper, Side.RIGHT)) == {QB: "Will"}
    alone = Defense(rules(DIVE_FIRST)).down("end", "5", "R", "R edge")
    alone.support("cover near", RunJob.COVER, "R", 3.5, 5.0, PlayerClass.SAFETY)
    assert phases(alone.against(GUN, keeper, Side.RIGHT)) == {QB: "cover near"}


def test_as_near_and_as_deep_the_man_further_to_the_play_side() -> None:
    defense = Defense(rules(DIVE_FIRST)).down("end", "4", "R", "R edge")  # 3.14 yd out
    defense.support("away", RunJob.FOLD, "R", 1.14, 5.0, PlayerClass.SAFETY)
    defense.support("toward", RunJob.FOLD, "R", 5.14, 5.0, PlayerClass.SAFETY)
    answer = defense.against(GUN, play(ReadMan.PLAY_EDGE, DIVE, QB, aim=Letter.B), Side.RIGHT)
    assert phases(answer)[QB] == "toward"


def test_a_lineman_in_b_brings_the_second_rule() -> None:
    both = {"table": DIVE_FIRST, "table" + LINEMAN_IN_B: QB_FIRST}
    edge_read = play(ReadMan.BACK_EDGE, DIVE, QB)

    def end_has(defense: Defense) -> Phase:
        defense.rules = TeamRules(options=both)
        defense.down("end", "5", "L", "L edge").fill("Mike", "guard", "R", "R A")
        found = phases(defense.against(GUN, edge_read, Side.RIGHT))
        return next(phase for phase, man in found.items() if man == "end")

    assert end_has(Defense().down("tackle", "3", "L", "L B")) is QB
    assert end_has(Defense().down("shade", "1", "L", "L A")) is DIVE
    assert end_has(Defense().down("tackle", "3", "R", "R B")) is DIVE  # the other side's B
    assert end_has(Defense().fill("Will", "guard", "L", "L B")) is DIVE  # no lineman
    # With the second rule alone the first is missing where no lineman holds B.
    only = Defense(TeamRules(options={"table" + LINEMAN_IN_B: QB_FIRST})).down("end", "5", "L", "L edge")
    with pytest.raises(NoRule, match="no team rule for the option 'table'"):
        only.against(GUN, edge_read, Side.RIGHT)


def test_a_read_man_with_the_dive_trades_lanes_with_the_man_on_the_quarterback() -> None:
    # Read away from the play, the left end takes the dive; the Will in left B, the nearest stand-up man there, takes
    # the quarterback. Scrape exchange: the end closes into B, the Will goes outside.
    defense = Defense(rules(DIVE_FIRST)).down("left end", "5", "L", "L edge").fill("Will", "tackle", "L", "L B")
    answer = defense.against(GUN, play(ReadMan.BACK_EDGE, DIVE, QB), Side.RIGHT)
    assert phases(answer) == {DIVE: "left end", QB: "Will"}
    assert (lane_of(answer, "left end"), lane_of(answer, "Will")) == ("left B", "left C")
    assert read_of(answer, "left end") == read_of(answer, "Will") == "scrape"


def test_a_read_man_two_lanes_from_the_scraper_keeps_his_own_and_the_scraper_leaves_his_open() -> None:
    # Read away from the play, the left end has the dive, the Will in left A the quarterback; the tackle in left B lies
    # between them. The Will goes over the top; left A is nobody's, and the call is not sound.
    defense = Defense(rules(DIVE_FIRST)).down("left end", "5", "L", "L edge").down("tackle", "3", "L", "L B")
    defense.fill("Will", "guard", "L", "L A").support("free", RunJob.FREE, "L", 0.0, 6.0, PlayerClass.SAFETY)
    answer = defense.against(GUN, play(ReadMan.BACK_EDGE, DIVE, QB), Side.RIGHT)
    assert phases(answer) == {DIVE: "left end", QB: "Will"}
    assert lane_of(answer, "left end") == "left C"
    assert lane_of(answer, "tackle") == "left B"
    will = answer.fit("Will")
    assert (will.owns, will.read.value, will.phase) == (False, "scrape", QB)
    assert "left A" in [answer.lanes[i].name for i in answer.open]  # the free man does not fill it


def test_support_with_a_phase_fills_nothing_inside_the_read_man() -> None:
    # Nobody has right A or B. The force man has the pitch: neither is his to fill; an alley man without a phase may.
    defense = Defense(rules(QB_FIRST)).down("end", "5", "R", "R edge").fill("Mike", "center", "R", "R A")
    defense.support("alley", RunJob.ALLEY, "R", 2.0, 4.0, PlayerClass.BACKER)
    keeper = Scheme(
        "table",
        SchemeFamily.ZONE_READ,
        (row("zone", "line"),),
        Letter.A,
        Option("table", ReadMan.PLAY_EDGE, (QB, PITCH)),
    )
    answer = defense.against(GUN, keeper, Side.RIGHT)
    assert phases(answer) == {QB: "end", PITCH: "alley"}
    assert not answer.fit("alley").owns
    defense.support("force", RunJob.FORCE, "R", 8.0, 6.0, PlayerClass.SAFETY)
    answer = defense.against(GUN, keeper, Side.RIGHT)
    assert phases(answer) == {QB: "end", PITCH: "force"}
    assert answer.fit("alley").owns
    assert lane_of(answer, "alley") == "right B"


@pytest.mark.parametrize("to", list(Side))
def test_support_with_a_phase_fills_the_last_lane_outside_a_read_man_who_comes_inside(to: Side) -> None:
    # The end on the side that is read goes to B; force has the pitch, and outside, in C, he is where the pitch goes.
    back, mark = ("left", "L") if to is Side.RIGHT else ("right", "R")
    defense = Defense(rules(DIVE_FIRST)).down("end", "5", mark, f"{mark} B").fill("Will", "guard", mark, f"{mark} A")
    defense.support("force", RunJob.FORCE, mark, 8.0, 6.0, PlayerClass.SAFETY)
    answer = defense.against(GUN, play(ReadMan.BACK_EDGE), to)
    assert phases(answer) == {DIVE: "end", QB: "Will", PITCH: "force"}
    assert answer.fit("force").owns
    assert lane_of(answer, "force") == f"{back} C"


def test_a_dropper_is_not_the_next_rusher_outside_the_man_read() -> None:
    # The tackle in B is read. The Sam fills C from further in; the Mike stands behind the man who is read.
    defense = Defense(rules(DIVE_FIRST)).down("tackle", "4", "R", "R B")
    defense.fill("Sam", "guard", "R", "R edge").fill("Mike", "tackle", "R", "R A")
    found = phases(defense.against(GUN, play(ReadMan.FIRST_OUTSIDE_B, DIVE, QB, aim=Letter.B), Side.RIGHT))
    assert found == {DIVE: "tackle", QB: "Mike"}


@pytest.mark.parametrize(
    ("rule", "kept", "why"),
    [
        (QB_FIRST, (DIVE, QB), "the read man has the quarterback"),
        (OptionRule(PITCH, QB, DIVE), ALL, "the read man has the pitch"),
        (DIVE_FIRST, (DIVE,), "nobody has the quarterback"),
        (DIVE_FIRST, (QB,), "nobody has the dive"),
    ],
)
def test_no_trade(rule: OptionRule, kept: tuple[Phase, ...], why: str) -> None:
    defense = Defense(rules(rule)).down("left end", "5", "L", "L edge").fill("Will", "tackle", "L", "L B")
    defense.fill("Mike", "guard", "R", "R A")
    answer = defense.against(GUN, play(ReadMan.BACK_EDGE, *kept), Side.RIGHT)
    assert (lane_of(answer, "left end"), lane_of(answer, "Will")) == ("left C", "left B"), why


def test_a_man_with_two_lanes_or_with_none_trades_nothing() -> None:
    two = Defense(rules(DIVE_FIRST)).down("left end", "5", "L", "L edge").fill("Will", "tackle", "L", "L B", "L A")
    answer = two.against(GUN, play(ReadMan.BACK_EDGE, DIVE, QB), Side.RIGHT)
    assert phases(answer)[QB] == "Will"
    assert lane_of(answer, "left end") == "left C"
    wide = Defense(rules(DIVE_FIRST)).down("left end", "5", "L", "L B", "L edge").fill("Will", "tackle", "L", "L A")
    answer = wide.against(GUN, play(ReadMan.BACK_EDGE, DIVE, QB), Side.RIGHT)
    assert phases(answer) == {DIVE: "left end", QB: "Will"}
    assert lane_of(answer, "Will") == "left A"
    fold = Defense(rules(DIVE_FIRST)).down("left end", "5", "L", "L edge")
    fold.support("fold", RunJob.FOLD, "L", 3.0, 5.0, PlayerClass.SAFETY)
    answer = fold.against(GUN, play(ReadMan.BACK_EDGE, DIVE, QB), Side.RIGHT)
    assert phases(answer)[QB] == "fold"
    assert (lane_of(answer, "left end"), read_of(answer, "left end")) == ("left C", "chase")


def test_a_play_without_an_option_has_no_phases() -> None:
    from tests.outside.field import ZONE

    assert front().against(GUN, ZONE, Side.RIGHT).phases == ()


REFUSED = [
    (ReadMan.BACK_EDGE, "nobody to read as 'back side edge'; the call may name him"),
    (ReadMan.PLAY_EDGE, "nobody to read as 'play side edge'; the call may name him"),
    (ReadMan.FIRST_OUTSIDE_B, "nobody to read as 'first man outside play side B'"),
    (ReadMan.FIRST_PAST_CENTER, "nobody to read as 'first lineman play side of the center'"),
]


@pytest.mark.parametrize(("read", "missing"), REFUSED)
def test_nobody_to_read_is_refused_in_words(read: ReadMan, missing: str) -> None:
    # A stand-up rusher in A on the other side, none on the side read.
    side = "R" if read is ReadMan.BACK_EDGE else "L"
    defense = Defense(rules(DIVE_FIRST)).rush("one", "guard", side, f"{side} A")
    with pytest.raises(NoRule) as caught:
        defense.against(GUN, play(read), Side.RIGHT)
    assert str(caught.value) == f"no rule for call 'table' from front 'table' against 'table': {missing}"


def test_an_option_the_team_has_no_rule_for_is_refused_in_words() -> None:
    with pytest.raises(NoRule) as caught:
        front().against(GUN, option("flexbone", ReadMan.PLAY_EDGE, *ALL), Side.RIGHT)
    expected = "no rule for call 'table' from front 'table' against 'flexbone': no team rule for the option 'flexbone'"
    assert str(caught.value) == expected


def test_men_in_the_line_of_an_option_still_have_their_gaps() -> None:
    answer = front().against(ONE_BACK, play(ReadMan.PLAY_EDGE), Side.RIGHT)
    assert lane_of(answer, "nose") == "left A"
    assert len({owner.position for owner in answer.phases}) == 3


def test_a_read_man_who_drops_keeps_the_phase_of_the_rule() -> None:
    # Back-side edge: a force man who stands on the line. The quarterback can't know that he drops, so the dive is his,
    # though he has no gap; Will, two yards deep beside him, has the quarterback.
    defense = Defense(rules(DIVE_FIRST)).down("right end", "5", "R", "R edge").down("nose", "1", "L", "L A")
    defense.support("Jack", RunJob.FORCE, "L", 3.9, 1.0, PlayerClass.EDGE).fill("Will", "tackle", "L", "L B", depth=2.0)
    answer = defense.against(ONE_BACK, play(ReadMan.BACK_EDGE, DIVE, QB), Side.RIGHT)
    assert answer.fit("Jack").is_read
    assert phases(answer) == {DIVE: "Jack", QB: "Will"}
    # He fills what his run job gives him all the same.
    assert lane_of(answer, "Jack") == "left C"


def test_nobody_where_the_dive_hits_is_no_rule() -> None:
    ends = Defense(rules(QB_FIRST)).down("left end", "5", "L", "L edge").down("right end", "5", "R", "R edge")
    with pytest.raises(NoRule, match="nobody stands where the dive hits"):
        ends.against(ONE_BACK, play(ReadMan.PLAY_EDGE), Side.RIGHT)


def test_nobody_who_gets_outside_the_man_read_is_no_rule() -> None:
    # Eleven on the line; all but the man read and the widest other have a gap on the far side.
    defense = Defense(rules(DIVE_FIRST)).down("right end", "5", "R", "R edge")
    for number, technique in enumerate(("0", "1", "2i", "2", "3", "4i", "4", "5", "6")):
        defense.down(f"man {number}", technique, "L", ("L A", "L B", "L C")[number // 3])
    defense.down("widest", "3", "R", "L A")
    with pytest.raises(NoRule, match="nobody can get outside the man read"):
        defense.against(ONE_BACK, play(ReadMan.PLAY_EDGE, QB, PITCH), Side.RIGHT)


def test_without_force_and_alley_a_dropper_has_forces_phase_before_a_man_of_the_line() -> None:
    # The corner who covers stands inside the right end and has the pitch; the tackle stays at home.
    defense = Defense(rules(QB_FIRST)).down("right end", "5", "R", "R edge").down("tackle", "3", "R", "R B")
    defense.down("wide", "5", "L", "L edge").support("corner", RunJob.COVER, "R", 2.5, 8.0, PlayerClass.CORNER)
    answer = defense.against(ONE_BACK, play(ReadMan.PLAY_EDGE, QB, PITCH), Side.RIGHT)
    assert phases(answer)[PITCH] not in ("tackle", "wide")
