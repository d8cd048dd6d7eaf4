"""Motion, jet sweeps and runs with a pass attached: what is published or common practice about who has whom.

source: matchquarters.com, "Defending jet motion": the safeties rotate to it, the backers are not bumped; the side away
is thin for it (outside-rows F87)
source: NFHS football rules 2-14-1 and 7-2-5a: at most four backs, so that who moves from the line is one of them
source: common practice (outside-rows F90: bump = the backers slide one man, run = the cover man travels): the rest
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from quizgen.engine.alignment import line_up
from quizgen.engine.verdict import RunAnswer, solve
from quizgen.football.at_snap import at_snap
from quizgen.football.coverage import COVERAGES, Coverage
from quizgen.football.defense import PlayerClass
from quizgen.football.errors import CannotRun, FootballValueError, NoRule
from quizgen.football.formation import Formation, Role
from quizgen.football.motion import FormationMotion, MotionAnswer, MotionKind, MotionRule
from quizgen.football.pressure import CoverJob, Drop, Pressure, RunJob
from quizgen.football.rules import AttachedRule, Measures, TeamRules
from quizgen.football.scheme import AttachedPass, Flow, Scheme, SchemeFamily, ThrowZone
from quizgen.football.sides import Letter, Side, Toward
from quizgen.football.team import Situation
from tests.outside.field import STEP_YD, ZONE, Defense, formation, row

SPREAD = formation(
    "GT",
    "GT",
    ("receiver", -17.0, 0.0),
    ("receiver", -9.0, 1.0),
    ("receiver", 17.0, 0.0),
    ("receiver", 9.0, 1.0),
    ("tailback", 1.6, 4.5),
)
JET = FormationMotion("Jet", MotionKind.JET, "number two", Side.RIGHT)
SWEEP = Scheme("sweep", SchemeFamily.JET_SWEEP, (row("reach", "line"),), None, carrier=Role.IN_MOTION)
ZONE_BEHIND_FOUR = COVERAGES["three deep, four under"]
MAN_FREE = COVERAGES["man with a post safety"]


def after(motion: FormationMotion, offense: Formation = SPREAD) -> Formation:
    return at_snap(offense, motion, Measures())


def four_down(rules: TeamRules | None = None) -> Defense:
    """Four down, two backers, an overhang each side, two safeties, one of them down away from the call."""
    defense = Defense(rules)
    defense.down("left end", "5", "L", "L edge").down("nose", "1", "L", "L A")
    defense.down("tackle", "3", "R", "R B").down("right end", "5", "R", "R edge")
    defense.fill("Will", "guard", "L", "L B").fill("Mike", "guard", "R", "R A")
    defense.support("Sam", RunJob.FORCE, "R", 6.0, 5.0, PlayerClass.BACKER)
    defense.support("strong safety", RunJob.FORCE, "L", 6.0, 6.0, PlayerClass.SAFETY)
    defense.support("free safety", RunJob.FREE, "R", 0.0, 12.0, PlayerClass.SAFETY)
    return defense


def snap(
    offense: Formation,
    play: Scheme,
    *,
    to: Side = Side.RIGHT,
    rules: TeamRules | None = None,
    coverage: Coverage = ZONE_BEHIND_FOUR,
    man: dict[str, str] | None = None,
) -> Situation:
    """The four-down call to the right; ``man`` says whom some men cover in man, the others play their zones."""
    defense = four_down(rules)
    front, call = defense.pressure()
    drops = [_drop(drop, man or {}) for drop in call.drops]
    deep, in_man = sum(drop.cover.is_deep for drop in drops), sum(drop.cover is CoverJob.MAN for drop in drops)
    family = replace(coverage, deep=deep, under=len(drops) - deep - in_man, man=in_man)
    pressure = Pressure(call.name, call.front, call.rushes, tuple(drops), family)
    return Situation(defense.rules, tuple(defense.positions), front, pressure, Side.RIGHT, offense, play, to)


def _drop(drop: Drop, man: dict[str, str]) -> Drop:
    if drop.position in man:
        return replace(drop, cover=CoverJob.MAN, man=man[drop.position])
    jobs = {"Sam": CoverJob.FLAT, "strong safety": CoverJob.FLAT, "free safety": CoverJob.DEEP_THIRD}
    is_backer = drop.run is RunJob.FILL
    return replace(drop, cover=CoverJob.HOOK if is_backer else jobs.get(drop.position, CoverJob.DEEP_THIRD), man="")


def owner(answer: RunAnswer, phase: str) -> str:
    return next(one.position for one in answer.phases if one.phase.value == phase)


def x_of(s: Situation) -> dict[str, float]:
    return {man.position: man.x for man in line_up(s)}


def test_zone_rotates_the_safeties_to_jet_motion_and_the_side_away_is_thin() -> None:
    # source: F87. The safety in the middle comes down on the jet's side and has him; who was down away goes deep.
    s = snap(after(JET), ZONE)
    men = {man.position: man for man in line_up(s)}
    assert men["free safety"].x > men["right end"].x
    assert men["free safety"].depth_yd < 10
    assert men["strong safety"].x == 0
    assert men["strong safety"].depth_yd == 12
    assert owner(solve(s), "man in motion") == "free safety"
    force = {man.position: man.side for man in men.values() if man.drop and man.drop.run is RunJob.FORCE}
    assert Side.LEFT not in force.values()  # nobody turns it in on the side away: thin
    assert Side.LEFT in {m.side for m in line_up(snap(SPREAD, ZONE)) if m.drop and m.drop.run is RunJob.FORCE}


def test_who_bumps_slides_his_backers_one_man() -> None:
    # source: F90.
    rules = TeamRules(motion=(MotionRule(MotionAnswer.BUMP),))
    before, now = x_of(snap(SPREAD, ZONE)), x_of(snap(after(JET), ZONE, rules=rules))
    step = Measures().pitch_yd(Role.GUARD)
    moved = {name: round(x - before[name], 6) for name, x in now.items() if x != before[name]}
    assert moved == dict.fromkeys(("Mike", "Will", "Sam"), round(step, 6))


def test_man_coverage_runs_with_him() -> None:
    # source: F90: the man who covers him travels. The overhang on the side he leaves has him on the other one.
    covers = {"Sam": "number two", "strong safety": "number two", "Mike": "tailback"}
    s = snap(after(JET), ZONE, coverage=MAN_FREE, man=covers)
    men = {man.position: man for man in line_up(s)}
    assert men["strong safety"].side is Side.RIGHT
    assert abs(men["strong safety"].x - 0.6) < 1
    assert owner(solve(s), "man in motion") == "strong safety"


def test_nobody_to_run_with_him_is_said() -> None:
    with pytest.raises(NoRule, match="nobody has the number two in man to run with the 'Jet' motion"):
        solve(snap(after(JET), ZONE, coverage=MAN_FREE, man={"Mike": "tailback"}))


# Common practice: by default force on the side he goes to has the man in motion; the staff may name others in order.
OWNERS = [((), "Sam"), (("edge",), "right end"), (("alley", "free"), "free safety"), (("Mike", "force"), "Mike")]


@pytest.mark.parametrize(("words", "who"), OWNERS)
def test_who_has_him_where_nobody_moves(words: tuple[str, ...], who: str) -> None:
    rules = TeamRules(motion=(MotionRule(MotionAnswer.NOTHING, owner=words),))
    for play in (ZONE, SWEEP):
        assert owner(solve(snap(after(JET), play, rules=rules)), "man in motion") == who
    # A fake away from the play still has its man on the side he goes to.
    assert owner(solve(snap(after(JET), ZONE, to=Side.LEFT, rules=rules)), "man in motion") == who


def test_orbit_is_a_threat_too_and_a_return_is_none() -> None:
    for kind, is_threat in ((MotionKind.ORBIT, True), (MotionKind.RETURN, False), (MotionKind.SHORT, False)):
        answer = solve(snap(after(FormationMotion("m", kind, "number two", Side.RIGHT)), ZONE))
        assert bool(answer.phases) is is_threat, kind


def test_the_jet_sweep_is_blocked_as_outside_zone_and_goes_where_he_goes() -> None:
    # Common practice: everybody reaches, so to the right the threat to the interior is the left-hand neighbour.
    answer = solve(snap(after(JET), SWEEP))
    assert len(answer.lanes) == 6
    assert {block.player.word for block in answer.fit("tackle").threats} == {"right guard"}
    with pytest.raises(CannotRun, match="goes the other way"):
        solve(snap(after(JET), SWEEP, to=Side.LEFT))
    with pytest.raises(CannotRun, match="has no man in motion to carry the ball"):
        solve(snap(SPREAD, SWEEP))


TIGHT = formation("GT", "GTE", ("receiver", -17.0, 0.0), ("receiver", 12.0, 1.0), ("tailback", 0.0, 6.9))


def test_an_end_who_trades_takes_his_gap_with_him() -> None:
    # One gap less where he was, one more where he is set again; who had the gap outside him has the next one inside.
    moved = after(FormationMotion("Trade", MotionKind.TRADE, "end", Side.LEFT), TIGHT)
    names = [gap.name for gap in TIGHT.gaps], [gap.name for gap in moved.gaps]
    assert [len(one) for one in names] == [7, 7]
    assert names[0][-1] == "right D"
    assert (names[1][0], names[1][-1]) == ("left D", "right C")
    men = {man.position: man for man in line_up(snap(moved, ZONE))}
    assert [gap.name for gap in men["right end"].gaps] == ["right C"]
    assert [gap.name for gap in men["left end"].gaps] == ["left D"]


def test_a_short_motion_into_a_wing_makes_a_gap_and_one_outside_does_not() -> None:
    wing = after(FormationMotion("m", MotionKind.SHORT, "number two", Side.RIGHT, attached=True))
    near = after(FormationMotion("m", MotionKind.SHORT, "number two", Side.RIGHT, split_yd=2.0))
    assert len(wing.gaps) == len(SPREAD.gaps) + 1
    assert len(near.gaps) == len(SPREAD.gaps)
    x = next(player.x for player in near.players if player.key == "receiver3")
    assert x == pytest.approx(2 * STEP_YD + 2.0)


def test_who_leaves_the_line_must_leave_enough_men_on_it() -> None:
    # source: NFHS 7-2-5a: no more than four backs; the split end on the line would be a fifth.
    with pytest.raises(FootballValueError, match="no more than four backs"):
        after(FormationMotion("m", MotionKind.JET, "number one", Side.RIGHT))


BUBBLE = replace(ZONE, attached=AttachedPass(ThrowZone.FLAT, Flow.PLAY_SIDE))
GLANCE = replace(ZONE, attached=AttachedPass(ThrowZone.HOOK, Flow.BACK_SIDE))

# Common practice: play, rule, who is read, who has the run, who the throw. The flat man has slot and edge; the backer
# who fills has the throw behind him. What the man read does not take is the next man's.
ATTACHED = [
    (BUBBLE, AttachedRule.THROW, "Sam", "free safety", "Sam"),
    (BUBBLE, AttachedRule.RUN, "Sam", "Sam", "cover 1"),
    (GLANCE, AttachedRule.THROW, "Will", "strong safety", "Will"),
    (GLANCE, AttachedRule.RUN, "Will", "Will", "cover 1"),
]


@pytest.mark.parametrize(("play", "rule", "read", "run", "throw"), ATTACHED)
def test_run_and_throw_have_one_owner_each(play: Scheme, rule: AttachedRule, read: str, run: str, throw: str) -> None:
    answer = solve(snap(SPREAD, play, rules=TeamRules(attached=rule)))
    assert answer.fit(read).is_read
    assert not answer.fit(read).threats
    assert owner(answer, "run") == run
    if throw != "cover 1":
        assert owner(answer, "throw") == throw
    assert owner(answer, "throw") != run
    assert not answer.fit(owner(answer, "throw")).owns


def test_the_backer_who_keeps_the_throw_leaves_his_gap_to_the_man_who_has_the_run() -> None:
    answer = solve(snap(SPREAD, GLANCE, rules=TeamRules(attached=AttachedRule.THROW)))
    left_b = next(i for i, lane in enumerate(answer.lanes) if lane.name == "left B")
    assert [fit.man.position for fit in answer.owners(left_b)] == ["strong safety"]
    assert Letter.B in {gap.letter for gap in answer.fit("Will").man.gaps}
    assert Toward.AWAY is answer.fit("Will").man.drop_toward


def test_the_rule_by_position_overrules_the_teams() -> None:
    rules = TeamRules(attached=AttachedRule.THROW, by_position={"Sam": (("attached", AttachedRule.RUN),)})
    assert owner(solve(snap(SPREAD, BUBBLE, rules=rules)), "run") == "Sam"
