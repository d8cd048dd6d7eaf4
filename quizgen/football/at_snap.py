"""The formation as it stands at the snap, after a man has moved: a pure function of formation and motion.

Everything that follows from who stands where (the side of a call, adjustments, gaps, strength) is worked out from what
this yields, so that nothing else has to know that anybody moved.
"""

from __future__ import annotations

from dataclasses import replace

from quizgen.football.errors import FootballValueError
from quizgen.football.formation import Formation, Moved, OffensivePlayer, Role
from quizgen.football.layout import MAX_DEPTH_YD, OFF_LINE_YD, WING_DEPTH_YD
from quizgen.football.motion import FormationMotion, MotionKind
from quizgen.football.rules import Measures
from quizgen.football.sides import Side

NUMBERS = ("number one", "number two", "number three")
# Common practice: the ball comes when he is at the mesh, in front of a quarterback in the gun and behind one who is
# under the center; an orbit man passes behind the deepest back. He counts for the side he goes to.
MESH_X_YD = 0.6
MESH_YD = 1.0
GUN_YD = 3.0
ORBIT_BEHIND_YD = 1.5
SHORT_SPLIT_YD = 2.5
LEFT_THE_LINE = "MM"


def at_snap(formation: Formation, motion: FormationMotion, measures: Measures) -> Formation:
    """The formation after the motion, named "FORMATION, MOTION".

    Raises:
        FootballValueError: it has no such man, he can't leave the line from where he stands, or what he leaves is
            against the rules of the game.
    """
    man = _mover(formation, motion)
    moved = _moved(formation, motion, man, measures)
    if man.attached and not moved.attached:
        moved = replace(moved, key=LEFT_THE_LINE)  # only attached men have a side in their key
    others = tuple(player for player in formation.players if player is not man)
    if any(player.key == moved.key for player in others):
        moved = replace(moved, key=f"{moved.key}2")
    twin_name = f"{formation.mirror_name}, {motion.name}" if formation.mirror_name else ""
    return Formation(
        f"{formation.name}, {motion.name}",
        (*others, moved),
        formation.rule_book,
        twin_name,
        key=f"{formation.key}-{motion.key}",
        mirror_key=f"{formation.mirror_key}-{motion.key}" if twin_name else "",
        moved=Moved(motion, moved.key, man.x, man.y, formation),
    )


def is_mover(formation: Formation, motion: FormationMotion, word: str) -> bool:
    """Whether that word ("number two", "end") means the man who moves, as he stands before the motion."""
    man = _mover(formation, motion)
    return word == man.role.value or _find(formation, motion.start, word) is man


def _find(formation: Formation, side: Side, word: str) -> OffensivePlayer | None:
    if word in NUMBERS:
        men = formation.receivers(side)
        index = NUMBERS.index(word)
        return men[index] if index < len(men) else None
    role = Role(word)
    return formation.find(role, side) or (formation.find(role) if role in (Role.TAILBACK, Role.FULLBACK) else None)


def _mover(formation: Formation, motion: FormationMotion) -> OffensivePlayer:
    man = _find(formation, motion.start, motion.who)
    if man is None:
        where = f"on the {motion.start.value} of {formation.name!r}"
        raise FootballValueError("who", motion.who, f"a man who stands {where}")
    if man.attached and man is not formation.on_side(motion.start)[-1]:
        raise FootballValueError("who", motion.who, "no attached man who has another one outside him")
    return man


def _moved(formation: Formation, motion: FormationMotion, man: OffensivePlayer, measures: Measures) -> OffensivePlayer:
    to = motion.to
    if motion.kind.is_threat:
        passer = formation.find(Role.QUARTERBACK)
        assert passer is not None  # a formation without one cannot be
        depth = passer.y + (-MESH_YD if passer.y >= GUN_YD else MESH_YD)
        if motion.kind is MotionKind.ORBIT:
            depth = min(MAX_DEPTH_YD, max(p.y for p in formation.players) + ORBIT_BEHIND_YD)
        return OffensivePlayer(man.key, Role.IN_MOTION, to, to.sign * MESH_X_YD, depth, False, False)
    if motion.kind is MotionKind.RETURN:
        return replace(man, on_line=False, y=max(man.y, OFF_LINE_YD))
    last = next(p for p in reversed(formation.on_side(to)) if p is not man)
    if motion.kind is MotionKind.TRADE or motion.attached:
        role = Role.END if motion.kind is MotionKind.TRADE else Role.WING
        on_line = role is Role.END
        key = to.value[0].upper() + role.value[0].upper()
        x, y = last.x + to.sign * measures.pitch_yd(role), 0.0 if on_line else WING_DEPTH_YD
        return OffensivePlayer(key, role, to, x, y, on_line, True, last.order + 1)
    split = motion.split_yd if motion.split_yd is not None else SHORT_SPLIT_YD
    role = man.role if not man.attached else Role.RECEIVER
    return OffensivePlayer(man.key, role, to, last.x + to.sign * split, OFF_LINE_YD, False, False)
