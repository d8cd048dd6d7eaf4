"""Where every blocker is at the time of the fit, by his job. Places worked by hand from the amounts of common practice:
zone 0.6 of a gap, reach 1.1, back 0.6 the other way, down 0.6 to the inside, hinge 0.2, a double 0.2 toward the man
doubled."""

from __future__ import annotations

from math import hypot

import pytest

from quizgen.engine.movement import BlockerMove, aim_gap, assign_jobs
from quizgen.engine.verdict import solve
from quizgen.football.defense import PlayerClass
from quizgen.football.errors import CannotRun, NoRule
from quizgen.football.formation import Formation, Role
from quizgen.football.layout import lay_out
from quizgen.football.pressure import RunJob
from quizgen.football.rules import Measures
from quizgen.football.scheme import Intent, Job, JobRow, Scheme, SchemeFamily, parse_who
from quizgen.football.sides import Letter, Side
from tests.engine.snap import (
    END_RIGHT,
    ONE_BACK,
    STEP,
    TWO_BACKS,
    lane_names,
    places,
    play,
    situation,
    six,
)
from tests.outside.field import Defense, formation

TECHNIQUE = {"A": "1", "B": "3", "C": "5"}
LINE = ("left tackle", "left guard", "center", "right guard", "right tackle")


def run(
    *rows: str,
    offense: Formation = ONE_BACK,
    defense: Defense | None = None,
    to: Side = Side.RIGHT,
    aim: Letter | None = Letter.A,
) -> dict[str, float]:
    """Where each blocker is at the fit on a play of those rows."""
    return places((defense or Defense()).against(offense, play(*rows, aim=aim), to))


def moves(offense: Formation, scheme: Scheme, to: Side = Side.RIGHT) -> dict[str, BlockerMove]:
    return {m.player.word: m for m in Defense().against(offense, scheme, to).moves}


# --- who has which job


@pytest.mark.parametrize(
    ("rows", "expected"),
    [
        # A role overrules the line, wherever it stands.
        (("zone: guard", "base: line"), "base zone base zone base"),
        # The side of the play alone overrules the line, a role overrules the side, both together overrule everything.
        (("base: line", "reach: play side line"), "base base base reach reach"),
        (("base: line", "zone: guard", "reach: play side line"), "base zone base zone reach"),
        (("base: line", "down: back side guard", "zone: guard"), "base down base zone base"),
        # Among equals the later row.
        (("base: line", "zone: guard", "reach: guard"), "base reach base reach base"),
        # The center is on no side of the play.
        (("base: line", "down: play side line", "hinge: back side line"), "hinge hinge base down down"),
        # The first man named whom the formation has.
        (("base: line", "zone: end or tackle"), "zone base base base zone"),
        (("base: line", "zone: end?"), "base base base base base"),
    ],
)
def test_the_more_particular_row_overrules(rows: tuple[str, ...], expected: str) -> None:
    jobs = assign_jobs(situation(Defense(), ONE_BACK, play(*rows)))
    by_word = {man.word: row.job.value for man, row in jobs.values()}
    assert [by_word[word] for word in LINE] == expected.split()


def test_a_job_off_the_line_is_for_the_innermost_man_of_that_role() -> None:
    offense = formation(
        "GT", "GT", ("receiver", 15.0, 0.0), ("receiver", 9.0, 0.0), ("receiver", -9.0, 0.0), ("tailback", 0.0, 6.9)
    )
    jobs = assign_jobs(situation(Defense(), offense, play("base: line", "crack: receiver")))
    assert [man.x for man, row in jobs.values() if row.job is Job.CRACK] == [-9.0]  # as near as the other: the left one
    jobs = assign_jobs(situation(Defense(), offense, play("base: line", "crack: play side receiver")))
    assert [man.x for man, row in jobs.values() if row.job is Job.CRACK] == [9.0]


def test_an_attached_man_comes_before_a_loose_one_of_his_role_only_by_order() -> None:
    # A wing in the line counts as fourth from the center, one in the backfield as nought.
    offense = formation("GT", "GTEW", ("wing", 2.0, 4.0), ("tailback", 0.0, 6.9))
    jobs = assign_jobs(situation(Defense(), offense, play("base: line", "kick: wing")))
    assert [man.x for man, row in jobs.values() if row.job is Job.KICK] == [2.0]


# --- the line


STEPS = {
    "base": 0.0,
    "climb": 0.0,
    "zone": 0.6,
    "cut off": 0.6,
    "reach": 1.1,
    "back": -0.6,
    "hinge": 0.2,
}


@pytest.mark.parametrize("job", STEPS)
@pytest.mark.parametrize("to", list(Side))
def test_the_line_moves_by_its_share_of_a_gap_toward_the_play(job: str, to: Side) -> None:
    found = run(f"{job}: line", to=to)
    for number, word in enumerate(LINE, -2):
        assert found[word] == pytest.approx(number * STEP + to.sign * STEPS[job] * STEP, abs=0.001)


@pytest.mark.parametrize("to", list(Side))
def test_a_down_block_goes_inside_on_either_side_of_the_play(to: Side) -> None:
    found = run("base: line", "down: guard", "down: tackle", to=to)
    for number, word in enumerate(LINE, -2):
        inside = 0 if number == 0 else -0.6 if number > 0 else 0.6
        assert found[word] == pytest.approx((number + inside) * STEP, abs=0.001)


def test_the_share_is_of_the_gap_a_man_moves_into() -> None:
    # Guards and tackles 2/3 + 0.9 yd apart, the end 1.9 yd outside his tackle. On zone to the right the tackle steps
    # into the wide gap; the end, with nobody outside him, goes by the gap inside him. On a down block the end comes
    # through that same gap; on a back block the left tackle, with nobody outside him, goes by the gap inside him.
    line = (Role.GUARD, Role.TACKLE)
    offense = lay_out("end", line, (*line, Role.END), quarterback_yd=1.5, backs=[(Role.TAILBACK, 0.0, 7.0)])
    pitch = 2 / 3 + 0.9
    zone = run("zone: line", offense=offense)
    assert zone["right guard"] == pytest.approx(1.6 * pitch, abs=0.001)
    assert zone["right tackle"] == pytest.approx(2 * pitch + 0.6 * 1.9, abs=0.001)
    assert zone["right end"] == pytest.approx(2 * pitch + 1.6 * 1.9, abs=0.001)
    down = run("base: line", "down: play side line", "back: back side tackle", offense=offense)
    assert down["right end"] == pytest.approx(2 * pitch + 0.4 * 1.9, abs=0.001)
    assert down["right tackle"] == pytest.approx(1.4 * pitch, abs=0.001)
    assert down["left tackle"] == pytest.approx(-2.6 * pitch, abs=0.001)


def test_the_last_gap_but_one_counts_like_the_others() -> None:
    # Guards 1.4 yd from the center, tackles 1.9 yd from their guards. On a back block from the right the left guard
    # steps out into his own gap with the tackle; on a zone step the right guard into his.
    line = (Role.GUARD, Role.TACKLE)
    measures = Measures(0.5, 1.0, 1.0, man_width_yd=0.9)
    offense = lay_out("wide", line, line, quarterback_yd=1.5, backs=[(Role.TAILBACK, 0.0, 7.0)], measures=measures)
    assert run("back: line", offense=offense)["left guard"] == pytest.approx(-1.4 - 0.6 * 1.9, abs=0.001)
    assert run("zone: line", offense=offense)["right guard"] == pytest.approx(1.4 + 0.6 * 1.9, abs=0.001)


def test_a_lineman_ends_just_past_the_line_when_the_steps_are_done() -> None:
    move = moves(ONE_BACK, play("zone: line"))["right guard"]
    assert move.at_s == 1.0  # the default of Timing.line_move_s
    assert -1 < move.y_to < 0  # on the defense's side, by less than a yard
    assert (move.in_line, move.left, move.word, move.gap) == (True, False, "", None)
    assert move.intent is Intent.REACH
    assert move.dx == pytest.approx(0.6 * STEP)


# Which down linemen there are, the aim, who doubles, and the men who step 0.2 of a gap toward each other.
DOUBLES = [
    # Tackle in right B, nose in left A, aim A: each pair has a man of its own.
    (("R B", "L A"), Letter.A, "line", {"right guard": 1, "right tackle": -1, "left guard": 1, "center": -1}),
    # Nose in right A is nearest the aim A and takes the guard, who is then not free for the tackle in B.
    (("R A", "R B"), Letter.A, "line", {"center": 1, "right guard": -1}),
    # Aimed at B, it is the other way round.
    (("R A", "R B"), Letter.B, "line", {"right guard": 1, "right tackle": -1}),
    # B first; then right A finds its guard taken; then left A has guard and center free.
    (("R B", "R A", "L A"), Letter.B, "line", {"right guard": 1, "right tackle": -1, "left guard": 1, "center": -1}),
    # A man far from the aim is doubled all the same; nobody doubles the end outside the last man.
    (("L B", "R C"), Letter.A, "line", {"left tackle": 1, "left guard": -1}),
    # Nobody doubles an end outside the last man, on either side.
    (("L C",), Letter.A, "line", {}),
    (("R C",), Letter.A, "line", {}),
    # Both men beside him must double.
    (("R A",), Letter.A, "guard", {}),
]


@pytest.mark.parametrize(("gaps", "aim", "who", "steps"), DOUBLES)
def test_doubles_step_together(gaps: tuple[str, ...], aim: Letter, who: str, steps: dict[str, int]) -> None:
    defense = Defense()
    for gap in gaps:
        defense.down(gap, TECHNIQUE[gap[2]], gap[0], gap)
    rows = ("double: line",) if who == "line" else ("base: line", f"double: {who}")
    found = run(*rows, defense=defense, aim=aim)
    for number, word in enumerate(LINE, -2):
        assert found[word] == pytest.approx(number * STEP + 0.2 * STEP * steps.get(word, 0), abs=0.001)


def test_a_man_doubles_once() -> None:
    # Nose in left A and tackle in right B are one gap from the aim, the tackle in left B two: by then his guard is
    # taken, and the left tackle stays.
    defense = Defense().down("a", "1", "L", "L A").down("b", "3", "R", "R B").down("c", "3", "L", "L B")
    found = run("double: line", defense=defense)
    assert found["left guard"] == pytest.approx(-0.8 * STEP, abs=0.001)
    assert found["left tackle"] == pytest.approx(-2 * STEP)


def test_a_stand_up_man_is_not_doubled() -> None:
    found = run("double: line", defense=Defense().rush("backer", "guard", "R", "R A"))
    assert found["center"] == 0
    assert found["right guard"] == pytest.approx(STEP)


# --- men who arrive


def test_kick_wrap_lead_and_arc_line_up_outside_the_last_man() -> None:
    # Wrap, kick, lead, arc from the inside out (common practice), 1.3 yd apart outside the right tackle, who is down at
    # 3.14 - 0.6 x 1.57 = 2.198.
    offense = formation("GT", "GT", ("tailback", 0.0, 6.9), ("fullback", 0.0, 4.5), ("wing", -4.0, 1.0))
    found = run(
        "base: line",
        "down: play side tackle",
        "arc: wing",
        "pull and wrap: back side guard",
        "pull and lead: back side tackle",
        "kick: fullback",
        offense=offense,
    )
    assert found["left guard"] == pytest.approx(2.198 + 1.3)
    assert found["fullback"] == pytest.approx(2.198 + 2.6)
    assert found["left tackle"] == pytest.approx(2.198 + 3.9)
    assert found["left wing"] == pytest.approx(2.198 + 5.2)


def test_two_men_of_one_job_stand_by_how_near_they_came_from() -> None:
    # Both guards lead: as near as each other, the one from the back side goes first and stays inside.
    found = run("base: line", "pull and lead: back side guard", "pull and lead: play side guard")
    assert found["left guard"] == pytest.approx(2 * STEP + 1.3)
    assert found["right guard"] == pytest.approx(2 * STEP + 2.6)
    # Guard and tackle kick: the guard came from nearer.
    found = run("base: line", "pull and kick: back side tackle", "pull and kick: back side guard")
    assert found["left guard"] == pytest.approx(2 * STEP + 1.3)
    assert found["left tackle"] == pytest.approx(2 * STEP + 2.6)


def test_a_kick_across_arrives_outside_the_back_side() -> None:
    # Split zone to the right: the left tackle steps to -3.14 + 0.942 = -2.198, the wing kicks 1.3 yd outside him.
    offense = formation("GT", "GT", ("tailback", 0.0, 6.9), ("wing", 4.0, 1.0))
    assert run("zone: line", "kick across: wing", offense=offense)["right wing"] == pytest.approx(-3.498)
    assert run("zone: line", "kick across: wing", offense=offense, to=Side.LEFT)["right wing"] == pytest.approx(3.498)


def test_the_last_man_gone_the_edge_is_outside_the_next() -> None:
    # The play-side tackle pulls to lead: the last man left is the guard, at 1.57.
    assert run("base: line", "pull and lead: play side tackle")["right tackle"] == pytest.approx(STEP + 1.3)


def test_leads_share_an_interior_gap_evenly() -> None:
    # Right B lies between the guard at 1.57 and the tackle at 3.14: one lead in its middle, two at its thirds, the
    # nearer to the center inside.
    assert run("base: line", "lead to the aim: fullback", offense=TWO_BACKS, aim=Letter.B)["fullback"] == pytest.approx(
        1.5 * STEP
    )
    offense = formation("GT", "GT", ("tailback", 0.5, 6.9), ("fullback", 0.0, 4.5))
    found = run("base: line", "lead to the aim: tailback", "lead to the aim: fullback", offense=offense, aim=Letter.B)
    assert found["fullback"] == pytest.approx(STEP * 4 / 3, abs=0.001)
    assert found["tailback"] == pytest.approx(STEP * 5 / 3, abs=0.001)


BUBBLES = [
    ((), "right A"),
    (("R A",), "right B"),
    (("R A", "R B"), "right A"),  # the outermost gap is no bubble: the aim, which is A
    (("R B",), "right A"),
    (("L A",), "right A"),
]


@pytest.mark.parametrize(("held", "gap"), BUBBLES)
def test_a_lead_back_takes_the_bubble(held: tuple[str, ...], gap: str) -> None:
    defense = Defense()
    for one in held:
        defense.down(one, TECHNIQUE[one[2]], one[0], one)
    answer = defense.against(TWO_BACKS, play("base: line", "lead: fullback"), Side.RIGHT)
    assert f"{gap} inside the lead" in lane_names(answer)


def test_a_backer_in_the_gap_leaves_it_a_bubble() -> None:
    defense = Defense().fill("Mike", "guard", "R", "R A").rush("Sam", "guard", "R", "R A", depth=3.0)
    answer = defense.against(TWO_BACKS, play("base: line", "lead: fullback"), Side.RIGHT)
    assert "right A inside the lead" in lane_names(answer)


@pytest.mark.parametrize(
    ("aim", "expected"), [(Letter.A, "right A"), (Letter.C, "right C"), (Letter.E, "right D"), (None, "right D")]
)
def test_the_aim_is_no_wider_than_the_last_gap(aim: Letter | None, expected: str) -> None:
    assert aim_gap(situation(Defense(), END_RIGHT, play("base: line", aim=aim))).name == expected


# --- traps


def trap(past: Role | None) -> Scheme:
    who = (parse_who("back side guard"),)
    return Scheme("trap", SchemeFamily.TRAP, (JobRow((parse_who("line"),), Job.BASE), JobRow(who, Job.PULL_TRAP, past)))


def trapped(defense: Defense, past: Role | None = None, offense: Formation = ONE_BACK) -> str:
    """The gap in which the trapper turns up."""
    answer = defense.against(offense, trap(past), Side.RIGHT)
    gap = next(m.gap for m in answer.moves if m.word == "trap")
    assert gap is not None
    return gap.name


def test_the_first_man_past_the_center_is_trapped() -> None:
    assert trapped(six()) == "right A"
    assert trapped(six(), Role.CENTER) == "right A"
    assert trapped(six(), Role.GUARD) == "right B"
    assert trapped(six(), Role.TACKLE) == "right C"
    assert trapped(Defense().down("nose", "1", "L", "L A").down("three", "3", "R", "R B")) == "right B"


def test_only_a_man_who_is_through_first_is_trapped() -> None:
    first = Defense().rush("Sam", "guard", "R", "R A", order=1).down("three", "3", "R", "R B")
    assert trapped(first) == "right A"
    second = Defense().rush("Sam", "guard", "R", "R A", order=2).down("three", "3", "R", "R B")
    assert trapped(second) == "right B"
    filling = Defense().fill("Mike", "guard", "R", "R A").down("end", "5", "R", "R C")
    assert trapped(filling) == "right C"


def test_the_trapper_stands_in_the_middle_of_the_gap() -> None:
    assert places(six().against(ONE_BACK, trap(None), Side.RIGHT))["left guard"] == pytest.approx(STEP / 2)
    assert places(six().against(ONE_BACK, trap(None), Side.LEFT))["right guard"] == pytest.approx(-STEP / 2)


# --- men who take no part, and time


def test_fakes_and_cracks_take_no_part_at_the_surface() -> None:
    offense = formation("GT", "GT", ("tailback", 0.0, 6.9), ("receiver", -12.0, 0.0))
    answer = Defense().against(offense, play("base: line", "fake: tailback", "crack: receiver"), Side.RIGHT)
    assert [m.player.word for m in answer.moves[-2:]] == ["left receiver", "tailback"]  # last, from left to right
    assert all(not m.in_line and not m.left and m.at_s == 0 and m.dx == 0 for m in answer.moves[-2:])
    assert [m.y_to for m in answer.moves[-2:]] == [0.0, 6.9]
    assert len(answer.lanes) == 6


def test_a_lineman_who_fakes_leaves_the_line_but_does_not_pull() -> None:
    move = moves(ONE_BACK, play("base: line", "fake: back side guard"))["left guard"]
    assert (move.in_line, move.left, move.rule.pulls) == (False, True, False)


def test_a_puller_arrives_by_his_way_and_his_speed() -> None:
    # From the left guard's place to 1.3 yd outside the right tackle: 1.57 + 3.14 + 1.3 = 6.01 yd along the line, at
    # 4.5 yd in 1.6 s (tracked professional plays 2017-19).
    move = moves(ONE_BACK, play("base: line", "pull and kick: back side guard"))["left guard"]
    assert move.at_s == pytest.approx(6.01 * 1.6 / 4.5, abs=0.001)
    assert move.y_to < 0
    assert (move.in_line, move.left, move.word) == (False, True, "kick")
    fullback = moves(TWO_BACKS, play("base: line", "kick: fullback"))["fullback"]
    # From 4.5 yd deep to 3.14 + 1.3 yd out: the hypotenuse, his depth counted to the line.
    assert fullback.at_s == pytest.approx(hypot(4.44, 4.5) * 1.6 / 4.5, abs=0.001)
    assert not fullback.left


def test_turned_round_every_move_is_turned_round() -> None:
    scheme = play("zone: line", "pull and kick: back side guard", "fake: tailback")
    right = {m.player.word: m for m in Defense().against(ONE_BACK, scheme, Side.RIGHT).moves}
    left = {m.player.word: m for m in Defense().against(ONE_BACK, scheme, Side.LEFT).moves}
    swap = {"left": "right", "right": "left"}
    for word, move in right.items():
        twin = left[" ".join(swap.get(one, one) for one in word.split())]
        assert twin.x_to == pytest.approx(-move.x_to)
        assert (twin.job, twin.y_to, twin.at_s, twin.in_line) == (move.job, move.y_to, move.at_s, move.in_line)
        assert (twin.left, twin.word) == (move.left, move.word)
        assert (twin.gap.mirrored if twin.gap else None) == move.gap
    assert str(left["tailback"].x_to) == "0.0"


# --- what cannot be


REFUSED = [
    # A man whom the play needs is not there; of several the row names all.
    (("base: line", "kick: fullback"), CannotRun, "formation 'table' has no fullback to kick"),
    (("base: line", "kick: fullback or wing"), CannotRun, "formation 'table' has no fullback or wing to kick"),
    (("base: line", "down: back side end"), CannotRun, "formation 'table' has no back side end to down"),
    (("base: line", "zone: tailback"), NoRule, "a tailback cannot 'zone': that is a job on the line"),
    # Guard to 2.512 and tackle to 2.198: past each other.
    (
        ("base: line", "zone: play side guard", "down: play side tackle"),
        NoRule,
        "play side guard (zone) and play side tackle (down) would run into each other",
    ),
    # Guard to 2.512 and tackle to 2.198: out of order.
    (
        ("base: line", "zone: play side guard", "down: play side tackle"),
        NoRule,
        "play side guard (zone) and play side tackle (down) would run into each other",
    ),
    (
        ("base: line", "reach: back side guard"),
        NoRule,
        "back side guard (reach) and center (base) would run into each other",
    ),
    (("pull and lead: line",), NoRule, "nobody is left in the line"),
    (("fake: line",), NoRule, "nobody is left in the line"),
    (("base: line", "pull and trap: back side guard"), NoRule, "nobody at the line to trap past the center"),
    # Everybody inside the aim is gone: there is no line for the lead to turn up beside.
    (
        ("base: line", "fake: back side line", "fake: center", "lead to the aim: tailback"),
        NoRule,
        "nobody is left in the line inside play side A",
    ),
]


@pytest.mark.parametrize("to", list(Side))
@pytest.mark.parametrize(("rows", "error", "missing"), REFUSED)
def test_what_the_rules_do_not_cover_is_refused_in_words(
    rows: tuple[str, ...], error: type[NoRule], missing: str, to: Side
) -> None:
    with pytest.raises(error) as caught:
        Defense().against(ONE_BACK, play(*rows), to)
    assert type(caught.value) is error
    assert str(caught.value) == f"no rule for call 'table' from front 'table' against 'table play': {missing}"


def test_a_fifth_of_a_yard_between_two_men_is_room_enough() -> None:
    # Reach 1.1 gaps against a zone step of 0.6: half a gap is left, 0.785 yd. Zone against base: 0.4 of a gap.
    assert run("reach: line", "zone: play side tackle")["right tackle"] == pytest.approx(2.6 * STEP, abs=0.001)
    assert run("base: line", "zone: play side guard")["right guard"] == pytest.approx(1.6 * STEP, abs=0.001)


def test_nobody_to_trap_past_the_man_named() -> None:
    three = Defense().down("three", "3", "R", "R B")
    with pytest.raises(NoRule, match="against 'trap': nobody at the line to trap past the tackle"):
        three.against(ONE_BACK, trap(Role.TACKLE), Side.RIGHT)
    with pytest.raises(CannotRun) as caught:
        three.against(END_RIGHT, trap(Role.END), Side.LEFT)
    assert str(caught.value) == (
        "no rule for call 'table' from front 'table' against 'trap': "
        "formation 'table' has no play side end to trap past"
    )
    with pytest.raises(NoRule, match="nobody at the line to trap past the end"):
        three.against(END_RIGHT, trap(Role.END), Side.RIGHT)
    wing_deep = formation("GT", "GT", ("wing", 4.0, 1.0), ("tailback", 0.0, 6.9))  # a wing who is no part of the line
    with pytest.raises(CannotRun, match="has no play side wing to trap past"):
        three.against(wing_deep, trap(Role.WING), Side.RIGHT)


def test_support_is_never_trapped() -> None:
    rover = Defense().support("rover", RunJob.FORCE, "R", 4.0, 1.0, PlayerClass.SAFETY)
    with pytest.raises(NoRule, match="nobody at the line to trap"):
        rover.against(ONE_BACK, trap(None), Side.RIGHT)


def test_a_play_whose_carrier_is_not_there_cannot_run() -> None:
    nobody = formation("GT", "GT", ("receiver", 9.0, 0.0))
    jet = Scheme("jet", SchemeFamily.SWEEP, (JobRow((parse_who("line"),), Job.BASE),), carrier=Role.SLOTBACK)
    with pytest.raises(CannotRun) as caught:
        solve(situation(Defense(), nobody, jet))
    assert str(caught.value) == (
        "no rule for call 'table' from front 'table' against 'jet': formation 'table' has no slotback to carry the ball"
    )
