"""Right answers worked out by hand from the trade's reasoning (common practice), never taken from the program.

The team: five linemen (or six with an end on the right), an even front, six rushers one to a gap. For a call to the
right: Rush left C, Nose left B, Will left A first, Mike right A second, Tackle right B, End the right edge. In the
cross call Will goes first to right A and Mike comes second to left A.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from quizgen.football.rules import EdgeRule, LeadRule, PullSecond, TeamRules
from quizgen.football.sides import Side
from quizgen.reps import count
from quizgen.reps.catalogue import Catalogue
from quizgen.reps.rep import Rep
from quizgen.reps.snap import Snap
from tests.reps.small_team import small_team

LEFT, RIGHT = Side.LEFT, Side.RIGHT
TEAM = Catalogue(small_team())
STAY = Catalogue(small_team(replace(TeamRules(), pull_second=PullSecond.STAY)))
SPILL = Catalogue(small_team(replace(TeamRules(), edge=EdgeRule.SPILL)))
LEAD_OUT = Catalogue(small_team(replace(TeamRules(), lead=LeadRule.OUTSIDE)))


def ask(
    catalogue: Catalogue,
    kind: str,
    position: str,
    *,
    call: str = "Anvil",
    to: Side = RIGHT,
    formation: str = "Even",
    play: str | None = None,
    play_to: Side | None = None,
) -> Rep:
    reps = catalogue.reps(
        kinds=[kind], positions=[position], calls=[call], sides=[to], schemes=[play] if play else None
    )
    return next(rep for rep in reps if (rep.formation, rep.play, rep.play_to) == (formation, play, play_to))


def right_labels(rep: Rep, part: int = 0) -> set[str]:
    return {choice.label for choice in rep.parts[part].choices if choice.id in rep.parts[part].right}


@pytest.mark.parametrize(
    ("call", "to", "position", "gap"),
    [
        # The call's own words: Mike goes to A on the side it goes to, Will to A away from it; the cross trades them.
        ("Anvil", RIGHT, "Mike", "Right A"),
        ("Anvil", LEFT, "Mike", "Left A"),
        ("Anvil", RIGHT, "Will", "Left A"),
        ("Hammer", RIGHT, "Mike", "Left A"),
        ("Hammer", RIGHT, "Will", "Right A"),
        ("Hammer", LEFT, "Will", "Left A"),
        # The outermost gap: C outside the tackle where there is no end.
        ("Anvil", RIGHT, "End", "Right C"),
        ("Anvil", LEFT, "End", "Left C"),
    ],
)
def test_track(call: str, to: Side, position: str, gap: str) -> None:
    assert right_labels(ask(TEAM, "track", position, call=call, to=to)) == {gap}


def test_track_of_the_edge_moves_out_with_a_tight_end() -> None:
    # An attached end adds a gap outside him: the edge on his side has D, the other edge still C.
    assert right_labels(ask(TEAM, "track", "End", formation="Tight right")) == {"Right D"}
    assert right_labels(ask(TEAM, "track", "End", formation="Tight right", to=LEFT)) == {"Left C"}


def test_order_of_the_cross() -> None:
    # Will is called first, Mike second; Nose slants to B and does not cross them (they cross over the center).
    rep = ask(TEAM, "order", "Mike", call="Hammer")
    assert (right_labels(rep, 0), right_labels(rep, 1)) == ({"Will"}, {"You (Mike)"})


@pytest.mark.parametrize("play_to", [LEFT, RIGHT])
@pytest.mark.parametrize(
    ("position", "place"),
    [
        # Zone flow never changes which two blockers name a gap: A is center and guard, B guard and tackle.
        ("Will", "Between the left guard and the center"),
        ("Mike", "Between the center and the right guard"),
        ("Nose", "Between the left tackle and the left guard"),
        ("Tackle", "Between the right guard and the right tackle"),
    ],
)
def test_a_gap_moves_with_its_blockers(position: str, place: str, play_to: Side) -> None:
    rep = ask(TEAM, "moved-gap", position, play="Inside zone", play_to=play_to)
    assert right_labels(rep) == {place}


@pytest.mark.parametrize(
    ("position", "play_to", "blocker", "ends_in"),
    [
        # Zone to the right: everybody's left-hand neighbour steps into his gap and may hook him. Hooked, he is in the
        # next gap to the left: Mike in right A is hooked by the center into left A.
        ("Mike", RIGHT, "The center", "Between the left guard and the center"),
        ("Tackle", RIGHT, "The right guard", "Between the center and the right guard"),
        ("Will", RIGHT, "The left guard", "Between the left tackle and the left guard"),
        # Zone to the left: the right-hand neighbour, and one gap to the right.
        ("Will", LEFT, "The center", "Between the center and the right guard"),
        ("Nose", LEFT, "The left guard", "Between the left guard and the center"),
    ],
)
def test_hooked(position: str, play_to: Side, blocker: str, ends_in: str) -> None:
    rep = ask(TEAM, "hooked", position, play="Inside zone", play_to=play_to)
    assert (right_labels(rep, 0), right_labels(rep, 1)) == ({blocker}, {ends_in})


def test_washed() -> None:
    # Guard pulls from the left, the right side blocks down to its left: the right tackle comes down on the man in
    # right B. Washed, he ends up one lane over, away from the block: right A, between center and right guard.
    rep = ask(TEAM, "hooked", "Tackle", play="Guard kick", play_to=RIGHT)
    assert right_labels(rep, 0) == {"The right tackle"}
    assert right_labels(rep, 1) == {"Between the center and the right guard"}


def test_pull_away_from_the_cross() -> None:
    # Hammer right; the left guard pulls to our right and kicks the edge. Left A and left B become one.
    # Nose is a down lineman with B there: on the puller's hip, the merged lane between left tackle and center is his.
    pull = {"call": "Hammer", "play": "Guard kick", "play_to": RIGHT}
    merged = {"Between the left tackle and the center"}
    assert right_labels(ask(TEAM, "pull-read", "Nose", **pull)) == merged
    # Mike is second through with left A: he goes over the top to the play side's innermost lane without an owner.
    # Will has right A, Tackle right B, End boxes the kick outside: that leaves C inside the kick, right tackle to
    # the puller.
    assert right_labels(ask(TEAM, "pull-read", "Mike", **pull)) == {
        "Between the right tackle and the pulling left guard"
    }
    # Told to stay he has the merged lane beside Nose: two men on one duty, so neither is asked.
    with pytest.raises(StopIteration):
        ask(STAY, "pull-read", "Mike", **pull)
    # The end is kicked: boxed he is outside the puller, spilled inside him.
    assert right_labels(ask(TEAM, "pull-read", "End", **pull)) == {"Outside the pulling left guard"}
    assert right_labels(ask(SPILL, "pull-read", "End", **pull)) == {
        "Between the right tackle and the pulling left guard"
    }


def test_behind_the_man_who_went_over_the_top() -> None:
    # Same snap: when Mike has gone over the top, what he left is the merged lane, and Nose on the hip owns it.
    rep = ask(TEAM, "behind-you", "Mike", call="Hammer", play="Guard kick", play_to=RIGHT)
    assert right_labels(rep) == {"Nose"}


def test_count_after_the_pull() -> None:
    # Worked in the trade's own example: five linemen, left guard pulls to kick at our right: right of the center A, B,
    # C inside and C outside the kick are four; Will, Tackle, End and Mike, who goes over the top, are four men.
    rep = ask(TEAM, "count", "Will", call="Hammer", play="Guard kick", play_to=RIGHT)
    assert (right_labels(rep, 0), right_labels(rep, 1)) == ({"4"}, {"4"})
    # Nobody goes over the top: still four gaps; End boxes, so Sam, who is force, comes inside him: the fourth man.
    rep = ask(STAY, "count", "Will", call="Hammer", play="Guard kick", play_to=RIGHT)
    assert (right_labels(rep, 0), right_labels(rep, 1)) == ({"4"}, {"4"})
    assert "Sam" in rep.because


def test_count_is_not_asked_where_none_of_us_is() -> None:
    # The same snap with only those men left who own no gap on the play side: 0 is none of the five numbers.
    asked = ask(TEAM, "count", "Rush", call="Hammer", play="Guard kick", play_to=RIGHT)
    setup = next(one for one in TEAM.setups.values() if asked.id.startswith(one.digest))
    snap = TEAM.find_listed(setup)
    assert isinstance(snap, Snap)
    there = [i for i, lane in enumerate(snap.answer.lanes) if lane.side is RIGHT]
    owners = {fit.man.position for i in there for fit in snap.answer.owners(i)}
    right = snap.answer.right  # the play goes to the right, so nothing is turned round
    others = tuple(fit for fit in right.placed if fit.man.position not in owners)
    alone = replace(snap.answer, right=replace(right, placed=others))
    assert count.asks(snap, "Rush")
    assert not count.asks(replace(snap, answer=alone), "Rush")


def test_power_arithmetic() -> None:
    # source: power arithmetic as published for coaches: the back-side B goes, an extra C and D appear at the play side
    # (kick and wrap). Without an end there: A, B, then C split twice by wrapper and kicker make five.
    rep = ask(TEAM, "count", "Tackle", play="Power", play_to=RIGHT)
    assert right_labels(rep, 0) == {"5"}


def test_edge_on_power() -> None:
    # The fullback kicks out: box is outside him. Spill is inside him, between the man who wraps and the kicker.
    rep = ask(TEAM, "edge", "End", play="Power", play_to=RIGHT)
    assert right_labels(rep) == {"Outside the fullback"}
    rep = ask(SPILL, "edge", "End", play="Power", play_to=RIGHT)
    assert right_labels(rep) == {"Inside the fullback"}
    assert {choice.key for choice in rep.parts[0].choices if choice.id in rep.parts[0].right} == {
        "lane:right C between the wrap and the kick"
    }


def test_the_lead_back_splits_the_bubble() -> None:
    # Lead to the right, call to the left: on the right Will has A, Nose B (a down man). The bubble is A, the back
    # inserts between center and right guard. Inside half of him is the center's side, outside half the guard's.
    lead = {"to": LEFT, "play": "Lead", "play_to": RIGHT}
    assert right_labels(ask(TEAM, "edge", "Will", **lead)) == {"Inside the fullback"}
    assert right_labels(ask(LEAD_OUT, "edge", "Will", **lead)) == {"Outside the fullback"}


def test_unblocked_edge_away_from_the_play_stays_outside() -> None:
    # Zone away: nobody blocks the back-side edge; he chases flat and stays outside the tackle.
    rep = ask(TEAM, "edge", "Rush", play="Inside zone", play_to=RIGHT)
    assert right_labels(rep) == {"Outside the left tackle"}


def test_open_gap_is_the_one_that_the_named_man_left() -> None:
    # Six men own six gaps, one each: whoever is hooked or runs to the spot leaves his own gap and no other.
    places = {
        "Will": "Between the left guard and the center",
        "Mike": "Between the center and the right guard",
        "Nose": "Between the left tackle and the left guard",
        "Tackle": "Between the right guard and the right tackle",
        "End": "Outside the right tackle",
        "Rush": "Outside the left tackle",
    }
    seen = set()
    for position in (*places, "Sam", "Dime"):
        for play_to in Side:
            rep = ask(TEAM, "open-gap", position, play="Inside zone", play_to=play_to)
            named = next(name for name in places if f"{name} runs" in rep.stem or f"hooks {name}." in rep.stem)
            assert named != position
            assert right_labels(rep) == {places[named]}
            seen.add("hooks" if "hooks" in rep.stem else "spot")
    assert seen == {"hooks", "spot"}


def test_option_owners() -> None:
    # Zone read to the right reads the back-side edge: by the team's rule he has the dive and the backer inside him
    # scrapes to the quarterback. The rule switched, he has the quarterback.
    rep = ask(TEAM, "option-man", "Rush", play="Zone read", play_to=RIGHT)
    assert right_labels(rep) == {"The dive"}
    rep = ask(TEAM, "option-man", "Will", play="Zone read", play_to=RIGHT)
    assert right_labels(rep) == {"The quarterback"}
    # Veer to the right reads the first man outside B, the end; force on that side has the pitch.
    assert right_labels(ask(TEAM, "option-man", "End", play="Veer", play_to=RIGHT)) == {"The dive"}
    assert right_labels(ask(TEAM, "option-man", "Sam", play="Veer", play_to=RIGHT)) == {"The pitch"}


def test_support_when_every_gap_has_a_man() -> None:
    # Six rushers for six gaps: force comes last; a deep man in the middle is pass first.
    rep = ask(TEAM, "support", "Sam", play="Inside zone", play_to=RIGHT)
    assert right_labels(rep) == {"No gap: fit in last"}
    rep = ask(TEAM, "support", "Free", play="Inside zone", play_to=RIGHT)
    assert right_labels(rep) == {"No gap: pass first"}


def test_nobody_is_told_that_no_gap_needs_him_beside_an_open_one() -> None:
    # Power to our left: a kick and a wrap make three lanes of left C. Rush boxes outside the kick, Dime, force there,
    # comes inside him to the next one, and inside the wrap there is nobody. Sam on the other side would come last:
    # beside an open gap he is not asked.
    reps = STAY.reps(kinds=["support"], calls=["Hammer"], schemes=["Power"], formations=["Even"], sides=[RIGHT])
    assert not any(rep.position == "Sam" for rep in reps if rep.play_to is LEFT)
    rep = ask(TEAM, "support", "Sam", play="Inside zone", play_to=RIGHT)
    assert "come last" in rep.because
    assert "No one has" not in rep.because


def test_full_slide_leaves_the_edge_it_turns_from() -> None:
    # Full slide to our left, six rushers, five linemen: left tackle C, left guard B, center left A, right guard right
    # A, right tackle right B. Nobody is left for the right edge.
    full = {"play": "Full slide", "play_to": LEFT}
    for position, blocker in (
        ("Rush", "The left tackle"),
        ("Nose", "The left guard"),
        ("Will", "The center"),
        ("Mike", "The right guard"),
        ("Tackle", "The right tackle"),
        ("End", "No one"),
    ):
        rep = ask(TEAM, "matchup", position, **full)
        assert right_labels(rep, 0) == {blocker}
        assert right_labels(rep, 1) == {"You (End)" if position == "End" else "End"}


def test_half_of_the_blocker() -> None:
    # The edge contains: outside half. A man whose gap is inside his blocker takes the inside half, toward his lane:
    # in the slide above the right tackle has Tackle, who rushes right B, inside (left of) him.
    full = {"play": "Full slide", "play_to": LEFT}
    assert right_labels(ask(TEAM, "half-man", "Rush", **full)) == {"His half on your left"}
    assert right_labels(ask(TEAM, "half-man", "Tackle", **full)) == {"His half on your left"}
    # Will in left A is the center's: left A lies on the center's left, and a man keeps his own rush lane.
    assert right_labels(ask(TEAM, "half-man", "Will", **full)) == {"His half on your left"}


def test_after_the_back_releases() -> None:
    # Three deep, two under, no peel: the flat player on the back's side takes him, the edge keeps rushing.
    half = {"play": "Half slide", "play_to": LEFT}
    assert right_labels(ask(TEAM, "after-release", "Sam", **half)) == {"Take him now"}
    assert right_labels(ask(TEAM, "after-release", "End", **half)) == {"Keep rushing"}
    team = small_team()
    peel = Catalogue(replace(team, pressures=(replace(team.pressures[0], peel=True),)))
    assert right_labels(ask(peel, "after-release", "End", **half)) == {"Take him now"}
    assert right_labels(ask(peel, "after-release", "Sam", **half)) == {"Keep covering"}


def test_a_two_gap_player_may_name_either_gap(demo: Catalogue) -> None:
    # A nose who holds both A gaps (an odd front in the demo: Kettle) is right with either of them.
    rep = next(demo.reps(kinds=["track"], positions=["Nose"], calls=["Kettle"]))
    assert right_labels(rep) == {"Left Ash", "Right Ash"}
    for choice in rep.parts[0].right:
        assert rep.is_right([choice])
