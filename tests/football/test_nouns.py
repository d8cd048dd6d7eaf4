"""What the nouns say of themselves: words, sides, counts, lookups. Expectations are the trade's words and counts."""

from __future__ import annotations

import pytest

from quizgen.football.defense import (
    Alignment,
    Front,
    Landmark,
    Numbering,
    PlayerClass,
    Shade,
    Spot,
    parse_technique,
)
from quizgen.football.errors import CannotRun, ContentProblems, GapsoundError, NoRule, Problem, UnknownName
from quizgen.football.formation import Formation, OffensivePlayer, Role
from quizgen.football.layout import last_x, lay_out
from quizgen.football.pressure import CallGap, CoverJob, RunJob
from quizgen.football.rules import EdgeRule, Measures, PullFirst, PullSecond, TeamRules
from quizgen.football.scheme import Flow, Job, JobRow, Option, Phase, ReadMan, Scheme, SchemeFamily, Who, parse_who
from quizgen.football.sides import Gap, Letter, Side, Toward
from tests.outside.field import BASE, POWER, Defense, call_gap, formation

G, T, E, W = Role.GUARD, Role.TACKLE, Role.END, Role.WING


# --- sides and gaps


@pytest.mark.parametrize(("side", "sign", "other"), [(Side.LEFT, -1, Side.RIGHT), (Side.RIGHT, 1, Side.LEFT)])
def test_sides(side: Side, sign: int, other: Side) -> None:
    assert (side.sign, side.other) == (sign, other)
    assert (Toward.TO.side(side), Toward.AWAY.side(side)) == (side, other)


def test_letters_count_outward_from_the_center() -> None:
    assert [letter.index for letter in Letter] == [0, 1, 2, 3, 4, 5]
    assert "".join(Letter.from_index(i).value for i in range(6)) == "ABCDEF"
    with pytest.raises(IndexError):
        Letter.from_index(6)


def test_a_gap_turned_round_keeps_its_letter() -> None:
    assert Gap(Side.LEFT, Letter.C).mirrored == Gap(Side.RIGHT, Letter.C)
    assert Gap(Side.LEFT, Letter.C).name == "left C"


OUTERMOST_C, OUTERMOST_D = Gap(Side.RIGHT, Letter.C), Gap(Side.RIGHT, Letter.D)


@pytest.mark.parametrize(
    ("words", "outermost", "expected"),
    [
        ("R B", OUTERMOST_C, "right B"),
        ("R C", OUTERMOST_D, "right C"),
        ("R C", OUTERMOST_C, "right C"),
        ("R D", OUTERMOST_C, "right C"),  # a letter beyond the last gap means the last one
        ("R edge", OUTERMOST_C, "right C"),
        ("R edge", OUTERMOST_D, "right D"),
    ],
)
def test_a_called_gap_on_the_field(words: str, outermost: Gap, expected: str) -> None:
    assert call_gap(words).gap(outermost).name == expected


def test_a_called_gap_in_words_and_on_its_side() -> None:
    assert CallGap(Toward.TO, Letter.B).word == "to B"
    assert CallGap(Toward.AWAY, None).word == "away edge"
    assert CallGap(Toward.AWAY, None).side(Side.LEFT) is Side.RIGHT


# --- the defense


def test_shades_step_outward() -> None:
    outward = [shade.out_yd for shade in (Shade.INSIDE, Shade.HEAD, Shade.OUTSIDE, Shade.WIDE)]
    assert outward == sorted(outward)
    assert outward[1] == 0
    assert -outward[0] == outward[2]  # inside and outside shade lie alike about the man


def test_ten_times_a_technique_is_the_same_spot() -> None:
    # "Linebackers: the same spot with a zero (10, 20, 30)".
    for numbering in Numbering:
        for number in "123":
            assert parse_technique(number + "0", numbering) == parse_technique(number, numbering)
    assert parse_technique(" 2I ", Numbering.ONE_TO_NINE) == (Landmark.GUARD, Shade.INSIDE)
    # a lone 0 is the man over the ball, not a tenth of anything
    assert parse_technique("0", Numbering.ONE_TO_NINE) == (Landmark.CENTER, Shade.HEAD)


def front() -> Front:
    return Front("eleven", tuple(Spot(f"p{i}", Alignment(Landmark.MIDDLE, Toward.TO), down=i < 4) for i in range(11)))


def test_a_front_finds_its_men_and_counts_hands_on_the_ground() -> None:
    assert front().down_count == 4
    assert front().spot("p7").position == "p7"
    with pytest.raises(KeyError, match="p11"):
        front().spot("p11")


def test_deep_men_count_apart_from_the_men_under() -> None:
    deep = {job.value for job in CoverJob if job.is_deep}
    assert deep == {"deep third", "deep half", "deep quarter", "post"}


def test_a_call_finds_a_man_in_one_of_its_two_lists() -> None:
    defense = Defense().down("nose", "0", "R", "R A").support("rover", RunJob.ALLEY, "R", 5.0, 5.0, PlayerClass.SAFETY)
    defense.own_rules.append(("nose", (("edge", EdgeRule.SPILL),)))
    _, call = defense.pressure()
    rush, drop = call.find_rush("nose"), call.find_drop("rover")
    assert rush is not None
    assert rush.position == "nose"
    assert drop is not None
    assert drop.run is RunJob.ALLEY
    assert call.find_rush("rover") is None
    assert call.find_drop("nose") is None
    assert (call.changes("nose"), call.changes("rover")) == ((("edge", EdgeRule.SPILL),), ())
    assert len(call.positions) == 11


# --- the offense


def test_men_in_words() -> None:
    words = {p.key: p.word for p in formation("GT", "GTE", ("tailback", 0.0, 6.9), ("receiver", -9.0, 0.0)).players}
    assert words["RG"] == "right guard"
    assert words["LT"] == "left tackle"
    assert words["RE"] == "right end"
    assert words["C"] == "center"
    assert words["tailback0"] == "tailback"
    assert words["receiver1"] == "left receiver"


def test_a_center_with_a_side_is_still_the_center() -> None:
    assert OffensivePlayer("C", Role.CENTER, Side.LEFT, 0.0, 0.0, True, True).word == "center"


def test_interior_men_are_the_five() -> None:
    assert {role.value for role in Role if role.is_interior} == {"center", "guard", "tackle"}


def test_a_formation_turned_round() -> None:
    offense = formation("GT", "GTE", ("tailback", -1.5, 6.9), ("receiver", 9.0, 0.0))
    twin = offense.mirrored
    assert [p.word for p in twin.surface] == [
        "left end",
        "left tackle",
        "left guard",
        "center",
        "right guard",
        "right tackle",
    ]
    assert [p.key for p in twin.surface] == ["LE", "LT", "LG", "C", "RG", "RT"]
    assert [gap.name for gap in twin.gaps] == [
        "left D",
        "left C",
        "left B",
        "left A",
        "right A",
        "right B",
        "right C",
    ]
    by_role = {p.role: p for p in twin.players if not p.attached}
    assert by_role[Role.TAILBACK].x == 1.5
    assert by_role[Role.TAILBACK].side is None
    assert (by_role[Role.RECEIVER].side, by_role[Role.RECEIVER].x) == (Side.LEFT, -9.0)
    # A man who is no part of the line keeps his key, whatever letter it begins with.
    assert by_role[Role.RECEIVER].key == "receiver1"
    # Zero stays zero, never minus zero.
    assert str(twin.center.x) == "0.0"
    assert twin.mirrored is offense
    assert offense.mirrored is twin


def test_a_detached_man_keeps_his_key_turned_round() -> None:
    loose = OffensivePlayer("R1", Role.RECEIVER, Side.RIGHT, 9.0, 0.0, True, False)
    assert loose.mirrored.key == "R1"
    assert loose.mirrored.mirrored is loose


def test_a_formation_turned_round_takes_its_mirror_name() -> None:
    named = lay_out("right", (G, T), (G, T, E), quarterback_yd=1.5, mirror_name="left")
    assert (named.mirrored.name, named.mirrored.mirror_name) == ("left", "right")
    plain = lay_out("same", (G, T), (G, T), quarterback_yd=1.5)
    assert plain.mirrored.name == "same"


def test_sides_run_from_the_inside_out() -> None:
    offense = formation("GTE", "GTEW")
    assert [p.role for p in offense.on_side(Side.RIGHT)] == [G, T, E, W]
    assert [p.role for p in offense.on_side(Side.LEFT)] == [G, T, E]
    assert (offense.outermost(Side.LEFT).name, offense.outermost(Side.RIGHT).name) == ("left D", "right E")


def test_receivers_are_counted_from_the_sideline_in() -> None:
    offense = formation(
        "GT", "GTE", ("receiver", 12.0, 0.0), ("slotback", 7.0, 1.0), ("receiver", -15.0, 0.0), ("tailback", 2.0, 5.0)
    )
    assert [p.word for p in offense.receivers(Side.RIGHT)] == ["right receiver", "right slotback", "right end"]
    assert [p.x for p in offense.receivers(Side.LEFT)] == [-15.0]


def test_the_first_man_of_a_role_is_the_innermost() -> None:
    offense = formation("GT", "GT", ("receiver", -15.0, 0.0), ("receiver", 9.0, 0.0), ("receiver", -9.0, 0.0))
    left, right, anybody = (offense.find(Role.RECEIVER, side) for side in (Side.LEFT, Side.RIGHT, None))
    assert left is not None
    assert left.x == -9.0
    assert right is not None
    assert right.x == 9.0
    assert anybody is not None
    assert anybody.x == -9.0  # two as near as each other: the one on the left
    assert offense.find(Role.FULLBACK) is None
    guard = offense.find(Role.GUARD, Side.RIGHT)
    assert guard is not None
    assert guard.word == "right guard"


# --- sets from words


def test_a_set_in_yards_with_splits_as_taught() -> None:
    # 2 ft guards and tackles, 3 ft end and wing, 0.9 yd a man: steps of 2/3 + 0.9 and 1 + 0.9 yd.
    offense = lay_out(
        "wing",
        (G, T),
        (G, T, E, W),
        quarterback_yd=1.5,
        backs=[(Role.SLOTBACK, -6.0, 1.0), (Role.FULLBACK, 0.0, 4.5)],
        receivers=[(Side.LEFT, 10.0, True)],
    )
    step, wide = 2 / 3 + 0.9, 1.9
    at = {p.key: (p.x, p.y) for p in offense.players}
    expected = {
        "C": (0, 0),
        "RG": (step, 0),
        "RT": (2 * step, 0),
        "RE": (2 * step + wide, 0),
        "RW": (2 * step + 2 * wide, 1.0),
        "LG": (-step, 0),
        "LT": (-2 * step, 0),
        "QB": (0, 1.5),
        "FB": (0, 4.5),
        "SB": (-6.0, 1.0),
        "WR1": (-2 * step - 10, 0),
    }
    assert set(at) == set(expected)
    for key, place in expected.items():
        assert at[key] == pytest.approx(place)
    on_line = {p.key for p in offense.players if p.on_line}
    assert on_line == {"C", "RG", "RT", "RE", "LG", "LT", "WR1"}  # a wing is a yard off it
    assert {p.key for p in offense.players if p.attached} == {"C", "RG", "RT", "RE", "RW", "LG", "LT"}
    sides = {p.key: p.side for p in offense.players if not p.attached}
    assert sides["SB"] is Side.LEFT
    assert sides["FB"] is None
    assert [p.order for p in offense.on_side(Side.RIGHT)] == [1, 2, 3, 4]


def test_backs_and_receivers_have_sides_where_they_stand_on_one() -> None:
    offense = lay_out(
        "loose",
        (G, T),
        (G, T),
        quarterback_yd=4.5,
        backs=[(Role.WING, 4.0, 1.0), (Role.SLOTBACK, 0.0, 3.0)],
        receivers=[(Side.RIGHT, 8.0, False), (Side.RIGHT, 12.0, True)],
    )
    by_key = {p.key: p for p in offense.players}
    assert by_key["WB"].side is Side.RIGHT
    assert by_key["SB"].side is None
    assert (by_key["WR1"].y, by_key["WR1"].on_line, by_key["WR1"].attached) == (1.0, False, False)
    assert (by_key["WR2"].y, by_key["WR2"].on_line, by_key["WR2"].attached) == (0.0, True, False)


def test_a_second_tackle_on_a_side_has_a_key_of_his_own() -> None:
    offense = lay_out("unbalanced", (G, T), (G, T, T, E), quarterback_yd=1.5)
    assert [p.key for p in offense.on_side(Side.RIGHT)] == ["RG", "RT", "RT2", "RE"]
    assert [p.word for p in offense.on_side(Side.RIGHT)][2] == "right tackle"
    assert [p.order for p in offense.on_side(Side.RIGHT)] == [1, 2, 3, 4]


def test_the_last_attached_man() -> None:
    men = formation("GT", "GTE").players
    assert last_x(Side.RIGHT, men) == pytest.approx(3 * 1.57)
    assert last_x(Side.LEFT, men) == pytest.approx(-2 * 1.57)
    assert last_x(Side.LEFT, ()) == 0.0


# --- plays


@pytest.mark.parametrize(
    ("text", "role", "flow", "detail"),
    [
        ("line", None, None, 0),
        ("play side line", None, Flow.PLAY_SIDE, 1),
        ("guard", Role.GUARD, None, 2),
        ("back side guard", Role.GUARD, Flow.BACK_SIDE, 3),
    ],
)
def test_whom_a_row_means(text: str, role: Role | None, flow: Flow | None, detail: int) -> None:
    who = parse_who(f"  {text.upper()} ")
    assert who == Who(role, flow)
    assert (who.detail, who.word) == (detail, text)


def test_a_play_pulls_when_somebody_leaves_the_line() -> None:
    assert POWER.pulls
    assert not BASE.pulls
    lead = Scheme("lead", SchemeFamily.LEAD, (*BASE.rows, JobRow((parse_who("fullback"),), Job.LEAD)))
    assert not lead.pulls


def test_an_option_keeps_its_phases() -> None:
    phases = (Phase.DIVE, Phase.PITCH)
    assert Option("veer", ReadMan.PLAY_EDGE, phases).phases == phases


def test_all_stay_changes_the_pull_rules_alone() -> None:
    stay = TeamRules().all_stay
    assert (stay.pull_first, stay.pull_second, stay.pull_backer) == (
        PullFirst.STAY,
        PullSecond.STAY,
        PullSecond.STAY,
    )
    assert (stay.edge, stay.lead, stay.timing) == (TeamRules().edge, TeamRules().lead, TeamRules().timing)


# --- errors


def test_a_problem_in_words() -> None:
    bare = Problem("fronts.toml", "front[1].name", "a name")
    assert str(bare) == "fronts.toml: front[1].name: expected a name"
    full = Problem("fronts.toml", "front[1].name", "a name", "3")
    assert str(full) == "fronts.toml: front[1].name: expected a name, found 3"
    both = ContentProblems((bare, full))
    assert str(both) == f"{bare}\n{full}"
    assert both.problems == (bare, full)


def test_an_unknown_name_lists_what_there_is() -> None:
    error = UnknownName("call", "Pich", ("Pinch", "Loop"))
    assert str(error) == "call: expected one of Pinch, Loop, found 'Pich'"
    assert (error.kind, error.name, error.known) == ("call", "Pich", ("Pinch", "Loop"))
    assert str(UnknownName("call", "Pich", ())) == "call: expected one of none defined, found 'Pich'"


def test_no_rule_names_call_front_scheme_and_what_is_missing() -> None:
    error = CannotRun("Pinch", "Odd", "Power", "no fullback")
    assert str(error) == "no rule for call 'Pinch' from front 'Odd' against 'Power': no fullback"
    assert (error.call, error.front, error.scheme, error.missing) == ("Pinch", "Odd", "Power", "no fullback")
    assert isinstance(error, NoRule)
    assert isinstance(error, GapsoundError)


def test_formations_compare_by_their_men() -> None:
    assert formation() == formation()
    assert formation() != formation("GT", "GTE")
    assert isinstance(formation(), Formation)


@pytest.mark.parametrize("role", [Role.GUARD, Role.TACKLE, Role.END])
def test_each_split_has_its_own_setting(role: Role) -> None:
    # source: articles: 1.5, 3 and 3.5 ft from the inside out
    measures = Measures(0.5, 1.0, 3.5 / 3, man_width_yd=0.0)
    assert measures.pitch_yd(role) == pytest.approx({"guard": 0.5, "tackle": 1.0, "end": 3.5 / 3}[role.value])
