"""The lanes at the time of the fit (section 5 of the page): place every blocker, sort them, take the intervals."""

from __future__ import annotations

from dataclasses import dataclass

from quizgen.football.scheme import JOBS
from quizgen.football.sides import Side
from quizgen.football.team import Situation
from tests.page_solver.movement import Blocker, aim_gap, assign_jobs, hole_direction, holes
from tests.page_solver.placing import gap_side

OUTER_LANE_YD = 3.0
OUTER_FIT_YD = 1.0


@dataclass(frozen=True)
class Lane:
    """One interval between neighbours at the surface; ``gaps`` are the gaps before the snap that it holds a part of."""

    index: int
    left: Blocker | None
    right: Blocker | None
    gaps: tuple[int, ...]
    side: Side | None
    """None for a lane that reaches across the center."""
    portion: int
    """0 for the innermost of the lanes that men who arrive have made of one hole."""
    outward: int
    hole: tuple[Blocker, ...]
    """The men who arrive in its hole, from the inside out."""
    pulled_out: bool
    """Merged because a man who pulls stood between two of its gaps."""
    name: str

    @property
    def x_from(self) -> float:
        return self.left.x if self.left else self._only().x - OUTER_LANE_YD

    @property
    def x_to(self) -> float:
        return self.right.x if self.right else self._only().x + OUTER_LANE_YD

    @property
    def fit_x(self) -> float:
        """Where a man fits: the middle, or a yard outside the last blocker."""
        if self.left is None:
            return self._only().x - OUTER_FIT_YD
        if self.right is None:
            return self._only().x + OUTER_FIT_YD
        return (self.left.x + self.right.x) / 2

    @property
    def is_outermost(self) -> bool:
        return self.left is None or self.right is None

    @property
    def is_merged(self) -> bool:
        return len(self.gaps) > 1

    def _only(self) -> Blocker:
        only = self.left or self.right
        assert only is not None
        return only


def make_lanes(situation: Situation, blockers: list[Blocker]) -> list[Lane]:
    """All lanes, left to right: one more than the blockers at the surface (section 5)."""
    line = [one for one in blockers if one.arrives_in is None]
    jobs = assign_jobs(situation)
    surface = situation.formation.surface
    lanes: list[Lane] = []
    for first, last in holes(line, situation):
        outward = hole_direction(first, last, situation)
        arrived = [one for one in blockers if one.arrives_in is not None and first <= one.arrives_in <= last]
        arrived.sort(key=lambda one: one.x * outward)
        gone = surface[first:last]
        sides = {gap_side(situation.formation, gap) for gap in range(first, last + 1)}
        portions = range(len(arrived) + 1)
        for portion in portions if outward > 0 else reversed(portions):
            index = len(lanes)
            lanes.append(
                Lane(
                    index=index,
                    left=blockers[index - 1] if index > 0 else None,
                    right=blockers[index] if index < len(blockers) else None,
                    gaps=tuple(range(first, last + 1)),
                    side=next(iter(sides)) if len(sides) == 1 else None,
                    portion=portion,
                    outward=outward,
                    hole=tuple(arrived),
                    pulled_out=any(JOBS[jobs[man].job].pulls for man in gone),
                    name=lane_name(situation, first, last, arrived, portion),
                )
            )
    assert len(lanes) == len(blockers) + 1
    return lanes


def lane_name(situation: Situation, first: int, last: int, arrived: list[Blocker], portion: int) -> str:
    """Side + letter with what merged or split it: "left A/B", "right C inside the kick"."""
    gaps = [situation.formation.gaps[gap] for gap in range(first, last + 1)]
    if len({gap.side for gap in gaps}) == 1:
        letters = sorted(gap.letter.value for gap in gaps)
        name = f"{gaps[0].side.value} {'/'.join(letters)}"
    else:
        name = " / ".join(gap.name for gap in gaps)
    if not arrived:
        return name
    words = [one.rule.word for one in arrived]
    if portion == 0:
        return f"{name} inside the {words[0]}"
    if portion == len(words):
        return f"{name} outside the {words[-1]}"
    return f"{name} between the {words[portion - 1]} and the {words[portion]}"


def lanes_of_gap(lanes: list[Lane], gap: int) -> list[Lane]:
    """The lanes that hold a part of that gap, from the inside out."""
    found = [lane for lane in lanes if gap in lane.gaps]
    return sorted(found, key=lambda lane: lane.portion)


def aim_lane(situation: Situation, lanes: list[Lane]) -> Lane:
    """The lane that the play hits: the innermost part of the gap it aims at."""
    return lanes_of_gap(lanes, aim_gap(situation))[0]


def is_on_side(lane: Lane, side: Side, situation: Situation) -> bool:
    """Whether a lane lies on that side, or reaches across the center to it."""
    return any(gap_side(situation.formation, gap) is side for gap in lane.gaps)
