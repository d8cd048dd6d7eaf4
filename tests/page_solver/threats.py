"""Which blocker threatens whom, and where the man ends up when he is beaten (section 6, threat and loss).

Section 4: one blocker threatens at most one man, the least distance across, then the shallower, then the outer.
"""

from __future__ import annotations

from dataclasses import dataclass

from quizgen.football.scheme import Intent, Job
from quizgen.football.sides import Side
from quizgen.football.team import Situation
from tests.page_solver.lanes import Lane
from tests.page_solver.movement import Blocker
from tests.page_solver.placing import Man

KICK, LEAD, DOUBLE, HOOK, WASH, HINGE = "kick", "lead", "double team", "hook", "wash", "hinge"


@dataclass(frozen=True)
class Threat:
    """One blocker on one man: which lane of his is at stake, and the lane he ends up in when beaten (None: none)."""

    blocker: Blocker
    kind: str
    lane: int
    lost_to: int | None


def find_threats(situation: Situation, men: list[Man], lanes: list[Lane]) -> dict[str, list[Threat]]:
    """The threats to each man by his position; nobody threatens the man who is read (section 8, law 10)."""
    places = fit_places(men, lanes)
    found: dict[str, list[Threat]] = {man.position: [] for man in men}
    for number, blocker in enumerate(all_blockers(lanes)):
        victims = []
        for lane, kind, lost_to in ways_in(situation, blocker, number, lanes):
            assert lost_to != lane, "section 8, law 14: beaten, he is never in the lane that he lost"
            threat = Threat(blocker, kind, lane, lost_to)
            victims += [(man, threat) for man in men if lane in man.lanes and may_be_hit(man, kind, blocker)]
        if victims:
            man, threat = min(
                victims,
                key=lambda one: (
                    round(abs(places[one[0].position, one[1].lane] - blocker.x), 6),
                    one[0].depth,
                    -round(abs(places[one[0].position, one[1].lane]), 6),
                ),
            )
            found[man.position].append(threat)
    return {man.position: settled(man, found[man.position]) for man in men}


def all_blockers(lanes: list[Lane]) -> list[Blocker]:
    """The blockers at the surface, left to right."""
    return [lane.right for lane in lanes if lane.right is not None]


def fit_places(men: list[Man], lanes: list[Lane]) -> dict[tuple[str, int], float]:
    """The x of each man in each of his lanes at the fit: men who share a lane stand in it side by side, in the order
    of their gaps before the snap and then of where they lined up."""
    places = {}
    for lane in lanes:
        owners = sorted((man for man in men if lane.index in man.lanes), key=lambda man: (gap_there(man, lane), man.x))
        if len(owners) == 1:
            places[owners[0].position, lane.index] = lane.fit_x
            continue
        for number, man in enumerate(owners, 1):
            share = number / (len(owners) + 1)
            places[man.position, lane.index] = lane.x_from + share * (lane.x_to - lane.x_from)
    return places


def gap_there(man: Man, lane: Lane) -> int:
    """The gap that brought him to a lane; of two the one that the lane is made of; none for support."""
    return min([gap for gap in man.gaps if gap in lane.gaps] or man.gaps, default=0)


def ways_in(
    situation: Situation, blocker: Blocker, number: int, lanes: list[Lane]
) -> list[tuple[int, str, int | None]]:
    """The lanes a blocker comes into, what he does there, and the lane of a man whom he beats.

    Blocker ``number`` stands between lane ``number`` and lane ``number + 1``.
    """
    left, right = number, number + 1
    if blocker.arrives_in is not None:
        kind = KICK if blocker.rule.intent is Intent.KICK else LEAD
        return [(left, kind, right), (right, kind, left)]
    if blocker.job is Job.HINGE:
        # "Hinge ... washes nobody, and threatens only the first man outside."
        outside = right if blocker.man.side is Side.RIGHT else left
        return [(outside, HINGE, None)]
    if blocker.moved == 0 or blocker.rule.intent not in (Intent.REACH, Intent.WASH):
        return []
    into, behind = (right, left) if blocker.moved > 0 else (left, right)
    if blocker.rule.intent is Intent.REACH:
        # Hooked, he ends up in the lane beyond that blocker, on the blocker's side.
        return [(into, HOOK, behind)]
    # Washed, he ends up one lane over, away from the blocker; past the last lane there is none.
    over = into + (1 if blocker.moved > 0 else -1)
    return [(into, WASH, over if 0 <= over < len(lanes) else None)]


def may_be_hit(man: Man, kind: str, blocker: Blocker) -> bool:
    """Nobody hits the man who is read. A kick or a trap is for the man who takes it on: he boxes or spills it, or fits
    inside or outside it. An arc goes round the edge for a man who doesn't rush (outside row F49)."""
    if man.is_read:
        return False
    if blocker.job is Job.ARC:
        return man.rush is None
    return kind != KICK or (bool(man.fitted) and blocker.arrives_in in man.gaps)


def settled(man: Man, threats: list[Threat]) -> list[Threat]:
    """Both neighbours of the line coming in are a double team, lost to no lane. The kick, then the lead, come before
    the line's blocks; of two leads the one nearer to where he lined up."""
    line = [one for one in threats if one.kind in (HOOK, WASH, HINGE)]
    arrived = [one for one in threats if one.kind in (KICK, LEAD)]
    if arrived:
        return sorted(arrived, key=lambda one: (one.kind != KICK, abs(one.blocker.x - man.x)))[:1]
    for one in line:
        for other in line:
            if one.lane == other.lane and one.blocker.x < other.blocker.x:
                return [Threat(one.blocker, DOUBLE, one.lane, None), Threat(other.blocker, DOUBLE, one.lane, None)]
    return line[:1]
