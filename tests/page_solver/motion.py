"""Who has the man in jet or orbit motion (sections 3 and 4 of the design page: a threat with one owner)."""

from __future__ import annotations

from collections.abc import Iterator

from quizgen.football.defense import PlayerClass
from quizgen.football.formation import Role
from quizgen.football.motion import DEFAULT_OWNERS, EDGE_OWNER, FormationMotion, MotionAnswer
from quizgen.football.pressure import CoverJob, RushPart
from quizgen.football.scheme import Phase
from quizgen.football.sides import Side
from quizgen.football.team import Situation
from tests.page_solver.options import plays_there
from tests.page_solver.placing import Man, NoAnswer, gap_side


def give_motion(situation: Situation, men: list[Man]) -> None:
    """Gives the man in motion to the first whom the team's rule names and who has no phase yet, the widest of several.

    Raises:
        NoAnswer: the rule names nobody on that side, or the play is his and he goes the other way.
    """
    moved = situation.formation.moved
    if moved is None or not moved.motion.kind.is_threat:
        return
    motion = moved.motion
    if situation.play.carrier is Role.IN_MOTION and motion.to is not situation.play_to:
        raise NoAnswer("the man who carries it goes the other way")
    for able in candidates(situation, men, motion):
        free = [man for man in able if man.phase is None and not man.is_read]
        if free:
            max(free, key=lambda man: (motion.to.sign * man.x, -man.depth)).phase = Phase.MOTION.value
            return
    raise NoAnswer("nobody for the man in motion")


def candidates(situation: Situation, men: list[Man], motion: FormationMotion) -> Iterator[list[Man]]:
    """Those whom the rule for this motion names, by preference."""
    rule = situation.rules.motion_rule(motion.kind, situation.pressure.coverage)
    if not rule.owner and rule.answer is MotionAnswer.RUN:
        yield [man for man in men if covers(man, motion, situation)]
    if not rule.owner and rule.answer is MotionAnswer.ROTATE:
        yield down_safety(men, motion.to)
    for name in rule.owner or DEFAULT_OWNERS:
        if name == EDGE_OWNER:
            yield [man for man in men if is_edge(situation, man, motion.to)]
        else:
            named = [man for man in men if man.position == name or has_job(man, name)]
            yield [man for man in named if plays_there(situation, man, motion.to)]


def has_job(man: Man, name: str) -> bool:
    """Whether a rule that names a run job means this man."""
    return man.run_job is not None and man.run_job.value == name


def covers(man: Man, motion: FormationMotion, situation: Situation) -> bool:
    """Whether he has the man in motion in man coverage, counted where that man starts."""
    if man.drop is None or man.drop.cover is not CoverJob.MAN or man.drop.man != motion.who:
        return False
    start = motion.to.other if motion.kind.crosses else motion.to
    return man.drop.toward is None or man.drop.toward.side(situation.to) is start


def down_safety(men: list[Man], side: Side) -> list[Man]:
    """The safety on that side, who comes down: the widest of those who drop."""
    safeties = [man for man in men if man.player_class is PlayerClass.SAFETY and man.drop and side.sign * man.x >= 0]
    return [max(safeties, key=lambda man: side.sign * man.x)] if safeties else []


def is_edge(situation: Situation, man: Man, side: Side) -> bool:
    """Whether he rushes that edge."""
    if man.rush is None or man.rush.part not in (RushPart.EDGE, RushPart.CONTAIN):
        return False
    return bool(man.gaps) and gap_side(situation.formation, man.gaps[-1]) is side
