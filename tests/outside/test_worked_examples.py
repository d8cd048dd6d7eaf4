"""Worked examples of run fits from books, articles and forums, each with its alignment, its play and its owners.

source: Paul W. Bryant, Building a Championship Football Team, Prentice-Hall 1960 (Project Gutenberg 68466), ch. 4
source: zachdavis24, 2014-05-31 (4-3 over); dawgsbynature, 2011-05-19 (4-3); AFM clinic article, Streif (odd stack)
source: coachhoover, 2011 (spread option); USA Football, 2019-12-05 (zone read); iamthe12thman, 2010 (eight gaps)
source: secondlevelfootball, part 2; coaches' forum (3-4 slant); thefreelibrary a055857699 (5-3 against the wing-T)
source: blitzology, p. 3 (six-man zero); xandolabs, 2022 (three deep, two under)

Left and right are the defense's. "Strong" is on the right in every table. Expected owners come from the source, never
from the engine.
"""

from __future__ import annotations

import pytest

from quizgen.engine.reads import Read
from quizgen.engine.timing import Arrival, arrival_s, clock
from quizgen.football.defense import PlayerClass
from quizgen.football.pressure import Exchange, Path, RunJob, Trigger
from quizgen.football.rules import LINEMAN_IN_B, EdgeRule, OptionRule, TeamRules
from quizgen.football.scheme import Phase, ReadMan, Scheme, SchemeFamily
from quizgen.football.sides import Letter, Side
from tests.outside.field import (
    BASE,
    GUARD_KICK,
    LEAD_WEAK,
    POWER,
    ZONE,
    Defense,
    call_gap,
    formation,
    option,
    owners,
    row,
)

TIGHT_T = formation("GTE", "GTE", ("tailback", 0.0, 5.0), ("fullback", 1.5, 5.0))
TIGHT_RIGHT = formation("GT", "GTE", ("tailback", 0.0, 6.9))
TIGHT_RIGHT_I = formation("GT", "GTE", ("tailback", 0.0, 6.9), ("fullback", 0.0, 4.5))
NO_END = formation("GT", "GT", ("tailback", 0.0, 6.9))
NO_END_I = formation("GT", "GT", ("tailback", 0.0, 6.9), ("fullback", 0.0, 4.5))
LEAST_BALL_S = 2.4  # the low end of 2.4-2.5 s from the snap to the line, tracked professional plays 2017-19
GUN = formation(
    "GT", "GT", ("tailback", -1.5, 4.1), ("receiver", -18.0, 0.0), ("receiver", 18.0, 0.0), ("receiver", 9.0, 1.0)
)


def five_four() -> Defense:
    """W1: 9-5-0-5-9 with a backer on the outside eye of each guard."""
    defense = Defense()
    for side, name in (("L", "left"), ("R", "right")):
        defense.down(f"{name} 9", "9", side, f"{side} D")
        defense.down(f"{name} 5", "5", side, f"{side} C")
        defense.fill(f"{name} backer", "guard", side, f"{side} A", f"{side} B", depth=2.5)
    return defense.down("nose", "0", "R", "R A", "L A")


def test_w1_five_four_owners() -> None:
    # source: [B] figs 3, 6: the backer on the guard's outside eye has A and B on his side; 5 has C; 9 has D.
    found = owners(five_four().against(TIGHT_T, BASE, Side.RIGHT))
    for side in ("left", "right"):
        assert f"{side} backer" in found[f"{side} A"]
        assert f"{side} backer" in found[f"{side} B"]
        assert found[f"{side} C"] == [f"{side} 5"]
        assert found[f"{side} D"] == [f"{side} 9"]


def test_w1_end_away_from_flow_trails_and_makes_the_quarterback_pitch_to_it() -> None:
    # source: [B] figs 6, 29: the 9 man trails flow away; on the option to him he makes the quarterback pitch (takes
    # him).
    away = five_four().against(TIGHT_T, ZONE, Side.RIGHT)
    assert away.fit("left 9").read is Read.CHASE
    pitch = option("speed option", ReadMan.PLAY_EDGE, Phase.QUARTERBACK, Phase.PITCH)
    to_him = five_four().against(TIGHT_T, pitch, Side.RIGHT)
    assert {p.phase: p.position for p in to_him.phases}[Phase.QUARTERBACK] == "right 9"


def test_w2_backer_over_the_tackle_reaches_both_sides_of_the_end() -> None:
    # source: [B] fig. 2: a backer over the tackle reaches the tackle area and outside the end, both in time.
    defense = Defense().fill("backer", "tackle", "R", "R C", depth=2.5)
    answer = defense.against(TIGHT_RIGHT, BASE, Side.RIGHT)
    man = answer.fit("backer").man
    timing = defense.rules.timing
    reached = {
        lane.name: clock(arrival_s(man, lane.middle_x, timing, reads=True), LEAST_BALL_S, timing).arrival
        for lane in answer.lanes
        if lane.name in ("right B", "right C", "right D")
    }
    assert reached == dict.fromkeys(("right B", "right C", "right D"), Arrival.ON_TIME)


def test_w3_wide_tackle_six() -> None:
    # source: [B] figs 9, 30: the 2 man has the inside first; 7 has C; 8 contains. Backers take the tackle-guard gaps
    # left over.
    defense = Defense()
    for side, name in (("L", "left"), ("R", "right")):
        defense.down(f"{name} 2", "2", side, f"{side} A")
        defense.down(f"{name} 7", "7", side, f"{side} C")
        defense.down(f"{name} 8", "8", side, f"{side} edge")
        defense.fill(f"{name} backer", "tackle", side, f"{side} B", depth=2.5)
    answer = defense.against(TIGHT_T, BASE, Side.RIGHT)
    found = owners(answer)
    for side in ("left", "right"):
        assert found[f"{side} A"] == [f"{side} 2"]
        assert found[f"{side} C"] == [f"{side} 7"]
        assert found[f"{side} D"] == [f"{side} 8"]
    assert answer.sound


# W4. source: [B] figs 31-34: four stunts off a 6-2; after each, every gap is still owned by exactly one man.
# Each row: gaps of guards (down, head-up guards), tackles (down, head-up tackles), ends (down, outside), backers, on
# one side.
STUNTS = {
    "pinch, backers loop": ("A", "B", "C", "D"),
    "guards loop out, backers fill A": ("B", "C", "D", "A"),
    "ends in, tackles loop": ("A", "D", "C", "B"),
    "tackles pinch, backers replace": ("A", "B", "D", "C"),
}


@pytest.mark.parametrize("stunt", sorted(STUNTS))
@pytest.mark.parametrize("to", list(Side))
def test_w4_every_gap_owned_after_each_stunt(stunt: str, to: Side) -> None:
    guard, tackle, end, backer = STUNTS[stunt]
    defense = Defense()
    for side, name in (("L", "left"), ("R", "right")):
        defense.down(f"{name} guard", "2", side, f"{side} {guard}", path=Path.SLANT)
        defense.down(f"{name} tackle", "4", side, f"{side} {tackle}", path=Path.SLANT)
        defense.down(f"{name} end", "9", side, f"{side} {end}", path=Path.SLANT)
        defense.rush(f"{name} backer", "guard", side, f"{side} {backer}", order=2, depth=2.5, path=Path.LOOP)
    for play in (BASE, ZONE):
        found = owners(defense_copy(defense).against(TIGHT_T, play, to))
        for side in ("left", "right"):
            for letter, man in ((guard, "guard"), (tackle, "tackle"), (end, "end"), (backer, "backer")):
                assert found[f"{side} {letter}"] == [f"{side} {man}"]


def defense_copy(defense: Defense) -> Defense:
    """A copy of a defense, so that adding men up to eleven doesn't change the original."""
    copy = Defense(defense.rules)
    copy.positions, copy.spots = list(defense.positions), list(defense.spots)
    copy.rushes, copy.drops = list(defense.rushes), list(defense.drops)
    copy.exchanges, copy.conceded = list(defense.exchanges), list(defense.conceded)
    return copy


def test_w5_goal_line_six_five_option_men() -> None:
    # source: [B] figs 25-28: guards on the inside eye have A; tackles on the outside eye the dive; ends the
    # quarterback; outside backers the pitch.
    defense = Defense()
    for side, name in (("L", "left"), ("R", "right")):
        defense.down(f"{name} guard", "2i", side, f"{side} A")
        defense.down(f"{name} tackle", "5", side, f"{side} C")
        defense.down(f"{name} end", "9", side, f"{side} D")
        defense.support(f"{name} outside backer", RunJob.FORCE, side, 7.0, 3.0, PlayerClass.BACKER)
    veer = option("veer", ReadMan.FIRST_OUTSIDE_B, Phase.DIVE, Phase.QUARTERBACK, Phase.PITCH, aim=Letter.B)
    answer = defense.against(TIGHT_T, veer, Side.RIGHT)
    assert owners(answer)["right A"] == ["right guard"]
    assert {p.phase: p.position for p in answer.phases} == {
        Phase.DIVE: "right tackle",
        Phase.QUARTERBACK: "right end",
        Phase.PITCH: "right outside backer",
    }


def test_w7_four_three_over() -> None:
    # source: zachdavis24: end strong in a 6 has C, 3 has B, 1 weak has A, 5 weak has C, Mike strong A, Sam weak B.
    defense = (
        Defense()
        .down("strong end", "6", "R", "R C")
        .down("three", "3", "R", "R B")
        .down("one", "1", "L", "L A")
        .down("weak end", "5", "L", "L C")
        .fill("Mike", "guard", "R", "R A")
        .fill("Sam", "guard", "L", "L B")
        .fill("Will", "last man", "R", "R D")
    )
    for play in (BASE, ZONE):
        found = owners(defense_copy(defense).against(TIGHT_RIGHT, play, Side.RIGHT))
        expected = {"right C": "strong end", "right B": "three", "left A": "one", "left C": "weak end"}
        expected |= {"right A": "Mike", "left B": "Sam"}
        assert {lane: found[lane] for lane in expected} == {lane: [man] for lane, man in expected.items()}


def four_three() -> Defense:
    """W8: line weak C, weak A, strong B, strong C; the backers have the other three of seven."""
    return (
        Defense()
        .down("weak end", "5", "L", "L C")
        .down("nose", "1", "L", "L A")
        .down("tackle", "3", "R", "R B")
        .down("strong end", "6", "R", "R C")
        .fill("weak backer", "guard", "L", "L B")
        .fill("middle backer", "center", "R", "R A")
        .fill("strong backer", "last man", "R", "R D")
    )


def test_w8_seven_gaps_seven_men_and_one_short_with_a_fullback() -> None:
    # source: dawgsbynature: seven gaps against an end, seven men; add a fullback and the seven are one short.
    seven = four_three().against(TIGHT_RIGHT, BASE, Side.RIGHT)
    assert len(seven.lanes) == 7
    assert seven.sound
    eight = four_three().against(TIGHT_RIGHT_I, LEAD_WEAK, Side.RIGHT)
    assert len(eight.lanes) == 8
    assert len(eight.open) == 1


@pytest.mark.parametrize(("job", "trades"), [("base", False), ("down", True), ("pull and lead", True)])
def test_w11_odd_stack_end_and_backer_exchange(job: str, trades: bool) -> None:
    # source: AFM clinic article (Streif): the 4 end has C, the backer stacked behind him B; when the tackle pulls or
    # blocks down they exchange.
    defense = (
        Defense()
        .down("end", "4", "R", "R C")
        .fill("stack backer", "tackle", "R", "R B")
        .down("nose", "0", "R", "R A", "L A")
        .down("far end", "4", "L", "L C")
        .fill("far backer", "tackle", "L", "L B")
    )
    defense.exchanges.append(Exchange("end", "stack backer", "tackle", (Trigger.DOWN, Trigger.PULL)))
    if job == "pull and lead":
        rows = (row("base", "line"), row("pull and lead", "play side tackle"))
    else:
        rows = (row("base", "line"), row(job, "play side tackle"))
    answer = defense.against(NO_END, Scheme("table", SchemeFamily.DOWN, rows, Letter.C), Side.RIGHT)
    backer_lanes = [answer.lanes[i].name for i in answer.fit("stack backer").lanes]
    end_lanes = [answer.lanes[i].name for i in answer.fit("end").lanes]
    if job == "pull and lead":  # B and C are one lane now: the end has its inside, the backer its outside
        assert end_lanes == ["right B/C inside the lead"]
        assert backer_lanes == ["right B/C outside the lead"]
    else:
        assert backer_lanes == ["right C" if trades else "right B"]
        assert end_lanes == ["right B" if trades else "right C"]


def spread_over(rules: TeamRules) -> Defense:
    """W12: 4-3 over against the gun."""
    return (
        Defense(rules)
        .down("strong end", "5", "R", "R edge")
        .down("tackle", "3", "R", "R B")
        .down("nose", "1", "L", "L A")
        .down("end", "5", "L", "L edge")
        .fill("Mike", "guard", "L", "L B")
        .fill("Will", "guard", "R", "R A")
        .support("safety", RunJob.FORCE, "L", 7.0, 7.0, PlayerClass.SAFETY)
        .support("corner", RunJob.COVER, "L", 16.0, 6.0, PlayerClass.CORNER)
    )


@pytest.mark.parametrize("cracked", [False, True])
def test_w12_spread_option(cracked: bool) -> None:
    # source: coachhoover: end has the dive, Mike leaks then quarterback, safety pitch and force; the corner has the
    # pitch if the safety is cracked.
    rules = TeamRules(options={"triple": OptionRule(Phase.DIVE, Phase.QUARTERBACK, Phase.PITCH)})
    play = option("triple", ReadMan.BACK_EDGE, Phase.DIVE, Phase.QUARTERBACK, Phase.PITCH)
    if cracked:
        rows = (*play.rows, row("crack", "back side receiver"))
        play = Scheme(play.name, play.family, rows, play.aim, play.option)
    answer = spread_over(rules).against(GUN, play, Side.RIGHT)
    assert {p.phase: p.position for p in answer.phases} == {
        Phase.DIVE: "end",
        Phase.QUARTERBACK: "Mike",
        Phase.PITCH: "corner" if cracked else "safety",
    }


@pytest.mark.parametrize(("front_side", "end_has"), [("shade and 5", Phase.DIVE), ("3 and 5", Phase.QUARTERBACK)])
def test_w14_zone_read_by_front_side(front_side: str, end_has: Phase) -> None:
    # source: USA Football: back on the shade/5 side: end dive, backer quarterback; back on the 3/5 side: end
    # quarterback.
    rules = TeamRules(
        options={
            "zone read": OptionRule(Phase.DIVE, Phase.QUARTERBACK, Phase.PITCH),
            "zone read" + LINEMAN_IN_B: OptionRule(Phase.QUARTERBACK, Phase.DIVE, Phase.PITCH),
        }
    )
    near, far = ("L", "R") if front_side == "3 and 5" else ("R", "L")
    defense = (
        Defense(rules)
        .down("end", "5", "L", "L edge")
        .down("far end", "5", "R", "R edge")
        .down("three", "3", near, f"{near} B")
        .down("shade", "1", far, f"{far} A")
        .fill("backer", "guard", "L", "L A" if near == "L" else "L B")
        .fill("far backer", "guard", "R", "R B" if near == "L" else "R A")
    )
    play = option("zone read", ReadMan.BACK_EDGE, Phase.DIVE, Phase.QUARTERBACK)
    phases = {p.position: p.phase for p in defense.against(GUN, play, Side.RIGHT).phases}
    assert phases["end"] is end_has
    if end_has is Phase.DIVE:
        assert phases["backer"] is Phase.QUARTERBACK


def test_w16_eight_gaps_four_a_side() -> None:
    # source: iamthe12thman: 7-3-1-3-5 against the I: with the fullback eight gaps, front seven and the strong safety,
    # four a side.
    defense = (
        Defense()
        .down("strong end", "7", "R", "R C")
        .down("strong tackle", "3", "R", "R B")
        .down("nose", "1", "L", "L A")
        .down("weak end", "5", "L", "L edge")
        .fill("Mike", "center", "R", "R A")
        .fill("Will", "guard", "L", "L B")
        .support("Sam", RunJob.ALLEY, "L", 2.5, 4.0, PlayerClass.BACKER)
        .support("strong safety", RunJob.FORCE, "R", 5.5, 4.0, PlayerClass.SAFETY)
    )
    answer = defense.against(TIGHT_RIGHT_I, LEAD_WEAK, Side.LEFT)
    assert len(answer.lanes) == 8
    assert (answer.frontside.lanes, answer.backside.lanes) == (4, 4)
    assert (answer.frontside.defenders, answer.backside.defenders) == (4, 4)
    assert owners(answer)["right D"] == ["strong safety"]
    assert answer.sound


def test_w18_two_gap_nose() -> None:
    # source: secondlevelfootball 2: backers C, tackle and end B, nose both A.
    defense = (
        Defense()
        .down("nose", "0", "R", "R A", "L A")
        .down("tackle", "3", "R", "R B")
        .down("end", "4i", "L", "L B")
        .fill("right backer", "tackle", "R", "R C")
        .fill("left backer", "tackle", "L", "L C")
    )
    answer = defense.against(NO_END, BASE, Side.RIGHT)
    assert owners(answer) == {
        "left C": ["left backer"],
        "left B": ["end"],
        "left A": ["nose"],
        "right A": ["nose"],
        "right B": ["tackle"],
        "right C": ["right backer"],
    }
    assert answer.sound


def test_w19_three_four_slant_strong() -> None:
    # source: coaches' forum: slant strong; D C B A by outside backer, end, inside backer, nose; back side A B C by
    # inside backer, end, outside backer: seven of seven.
    defense = (
        Defense()
        .down("strong end", "5", "R", "R C", path=Path.SLANT)
        .down("nose", "0", "R", "R A", path=Path.SLANT)
        .down("weak end", "5", "L", "L B", path=Path.SLANT)
        .rush("strong outside backer", "last man", "R", "R D", depth=1.2, out=1.2)
        .rush("weak outside backer", "last man", "L", "L edge", depth=1.2, out=1.2)
        .fill("strong inside backer", "guard", "R", "R B")
        .fill("weak inside backer", "guard", "L", "L A")
    )
    answer = defense.against(TIGHT_RIGHT, ZONE, Side.RIGHT)
    assert owners(answer) == {
        "right D": ["strong outside backer"],
        "right C": ["strong end"],
        "right B": ["strong inside backer"],
        "right A": ["nose"],
        "left A": ["weak inside backer"],
        "left B": ["weak end"],
        "left C": ["weak outside backer"],
    }
    assert answer.sound


def five_three() -> Defense:
    """W20: 5-3 against the wing-T: tackles B, nose one A, the other A conceded on purpose."""
    defense = (
        Defense()
        .down("nose", "0", "R", "R A")
        .down("left tackle", "3", "L", "L B")
        .down("right tackle", "3", "R", "R B")
        .down("left end", "5", "L", "L edge")
        .down("right end", "5", "R", "R edge")
    )
    defense.conceded.append(call_gap("L A"))
    return defense


def test_w20_conceded_gap_is_named_and_the_call_still_sound() -> None:
    # source: thefreelibrary a055857699: tackle to B, nose to A; one A may be conceded on purpose.
    answer = five_three().against(NO_END, BASE, Side.RIGHT)
    assert [answer.lanes[i].name for i in answer.conceded] == ["left A"]
    assert owners(answer)["left B"] == ["left tackle"]
    assert owners(answer)["right A"] == ["nose"]
    assert answer.sound


def test_w20_tackle_follows_the_hip_of_a_guard_who_pulls_away() -> None:
    # source: the same: when the guard pulls away the tackle follows his hip.
    answer = five_three().against(NO_END, GUARD_KICK, Side.RIGHT)
    fit = answer.fit("left tackle")
    assert fit.read is Read.HIP
    assert fit.puller is not None
    assert fit.puller.player.word == "left guard"


def test_w23_six_man_zero() -> None:
    # source: blitzology p. 3: Sam C, the weak end crosses the tackle's face to B, Will flat off his hip, Mike man on
    # the back.
    defense = (
        Defense()
        .down("strong end", "5", "R", "R B", path=Path.SLANT)
        .down("tackle", "3", "R", "R A", path=Path.SLANT)
        .down("nose", "1", "L", "L A")
        .down("weak end", "5", "L", "L B", path=Path.CROSS)
        .rush("Will", "tackle", "L", "L edge", order=2, path=Path.LOOP)
        .rush("Sam", "last man", "R", "R C", depth=1.2, out=1.2)
        .support("Mike", RunJob.FREE, "R", 0.5, 4.5, PlayerClass.BACKER)
    )
    answer = defense.against(NO_END_I, ZONE, Side.RIGHT)
    found = owners(answer)
    assert found["right C"] == ["Sam"]
    assert found["left B"] == ["weak end"]
    assert found["left C"] == ["Will"]
    assert (
        answer.sound
    )  # six men, six gaps: the three whom the source does not place have the three gaps it leaves over


def test_w24_six_rushers_six_gaps_two_unders_meet_the_bounce() -> None:
    # source: xandolabs: six rushers, six gaps, all spill, the two unders meet the bounce; 6 + 3 + 2 = 11.
    defense = (
        Defense(TeamRules(edge=EdgeRule.SPILL))
        .down("right end", "5", "R", "R edge")
        .down("right tackle", "3", "R", "R B")
        .down("left tackle", "3", "L", "L B")
        .down("left end", "5", "L", "L edge")
        .rush("right backer", "guard", "R", "R A")
        .rush("left backer", "guard", "L", "L A", order=2)
        .support("right under", RunJob.FORCE, "R", 6.0, 5.0, PlayerClass.SAFETY)
        .support("left under", RunJob.FORCE, "L", 6.0, 5.0, PlayerClass.SAFETY)
    )
    six = defense_copy(defense).against(NO_END_I, ZONE, Side.RIGHT)
    assert all(len(six.owners(i)) == 1 for i in range(6))
    front, pressure = defense_copy(defense).pressure()
    assert len(pressure.rushes) + 3 + 2 == len(front.spots)
    power = defense.against(NO_END_I, POWER, Side.RIGHT)
    outside = owners(power)["right C outside the kick"]
    assert outside == ["right under"]
    assert power.fit("right end").read is Read.SPILL
