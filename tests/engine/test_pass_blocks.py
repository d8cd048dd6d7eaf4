"""Slides, men, helpers, halves and the back, man by man. Worked by hand from the slide rules (common practice)."""

from __future__ import annotations

import pytest

from quizgen.engine.protection import Half, PassAnswer, Release, on_release, solve_pass
from quizgen.football.coverage import COVERAGES
from quizgen.football.defense import PlayerClass
from quizgen.football.errors import CannotRun, NoRule
from quizgen.football.formation import Formation, Role
from quizgen.football.pressure import CoverJob, Drop, Pressure, RunJob, RushPart
from quizgen.football.scheme import Protection, Slide, parse_who
from quizgen.football.sides import Side, Toward
from quizgen.football.team import PassSituation
from tests.engine.snap import END_RIGHT, ONE_BACK, TWO_BACKS, six
from tests.engine.test_support import line_without
from tests.outside.field import Defense, formation

BACKER = PlayerClass.BACKER


def solve(
    slide: Slide, defense: Defense, *stay: str, turn: Side = Side.RIGHT, offense: Formation = ONE_BACK
) -> PassAnswer:
    front, call = defense.pressure()
    protection = Protection("table", slide, tuple(parse_who(who) for who in stay))
    return solve_pass(
        PassSituation(defense.rules, tuple(defense.positions), front, call, Side.RIGHT, offense, protection, turn)
    )


def blocks(answer: PassAnswer) -> dict[str, list[str]]:
    """Each rusher's blockers in words, his own first; men with none left out."""
    return {m.man.position: [p.word for p in m.blockers] for m in answer.matchups if m.blockers}


def only(*gaps: str) -> Defense:
    """A down lineman on each of those gaps and no other rush."""
    return line_without(*(gap for gap in ("L C", "L B", "L A", "R A", "R B", "R C") if gap not in gaps))


# --- who has which gap


@pytest.mark.parametrize(
    ("slide", "turn", "gaps"),
    [
        # Everybody to the side the center turns to: the far edge has nobody.
        (Slide.FULL, Side.RIGHT, "left B, left A, right A, right B, right C"),
        (Slide.FULL, Side.LEFT, "left C, left B, left A, right A, right B"),
        (Slide.SPRINT, Side.RIGHT, "left B, left A, right A, right B, right C"),
        # A boot slides against the run action it shows, and the quarterback comes out the other way.
        (Slide.BOOT, Side.RIGHT, "left C, left B, left A, right A, right B"),
        (Slide.BOOT, Side.LEFT, "left B, left A, right A, right B, right C"),
        # Half: the center and the men on the side he turns to.
        (Slide.HALF, Side.RIGHT, "-, -, right A, right B, right C"),
        (Slide.HALF, Side.LEFT, "left C, left B, left A, -, -"),
        (Slide.MAN, Side.RIGHT, "-, -, -, -, -"),
    ],
)
def test_each_linemans_gap(slide: Slide, turn: Side, gaps: str) -> None:
    answer = solve(slide, six(), turn=turn)
    found = {key: gap.name for key, gap in answer.gaps}
    assert [found.get(key, "-") for key in ("LT", "LG", "C", "RG", "RT")] == gaps.split(", ")


def test_an_end_who_stays_in_slides_with_the_line() -> None:
    edge = line_without("R C").down("edge", "9", "R", "R edge")
    answer = solve(Slide.FULL, edge, "end", offense=END_RIGHT)
    assert blocks(answer)["edge"] == ["right end", "right tackle"]  # the tackle slides to C, where nobody comes
    assert [p.word for p in answer.protectors] == [
        "left tackle",
        "left guard",
        "center",
        "right guard",
        "right tackle",
        "right end",
    ]
    # Not kept in, he is no protector: what was C and D is the tackle's now, and nobody is in C.
    assert blocks(solve(Slide.FULL, edge, offense=END_RIGHT))["edge"] == ["right tackle"]


def test_who_stays_in_is_said_by_role_and_side_of_the_turn() -> None:
    ends = formation("GTE", "GTE", ("tailback", 0.0, 6.9))
    stays = [p.word for p in solve(Slide.FULL, six(), "back side end", offense=ends).protectors]
    assert ("left end" in stays, "right end" in stays) == (True, False)
    stays = [p.word for p in solve(Slide.FULL, six(), "back side end", offense=ends, turn=Side.LEFT).protectors]
    assert ("left end" in stays, "right end" in stays) == (False, True)
    stays = [p.word for p in solve(Slide.FULL, six(), "play side end", offense=ends).protectors]
    assert ("left end" in stays, "right end" in stays) == (False, True)


def test_two_men_of_a_role_stay_in_the_nearer_first() -> None:
    backs = formation("GT", "GT", ("slotback", -4.0, 1.0), ("slotback", 3.0, 1.0))
    one = solve(Slide.MAN, six(), "slotback", offense=backs)
    assert [p.x for p in one.protectors if p.role is Role.SLOTBACK] == [3.0]
    two = solve(Slide.MAN, six(), "slotback", "slotback", offense=backs)
    assert [p.x for p in two.protectors if p.role is Role.SLOTBACK] == [-4.0, 3.0]


@pytest.mark.parametrize("who", ["fullback", "play side slotback"])
def test_a_man_who_is_not_there_cannot_stay_in(who: str) -> None:
    backs = formation("GT", "GT", ("tailback", 0.0, 6.9), ("slotback", -4.0, 1.0))
    with pytest.raises(CannotRun) as caught:
        solve(Slide.MAN, six(), who, offense=backs)
    assert str(caught.value) == (
        f"no rule for call 'table' from front 'table' against 'table': formation 'table' has no {who} to stay in"
    )


def test_a_back_has_no_side_of_the_turn() -> None:
    with pytest.raises(CannotRun, match="has no play side tailback to stay in"):
        solve(Slide.MAN, six(), "play side tailback")


# --- who blocks whom


def test_the_first_man_through_a_gap_is_blocked_and_the_next_is_free() -> None:
    defense = six().rush("second", "guard", "R", "R A", order=2)
    answer = solve(Slide.FULL, defense)
    assert blocks(answer)["right nose"] == ["center"]
    assert "second" in answer.free
    # Called first as well, the man nearer the ball is blocked.
    together = six().rush("deep", "guard", "R", "R A", order=1, depth=5.0)
    assert "deep" in solve(Slide.FULL, together).free


def test_of_two_men_as_near_the_line_the_inner_is_the_first() -> None:
    defense = Defense().down("outer", "2", "R", "R A").down("inner", "1", "R", "R A")
    answer = solve(Slide.FULL, defense)
    assert blocks(answer)["inner"][0] == "center"
    assert answer.free == ("outer",)


def test_a_two_gap_man_takes_up_the_blocker_on_whom_he_lines_up() -> None:
    # Full slide right: the left guard has left A, the center right A. The nose in both is head-up on the center, and
    # the left guard, with nobody else in his gap, helps him.
    defense = line_without("L A", "R A").down("nose", "0", "R", "R A", "L A")
    assert blocks(solve(Slide.FULL, defense)) == {
        "nose": ["center", "left guard"],
        "L B": ["left tackle"],
        "R B": ["right guard"],
        "R C": ["right tackle"],
    }


def test_linemen_in_man_take_men_on_their_own_side() -> None:
    # Four men rush on the left. The tackle and the guard there and the center take three of them from the inside out.
    # The right guard and tackle may not come over; the edge is free.
    defense = only("L C", "L B", "L A").down("extra", "2", "L", "L A")
    answer = solve(Slide.MAN, defense)
    assert answer.free == ("L C",)
    found = blocks(answer)
    assert found["L B"] == ["left tackle"]
    assert {found["L A"][0], found["extra"][0]} == {"left guard", "center"}


def test_men_at_the_line_come_before_backers() -> None:
    # Big on big: the backer in right B would be as near to the guard as the end to the tackle; with a lineman in C and
    # one in A for center and tackle, the guard has the backer. A second lineman in B takes the guard from him.
    defense = only("R A", "R C").rush("backer", "guard", "R", "R B")
    assert blocks(solve(Slide.MAN, defense))["backer"] == ["right guard"]
    big = only("R A", "R B", "R C").rush("backer", "guard", "R", "R B")
    assert solve(Slide.MAN, big).free == ("backer",)


def test_a_man_standing_at_the_line_is_at_the_line() -> None:
    # 1.6 yd off the ball is at the line, 1.7 is not: then the lineman behind him in the list comes first.
    def free(depth: float) -> tuple[str, ...]:
        defense = only("R B", "R C").rush("up", "guard", "R", "R A", depth=depth).down("nose", "0", "L", "R A")
        return solve(Slide.MAN, defense).free

    # Center, guard and tackle for four men on the right: of men at the line the edge is furthest from his blocker.
    assert free(1.6) == ("R C",)
    assert free(1.7) == ("up",)


def test_backs_take_what_is_left_from_the_inside_out() -> None:
    # Half slide right: the left guard and tackle have the two linemen there; the men through left A and the second
    # through left C are left over. One back takes the inner.
    defense = line_without("L A").rush("inner", "guard", "L", "L A").rush("wide", "tackle", "L", "L C")
    answer = solve(Slide.HALF, defense, "tailback")
    assert blocks(answer)["inner"] == ["tailback"]
    assert answer.free == ("wide",)
    two = formation("GT", "GT", ("tailback", 0.0, 6.9), ("fullback", -1.0, 4.5))
    both = solve(Slide.HALF, defense, "tailback", "fullback", offense=two)
    assert both.free == ()
    # The least ground: the fullback stands nearer to the edge.
    assert (blocks(both)["wide"], blocks(both)["inner"]) == (["fullback"], ["tailback"])


@pytest.mark.parametrize("turn", list(Side))
def test_as_far_out_the_man_on_the_side_of_the_turn_is_the_backs(turn: Side) -> None:
    # Guards and tackles have linemen in B and C, the center a nose. Two backers come through the B gaps, as far out as
    # each other.
    defense = only("L C", "L B", "R B", "R C").down("nose", "0", "R", "R A")
    defense.rush("left", "guard", "L", "L B", order=2).rush("right", "guard", "R", "R B", order=2)
    answer = solve(Slide.MAN, defense, "tailback", turn=turn)
    assert answer.free == (turn.other.value,)
    assert blocks(answer)[turn.value] == ["tailback"]


def test_a_lineman_in_man_follows_his_man_through_a_stunt() -> None:
    # The tackle over the right guard slants out to C, the end over the right tackle loops in behind him to B. In man
    # each blocker goes with the man on him; in a slide they pass them off.
    defense = line_without("R B", "R C").down("in", "3", "R", "R C").down("out", "5", "R", "R B", order=2)
    in_man = blocks(solve(Slide.MAN, defense))
    assert (in_man["in"], in_man["out"]) == (["right guard"], ["right tackle"])
    passed = blocks(solve(Slide.FULL, defense))
    assert (passed["in"], passed["out"]) == (["right tackle"], ["right guard"])


@pytest.mark.parametrize("turn", list(Side))
def test_a_guard_stays_home_while_a_back_can_have_the_edge(turn: Side) -> None:
    # Right of the center a nose, a five-technique and a stand-up edge outside him; nobody on the right guard.
    defense = only("L C", "L B").down("nose", "0", "R", "R A").down("end", "5", "R", "R B")
    defense.rush("edge", "tackle", "R", "R edge", depth=1.0, out=2.5)
    with_back = solve(Slide.MAN, defense, "tailback", turn=turn)
    found = blocks(with_back)
    assert with_back.free == ()
    assert found["end"][0] == "right tackle"
    assert found["edge"] == ["tailback"]
    assert "right guard" not in [men[0] for men in found.values()]
    # Without the back the line fans: the guard has the end and the tackle the edge.
    fan = blocks(solve(Slide.MAN, defense, turn=turn))
    assert (fan["end"], fan["edge"]) == (["right guard"], ["right tackle"])


def test_in_a_half_slide_the_first_uncovered_lineman_starts_it() -> None:
    # Slide to the left. Nobody is on the right guard: he has right A, and the back the backers who come there.
    uncovered = only("L C", "L B", "L A", "R C").rush("inside", "guard", "R", "R B")
    answer = solve(Slide.HALF, uncovered, "tailback", turn=Side.LEFT)
    assert {key: gap.name for key, gap in answer.gaps}["RG"] == "right A"
    found = blocks(answer)
    assert (found["R C"][0], found["inside"]) == ("right tackle", ["tailback"])
    # A man on him: he has that man, and the center starts it.
    covered = solve(Slide.HALF, only("L C", "L B", "L A", "R B", "R C"), "tailback", turn=Side.LEFT)
    assert "RG" not in dict(covered.gaps)
    assert blocks(covered)["R B"][0] == "right guard"
    # Nobody on the last man or outside him: the whole line slides.
    nobody = solve(Slide.HALF, only("L C", "L B", "L A"), "tailback", turn=Side.LEFT)
    assert {key for key, _ in nobody.gaps} == {"LT", "LG", "C", "RG", "RT"}


@pytest.mark.parametrize("turn", list(Side))
def test_the_line_moves_over_and_nobody_crosses(turn: Side) -> None:
    # An edge, a man on the tackle and one on the guard, nobody on the center: center, guard and tackle each take the
    # next man out.
    defense = Defense().down("end", "5", "L", "L edge").down("four", "4", "L", "L B").down("two", "2", "L", "L A")
    found = blocks(solve(Slide.MAN, defense, turn=turn))
    assert [found[name][0] for name in ("two", "four", "end")] == ["center", "left guard", "left tackle"]


def test_beside_a_slide_a_lineman_has_the_man_who_covers_him() -> None:
    # Slide to the left. A three on the right guard, a five on the tackle, a stand-up edge outside him: guard and tackle
    # have the two linemen, the back the edge.
    defense = only("L C", "L B").down("three", "3", "R", "R B").down("five", "5", "R", "R C")
    defense.rush("edge", "tackle", "R", "R edge", depth=1.0, out=2.5)
    found = blocks(solve(Slide.HALF, defense, "tailback", turn=Side.LEFT))
    assert (found["three"][0], found["five"][0], found["edge"]) == ("right guard", "right tackle", ["tailback"])


# --- helpers


@pytest.mark.parametrize(
    ("slide", "turn", "gaps", "expected"),
    [
        # Right A is empty: the center helps the man he turns to.
        (Slide.FULL, Side.RIGHT, ("L B", "L A", "R B", "R C"), {"R B": ["right guard", "center"]}),
        (Slide.FULL, Side.LEFT, ("L C", "L B", "R A", "R B"), {"L B": ["left guard", "center"]}),
        # A boot to the right slides left.
        (Slide.BOOT, Side.RIGHT, ("L C", "L B", "R A", "R B"), {"L B": ["left guard", "center"]}),
        # Only the right edge rushes: the tackle has him, the guard helps the tackle, nobody else is next to him.
        (Slide.FULL, Side.RIGHT, ("R C",), {"R C": ["right tackle", "right guard"]}),
        # The left tackle's gap is empty and his right neighbour has nobody either: no man on his other side.
        (Slide.FULL, Side.RIGHT, ("R B",), {"R B": ["right guard", "center", "right tackle"]}),
        # In man to the right: the left guard would turn to the center, who has nobody: he helps the left tackle.
        (
            Slide.MAN,
            Side.RIGHT,
            ("L C", "R B", "R C"),
            {"L C": ["left tackle", "left guard"], "R B": ["right guard", "center"]},
        ),
        (
            Slide.MAN,
            Side.LEFT,
            ("L C", "R B", "R C"),
            {"L C": ["left tackle", "left guard"], "R B": ["right guard", "center"]},
        ),
    ],
)
def test_men_with_nobody_help_their_neighbour(
    slide: Slide, turn: Side, gaps: tuple[str, ...], expected: dict[str, list[str]]
) -> None:
    found = blocks(solve(slide, only(*gaps), turn=turn))
    assert {position: found[position] for position in expected} == expected
    helped = [position for position, men in found.items() if len(men) > 1]
    assert sorted(helped) == sorted(expected)


def test_a_back_with_nobody_helps_nobody() -> None:
    answer = solve(Slide.FULL, only("R C"), "tailback")
    assert blocks(answer) == {"R C": ["right tackle", "right guard"]}
    assert answer.alone == ()


# --- halves


def test_a_man_over_the_center_takes_the_half_of_his_rush_lane() -> None:
    # The center slides right to the man through right A: that lane is outside of him. So to the left.
    assert solve(Slide.FULL, six()).matchup("right nose").half is Half.OUTSIDE
    assert solve(Slide.FULL, six(), turn=Side.LEFT).matchup("left nose").half is Half.OUTSIDE


def test_a_man_in_front_of_a_back_takes_the_half_away_from_the_turn() -> None:
    defense = line_without("L A").rush("left", "guard", "L", "L A")
    answer = solve(Slide.HALF, defense, "tailback")
    assert blocks(answer)["left"] == ["tailback"]
    assert answer.matchup("left").half is Half.OUTSIDE
    defense = line_without("R A").rush("right", "guard", "R", "R A")
    answer = solve(Slide.HALF, defense, "tailback", turn=Side.LEFT)
    assert blocks(answer)["right"] == ["tailback"]
    assert answer.matchup("right").half is Half.OUTSIDE
    # On the side of the turn, away from it is inside: two men through right A, the center has the first. The first back
    # looks the other way; a second one takes him.
    defense = line_without("L C").rush("second", "guard", "R", "R A", order=2)
    assert solve(Slide.FULL, defense, "tailback").free == ("second",)
    answer = solve(Slide.FULL, defense, "tailback", "fullback", offense=TWO_BACKS)
    assert "second" in blocks(answer)
    assert answer.matchup("second").half is Half.INSIDE


def test_a_man_takes_the_half_of_his_rush_lane() -> None:
    answer = solve(Slide.FULL, six())
    # Slid to: left B is inside the left tackle, right B outside the right guard.
    assert answer.matchup("left tackle").half is Half.INSIDE
    assert answer.matchup("right tackle").half is Half.OUTSIDE
    assert answer.matchup("left nose").half is Half.INSIDE
    assert answer.matchup("left end").half is None


def test_who_contains() -> None:
    defense = (
        Defense()
        .down("edge", "5", "R", "R C")
        .down("contains", "3", "R", "R B", part=RushPart.CONTAIN)
        .down("sets", "1", "R", "R A", part=RushPart.EDGE)
        .down("inside", "3", "L", "L B", part=RushPart.CONTAIN)  # his lane is inside of the left tackle
        .down("both", "5", "L", "L B", "L C")
        .down("gap", "1", "L", "L A")
    )
    answer = solve(Slide.FULL, defense)
    contains = {m.man.position for m in answer.matchups if m.contains}
    assert contains == {"edge", "contains", "sets", "inside", "both"}
    assert {m.half for m in answer.matchups if m.contains and m.blockers} == {Half.OUTSIDE}


def test_free_alone_and_each_mans_matchup() -> None:
    answer = solve(Slide.FULL, six())
    assert answer.free == ("left end",)
    assert answer.alone == ("left tackle", "left nose", "right nose", "right tackle", "right end")
    assert answer.matchup("left end").is_free
    assert not answer.matchup("left tackle").is_free
    with pytest.raises(KeyError, match="cover 1"):
        answer.matchup("cover 1")


# --- the back


def released(
    *men: tuple[str, CoverJob, str, float],
    side: Side,
    peel: bool = False,
    defense: Defense | None = None,
    man: str = "",
    run: RunJob = RunJob.FREE,
) -> dict[str, Release]:
    """What everybody does when the tailback releases; ``men`` are (name, coverage job, side or "-", x)."""
    defense = defense or six()
    for name, _, where, x in men:
        defense.support(name, RunJob.FREE, "L" if where == "L" else "R", x, 6.0, BACKER)
    front, call = defense.pressure()
    toward = {"L": Toward.AWAY, "R": Toward.TO, "-": None}
    own = {
        name: Drop(
            name,
            cover,
            run,
            toward[where],
            man=man if cover is CoverJob.MAN else "",
        )
        for name, cover, where, _ in men
    }
    drops = tuple(own.get(drop.position, drop) for drop in call.drops)
    coverage = COVERAGES["man with a post safety"] if any(drop.cover.is_deep for drop in drops) else call.coverage
    changed = Pressure(call.name, call.front, call.rushes, drops, coverage, peel=peel)
    s = PassSituation(
        defense.rules,
        tuple(defense.positions),
        front,
        changed,
        Side.RIGHT,
        ONE_BACK,
        Protection("table", Slide.FULL),
        Side.RIGHT,
    )
    back = ONE_BACK.find(Role.TAILBACK)
    assert back is not None
    found = on_release(solve_pass(s), back, side)
    assert len(found) == 11
    return found


def taker(found: dict[str, Release]) -> str:
    (man,) = [position for position, job in found.items() if job is Release.TAKE_BACK]
    return man


FLAT_L = ("flat left", CoverJob.FLAT, "L", 7.0)
FLAT_R = ("flat right", CoverJob.FLAT, "R", 7.0)
SEAM_R = ("seam", CoverJob.SEAM, "R", 5.0)
HOOK_R = ("hook", CoverJob.HOOK, "R", 2.0)
HOOK_MIDDLE = ("middle", CoverJob.HOOK, "-", 0.0)
ON_BACK = ("man", CoverJob.MAN, "R", 1.0)


@pytest.mark.parametrize(
    ("men", "side", "expected"),
    [
        ((FLAT_L, FLAT_R), Side.LEFT, "flat left"),
        ((FLAT_L, FLAT_R), Side.RIGHT, "flat right"),
        ((FLAT_R, SEAM_R, HOOK_R), Side.RIGHT, "flat right"),
        ((SEAM_R, HOOK_R), Side.RIGHT, "seam"),
        ((HOOK_R, FLAT_L), Side.RIGHT, "hook"),
        ((HOOK_MIDDLE, FLAT_R), Side.LEFT, "middle"),
        ((FLAT_R, ("wider", CoverJob.FLAT, "R", 9.0)), Side.RIGHT, "wider"),
        ((FLAT_L, ("wider", CoverJob.FLAT, "L", 9.0)), Side.LEFT, "wider"),
    ],
)
def test_in_zone_the_flat_then_the_seam_then_the_hook_player_there(
    men: tuple[tuple[str, CoverJob, str, float], ...], side: Side, expected: str
) -> None:
    found = released(*men, side=side)
    assert taker(found) == expected
    assert {found[name] for name in ("left end", "right nose")} == {Release.KEEP_RUSHING}
    others = {job for position, job in found.items() if position.startswith("cover")}
    assert others == {Release.KEEP_COVERING}


def test_in_man_whoever_has_him() -> None:
    assert taker(released(ON_BACK, FLAT_L, side=Side.LEFT, man="tailback")) == "man"
    assert taker(released(ON_BACK, FLAT_L, side=Side.LEFT, man="fullback")) == "flat left"


def test_under_a_peel_rule_the_widest_rusher_who_contains() -> None:
    assert taker(released(ON_BACK, side=Side.RIGHT, man="tailback", peel=True)) == "right end"
    assert taker(released(ON_BACK, side=Side.LEFT, man="tailback", peel=True)) == "left end"
    wide = line_without("L B").rush("wide", "end", "L", "L edge", depth=1.2)
    assert taker(released(side=Side.LEFT, peel=True, defense=wide)) == "wide"
    # With no such rusher on that side it is as without the rule.
    inside = only("L A", "R A", "R C")
    assert taker(released(FLAT_L, side=Side.LEFT, peel=True, defense=inside)) == "flat left"


def test_nobody_for_the_back_is_refused_in_words() -> None:
    with pytest.raises(NoRule) as caught:
        released(FLAT_R, side=Side.LEFT)
    assert str(caught.value) == (
        "no rule for call 'table' from front 'table' against 'table': nobody takes the tailback releasing left"
    )


def test_deep_men_do_not_take_him() -> None:
    with pytest.raises(NoRule, match="nobody takes the tailback releasing right"):
        released(("post", CoverJob.POST, "R", 3.0), side=Side.RIGHT)


def test_a_middle_man_who_only_covers_is_on_no_side() -> None:
    with pytest.raises(NoRule, match="nobody takes the tailback releasing right"):
        released(HOOK_MIDDLE, side=Side.RIGHT, run=RunJob.COVER)
