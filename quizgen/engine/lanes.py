"""The lanes after the snap: the intervals between the blockers at the surface. Knows no defender.

Lanes: the men still in line, plus the men who arrived, sorted; the intervals. Outermost lanes are drawn 3 yd wide; a
man fits 1 yd outside the last blocker there, else in the middle.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import Enum
from itertools import pairwise

from quizgen.engine.movement import BlockerMove
from quizgen.football.formation import Formation
from quizgen.football.sides import Gap, Side

EDGE_LANE_YD = 3.0
SAME_X_YD = 1e-9


class Portion(Enum):
    """Which portion of a gap a lane is, when arriving blockers split it."""

    WHOLE = "whole"
    INSIDE = "inside"
    BETWEEN = "between"
    OUTSIDE = "outside"


@dataclass(frozen=True, slots=True)
class Lane:
    """An interval between neighbouring blockers at the time of the fit, in yards from left to right.

    ``gaps`` are the gaps before the snap it is made of (more than one where a blocker left between them); ``left``
    and ``right`` are the blockers beside it, None beyond the last one; ``words`` name the arriving men beside it
    ("kick").
    """

    gaps: tuple[Gap, ...]
    left: BlockerMove | None
    right: BlockerMove | None
    x_from: float
    x_to: float
    portion: Portion = Portion.WHOLE
    words: tuple[str, ...] = ()

    @property
    def side(self) -> Side | None:
        """The side of the center it lies on; None where it reaches across."""
        first = self.gaps[0].side
        return first if self.gaps[-1].side is first else None

    @property
    def middle_x(self) -> float:
        """Where a man who fits it stands: its middle, or a yard outside the last blocker."""
        if self.left is None:
            return self.x_to - 1.0
        if self.right is None:
            return self.x_from + 1.0
        return (self.x_from + self.x_to) / 2

    @property
    def is_merged(self) -> bool:
        """Whether a blocker has left between its gaps."""
        return len(self.gaps) > 1

    @property
    def is_outermost(self) -> bool:
        """Whether no blocker is outside it."""
        return self.left is None or self.right is None

    def is_last(self, side: Side | None) -> bool:
        """Whether no blocker is further out on that side; False for no side."""
        return side is not None and (self.left if side is Side.LEFT else self.right) is None

    @property
    def gap_name(self) -> str:
        """Side and letters, from the center out: "left A/B"; across the center from left to right: "left A/right A"."""
        if self.side is not None:
            letters = sorted(gap.letter.value for gap in self.gaps)
            return f"{self.side.value} {'/'.join(letters)}"
        ordered = sorted(self.gaps, key=lambda g: g.side.sign * (g.letter.index + 1))
        return "/".join(gap.name for gap in ordered)

    @property
    def name(self) -> str:
        """Side and letter with what split or merged it: "right C inside the kick"."""
        if self.portion is Portion.WHOLE:
            return self.gap_name
        words = " and ".join(f"the {word}" for word in self.words)
        if self.side is None and self.portion is not Portion.BETWEEN:
            return f"{self.gap_name} {'left' if self.portion is Portion.INSIDE else 'right'} of {words}"
        return f"{self.gap_name} {self.portion.value} {words}"

    def mirrored(self, turned: Mapping[str, BlockerMove]) -> Lane:
        """The same lane turned round; ``turned`` holds every move turned round, by the key its player had before."""
        portion, words = self.portion, self.words
        if self.side is None and portion in (Portion.INSIDE, Portion.OUTSIDE):
            portion = Portion.OUTSIDE if portion is Portion.INSIDE else Portion.INSIDE
        if self.side is None:
            words = words[::-1]
        words = tuple(_turned(word) for word in words)
        return Lane(
            tuple(gap.mirrored for gap in reversed(self.gaps)),
            turned[self.right.player.key] if self.right else None,
            turned[self.left.player.key] if self.left else None,
            -self.x_to,
            -self.x_from,
            portion,
            words,
        )

    def covers(self, x: float) -> bool:
        """Whether ``x`` lies in it, a blocker's own place in the lanes on both sides of him; the outermost lanes
        reach to the sideline."""
        return (self.left is None or self.x_from - SAME_X_YD <= x) and (
            self.right is None or x <= self.x_to + SAME_X_YD
        )


def at_surface(moves: tuple[BlockerMove, ...]) -> tuple[BlockerMove, ...]:
    """The blockers who make the lanes, from left to right: those in the line and those who arrived."""
    return tuple(sorted((m for m in moves if m.in_line or m.word), key=lambda m: m.x_to))


def lanes(formation: Formation, moves: tuple[BlockerMove, ...]) -> tuple[Lane, ...]:
    """The lanes from left to right: one more than the blockers at the surface."""
    in_line = [m for m in moves if m.in_line]
    keys = [p.key for p in formation.surface]
    stops = [-1, *(keys.index(m.player.key) for m in in_line), len(keys)]
    found: list[Lane] = []
    for number, (start, stop) in enumerate(pairwise(stops)):
        gaps = formation.gaps[start + 1 : stop + 1]
        left = in_line[number - 1] if number else None
        right = in_line[number] if number < len(in_line) else None
        inserts = sorted((m for m in moves if m.word and m.gap in gaps), key=lambda m: m.x_to)
        found.extend(_split(gaps, left, right, inserts))
    return tuple(found)


def _split(
    gaps: tuple[Gap, ...], left: BlockerMove | None, right: BlockerMove | None, inserts: list[BlockerMove]
) -> list[Lane]:
    edges: list[BlockerMove | None] = [left, *inserts, right]
    whole = []
    for p, q in pairwise(edges):
        stand = [m.x_to for m in (p, q) if m]  # movement leaves somebody in the line
        x_from = p.x_to if p else stand[0] - EDGE_LANE_YD
        x_to = q.x_to if q else stand[-1] + EDGE_LANE_YD
        whole.append(Lane(gaps, p, q, x_from, x_to))
    if not inserts:
        return whole
    words = _words(inserts)
    outward_right = whole[0].side is not Side.LEFT
    named = []
    for index, lane in enumerate(whole):
        beside = words[max(0, index - 1) : index + 1]
        inner, outer = (0, len(whole) - 1) if outward_right else (len(whole) - 1, 0)
        if index == inner:
            portion = Portion.INSIDE
        elif index == outer:
            portion = Portion.OUTSIDE
        else:
            portion = Portion.BETWEEN
        ordered = beside if outward_right else beside[::-1]
        named.append(replace(lane, portion=portion, words=tuple(ordered)))
    return named


def _turned(word: str) -> str:
    """A word turned round: "left guard's kick" is the right guard's."""
    side, _, rest = word.partition(" ")
    return f"{Side(side).other.value} {rest}" if side in (Side.LEFT.value, Side.RIGHT.value) else word


def _words(inserts: list[BlockerMove]) -> list[str]:
    """How each arriving man is named: by what he does, and by who he is where two do the same."""
    plain = [m.word for m in inserts]
    return [m.word if plain.count(m.word) == 1 else _full_word(m) for m in inserts]


def _full_word(m: BlockerMove) -> str:
    return f"{m.player.word}'s {m.word}"
