"""Team rules on which staffs differ: what each one changes, and whose rule holds.

source: design rules R1 to R5, R7, R11 and R14; the published rows behind them stand in tests/outside.
"""

from __future__ import annotations

import random
from dataclasses import fields, replace
from types import MappingProxyType

import pytest

from quizgen.engine.reads import Read
from quizgen.engine.reasons import because
from quizgen.engine.verdict import RunAnswer, solve
from quizgen.football.errors import FootballValueError, NoRule
from quizgen.football.pressure import Exchange, Path, Trigger
from quizgen.football.rules import (
    AwayRule,
    Changes,
    DownRule,
    EdgeRule,
    FitRules,
    FlowRule,
    KickRule,
    LeadRule,
    LooksRule,
    PullOwnSide,
    PullSecond,
    SlantRule,
    SplitFlowRule,
    TeamRules,
)
from quizgen.football.scheme import Job, JobRow, Scheme, SchemeFamily, parse_who
from quizgen.football.sides import Letter, Side
from quizgen.football.team import Situation
from tests.engine import laws
from tests.engine.generate import random_situations
from tests.harness.seed import run_seed
from tests.outside.field import BASE, GUARD_KICK, POWER, ZONE, Defense, formation, row

ONE_BACK = formation("GT", "GT", ("tailback", 0.0, 6.9))
TWO_BACKS = formation("GT", "GT", ("tailback", 0.0, 6.9), ("fullback", 0.0, 4.2))


def lane(answer: RunAnswer, position: str) -> str:
    fit = answer.fit(position)
    return answer.lanes[fit.lanes[0]].name if fit.owns else "none"


def front(rules: TeamRules | None = None) -> Defense:
    """Four down, two backers: 5, 3 to our right, 1, 5 to our left; Mike has right A, Will left B."""
    defense = Defense(rules).down("end", "5", "R", "R edge").down("three", "3", "R", "R B")
    defense.down("nose", "1", "L", "L A").down("rush", "5", "L", "L edge")
    return defense.fill("Mike", "guard", "R", "R A").fill("Will", "guard", "L", "L B")


SPLIT = Scheme("split zone", SchemeFamily.SPLIT_ZONE, (row("zone", "line"), row("kick across", "fullback")))


# --- whose rule holds


@pytest.mark.parametrize(
    ("team", "position", "call", "in_call", "expected"),
    [
        (EdgeRule.BOX, (), (), (), "right C outside the kick"),
        (EdgeRule.SPILL, (), (), (), "right C between the wrap and the kick"),
        (EdgeRule.BOX, (("edge", EdgeRule.SPILL),), (), (), "right C between the wrap and the kick"),
        (EdgeRule.BOX, (("edge", EdgeRule.SPILL),), (("edge", EdgeRule.BOX),), (), "right C outside the kick"),
        (
            EdgeRule.BOX,
            (),
            (("edge", EdgeRule.BOX),),
            (("edge", EdgeRule.SPILL),),
            "right C between the wrap and the kick",
        ),
        (EdgeRule.BOX, (("lead", LeadRule.OUTSIDE),), (("trap", LeadRule.OUTSIDE),), (), "right C outside the kick"),
    ],
)
def test_the_call_for_him_overrules_the_call_then_the_position_then_the_team(
    team: EdgeRule, position: Changes, call: Changes, in_call: Changes, expected: str
) -> None:
    defense = front(TeamRules(edge=team, by_position={"end": position}))
    defense.call_rules = call
    defense.own_rules.append(("end", in_call))
    assert lane(defense.against(TWO_BACKS, POWER, Side.RIGHT), "end") == expected


@pytest.mark.parametrize("rule", list(EdgeRule))
def test_a_stand_up_edge_who_drops_boxes_or_spills_by_call(rule: EdgeRule) -> None:
    defense = Defense().down("three", "3", "R", "R B").fill("Sam", "last man", "R", "R edge", depth=1.5)
    defense.own_rules.append(("Sam", (("edge", rule),)))
    expected = {"box": "right C outside the kick", "spill": "right C between the wrap and the kick"}
    assert lane(defense.against(TWO_BACKS, POWER, Side.RIGHT), "Sam") == expected[rule.value]


# --- pulls and flow


@pytest.mark.parametrize(
    ("rule", "read", "expected"),
    [
        (PullSecond.OVER_THE_TOP, Read.OVER_THE_TOP, "right C inside the wrap"),
        (PullSecond.FRONT_SHOULDER, Read.FRONT_SHOULDER, "right C between the wrap and the kick"),
        (PullSecond.STAY, Read.TOLD_TO_STAY, "left A/B"),
    ],
)
def test_a_backer_when_his_guard_pulls_away(rule: PullSecond, read: Read, expected: str) -> None:
    defense = front()
    defense.own_rules.append(("Will", (("pull_backer", rule),)))
    answer = defense.against(TWO_BACKS, POWER, Side.RIGHT)
    assert (answer.fit("Will").read, lane(answer, "Will")) == (read, expected)


def test_the_front_shoulder_of_a_puller_whom_another_man_has_leaves_the_first_free_lane() -> None:
    defense = front(TeamRules(pull_backer=PullSecond.FRONT_SHOULDER, edge=EdgeRule.SPILL))
    assert lane(defense.against(TWO_BACKS, POWER, Side.RIGHT), "Will") == "right C inside the wrap"


DOWN_G = Scheme(
    "down",
    SchemeFamily.DOWN,
    (row("base", "line"), row("down", "play side tackle"), row("pull and kick", "play side guard")),
    Letter.C,
)


@pytest.mark.parametrize(
    ("rule", "expected"),
    [
        (PullOwnSide.AS_AWAY, "right A/B"),
        (PullOwnSide.OUTSIDE, "right C inside the kick"),
        (PullOwnSide.HOLE, "right A/B"),
    ],
)
def test_a_backer_when_his_guard_pulls_round_his_own_end(rule: PullOwnSide, expected: str) -> None:
    defense = Defense(TeamRules(pull_own_side=rule)).down("end", "5", "R", "R edge").fill("Mike", "guard", "R", "R A")
    answer = defense.against(ONE_BACK, DOWN_G, Side.RIGHT)
    assert lane(answer, "Mike") == expected
    assert answer.fit("Mike").read is (Read.TOLD_TO_STAY if rule is PullOwnSide.HOLE else Read.OVER_THE_TOP)


@pytest.mark.parametrize(
    ("rule", "to", "read", "expected"),
    [
        (FlowRule.GAP, Side.RIGHT, Read.KEEP, "left B"),
        (FlowRule.BOTH_SIDES, Side.RIGHT, Read.FLOW, "right A"),
        (FlowRule.BOTH_SIDES, Side.LEFT, Read.KEEP, "left B"),
        (FlowRule.SHUFFLE, Side.LEFT, Read.KEEP, "left B"),
    ],
)
def test_a_backer_by_flow(rule: FlowRule, to: Side, read: Read, expected: str) -> None:
    answer = front(TeamRules(by_position={"Will": (("flow", rule),)})).against(ONE_BACK, ZONE, to)
    assert (answer.fit("Will").read, lane(answer, "Will")) == (read, expected)


@pytest.mark.parametrize(
    ("rule", "play", "nose_gap", "expected"),
    [
        (SplitFlowRule.GAP, SPLIT, "L A", "right B"),
        (SplitFlowRule.INSIDE, SPLIT, "L A", "right A"),
        (SplitFlowRule.INSIDE, SPLIT, "R A", "right B"),  # the nose has the lane inside
        (SplitFlowRule.INSIDE, ZONE, "L A", "right B"),  # nobody comes back across
    ],
)
def test_a_backer_by_split_flow(rule: SplitFlowRule, play: Scheme, nose_gap: str, expected: str) -> None:
    defense = (
        Defense(TeamRules(split_flow=rule)).down("nose", "0", nose_gap[0], nose_gap).fill("Mike", "guard", "R", "R B")
    )
    answer = defense.against(TWO_BACKS, play, Side.RIGHT)
    assert lane(answer, "Mike") == expected
    assert (answer.fit("Mike").read is Read.INSIDE_FLOW) is (expected == "right A")


def test_split_flow_sends_nobody_across_the_center() -> None:
    defense = Defense(TeamRules(split_flow=SplitFlowRule.INSIDE)).fill("Mike", "guard", "R", "R A")
    assert lane(defense.against(TWO_BACKS, SPLIT, Side.RIGHT), "Mike") == "right A"


@pytest.mark.parametrize(
    ("rule", "play", "to", "path", "expected"),
    [
        (SlantRule.GAP, ZONE, Side.RIGHT, Path.SLANT, "right A"),
        (SlantRule.JUMP, ZONE, Side.RIGHT, Path.SLANT, "right B"),
        (SlantRule.JUMP, ZONE, Side.RIGHT, Path.STRAIGHT, "right A"),
        (SlantRule.JUMP, BASE, Side.RIGHT, Path.SLANT, "right A"),
        (SlantRule.JUMP, ZONE, Side.LEFT, Path.SLANT, "right A"),
    ],
)
def test_a_slanter_whom_the_guard_reaches_past(
    rule: SlantRule, play: Scheme, to: Side, path: Path, expected: str
) -> None:
    defense = Defense(TeamRules(slant=rule)).down("nose", "0", "R", "R A", path=path)
    answer = defense.against(ONE_BACK, play, to)
    assert lane(answer, "nose") == expected
    assert (answer.fit("nose").read is Read.CROSS_FACE) is (expected == "right B")


def test_a_slanter_to_the_outermost_gap_has_none_to_jump_to() -> None:
    defense = Defense(TeamRules(slant=SlantRule.JUMP)).down("end", "4i", "R", "R C", path=Path.SLANT)
    assert lane(defense.against(ONE_BACK, ZONE, Side.RIGHT), "end") == "right C"


@pytest.mark.parametrize("looks", list(LooksRule))
def test_an_edge_who_closes_is_told_what_to_look_for(looks: LooksRule) -> None:
    play = Scheme("down", SchemeFamily.POWER, (row("base", "line"), row("down", "play side line")), Letter.C)
    answer = front(TeamRules(looks=looks)).against(ONE_BACK, play, Side.RIGHT)
    assert f"look for {looks.meaning}" in because(answer, answer.fit("end"))


def test_a_backer_who_shuffles_owns_no_gap_and_cuts_back_to_what_nobody_has() -> None:
    rules = TeamRules(by_position={"Will": (("flow", FlowRule.SHUFFLE),)})
    alone = front(rules).against(ONE_BACK, ZONE, Side.RIGHT)
    assert (alone.fit("Will").read, lane(alone, "Will")) == (Read.CUTBACK, "left B")
    full = front(rules).fill("Rover", "tackle", "L", "L B").against(ONE_BACK, ZONE, Side.RIGHT)
    assert (full.fit("Will").read, lane(full, "Will")) == (Read.EXTRA, "none")


# --- down blocks, kicks, leads


@pytest.mark.parametrize(
    ("rule", "expected"), [(DownRule.INSIDE, "right B"), (DownRule.SPILL, "right C inside the wrap")]
)
def test_a_backer_whose_guard_blocks_down(rule: DownRule, expected: str) -> None:
    defense = Defense(TeamRules(down=rule)).down("end", "5", "R", "R edge").fill("Mike", "tackle", "R", "R B")
    assert lane(defense.against(TWO_BACKS, POWER, Side.RIGHT), "Mike") == expected
    assert lane(defense.against(TWO_BACKS, ZONE, Side.RIGHT), "Mike") == "right B"


def test_a_backer_with_nobody_to_spill_keeps_his_gap() -> None:
    rows = (row("base", "line"), row("down", "play side line"))
    play = Scheme("down", SchemeFamily.DOWN, rows, Letter.C)
    defense = Defense(TeamRules(down=DownRule.SPILL)).fill("Mike", "tackle", "R", "R B")
    assert lane(defense.against(ONE_BACK, play, Side.RIGHT), "Mike") == "right B"
    owned = Defense(TeamRules(down=DownRule.SPILL)).fill("Mike", "tackle", "R", "R B")
    owned.down("end", "5", "R", "R edge").own_rules.append(("end", (("edge", EdgeRule.SPILL),)))
    assert lane(owned.against(ONE_BACK, GUARD_KICK, Side.RIGHT), "Mike") == "right B"


@pytest.mark.parametrize(
    ("edge", "kick", "end", "backer"),
    [
        (EdgeRule.SPILL, KickRule.SUPPORT, "right C between the wrap and the kick", "right B"),
        (EdgeRule.SPILL, KickRule.BACKER, "right C between the wrap and the kick", "right C outside the kick"),
        (EdgeRule.BOX, KickRule.BACKER, "right C outside the kick", "right C between the wrap and the kick"),
        (EdgeRule.SPILL, KickRule.SPILL_AGAIN, "right C inside the wrap", "right C between the wrap and the kick"),
        (EdgeRule.BOX, KickRule.SPILL_AGAIN, "right C outside the kick", "right C between the wrap and the kick"),
    ],
)
def test_the_next_man_when_the_edge_is_kicked(edge: EdgeRule, kick: KickRule, end: str, backer: str) -> None:
    defense = Defense(TeamRules(edge=edge, kick=kick)).down("end", "5", "R", "R edge")
    defense.fill("Mike", "guard", "R", "R B").fill("Will", "guard", "L", "L A")
    answer = defense.against(TWO_BACKS, POWER, Side.RIGHT)
    assert (lane(answer, "end"), lane(answer, "Mike")) == (end, backer)


def test_nobody_comes_to_a_kicked_edge_whose_next_lane_has_a_man() -> None:
    defense = Defense(TeamRules(edge=EdgeRule.SPILL, kick=KickRule.BACKER)).down("end", "5", "R", "R C")
    defense.fill("Mike", "guard", "R", "R B").fill("Sam", "last man", "R", "R edge")
    defense.own_rules.append(("Sam", (("edge", EdgeRule.BOX),)))
    assert lane(defense.against(TWO_BACKS, POWER, Side.RIGHT), "Mike") == "right B"


@pytest.mark.parametrize(
    ("guard", "expected"),
    [("down", "right B inside the lead"), ("base", "right B inside the lead"), ("double", "right B outside the lead")],
)
def test_a_lead_by_the_block(guard: str, expected: str) -> None:
    rows = (
        row("base", "line"),
        row(guard, "play side guard"),
        row("double", "play side tackle"),
        row("lead to the aim", "fullback"),
    )
    play = Scheme("lead", SchemeFamily.LEAD, rows if guard == "double" else (*rows[:2], rows[3]), Letter.B)
    defense = Defense(TeamRules(lead=LeadRule.BY_BLOCK)).fill("Mike", "tackle", "R", "R B")
    defense.down("tackle", "3", "R", "R B")
    assert lane(defense.against(TWO_BACKS, play, Side.RIGHT), "Mike") == expected


@pytest.mark.parametrize(
    ("rule", "play", "read"),
    [
        (AwayRule.CHASE, ZONE, Read.CHASE),
        (AwayRule.TRAIL, ZONE, Read.TRAIL),
        (AwayRule.SQUEEZE, ZONE, Read.SQUEEZE),
        (AwayRule.SQUEEZE, BASE, Read.TRAIL),
    ],
)
def test_the_edge_when_the_ball_goes_away(rule: AwayRule, play: Scheme, read: Read) -> None:
    answer = front(TeamRules(away=rule)).against(ONE_BACK, play, Side.RIGHT)
    assert (answer.fit("rush").read, lane(answer, "rush")) == (read, "left C")


# --- a puller who turns up in a named gap


@pytest.mark.parametrize(
    ("gap", "names"),
    [
        (
            None,
            [
                "right A",
                "right B",
                "right C inside the wrap",
                "right C between the wrap and the kick",
                "right C outside the kick",
            ],
        ),
        (
            Letter.B,
            [
                "right A",
                "right B inside the wrap",
                "right B outside the wrap",
                "right C inside the kick",
                "right C outside the kick",
            ],
        ),
        (
            Letter.A,
            [
                "right A inside the wrap",
                "right A outside the wrap",
                "right B",
                "right C inside the kick",
                "right C outside the kick",
            ],
        ),
        (
            Letter.F,
            [
                "right A",
                "right B",
                "right C inside the wrap",
                "right C between the wrap and the kick",
                "right C outside the kick",
            ],
        ),
    ],
)
def test_a_puller_turns_up_where_the_play_says(gap: Letter | None, names: list[str]) -> None:
    rows = [one for one in POWER.rows if one.job is not Job.PULL_WRAP]
    rows.append(JobRow((parse_who("back side guard"),), Job.PULL_WRAP, gap=gap))
    answer = front().against(TWO_BACKS, Scheme("power", SchemeFamily.POWER, tuple(rows), Letter.B), Side.RIGHT)
    assert [one.name for one in answer.lanes if one.side is Side.RIGHT] == names


@pytest.mark.parametrize("job", [Job.BASE, Job.PULL_TRAP, Job.CROSS_KICK, Job.FAKE])
def test_only_a_man_who_arrives_on_the_play_side_has_a_gap_named(job: Job) -> None:
    with pytest.raises(FootballValueError, match="no gap but for a man who kicks, wraps or leads"):
        JobRow((parse_who("back side guard"),), job, gap=Letter.B)


def test_a_backer_who_shuffles_has_no_gap_to_trade() -> None:
    defense = front(TeamRules(flow=FlowRule.SHUFFLE))
    defense.exchanges.append(Exchange("Will", "nose", "guard", (Trigger.REACH,)))
    assert lane(defense.against(ONE_BACK, ZONE, Side.RIGHT), "nose") == "left A"


def test_every_new_read_is_said() -> None:
    power = front(TeamRules(edge=EdgeRule.SPILL, kick=KickRule.BACKER, pull_backer=PullSecond.FRONT_SHOULDER))
    answer = power.against(TWO_BACKS, POWER, Side.RIGHT)
    assert because(answer, answer.fit("Mike")).startswith(
        "Our edge takes the kick: over the top beside him, to right C"
    )
    down = Defense(TeamRules(down=DownRule.SPILL)).down("end", "5", "R", "R edge").fill("Mike", "tackle", "R", "R B")
    answer = down.against(TWO_BACKS, POWER, Side.RIGHT)
    assert because(answer, answer.fit("Mike")).startswith("The man inside you blocks down: outside him to right C")
    answer = front(TeamRules(flow=FlowRule.BOTH_SIDES)).against(ONE_BACK, ZONE, Side.RIGHT)
    assert because(answer, answer.fit("Will")).startswith("The ball goes away: run to right A at once.")
    answer = front(TeamRules(pull_backer=PullSecond.FRONT_SHOULDER)).against(TWO_BACKS, POWER, Side.RIGHT)
    assert "meet him on his far shoulder, in right C between" in because(answer, answer.fit("Will"))
    answer = (
        Defense(TeamRules(split_flow=SplitFlowRule.INSIDE))
        .fill("Mike", "guard", "R", "R B")
        .against(TWO_BACKS, SPLIT, Side.RIGHT)
    )
    assert because(answer, answer.fit("Mike")).startswith("A man comes back across: fit inside the block on you")
    nose = Defense(TeamRules(slant=SlantRule.JUMP)).down("nose", "0", "R", "R A", path=Path.SLANT)
    answer = nose.against(ONE_BACK, ZONE, Side.RIGHT)
    assert because(answer, answer.fit("nose")).startswith("He reaches past you: cross his face, flat, to right B.")
    answer = front(TeamRules(away=AwayRule.TRAIL)).against(ONE_BACK, ZONE, Side.RIGHT)
    assert because(answer, answer.fit("rush")).startswith("The play goes away: trail as deep as the ball")
    answer = front(TeamRules(away=AwayRule.SQUEEZE)).against(ONE_BACK, ZONE, Side.RIGHT)
    assert because(answer, answer.fit("rush")).startswith("The man beside you goes inside: squeeze into his space")


# --- the laws, whatever the rules


KINDS = {one.name: type(one.default) for one in fields(FitRules)}
LAWS = (
    laws.beaten_law,
    laws.blockers_law,
    laws.dive_law,
    laws.hinge_law,
    laws.idle_law,
    laws.lane_count_law,
    laws.mirror_law,
    laws.one_answer_law,
    laws.one_blocker_law,
    laws.phases_law,
    laws.soundness_law,
    laws.support_ways_law,
    laws.ways_law,
)


def any_changes(rng: random.Random, count: int) -> Changes:
    return tuple((name, rng.choice(list(KINDS[name]))) for name in rng.sample(sorted(KINDS), count))


def with_any_rules(s: Situation, rng: random.Random) -> Situation:
    """The snap with rules of every kind, for the team, some positions, the call, and some positions in the call."""
    own = {p.name: any_changes(rng, 2) for p in s.positions if rng.random() < 0.3}
    rules = replace(s.rules, **dict(any_changes(rng, 4)), by_position=MappingProxyType(own))
    called = tuple((name, any_changes(rng, 1)) for name in s.pressure.positions if rng.random() < 0.2)
    return replace(
        s, rules=rules, pressure=replace(s.pressure, rules=any_changes(rng, rng.randint(0, 1)), by_position=called)
    )


@pytest.mark.slow
def test_the_laws_hold_whatever_the_rules() -> None:
    rng, solved = random.Random(run_seed()), 0
    for s in random_situations(run_seed(), 150):
        try:
            answer = solve(with_any_rules(s, rng))
        except NoRule:
            continue
        solved += 1
        for law in LAWS:
            assert not law(answer), f"seed {run_seed()}: {law.__name__}: {law(answer)}\n{answer.situation}"
    assert solved > 80
