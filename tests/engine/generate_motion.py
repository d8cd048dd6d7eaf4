"""Legal random snaps after a motion or with a pass attached to the run: those of generate.py, and then somebody moves.

Must not know any team's content.
"""

import random
from collections.abc import Iterator
from dataclasses import replace
from types import MappingProxyType

from quizgen.football.at_snap import at_snap
from quizgen.football.coverage import RECEIVER_WORDS
from quizgen.football.errors import FootballValueError
from quizgen.football.formation import Role
from quizgen.football.motion import FormationMotion, MotionAnswer, MotionKind, MotionRule
from quizgen.football.rules import AttachedRule
from quizgen.football.scheme import AttachedPass, Flow, SchemeFamily, ThrowZone
from quizgen.football.team import Situation
from tests.engine.generate import SIDES, any_situation
from tests.engine.plays import Choose

MOVES = (
    (MotionKind.JET, "number one"),
    (MotionKind.JET, "number two"),
    (MotionKind.JET, "wing"),
    (MotionKind.ORBIT, "number two"),
    (MotionKind.RETURN, "number two"),
    (MotionKind.SHORT, "number one"),
    (MotionKind.SHORT, "tailback"),
    (MotionKind.TRADE, "end"),
)
OWNERS = ((), (), ("free", "edge"), ("edge", "alley", "force"), ("alley", "force", "edge", "cutback"))
ATTACHED = tuple(AttachedPass(zone, flow) for zone in ThrowZone for flow in Flow)
SWEEP_FAMILY = SchemeFamily.JET_SWEEP


def any_moved_situation(choose: Choose) -> Situation:
    """One snap after a motion, or with a pass attached to the run, or both.

    Raises:
        FootballValueError: the draw breaks a rule of the game or puts two men in one place.
    """
    s = any_situation(choose)
    kind, who = choose(MOVES)
    rows = tuple(
        MotionRule(
            choose(tuple(MotionAnswer)), choose((None, *MotionKind)), choose(("", "man", "zone")), choose(OWNERS)
        )
        for _ in range(choose((0, 1, 1, 2)))
    )
    names = [p.name for p in s.positions]
    who_else = choose(names)
    own = MappingProxyType({**s.rules.by_position, who_else: (("attached", choose(tuple(AttachedRule))),)})
    rules = replace(s.rules, motion=rows, attached=choose(tuple(AttachedRule)), by_position=own)
    drops = tuple(replace(d, man=choose(RECEIVER_WORDS)) if d.man else d for d in s.pressure.drops)
    play = s.play
    if choose((True, False)) and play.option is None:
        play = replace(play, attached=choose(ATTACHED))
    formation = s.formation
    if play.attached is None or choose((True, False)):
        split = choose((None, 1.5, 4.0)) if kind is MotionKind.SHORT else None
        is_wing = kind is MotionKind.SHORT and split is None and choose((True, False))
        motion = FormationMotion("motion", kind, who, choose(SIDES), split, is_wing)
        formation = at_snap(formation, motion, rules.measures)
        if kind.is_threat and choose((True, False)) and play.option is None:
            play = replace(play, family=SWEEP_FAMILY, carrier=Role.IN_MOTION)
    pressure = replace(s.pressure, drops=drops)
    return replace(s, rules=rules, pressure=pressure, formation=formation, play=play)


def random_moved_situations(seed: int) -> Iterator[Situation]:
    """Snaps after a motion or with a pass attached, from one seed, without end."""
    choose = random.Random(seed).choice
    while True:
        try:
            yield any_moved_situation(choose)
        except FootballValueError:
            continue
