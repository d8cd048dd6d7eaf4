"""Which lane each gap owner takes, and why, by the block he gets and the team's rules. Worked by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest

from quizgen.engine.timing import Arrival
from quizgen.engine.verdict import solve
from quizgen.football.formation import Formation, Role
from quizgen.football.pressure import Exchange, Trigger
from quizgen.football.rules import EdgeRule, LeadRule, PullSecond, TeamRules
from quizgen.football.scheme import Job, JobRow, Scheme, SchemeFamily, parse_who
from quizgen.football.sides import Letter, Side
from tests.engine.snap import END_RIGHT, ONE_BACK, STEP, TWO_BACKS, lane_of, play, read_of, situation, six
from tests.outside.field import GUARD_KICK, POWER, Defense, formation

SPLIT = formation("GT", "GT", ("tailback", 0.0, 6.9), ("wing", 4.0, 1.0))


def fit(defense: Defense, position: str, scheme: Scheme, offense: Formation = TWO_BACKS, to: Side = Side.RIGHT) -> str:
    """A man's lane and why he is there: "right C outside the kick: box"."""
    answer = defense.against(offense, scheme, to)
    return f"{lane_of(answer, position)}: {read_of(answer, position)}"


# --- the edge


KICK = play("base: line", "kick: fullback")
TWO_KICKS = play("base: line", "kick: fullback", "pull and kick: back side guard")


@pytest.mark.parametrize(
    ("scheme", "rule", "expected"),
    [
        (KICK, EdgeRule.BOX, "right C outside the kick: box"),
        (KICK, EdgeRule.SPILL, "right C inside the kick: spill"),
        # Power: the wrap turns up inside the kick. Box is outside the kick, spill just inside it.
        (POWER, EdgeRule.BOX, "right C outside the kick: box"),
        (POWER, EdgeRule.SPILL, "right C between the wrap and the kick: spill"),
        # Two men kick: it is the first of them that he meets.
        (TWO_KICKS, EdgeRule.BOX, "right C between the fullback's kick and the left guard's kick: box"),
        (TWO_KICKS, EdgeRule.SPILL, "right C inside the fullback's kick: spill"),
    ],
)
def test_the_kicked_edge_boxes_or_spills(scheme: Scheme, rule: EdgeRule, expected: str) -> None:
    other = EdgeRule.SPILL if rule is EdgeRule.BOX else EdgeRule.BOX
    assert fit(six(TeamRules(edge=rule, back_edge=other)), "right end", scheme) == expected


def test_a_filling_backer_on_the_edge_boxes_or_spills_as_well() -> None:
    for rule, portion in ((EdgeRule.BOX, "outside the kick: box"), (EdgeRule.SPILL, "inside the kick: spill")):
        defense = Defense(TeamRules(edge=rule)).fill("Sam", "last man", "R", "R edge")
        assert fit(defense, "Sam", KICK) == f"right C {portion}"


@pytest.mark.parametrize("to", list(Side))
def test_the_back_side_edge_has_a_rule_of_its_own(to: Side) -> None:
    split_zone = play("zone: line", "kick across: wing")
    back = to.other.value
    for rule, expected in (
        (EdgeRule.BOX, f"{back} C outside the kick: box"),
        (EdgeRule.SPILL, f"{back} C inside the kick: spill"),
    ):
        other = EdgeRule.SPILL if rule is EdgeRule.BOX else EdgeRule.BOX
        defense = six(TeamRules(edge=other, back_edge=rule))
        assert fit(defense, f"{back} end", split_zone, SPLIT, to) == expected


@pytest.mark.parametrize("to", list(Side))
def test_an_edge_nobody_kicks(to: Side) -> None:
    play_side, back_side = f"{to.value} end", f"{to.other.value} end"
    # Base block beside him: set the edge. Away from the play: chase.
    assert fit(six(), play_side, play("base: line"), to=to) == f"{to.value} C: set the edge"
    assert fit(six(), back_side, play("base: line"), to=to) == f"{to.other.value} C: chase"
    # The tackle beside him reaches: still set the edge. He blocks down: close with him.
    assert fit(six(), play_side, play("reach: line"), to=to) == f"{to.value} C: set the edge"
    assert fit(six(), play_side, play("base: line", "down: play side tackle"), to=to) == f"{to.value} C: close"
    # What the tackle beside him does away from the play changes nothing.
    assert fit(six(), back_side, play("base: line", "hinge: back side tackle"), to=to) == f"{to.other.value} C: chase"


def test_men_who_lead_outside_leave_the_edge_the_innermost_portion() -> None:
    sweep = play("base: line", "pull and lead: back side guard")
    assert fit(six(), "right end", sweep) == "right C inside the lead: set the edge"
    pinned = play("base: line", "pull and lead: back side guard", "down: play side tackle")
    assert fit(six(), "right end", pinned) == "right C inside the lead: close"
    arc = play("base: line", "arc: fullback")
    assert fit(six(TeamRules(lead=LeadRule.OUTSIDE)), "right end", arc) == "right C inside the arc: set the edge"


DOWN = play("base: line", "down: play side line")


def test_a_filling_backer_on_an_edge_nobody_kicks_keeps_his_gap() -> None:
    defense = Defense().fill("Sam", "last man", "R", "R edge").fill("Will", "last man", "L", "L edge")
    assert fit(defense, "Sam", DOWN) == "right C: keep"
    assert fit(defense, "Will", DOWN) == "left C: keep"


def test_a_man_inside_the_edge_keeps_his_gap() -> None:
    assert fit(six(), "right tackle", DOWN) == "right B: keep"
    assert fit(six(), "left nose", play("zone: line")) == "left A: keep"


# --- leads and traps inside


LEAD = play("base: line", "lead to the aim: fullback", aim=Letter.B)
TRAP = play("base: line", "pull and trap: back side guard")


@pytest.mark.parametrize("to", list(Side))
def test_a_lead_through_his_gap_leaves_a_side_by_the_lead_rule(to: Side) -> None:
    side = to.value
    inside = six(TeamRules(lead=LeadRule.INSIDE, trap=LeadRule.OUTSIDE))
    outside = six(TeamRules(lead=LeadRule.OUTSIDE, trap=LeadRule.INSIDE))
    assert fit(inside, f"{side} tackle", LEAD, to=to) == f"{side} B inside the lead: inside the lead"
    assert fit(outside, f"{side} tackle", LEAD, to=to) == f"{side} B outside the lead: outside the lead"


@pytest.mark.parametrize("to", list(Side))
def test_a_trap_in_his_gap_leaves_a_side_by_the_trap_rule(to: Side) -> None:
    side = to.value
    inside = six(TeamRules(lead=LeadRule.OUTSIDE, trap=LeadRule.INSIDE))
    outside = six(TeamRules(lead=LeadRule.INSIDE, trap=LeadRule.OUTSIDE))
    assert fit(inside, f"{side} nose", TRAP, to=to) == f"{side} A inside the trap: inside the lead"
    assert fit(outside, f"{side} nose", TRAP, to=to) == f"{side} A outside the trap: outside the lead"


def test_two_leads_through_his_gap_the_next_portion_is_between_them() -> None:
    both = play("base: line", "lead to the aim: fullback", "lead to the aim: tailback", aim=Letter.B)
    offense = formation("GT", "GT", ("tailback", 0.5, 6.9), ("fullback", 0.0, 4.5))
    found = fit(six(TeamRules(lead=LeadRule.OUTSIDE)), "right tackle", both, offense)
    assert found == "right B between the fullback's lead and the tailback's lead: outside the lead"


# --- two gaps


def test_a_two_gap_player_owns_both_or_the_one_they_become() -> None:
    nose = Defense().down("nose", "0", "R", "R A", "L A")
    answer = nose.against(ONE_BACK, play("base: line"), Side.RIGHT)
    assert sorted(lane_of(answer, "nose").split(" and ")) == ["left A", "right A"]
    assert read_of(answer, "nose") == "two-gap"
    gone = nose.against(ONE_BACK, play("base: line", "fake: center"), Side.RIGHT)
    assert (lane_of(gone, "nose"), read_of(gone, "nose")) == ("left A/right A", "keep")


def test_a_two_gap_player_with_two_lanes_reads_no_pull() -> None:
    answer = Defense().down("nose", "0", "L", "L A", "R A").against(ONE_BACK, GUARD_KICK, Side.RIGHT)
    assert (lane_of(answer, "nose"), read_of(answer, "nose")) == ("left A/B and right A", "two-gap")
    assert answer.fit("nose").puller is None


def test_a_two_gap_player_on_the_kicked_edge_fears_the_kick() -> None:
    # His first gap is C: he boxes in it, whatever else he has.
    edge = Defense().down("edge", "5", "R", "R C", "R B").against(TWO_BACKS, KICK, Side.RIGHT).fit("edge")
    assert edge.read.value == "two-gap"
    assert edge.threat is not None
    assert edge.threat.value == "kick"
    # His first gap is B: no kick comes there.
    inside = Defense().down("edge", "5", "R", "R B", "R C").against(TWO_BACKS, KICK, Side.RIGHT).fit("edge")
    assert inside.threat is None


def test_in_a_merged_lane_a_lead_is_the_business_of_the_gap_it_comes_through() -> None:
    # The right guard has gone and a lead comes through B. A's man is inside of him whatever the rule; B's man chooses.
    gone = play("base: line", "fake: play side guard", "lead to the aim: fullback", aim=Letter.B)
    defense = six(TeamRules(lead=LeadRule.OUTSIDE))
    assert fit(defense, "right nose", gone) == "right A/B inside the lead: keep"
    assert fit(defense, "right tackle", gone) == "right A/B outside the lead: outside the lead"


def test_an_edge_who_is_trapped_goes_by_the_trap_rule() -> None:
    rows = (
        JobRow((parse_who("line"),), Job.BASE),
        JobRow((parse_who("back side guard"),), Job.PULL_TRAP, Role.TACKLE),
    )
    trap = Scheme("trap", SchemeFamily.TRAP, rows)
    for rule, portion in ((LeadRule.INSIDE, "inside"), (LeadRule.OUTSIDE, "outside")):
        assert fit(six(TeamRules(trap=rule)), "right end", trap) == f"right C {portion} the trap: {portion} the lead"


def test_a_trap_across_the_center_threatens_the_man_in_his_gap() -> None:
    # Center and left guard have left: left B, left A and right A are one lane, split by the trap in right A.
    rows = play("base: line", "fake: center", "pull and trap: back side guard")
    answer = six().against(ONE_BACK, rows, Side.RIGHT)
    nose = answer.fit("right nose")
    assert lane_of(answer, "right nose") == "left B/left A/right A left of the trap"
    assert nose.threat is not None
    assert (nose.threat.value, [m.player.word for m in nose.threats]) == ("kick", ["left guard"])
    assert nose.lost_to is not None
    assert answer.lanes[nose.lost_to].name == "left B/left A/right A right of the trap"


# --- exchanges


def test_mirrored_men_trade_by_the_names_the_call_was_written_with() -> None:
    # Called to the left, the "end" plays what is written for the "rush end", who trades with nobody; the "rush end"
    # plays the end's part, on the left, and trades with the backer stacked there.
    defense = stack(Trigger.DOWN).down("rush end", "5", "L", "L C")
    mirrors = {"end": "rush end", "rush end": "end"}
    defense.positions = [replace(p, mirrors=mirrors.get(p.name)) for p in defense.positions]
    s = situation(defense, ONE_BACK, play("base: line", "down: play side tackle"), Side.LEFT)
    answer = solve(replace(s, to=Side.LEFT))
    assert (lane_of(answer, "rush end"), lane_of(answer, "backer")) == ("left B", "left C")
    assert lane_of(answer, "end") == "right C"


def stack(trigger: Trigger, blocker: str = "tackle") -> Defense:
    """An end in right C and a backer in right B who trade when the blocker on the end's side does it."""
    defense = Defense().down("end", "4", "R", "R C").fill("backer", "tackle", "R", "R B")
    defense.exchanges.append(Exchange("end", "backer", blocker, (trigger,)))
    return defense


@pytest.mark.parametrize(
    ("trigger", "blocker", "rows", "trades"),
    [
        (Trigger.DOWN, "tackle", ("base: line", "down: play side tackle"), True),
        (Trigger.DOWN, "tackle", ("base: line", "reach: play side tackle"), False),
        (Trigger.DOWN, "tackle", ("base: line", "down: back side tackle"), False),  # the other side's tackle
        (Trigger.DOWN, "guard", ("base: line", "down: play side tackle"), False),  # another man
        (Trigger.DOWN, "guard", ("base: line", "down: play side guard"), True),
        (Trigger.REACH, "tackle", ("reach: line",), True),
        (Trigger.REACH, "tackle", ("zone: line",), False),
        (Trigger.PULL, "guard", ("base: line", "pull and kick: play side guard"), True),
        (Trigger.PULL, "guard", ("base: line", "pull and wrap: play side guard"), True),
        (Trigger.PULL, "guard", ("base: line", "pull and lead: play side guard"), True),
        (Trigger.PULL, "guard", ("base: line", "pull and kick: back side guard"), False),
    ],
)
def test_gaps_are_traded_when_the_named_man_does_it(
    trigger: Trigger, blocker: str, rows: tuple[str, ...], trades: bool
) -> None:
    answer = stack(trigger, blocker).against(ONE_BACK, play(*rows), Side.RIGHT)
    assert lane_of(answer, "end").startswith(("right A/B", "right B") if trades else "right C")
    assert lane_of(answer, "backer").startswith("right C" if trades else ("right A/B", "right B"))


def test_a_man_who_traded_reads_before_he_goes() -> None:
    # The end in a 4 (3.14 yd out, a yard off the ball) fits right B. On a down block by the tackle that lane runs from
    # the guard at 1.57 to the tackle at 2.198: middle 1.884, 1.605 yd away. A lineman who reads starts after 0.3 s,
    # one who does not after 0.2 s; both go 3 yd/s.
    way_s = (1.256**2 + 1) ** 0.5 / 3
    down = play("base: line", "down: play side tackle")
    traded = stack(Trigger.DOWN).against(ONE_BACK, down, Side.RIGHT).fit("end")
    assert traded.read.value == "exchange"
    assert traded.clock is not None
    assert traded.clock.at_s == pytest.approx(0.3 + way_s, abs=0.001)
    # Called to that gap he goes at once.
    plain = Defense().down("end", "4", "R", "R B").against(ONE_BACK, down, Side.RIGHT).fit("end")
    assert plain.clock is not None
    assert plain.clock.at_s == pytest.approx(0.2 + way_s, abs=0.001)


# --- a blocker beside him pulls


def kicked(rules: TeamRules | None = None) -> Defense:
    """The play side has its own men in A, B and C; a backer fills left B and a second rusher comes through left A."""
    return (
        Defense(rules)
        .down("right end", "5", "R", "R edge")
        .down("right tackle", "3", "R", "R B")
        .down("left end", "5", "L", "L edge")
        .fill("Will", "tackle", "L", "L B")
        .rush("second", "guard", "L", "L A", order=2)
    )


def test_the_backer_reads_out_before_the_second_rusher() -> None:
    # The left guard kicks. Right lanes: A, B, C inside, C outside. Tackle has B, the end boxes outside. The backer,
    # who counts as a first man, takes the innermost lane without an owner: A. The second rusher the next: C inside.
    answer = kicked().against(ONE_BACK, GUARD_KICK, Side.RIGHT)
    assert lane_of(answer, "Will") == "right A"
    assert lane_of(answer, "second") == "right C inside the kick"
    assert read_of(answer, "Will") == read_of(answer, "second") == "over the top"
    for position in ("Will", "second"):
        fitted = answer.fit(position)
        assert fitted.puller is not None
        assert fitted.puller.player.word == "left guard"
        assert fitted.left_lane is not None
        assert answer.lanes[fitted.left_lane].name == "left A/B"


def test_turned_round_they_leave_the_other_side() -> None:
    defense = (
        Defense()
        .down("left end", "5", "L", "L edge")
        .down("left tackle", "3", "L", "L B")
        .down("right end", "5", "R", "R edge")
        .fill("Will", "tackle", "R", "R B")
        .rush("second", "guard", "R", "R A", order=2)
    )
    answer = defense.against(ONE_BACK, GUARD_KICK, Side.LEFT)
    assert lane_of(answer, "Will") == "left A"
    assert lane_of(answer, "second") == "left C inside the kick"
    fitted = answer.fit("second")
    assert fitted.puller is not None
    assert fitted.puller.player.word == "right guard"
    assert fitted.left_lane is not None
    assert answer.lanes[fitted.left_lane].name == "right A/B"


@pytest.mark.parametrize(
    ("backer", "second", "will", "rusher"),
    [
        (PullSecond.STAY, PullSecond.OVER_THE_TOP, "left A/B: told to stay", "right A: over the top"),
        (PullSecond.OVER_THE_TOP, PullSecond.STAY, "right A: over the top", "left A/B: told to stay"),
        (PullSecond.STAY, PullSecond.STAY, "left A/B: told to stay", "left A/B: told to stay"),
    ],
)
def test_backer_and_second_rusher_have_rules_of_their_own(
    backer: PullSecond, second: PullSecond, will: str, rusher: str
) -> None:
    rules = TeamRules(pull_backer=backer, pull_second=second)
    assert fit(kicked(rules), "Will", GUARD_KICK) == will
    assert fit(kicked(rules), "second", GUARD_KICK) == rusher


def test_of_two_second_rushers_the_one_nearer_the_play_goes_first_then_the_shallower() -> None:
    def order(near: float, far: float, on_far: str = "tackle") -> tuple[str, str]:
        defense = (
            Defense()
            .down("right end", "5", "R", "R edge")
            .down("right tackle", "3", "R", "R B")
            .rush("far", on_far, "L", "L B", order=2, depth=far)
            .rush("near", "guard", "L", "L A", order=2, depth=near)
        )
        answer = defense.against(ONE_BACK, GUARD_KICK, Side.RIGHT)
        return lane_of(answer, "near"), lane_of(answer, "far")

    assert order(6.0, 3.0) == ("right A", "right C inside the kick")  # over the guard against over the tackle
    assert order(6.0, 3.0, "guard") == ("right C inside the kick", "right A")  # as near: the shallower first
    assert order(3.0, 6.0, "guard") == ("right A", "right C inside the kick")


def test_a_third_rusher_waits_for_the_second() -> None:
    defense = (
        Defense()
        .down("right end", "5", "R", "R edge")
        .down("right tackle", "3", "R", "R B")
        .rush("third", "guard", "L", "L A", order=3)
        .rush("second", "tackle", "L", "L B", order=2)
    )
    answer = defense.against(ONE_BACK, GUARD_KICK, Side.RIGHT)
    assert lane_of(answer, "second") == "right A"
    assert lane_of(answer, "third") == "right C inside the kick"


def test_with_every_lane_over_there_owned_he_stays() -> None:
    # The end spills inside the kick, the backer on the edge boxes outside it, A and B have their men.
    rules = TeamRules(by_position={"right end": (("edge", EdgeRule.SPILL),)})
    defense = six(rules).fill("Sam", "last man", "R", "R edge").rush("second", "guard", "L", "L A", order=2)
    answer = defense.against(ONE_BACK, GUARD_KICK, Side.RIGHT)
    assert (lane_of(answer, "second"), read_of(answer, "second")) == ("left A/B", "no room")
    assert answer.fit("second").left_lane is None
    puller = answer.fit("second").puller
    assert puller is not None
    assert puller.player.word == "left guard"


def test_the_edge_beside_a_puller_stays_an_edge() -> None:
    # Dart to the right: the left tackle pulls, left B and C are one. The end on it chases all the same, whatever his
    # order; a lineman in B is on the puller's hip.
    dart = play("base: line", "pull and lead: back side tackle")
    for order in (1, 2):
        defense = Defense().rush("edge", "last man", "L", "L edge", order=order, depth=1.2)
        assert fit(defense, "edge", dart) == "left B/C: chase"
        puller = defense.against(TWO_BACKS, dart, Side.RIGHT).fit("edge").puller
        assert puller is not None
        assert puller.player.word == "left tackle"
    assert fit(Defense().down("tackle", "3", "L", "L B"), "tackle", dart) == "left B/C: hip"
    two_gaps = Defense().down("end", "5", "L", "L B", "L C")
    assert fit(two_gaps, "end", dart) == "left B/C: hip"


def test_a_filling_backer_on_the_outermost_gap_reads_out() -> None:
    dart = play("base: line", "pull and lead: back side tackle")
    assert fit(Defense().fill("Will", "last man", "L", "L edge"), "Will", dart) == "right A: over the top"


def test_of_two_pullers_the_innermost_is_the_one_he_reads() -> None:
    counter = play("base: line", "pull and kick: back side guard", "pull and wrap: back side tackle")
    answer = six().against(ONE_BACK, counter, Side.RIGHT)
    fitted = answer.fit("left tackle")
    assert (lane_of(answer, "left tackle"), fitted.read.value) == ("left A/B/C", "hip")
    assert fitted.puller is not None
    assert fitted.puller.player.word == "left guard"


def test_a_puller_elsewhere_is_not_his() -> None:
    # Center and left tackle lead. Left B and C are one by the tackle alone.
    both = play("base: line", "pull and lead: center", "pull and lead: back side tackle")
    fitted = six().against(ONE_BACK, both, Side.RIGHT).fit("left tackle")
    assert fitted.read.value == "hip"
    assert fitted.puller is not None
    assert fitted.puller.player.word == "left tackle"


def test_a_second_rusher_who_has_traded_into_the_edge_stays_an_edge() -> None:
    # The tackle pulls: end and second rusher trade. The second rusher has the edge now and chases; the end is on the
    # puller's hip.
    defense = Defense().down("end", "5", "L", "L C").rush("second", "guard", "L", "L B", order=2)
    defense.exchanges.append(Exchange("end", "second", "tackle", (Trigger.PULL,)))
    dart = play("base: line", "pull and lead: back side tackle")
    assert fit(defense, "second", dart) == "left B/C: chase"
    assert fit(defense, "end", dart) == "left B/C: hip"


def test_a_center_who_pulls_is_read_by_the_men_beside_him() -> None:
    pin = play("base: line", "pull and lead: center")
    assert fit(six(), "left nose", pin) == "left A/right A: hip"
    assert fit(six(), "right nose", pin) == "left A/right A: hip"
    assert fit(six(), "left tackle", pin) == "left B: keep"


def test_a_man_two_gaps_from_the_puller_reads_nothing() -> None:
    assert fit(six(), "right nose", GUARD_KICK) == "right A: keep"
    fitted = six().against(ONE_BACK, GUARD_KICK, Side.RIGHT).fit("right nose")
    assert fitted.puller is None
    assert fitted.left_lane is None


def test_a_gap_merged_without_a_pull_is_kept() -> None:
    gone = play("base: line", "fake: back side guard")
    assert fit(six(), "left nose", gone) == "left A/B: keep"
    second = Defense().rush("second", "guard", "L", "L A", order=2)
    assert fit(second, "second", gone) == "left A/B: keep"


def test_a_man_who_reads_out_leaves_the_lead_in_his_gap_behind() -> None:
    # Right guard kicks, fullback leads through right A: that lane is split in A/B, where the second rusher came from.
    # He goes over the top to C inside the kick; the kick is for the end, nobody comes for him.
    rows = ("base: line", "pull and kick: play side guard", "lead to the aim: fullback")
    defense = six().rush("second", "guard", "R", "R A", order=2)
    answer = defense.against(TWO_BACKS, play(*rows), Side.RIGHT)
    assert (lane_of(answer, "second"), read_of(answer, "second")) == ("right C inside the kick", "over the top")
    assert answer.fit("second").threat is None


def test_a_puller_on_the_play_side_merges_gaps_there() -> None:
    # Down to the right: the right guard kicks. A and B there are one lane; the second rusher in it goes over the
    # top to the first lane there that has no man: the end has C, so D inside the kick.
    down = play("base: line", "down: play side tackle", "pull and kick: play side guard")
    defense = six().rush("second", "guard", "R", "R A", order=2)
    assert fit(defense, "second", down, END_RIGHT) == "right D inside the kick: over the top"
    assert fit(defense, "right nose", down, END_RIGHT) == "right A/B: hip"


# --- in time


def test_a_two_gap_mans_clock_is_that_of_his_worse_lane() -> None:
    # Nose head-up, a yard off the ball: the middle of each A gap is 0.785 yd aside, so he is there after
    # 0.2 + 1.271 / 3 s in both. The play aims at right A at 2.2 s: left A is 1.57 yd further, 0.314 s later at 5 yd/s.
    nose = Defense().down("nose", "0", "R", "R A", "L A").against(ONE_BACK, play("base: line"), Side.RIGHT).fit("nose")
    assert nose.clock is not None
    assert nose.clock.at_s == pytest.approx(0.2 + ((STEP / 2) ** 2 + 1) ** 0.5 / 3, abs=0.001)
    assert nose.clock.ball_s == pytest.approx(2.2)  # the lane the ball reaches first
    assert nose.clock.arrival is Arrival.ON_TIME
