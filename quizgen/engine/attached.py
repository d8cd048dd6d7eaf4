"""A run with a pass attached: who is read, who has the run and who has the throw. Written for a play to the right only.

The man read is in conflict between his drop and his fit, and nobody blocks him. He is the man on the side of the throw,
with a fit against the run, whose drop is the zone it goes to, else a neighbouring zone (flat, seam, hook), else who is
in man there; of several the shallower, then the one nearer to the ball. Where nobody with a fit has such a drop, who
only covers is read in the same order; nobody: no rule.

The team's rule (by call and by position, else for all) gives him the throw or the run; the next man has the other one.
Exactly one owner each:
- He keeps the throw: his lane, if he has one, is left; the run's owner is the support man who may fill that lane, the
  nearest first, and he fills no other lane; without one the gap owner beside it. Where the man read is support himself
  he fits nothing, and the next support man has the run.
- He fits the run: the throw's owner is the nearest dropper without a gap, those on that side and those with no fit
  first; he fits nothing.
Sources: common practice.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

from quizgen.engine.alignment import Man
from quizgen.engine.lanes import Lane
from quizgen.engine.movement import PLAY_SIDE
from quizgen.engine.option import OptionAnswer, PhaseOwner
from quizgen.engine.reads import Claim
from quizgen.engine.support import is_eligible
from quizgen.football.errors import NoRule
from quizgen.football.pressure import CoverJob, RunJob
from quizgen.football.rules import AttachedRule
from quizgen.football.scheme import AttachedPass, Flow, Phase, ThrowZone
from quizgen.football.sides import Side
from quizgen.football.team import Situation

# Whose drop is in conflict with a throw to each zone: the zone's own man first, then its neighbours.
DROPS: Mapping[ThrowZone, tuple[CoverJob, ...]] = MappingProxyType(
    {
        ThrowZone.FLAT: (CoverJob.FLAT, CoverJob.SEAM, CoverJob.HOOK, CoverJob.MAN),
        ThrowZone.SEAM: (CoverJob.SEAM, CoverJob.FLAT, CoverJob.HOOK, CoverJob.MAN),
        ThrowZone.HOOK: (CoverJob.HOOK, CoverJob.SEAM, CoverJob.FLAT, CoverJob.MAN),
    }
)
NO_LANE = frozenset[int]()


@dataclass(frozen=True, slots=True)
class _Owners:
    """Who has the run and who the throw; ``held`` are the only lanes that some of them may fill."""

    run: Man
    throw: Man
    held: tuple[tuple[str, frozenset[int]], ...]


def play_attached(
    s: Situation, men: tuple[Man, ...], owners: tuple[Claim, ...], lanes: tuple[Lane, ...]
) -> tuple[OptionAnswer | None, tuple[Claim, ...]]:
    """One owner each for the run and the throw, and the gap owners' claims after it; None when no pass is attached.

    Raises:
        NoRule: nobody to read, or nobody else who can have the other phase.
    """
    if s.play.attached is None:
        return None, owners
    side = PLAY_SIDE if s.play.attached.flow is Flow.PLAY_SIDE else PLAY_SIDE.other
    read = _read_man(s, s.play.attached, men, side)
    rule = read.rules.attached
    claim = next((one for one in owners if one.man is read), None)
    if rule is AttachedRule.THROW:
        found = _keeps_the_throw(s, men, owners, lanes, read, claim)
    else:
        found = _fits_the_run(s, men, read, side)
    if rule is AttachedRule.THROW and claim is not None:
        left = replace(claim, owns=False, left_lane=claim.lanes[0], block=None)
        owners = tuple(left if one is claim else one for one in owners)
    phases = (PhaseOwner(Phase.RUN, found.run.position), PhaseOwner(Phase.THROW, found.throw.position))
    return OptionAnswer(read.position, phases, frozenset(range(len(lanes))), held=found.held), owners


def _read_man(s: Situation, attached: AttachedPass, men: tuple[Man, ...], side: Side) -> Man:
    there = [man for man in men if man.drop is not None and _is_on(man, side)]
    for men_there in ([man for man in there if not _only_covers(man)], there):
        for cover in DROPS[attached.zone]:
            found = [man for man in men_there if man.drop and man.drop.cover is cover]
            if found:
                return min(found, key=lambda man: (man.depth_yd, abs(man.x), -man.x))
    raise _no_rule(s, f"nobody's drop is in conflict with the throw to the {attached.zone.value}")


def _is_on(man: Man, side: Side) -> bool:
    return man.side is side or (man.side is None and man.x * side.sign >= 0)


def _only_covers(man: Man) -> bool:
    return man.drop is not None and man.drop.run is RunJob.COVER


def _keeps_the_throw(
    s: Situation,
    men: tuple[Man, ...],
    owners: tuple[Claim, ...],
    lanes: tuple[Lane, ...],
    read: Man,
    claim: Claim | None,
) -> _Owners:
    support = [man for man in men if man is not read and man.drop and not man.gaps and not _only_covers(man)]
    if claim is None:
        nearest = min(support, key=lambda man: _nearness(man, read, read.side), default=None)
        if nearest is None:
            raise _no_rule(s, f"nobody else has the run when {read.position} has the throw")
        return _Owners(nearest, read, ((read.position, NO_LANE),))
    lane = claim.lanes[0]
    able = [man for man in support if is_eligible(man, lanes[lane], vacated=lanes[lane].is_merged)]
    if able:
        man = min(able, key=lambda man: _nearness(man, read, read.side))
        return _Owners(man, read, ((man.position, frozenset(claim.lanes)),))
    beside = [one for one in owners if one is not claim]
    if not beside:
        raise _no_rule(s, f"nobody else has the run when {read.position} has the throw")
    man = min(beside, key=lambda one: (abs(one.lanes[0] - lane), one.man.depth_yd, -one.man.x)).man
    return _Owners(man, read, ())


def _fits_the_run(s: Situation, men: tuple[Man, ...], read: Man, side: Side) -> _Owners:
    others = [man for man in men if man is not read and man.drop is not None and not man.gaps]
    if not others:
        raise _no_rule(s, f"nobody else has the throw when {read.position} fits the run")
    man = min(others, key=lambda man: (not _is_on(man, side), not _only_covers(man), abs(man.x - read.x), -man.x))
    return _Owners(read, man, ((man.position, NO_LANE),))


def _nearness(man: Man, read: Man, side: Side | None) -> tuple[bool, float, float, float]:
    return side is not None and man.side is not side, abs(man.x - read.x), man.depth_yd, -man.x


def _no_rule(s: Situation, missing: str) -> NoRule:
    return NoRule(s.pressure.name, s.front.name, s.play.name, missing)
