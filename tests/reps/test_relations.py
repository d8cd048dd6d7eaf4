"""How wrong lanes lie to the right one. What a man has on another call is read off that call's own reps, not asked of
the code that sets the relation."""

from __future__ import annotations

from collections import Counter

import pytest

from quizgen.football.sides import Side
from quizgen.football.team import TeamBook
from quizgen.reps.catalogue import Catalogue
from quizgen.reps.choices import MIRROR, OTHER_CALL, RELATIONS
from quizgen.reps.rep import Rep

FORMATIONS = ("Open I right", "Double tight left", "Gun spread right")
Where = tuple[str, Side, str, str]


@pytest.fixture(scope="module")
def tracks(demo: Catalogue) -> dict[Where, Rep]:
    """Track on air, by call, side, formation and position."""
    reps = demo.reps(kinds=["track"], formations=FORMATIONS)
    return {(rep.call, rep.to, rep.formation, rep.position): rep for rep in reps}


def right_labels(rep: Rep) -> set[str]:
    [part] = rep.parts
    return {choice.label for choice in part.choices if choice.id in part.right}


def test_a_wrong_gap_that_is_right_on_another_call_of_the_front_says_so(
    demo: Catalogue, tracks: dict[Where, Rep]
) -> None:
    seen: Counter[str] = Counter()
    for (call, to, formation, position), rep in tracks.items():
        # What is played counts: a call that checks to another stands in the other's front.
        played = {
            one.name: demo.team.played(one, to, demo.team.formation(formation))
            for one in demo.team.pressures
            if (one.name, to, formation, position) in tracks
        }
        own = played[call]
        others = [
            name
            for name, one in played.items()
            if (one.pressure.front, one.to) == (own.pressure.front, own.to) and name not in (call, own.pressure.name)
        ]
        elsewhere = {label for name in others for label in right_labels(tracks[name, to, formation, position])}
        [part] = rep.parts
        for choice in part.choices:
            seen[choice.relation] += 1
            if choice.id in part.right:
                assert choice.relation == ""
            elif choice.relation != MIRROR:
                assert (choice.relation == OTHER_CALL) is (choice.label in elsewhere), (call, to, position, choice)
    assert min(seen[relation] for relation in RELATIONS) > 10


def test_two_backers_who_trade_their_gaps_between_two_calls(small: TeamBook) -> None:
    # By hand: Anvil and Hammer differ only in the backers' gaps, which they trade.
    found = {(rep.call, rep.position): rep for rep in Catalogue(small).reps(kinds=["track"], sides=[Side.RIGHT])}
    for position, other in (("Will", "Mike"), ("Mike", "Will")):
        [part] = found["Hammer", position].parts
        [relation] = {
            choice.relation for choice in part.choices if choice.label in right_labels(found["Hammer", other])
        }
        assert relation in (OTHER_CALL, MIRROR)
    relations = {c.relation for (_, p), rep in found.items() if p not in ("Will", "Mike") for c in rep.parts[0].choices}
    assert OTHER_CALL not in relations


def test_a_lane_after_the_snap_is_known_by_the_gaps_in_it(demo: Catalogue, tracks: dict[Where, Rep]) -> None:
    asked = 0
    for rep in demo.reps(kinds=["moved-gap"], positions=["Will"], calls=["Moraine"], formations=FORMATIONS):
        [part] = rep.parts
        mine = right_labels(tracks[rep.call, rep.to, rep.formation, rep.position])
        marked = [choice for choice in part.choices if choice.relation == OTHER_CALL]
        asked += len(marked)
        assert all(choice.id not in part.right for choice in marked)
        assert mine
    assert asked > 10


def test_another_call_changes_no_answer_and_no_id(small: TeamBook) -> None:
    with_twin, without = Catalogue(small), Catalogue(TeamBook(**{**fields(small), "pressures": small.pressures[:1]}))
    call = small.pressures[0].name
    before = {rep.id: rep for rep in without.reps(kinds=["track", "moved-gap", "edge"])}
    after = {rep.id: rep for rep in with_twin.reps(kinds=["track", "moved-gap", "edge"], calls=[call])}
    assert before.keys() == after.keys()
    for name, rep in before.items():
        assert [part.right for part in rep.parts] == [part.right for part in after[name].parts]
        labels = [[choice.label for choice in part.choices] for part in rep.parts]
        assert labels == [[choice.label for choice in part.choices] for part in after[name].parts]


def fields(team: TeamBook) -> dict[str, object]:
    return {
        name: getattr(team, name) for name in TeamBook.__dataclass_fields__ if TeamBook.__dataclass_fields__[name].init
    }
