"""Losing a lane, man by man: where he ends up, what opens, who could still cover and when. Worked by hand."""

from __future__ import annotations

import pytest

from quizgen.engine.timing import Arrival
from quizgen.engine.verdict import RunAnswer
from quizgen.engine.what_if import Cover, Loss, LossKind, beaten, to_the_spot
from quizgen.football.defense import PlayerClass
from quizgen.football.errors import FootballValueError
from quizgen.football.pressure import Exchange, RunJob, Trigger
from quizgen.football.rules import EdgeRule, LeadRule, TeamRules
from quizgen.football.sides import Letter, Side
from tests.engine.snap import ONE_BACK, TWO_BACKS, play, six
from tests.engine.test_support import line_without
from tests.outside.field import BASE, GUARD_KICK, POWER, ZONE, Defense, formation

SAFETY = PlayerClass.SAFETY


def lane(answer: RunAnswer, loss: Loss) -> str:
    return "none" if loss.lane is None else answer.lanes[loss.lane].name


def opens(answer: RunAnswer, loss: Loss) -> list[str]:
    return [answer.lanes[i].name for i in loss.opens]


# --- who threatens whom


THREATS = [
    # Zone to the right: everybody's left neighbour comes for his far shoulder; hooked he ends up one lane to the left.
    (six(), "right nose", ("zone: line",), Side.RIGHT, "hook", ["center"], "left A"),
    (six(), "right end", ("zone: line",), Side.RIGHT, "hook", ["right tackle"], "right B"),
    (six(), "left tackle", ("zone: line",), Side.RIGHT, "hook", ["left tackle"], "left C"),
    (six(), "left end", ("zone: line",), Side.RIGHT, None, [], None),
    (six(), "left nose", ("zone: line",), Side.LEFT, "hook", ["center"], "right A"),
    (six(), "left end", ("reach: line",), Side.LEFT, "hook", ["left tackle"], "left B"),
    (six(), "left nose", ("cut off: line",), Side.RIGHT, "hook", ["left guard"], "left B"),
    # Down blocks come from outside: washed one lane further in.
    (six(), "right tackle", ("base: line", "down: play side tackle"), Side.RIGHT, "wash", ["right tackle"], "right A"),
    (six(), "left tackle", ("base: line", "down: play side tackle"), Side.LEFT, "wash", ["left tackle"], "left A"),
    # The back block of the center away from the play.
    (six(), "left nose", ("base: line", "back: center"), Side.RIGHT, "wash", ["center"], "left B"),
    # Into the outermost lane as well.
    # Down is to the inside on either side of the play; back is away from it.
    (six(), "left nose", ("base: line", "down: back side guard"), Side.RIGHT, "wash", ["left guard"], "right A"),
    (six(), "right nose", ("base: line", "down: back side guard"), Side.LEFT, "wash", ["right guard"], "left A"),
    (six(), "left tackle", ("base: line", "back: back side guard"), Side.RIGHT, "wash", ["left guard"], "left C"),
    # A hinge washes nobody: it is on the first man outside.
    (six(), "left tackle", ("base: line", "hinge: back side tackle"), Side.RIGHT, None, [], None),
    (six(), "left end", ("base: line", "hinge: back side tackle"), Side.RIGHT, "hinge", ["left tackle"], None),
    (six(), "right end", ("base: line", "hinge: play side tackle"), Side.RIGHT, "hinge", ["right tackle"], None),
    # The left guard pulls: of the two men in left A/B the center takes the nearer.
    (
        six(),
        "left nose",
        ("base: line", "back: center", "fake: back side guard"),
        Side.RIGHT,
        "wash",
        ["center"],
        "left C",
    ),
    (six(), "left tackle", ("base: line", "back: center", "fake: back side guard"), Side.RIGHT, None, [], None),
    # A tackle with nobody to double with stays where he is: the guard alone comes in.
    (
        six(),
        "right tackle",
        ("base: line", "zone: play side guard", "double: play side tackle"),
        Side.RIGHT,
        "hook",
        ["right guard"],
        "right A",
    ),
    (six(), "right tackle", ("double: line",), Side.RIGHT, None, [], None),  # the nearer nose in A has the guard
    # From both sides: a double team, lost to no lane.
    (
        Defense().down("tackle", "3", "R", "R B"),
        "tackle",
        ("double: line",),
        Side.RIGHT,
        "double team",
        ["right guard", "right tackle"],
        None,
    ),
    # Base blocks and men who climb threaten nobody.
    (six(), "right nose", ("base: line",), Side.RIGHT, None, [], None),
    (six(), "right nose", ("base: line", "climb: guard", "climb: center"), Side.RIGHT, None, [], None),
]


@pytest.mark.parametrize(("defense", "position", "rows", "to", "threat", "blockers", "lost"), THREATS)
def test_what_the_line_does_to_a_man(
    defense: Defense,
    position: str,
    rows: tuple[str, ...],
    to: Side,
    threat: str | None,
    blockers: list[str],
    lost: str | None,
) -> None:
    answer = defense.against(ONE_BACK, play(*rows), to)
    fit = answer.fit(position)
    assert (fit.threat.value if fit.threat else None) == threat
    assert [m.player.word for m in fit.threats] == blockers
    assert (answer.lanes[fit.lost_to].name if fit.lost_to is not None else None) == lost


def test_a_kick_threatens_the_man_who_meets_it_and_nobody_else() -> None:
    kick = play("base: line", "kick: fullback")
    for rule, lost in ((EdgeRule.BOX, "right C inside the kick"), (EdgeRule.SPILL, "right C outside the kick")):
        answer = six(TeamRules(edge=rule)).against(TWO_BACKS, kick, Side.RIGHT)
        fit = answer.fit("right end")
        assert fit.threat is not None
        assert (fit.threat.value, [m.player.word for m in fit.threats]) == ("kick", ["fullback"])
        assert fit.lost_to is not None
        assert answer.lanes[fit.lost_to].name == lost
    # Force fits outside the kick that the end spills: nobody comes for him.
    defense = six(TeamRules(edge=EdgeRule.SPILL)).support("force", RunJob.FORCE, "R", 6.0, 5.0, SAFETY)
    force = defense.against(TWO_BACKS, kick, Side.RIGHT).fit("force")
    assert (force.owns, force.threat) == (True, None)


def test_between_two_kicks_a_box_is_moved_in_and_a_spill_out() -> None:
    # The fullback kicks inside the pulling guard. Boxed between them the end fears the inner one.
    two = play("base: line", "kick: fullback", "pull and kick: back side guard")
    answer = six(TeamRules(edge=EdgeRule.BOX)).against(TWO_BACKS, two, Side.RIGHT)
    fit = answer.fit("right end")
    assert [m.player.word for m in fit.threats] == ["fullback"]
    assert fit.lost_to is not None
    assert answer.lanes[fit.lost_to].name == "right C inside the fullback's kick"


def test_a_lead_takes_one_of_the_men_beside_him() -> None:
    # As near to one as to the other: the shallower, who is the lineman inside him.
    lead = play("base: line", "lead to the aim: fullback", aim=Letter.B)
    defense = line_without("R C").support("alley", RunJob.ALLEY, "R", 3.0, 4.0, SAFETY)
    defense.down("end", "5", "R", "R C")
    answer = defense.against(TWO_BACKS, lead, Side.RIGHT)
    fit, alley = answer.fit("R B"), answer.fit("alley")
    assert fit.lane is not None
    assert answer.lanes[fit.lane].name == "right B inside the lead"
    assert fit.threat is not None
    assert fit.threat.value == "lead"
    assert fit.lost_to is not None
    assert answer.lanes[fit.lost_to].name == "right B outside the lead"
    assert alley.lane is not None
    assert answer.lanes[alley.lane].name == "right B outside the lead"
    assert alley.threat is None


def test_between_two_leads_a_man_meets_the_one_whom_nobody_else_has() -> None:
    # Sweep: both guards lead outside; the alley man fits between them. The inner one is as near to the end inside him,
    # who is shallower; the outer one is for the alley man.
    sweep = play("base: line", "pull and lead: back side guard", "pull and lead: play side guard", aim=None)
    defense = line_without().support("alley", RunJob.ALLEY, "R", 4.0, 4.0, SAFETY)
    defense.support("force", RunJob.FORCE, "R", 8.0, 5.0, SAFETY)
    answer = defense.against(ONE_BACK, sweep, Side.RIGHT)
    fit = answer.fit("alley")
    assert fit.lane is not None
    assert answer.lanes[fit.lane].name == "right C between the left guard's lead and the right guard's lead"
    assert [m.player.word for m in fit.threats] == ["right guard"]
    assert fit.lost_to is not None
    assert answer.lanes[fit.lost_to].name == "right C outside the right guard's lead"


def test_a_man_from_outside_meets_the_outer_of_two_leads() -> None:
    sweep = play("base: line", "pull and lead: back side guard", "pull and lead: play side guard", aim=None)
    defense = line_without().support("alley", RunJob.ALLEY, "R", 8.0, 4.0, SAFETY)
    defense.support("force", RunJob.FORCE, "R", 9.0, 5.0, SAFETY)
    answer = defense.against(ONE_BACK, sweep, Side.RIGHT)
    fit = answer.fit("alley")
    assert fit.lane is not None
    assert answer.lanes[fit.lane].name == "right C between the left guard's lead and the right guard's lead"
    assert [m.player.word for m in fit.threats] == ["right guard"]
    assert fit.lost_to is not None
    assert answer.lanes[fit.lost_to].name == "right C outside the right guard's lead"


# --- what opens


def test_beaten_and_alone_he_leaves_his_lane_open() -> None:
    answer = six().against(ONE_BACK, ZONE, Side.RIGHT)
    loss = beaten(answer, "right nose")
    assert (loss.position, loss.how) == ("right nose", LossKind.BEATEN)
    assert (lane(answer, loss), opens(answer, loss), loss.covers) == ("left A", ["right A"], ())


def test_with_another_man_in_it_nothing_opens() -> None:
    answer = six().down("extra", "2", "R", "R A").against(ONE_BACK, ZONE, Side.RIGHT)
    assert beaten(answer, "right nose").opens == ()


def test_running_to_the_spot_of_a_gap_that_has_not_moved_opens_nothing() -> None:
    answer = six().against(ONE_BACK, BASE, Side.RIGHT)
    loss = to_the_spot(answer, "right tackle")
    assert (loss.how, lane(answer, loss), loss.opens) == (LossKind.SPOT, "right B", ())


def test_running_to_the_spot_of_a_gap_that_moved_leaves_it() -> None:
    # Zone to the right moves right A to 0.942-2.512 yd: its old middle, 0.785, is in left A now.
    answer = six().against(ONE_BACK, ZONE, Side.RIGHT)
    loss = to_the_spot(answer, "right nose")
    assert (lane(answer, loss), opens(answer, loss)) == ("left A", ["right A"])
    # To the left the other way round.
    answer = six().against(ONE_BACK, ZONE, Side.LEFT)
    loss = to_the_spot(answer, "right nose")
    assert (lane(answer, loss), opens(answer, loss)) == ("right B", ["right A"])


def test_a_two_gap_man_may_open_two_lanes() -> None:
    nose = line_without("L A", "R A").down("nose", "0", "R", "R A", "L A")
    answer = nose.against(ONE_BACK, BASE, Side.RIGHT)
    loss = to_the_spot(answer, "nose")  # his first gap is right A
    assert (lane(answer, loss), opens(answer, loss)) == ("right A", ["left A"])


def test_on_power_the_spiller_who_loses_opens_his_portion() -> None:
    answer = six(TeamRules(edge=EdgeRule.SPILL)).against(TWO_BACKS, POWER, Side.RIGHT)
    loss = beaten(answer, "right end")
    assert opens(answer, loss) == ["right C between the wrap and the kick"]


@pytest.mark.parametrize("to", list(Side))
def test_a_spot_at_a_blocker_is_his_own_lane_or_the_inner_one(to: Side) -> None:
    # A lead stands in the middle of B, on the spot itself. The man who has the inside of him is where he belongs.
    side = to.value
    lead = play("base: line", "lead to the aim: fullback", aim=Letter.B)
    for rule, portion in ((LeadRule.INSIDE, "inside"), (LeadRule.OUTSIDE, "outside")):
        answer = six(TeamRules(lead=rule)).against(TWO_BACKS, lead, to)
        loss = to_the_spot(answer, f"{side} tackle")
        assert (lane(answer, loss), loss.opens) == (f"{side} B {portion} the lead", ())
    # A backer who has traded B for D with the man over the end, and runs back to B: nearer to the center.
    mark = side[0].upper()
    tight = formation("GTE", "GTE", ("tailback", 0.0, 6.9), ("fullback", 0.0, 4.5))
    defense = Defense().down("end", "9", mark, f"{mark} D").fill("Sam", "tackle", mark, f"{mark} B")
    defense.exchanges.append(Exchange("end", "Sam", "end", (Trigger.DOWN,)))
    down = play("base: line", "down: play side end", "lead to the aim: fullback", aim=Letter.B)
    answer = defense.against(tight, down, to)
    fit = answer.fit("Sam")
    assert fit.lane is not None
    assert answer.lanes[fit.lane].name == f"{side} D"
    loss = to_the_spot(answer, "Sam")
    assert (lane(answer, loss), opens(answer, loss)) == (f"{side} B inside the lead", [f"{side} D"])


# --- who could still cover


def test_the_free_man_and_the_alley_man_cover_the_soonest_first() -> None:
    # Right A opens on zone: middle at 1.727 yd. Alley, 3 yd out and 5 deep, is nearer than the free man 9 yd deep.
    defense = six().support("free", RunJob.FREE, "R", 0.0, 9.0, SAFETY)
    defense.support("alley", RunJob.ALLEY, "R", 3.0, 5.0, SAFETY)
    defense.support("cover", RunJob.COVER, "R", 2.0, 3.0, SAFETY)
    defense.support("far alley", RunJob.ALLEY, "L", 3.0, 5.0, SAFETY)
    answer = defense.against(ONE_BACK, ZONE, Side.RIGHT)
    loss = beaten(answer, "right nose")
    # The ball is at right A at 2.3 s. Alley: 0.7 + 5.159 / 4.2 = 1.93 s. Free: 0.7 + 9.164 / 4.2 = 2.88 s, late.
    assert loss.covers == (Cover("alley", 3, Arrival.ON_TIME), Cover("free", 3, Arrival.LATE))


def test_a_man_who_cannot_get_there_is_no_cover() -> None:
    defense = six().support("free", RunJob.FREE, "R", 0.0, 16.0, SAFETY)
    assert beaten(defense.against(ONE_BACK, ZONE, Side.RIGHT), "right nose").covers == ()


def test_fold_may_cover_a_lane_that_has_opened() -> None:
    defense = six().support("fold", RunJob.FOLD, "R", 2.0, 4.0, PlayerClass.BACKER)
    covers = beaten(defense.against(ONE_BACK, ZONE, Side.RIGHT), "right nose").covers
    assert [cover.position for cover in covers] == ["fold"]


def test_the_cutback_man_covers_the_back_side_alone() -> None:
    for to, expected in ((Side.RIGHT, []), (Side.LEFT, ["cutback"])):
        defense = six().support("cutback", RunJob.CUTBACK, "L", 0.0, 6.0, SAFETY)
        covers = beaten(defense.against(ONE_BACK, ZONE, to), "right nose").covers
        assert [cover.position for cover in covers] == expected


def test_of_two_lanes_that_open_a_man_covers_the_nearer_sooner() -> None:
    # A two-gap man in right B and C, hooked on zone into right A, opens both. Force, 6 yd out, is nearer to C: zone
    # moves it out to 4.082 yd, a man fits a yard further.
    defense = line_without("R B", "R C").down("two", "5", "R", "R B", "R C")
    defense.support("force", RunJob.FORCE, "R", 6.0, 4.0, SAFETY)
    answer = defense.against(ONE_BACK, ZONE, Side.RIGHT)
    loss = beaten(answer, "two")
    assert (lane(answer, loss), opens(answer, loss)) == ("right A", ["right B", "right C"])
    found = [(cover.position, answer.lanes[cover.lane].name) for cover in loss.covers]
    assert found == [("force", "right C"), ("force", "right B")]


def test_a_man_with_a_lane_of_his_own_covers_no_other() -> None:
    defense = line_without("R B").support("alley", RunJob.ALLEY, "R", 2.5, 4.0, SAFETY)
    answer = defense.against(ONE_BACK, ZONE, Side.RIGHT)
    assert beaten(answer, "R A").covers == ()


# --- refusals


def test_refused_in_words() -> None:
    answer = six().support("cover", RunJob.COVER, "R", 6.0, 5.0, SAFETY).against(ONE_BACK, ZONE, Side.RIGHT)
    for ask in (beaten, to_the_spot):
        with pytest.raises(FootballValueError) as caught:
            ask(answer, "cover")
        assert str(caught.value) == "position: expected a man who owns a lane against this play, found 'cover'"
    with pytest.raises(FootballValueError) as caught:
        beaten(answer, "left end")
    assert str(caught.value) == "position: expected a man whom a blocker threatens, found 'left end'"
    alley = line_without("R B").support("alley", RunJob.ALLEY, "R", 2.5, 4.0, SAFETY)
    with pytest.raises(FootballValueError) as caught:
        to_the_spot(alley.against(ONE_BACK, GUARD_KICK, Side.RIGHT), "alley")
    assert str(caught.value) == "position: expected a man with a gap of his own, found 'alley'"
