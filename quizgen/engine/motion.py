"""Motion: how the defense answers it before the snap, and who has the man in motion after it.

The jobs always follow from what stands there at the snap; what the answer decides is where everybody stands (the rules
of the team, by coverage and kind of motion: ``quizgen.football.motion``).

- ``make the call anew``: as if the offense had lined up there. Every other answer starts from where the eleven stood
  against the formation before the motion.
- ``bump the backers``: a backer who drops from 3 yd or more slides one man's place toward it; gaps stay.
- ``run with him``: the man who has him in man coverage stands where he does and changes sides with him; nobody has
  him: no rule.
- ``rotate the safeties``: of two safeties the one nearer to the side he goes to comes down there as force, 2 yd outside
  the last attached man and 7 yd deep, if he was deep; the other goes to the deep middle and is free. With fewer than
  two nobody moves.

The man in jet or orbit motion has one owner, the phase ``man in motion``, whether he carries or fakes: by the rule's
list; without one who ran with him or came down for him, else force, alley, the edge, on the side he goes to. A man who
has a phase already is passed over. Support that has him fits the outermost lane there or none. Sources:
matchquarters.com, "Defending jet motion" (rotate or bump); the distances are common practice.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import TYPE_CHECKING

from quizgen.football.at_snap import is_mover
from quizgen.football.coverage import RECEIVER_WORDS
from quizgen.football.defense import PlayerClass
from quizgen.football.errors import NoRule
from quizgen.football.formation import Formation, Moved, Role
from quizgen.football.motion import DEFAULT_OWNERS, EDGE_OWNER, MotionAnswer
from quizgen.football.pressure import CoverJob, Drop, Pressure, RunJob
from quizgen.football.rules import TeamRules
from quizgen.football.sides import Side, Toward
from quizgen.football.team import Situation

if TYPE_CHECKING:
    from quizgen.engine.alignment import Man

AT_DEPTH_YD = 3.0
ROTATED_OUT_YD = 2.0
ROTATED_DEPTH_YD = 7.0

Answer = Callable[[list["Man"], TeamRules, Pressure, Side, Formation, Moved], list["Man"]]


def answer_motion(
    rules: TeamRules, pressure: Pressure, to: Side, formation: Formation, now: Sequence[Man], before: Sequence[Man]
) -> list[Man]:
    """The eleven at the snap: ``now`` as they would line up for what stands there, ``before`` as they did before the
    motion.

    Raises:
        NoRule: they are to run with him and nobody has him.
    """
    moved = formation.moved
    assert moved is not None  # somebody moved
    rule = rules.motion_rule(moved.motion.kind, pressure.coverage)
    if rule.answer is MotionAnswer.ANEW:
        return list(now)
    places = {man.position: (man.x, man.depth_yd) for man in before}
    stay = [replace(man, x=places[man.position][0], depth_yd=places[man.position][1]) for man in now]
    return ANSWERS[rule.answer](stay, rules, pressure, to, formation, moved)


def _bump(
    men: list[Man], rules: TeamRules, pressure: Pressure, to: Side, formation: Formation, moved: Moved
) -> list[Man]:
    step = moved.motion.to.sign * rules.measures.pitch_yd(Role.GUARD)
    return [replace(man, x=man.x + step) if _is_backer_at_depth(man) else man for man in men]


def _is_backer_at_depth(man: Man) -> bool:
    return man.drop is not None and man.player_class is PlayerClass.BACKER and man.depth_yd >= AT_DEPTH_YD


def _run(
    men: list[Man], rules: TeamRules, pressure: Pressure, to: Side, formation: Formation, moved: Moved
) -> list[Man]:
    motion = moved.motion
    having = [man for man in men if man.drop and _has_him(man.drop, moved) and man.side in (None, motion.start)]
    if not having:
        missing = f"nobody has the {motion.who} in man to run with the {motion.name!r} motion"
        raise NoRule(pressure.name, pressure.front, f"{formation.name}", missing)
    runner = min(having, key=lambda man: (abs(man.x - moved.x), man.depth_yd))
    x = next(player.x for player in formation.players if player.key == moved.key)
    if motion.kind.crosses:
        gone = replace(runner, x=x, side=motion.to, takes_motion=motion.kind.is_threat)
    else:
        gone = replace(runner, x=runner.x + x - moved.x)
    return [gone if man is runner else man for man in men]


def _has_him(drop: Drop, moved: Moved) -> bool:
    if drop.cover is not CoverJob.MAN or drop.man not in RECEIVER_WORDS:
        return False
    return is_mover(moved.before, moved.motion, drop.man)


def _rotate(
    men: list[Man], rules: TeamRules, pressure: Pressure, to: Side, formation: Formation, moved: Moved
) -> list[Man]:
    side = moved.motion.to
    safeties = [m for m in men if m.player_class is PlayerClass.SAFETY and m.drop and m.drop.run is not RunJob.FILL]
    if len(safeties) < 2:
        return men
    safeties.sort(key=lambda man: (-side.sign * man.x, man.depth_yd))
    near, far = safeties[0], safeties[-1]
    assert near.drop is not None
    assert far.drop is not None
    deepest = max(near.depth_yd, far.depth_yd)
    down = replace(near, takes_motion=moved.motion.kind.is_threat)
    if near.drop.cover.is_deep:
        toward = Toward.TO if side is to else Toward.AWAY
        drop = Drop(near.drop.position, CoverJob.FLAT, RunJob.FORCE, toward)
        x = formation.on_side(side)[-1].x + side.sign * ROTATED_OUT_YD
        down = replace(down, x=x, depth_yd=ROTATED_DEPTH_YD, drop=drop, side=side)
    cover = far.drop.cover if far.drop.cover is CoverJob.MAN else CoverJob.POST
    free = Drop(far.drop.position, cover, RunJob.FREE, man=far.drop.man)
    back = replace(far, x=0.0, depth_yd=deepest, drop=free, side=None)
    turned = {near.position: down, far.position: back}
    return [turned.get(man.position, man) for man in men]


def _nothing(
    men: list[Man], rules: TeamRules, pressure: Pressure, to: Side, formation: Formation, moved: Moved
) -> list[Man]:
    return men


ANSWERS: Mapping[MotionAnswer, Answer] = MappingProxyType(
    {
        MotionAnswer.BUMP: _bump,
        MotionAnswer.RUN: _run,
        MotionAnswer.ROTATE: _rotate,
        MotionAnswer.NOTHING: _nothing,
    }
)


def find_motion_owner(s: Situation, men: Sequence[Man], busy: Collection[str]) -> Man | None:
    """Who has the man in jet or orbit motion; None when there is none. ``busy`` positions have a phase already.

    Raises:
        NoRule: nobody whom the rule names is there.
    """
    threat, moved = s.formation.find(Role.IN_MOTION), s.formation.moved
    if threat is None or threat.side is None or moved is None:
        return None
    side = threat.side
    owners = s.rules.motion_rule(moved.motion.kind, s.pressure.coverage).owner
    free = [man for man in men if man.position not in busy]
    went = [man for man in free if man.takes_motion]
    if went and not owners:
        return went[0]
    for word in owners or DEFAULT_OWNERS:
        found = [man for man in free if _is_named(man, word, side, s.formation)]
        if found:
            return max(found, key=lambda man: (side.sign * man.x, -man.depth_yd))
    missing = f"nobody has the man in motion ({', '.join(owners or DEFAULT_OWNERS)} on the side he goes to)"
    raise NoRule(s.pressure.name, s.front.name, s.play.name, missing)


def _is_named(man: Man, word: str, side: Side, formation: Formation) -> bool:
    if word == man.position:
        return True
    if word == EDGE_OWNER:
        return man.rush is not None and formation.outermost(side) in man.gaps
    return man.drop is not None and man.drop.run.value == word and man.side in (None, side)
