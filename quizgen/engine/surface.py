"""The offense's side of a snap at the time of the fit: blockers, lanes, and what follows from these two alone.

Many situations share one surface. It depends on the formation, the play and the team's times, and of the defense only
on what movement asks of it (``AtTheLine``); nothing else may be read here. Written for a play to the right only.
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from quizgen.engine.lanes import Lane, lanes
from quizgen.engine.movement import AtTheLine, BlockerMove, aim_gap, move
from quizgen.engine.timing import ball_s
from quizgen.football.formation import Formation
from quizgen.football.scheme import Job
from quizgen.football.sides import Gap, Side
from quizgen.football.team import Situation


@dataclass(frozen=True)
class Surface:
    """Where the blockers are and which lanes lie between them, from left to right; ``aim_x`` is where the play hits,
    in yards, and ``ball_s`` when the ball can be at each lane, in seconds."""

    formation: Formation
    moves: tuple[BlockerMove, ...]
    lanes: tuple[Lane, ...]
    aim_x: float
    ball_s: tuple[float, ...]

    @cached_property
    def portions(self) -> Mapping[Gap, tuple[int, ...]]:
        """The lanes that each gap has become, from the inside out: where a lane of merged gaps is split, those between
        the men who arrived in other gaps of it."""
        return {gap: self._portions_of(number, gap) for number, gap in enumerate(self.formation.gaps)}

    def _portions_of(self, number: int, gap: Gap) -> tuple[int, ...]:
        order = self.formation.gaps.index
        here = [index for index, lane in enumerate(self.lanes) if gap in lane.gaps]
        walls = [block.gap for index in here[:-1] if (block := self.lanes[index].right) and block.gap]
        first = sum(order(wall) < number for wall in walls)
        found = here[first : first + walls.count(gap) + 1]
        return tuple(found if gap.side is Side.RIGHT else found[::-1])

    @cached_property
    def pullers(self) -> tuple[tuple[BlockerMove, ...], ...]:
        """For each lane the blockers who left between its gaps by pulling."""
        pulled = [m for m in self.moves if m.left and m.rule.pulls]
        if not pulled:
            return ((),) * len(self.lanes)
        return tuple(
            tuple(m for m in pulled if _is_between(m, lane.gaps)) if lane.is_merged else () for lane in self.lanes
        )

    @cached_property
    def jobs(self) -> frozenset[Job]:
        """The jobs that somebody has."""
        return frozenset(m.job for m in self.moves)

    @cached_property
    def middles(self) -> tuple[float, ...]:
        """Where a man stands who fits each lane, in yards."""
        return tuple(lane.middle_x for lane in self.lanes)

    @cached_property
    def taken(self) -> dict[Hashable, Any]:
        """What ``reads`` has worked out for men on this surface, by all that it depends on beside the surface."""
        return {}

    @cached_property
    def turned(self) -> Mapping[str, BlockerMove]:
        """Every move turned round, by the key that its player had before."""
        return {m.player.key: m.mirrored for m in self.moves}

    @cached_property
    def mirrored(self) -> Surface:
        """The same turned round; made once."""
        turned = self.turned
        return Surface(
            self.formation.mirrored,
            tuple(turned[m.player.key] for m in reversed(self.moves)),
            tuple(lane.mirrored(turned) for lane in reversed(self.lanes)),
            -self.aim_x,
            self.ball_s[::-1],
        )


def _is_between(m: BlockerMove, gaps: tuple[Gap, ...]) -> bool:
    """Whether that lineman stood between two of these gaps before the snap."""
    if m.player.order == 0:
        return len({gap.side for gap in gaps}) > 1
    inside, outside = m.player.order - 1, m.player.order
    letters = {gap.letter.index for gap in gaps if gap.side is m.player.side}
    return inside in letters and outside in letters


def surface(s: Situation, front: AtTheLine) -> Surface:
    """The surface of a play to the right against a front.

    Raises:
        CannotRun: the formation lacks a man whom the play needs.
        NoRule: as ``move``, or the team has no time for this family of plays.
    """
    moves = move(s, front)
    found = lanes(s.formation, moves)
    aim = aim_gap(s)
    aim_x = next(lane.middle_x for lane in found if aim in lane.gaps)
    return Surface(s.formation, moves, found, aim_x, tuple(ball_s(s, lane, aim_x) for lane in found))
