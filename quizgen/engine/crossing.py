"""Whether rushers who cross collide, and who gets to the crossing first. Knows the call's paths; knows no play."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations
from math import dist, hypot

from quizgen.engine.alignment import Man, spot_x
from quizgen.football.formation import Formation
from quizgen.football.rules import Timing

Point = tuple[float, float]
Path = tuple[Point, Point]
SAME = 1e-9
# How near to each other two men pass who get into each other's way, from shoulder to shoulder (common practice).
MEET_YD = 0.7


@dataclass(frozen=True, slots=True)
class Crossing:
    """Two rushers whose paths cross or all but cross: the one called first, the one called second, where (yards, on the
    first one's path), when each is there (seconds), and the delay the second needs to be clear of him; 0 when the
    crossing works as called."""

    first: str
    second: str
    x: float
    depth_yd: float
    first_s: float
    second_s: float
    delay_s: float

    @property
    def works(self) -> bool:
        """Whether the man called first is there first, with room to spare."""
        return self.delay_s <= 0

    @property
    def sentence(self) -> str:
        """Who goes first and whether it works, in one sentence."""
        text = f"{self.first} crosses in front of {self.second}"
        if self.works:
            return f"{text}: clear by {self.second_s - self.first_s:.2f} s"
        return f"{text}: {self.second} must wait {self.delay_s:.2f} s more to be clear of him"


def crossings(men: tuple[Man, ...], formation: Formation, timing: Timing) -> tuple[Crossing, ...]:
    """Every crossing of two rushers' paths before the line, from left to right as the first man lines up. Called
    together, the first is who is there first, then the shallower; a man with two gaps holds and crosses nobody."""
    rushers = [man for man in men if man.rush is not None and len(man.gaps) == 1]
    found = []
    for a, b in combinations(sorted(rushers, key=lambda man: (man.order, man.depth_yd, man.x)), 2):
        points = _meeting(_path(a, formation), _path(b, formation))
        if points is None:
            continue
        turned = a.order == b.order and _at_s(b, points[1], timing) < _at_s(a, points[0], timing) - SAME
        found.append(_crossing(b, a, points[::-1], timing) if turned else _crossing(a, b, points, timing))
    return tuple(sorted(found, key=lambda crossing: (crossing.x, crossing.first, crossing.second)))


def waits(men: tuple[Man, ...], formation: Formation, timing: Timing) -> dict[str, float]:
    """Seconds that a rusher must wait to be clear of the man who crosses in front of him, by position; of several
    crossings the longest wait."""
    found: dict[str, float] = {}
    for one in crossings(men, formation, timing):
        if not one.works:
            found[one.second] = max(one.delay_s, found.get(one.second, 0.0))
    return found


def _path(man: Man, formation: Formation) -> Path:
    return (man.x, -man.depth_yd), (spot_x(formation, man.gaps[0]), 0.0)


def _meeting(first: Path, second: Path) -> tuple[Point, Point] | None:
    """Where on each of their paths two men who change sides come nearest to each other, one place where the paths cross
    between their ends; None where they don't change sides or stay further apart than men who meet."""
    if (first[0][0] - second[0][0]) * (first[1][0] - second[1][0]) >= -SAME:
        return None  # who goes to the same gap meets nobody on the way
    point = _cross(first, second)
    if point is not None:
        return point, point
    near = [(end, _nearest(end, second)) for end in first] + [(_nearest(end, first), end) for end in second]
    p, q = min(near, key=lambda pair: dist(*pair))
    return (p, q) if dist(p, q) <= MEET_YD else None


def _nearest(point: Point, path: Path) -> Point:
    """The place on a path that is nearest to a point."""
    (ax, ay), (bx, by) = path
    along, up = bx - ax, by - ay
    share = ((point[0] - ax) * along + (point[1] - ay) * up) / (along**2 + up**2)
    share = min(1.0, max(0.0, share))
    return ax + share * along, ay + share * up


def _cross(first: Path, second: Path) -> Point | None:
    """Where two straight paths cross between their ends; None where they don't."""
    (ax, ay), (bx, by) = first
    (cx, cy), (dx, dy) = second
    cross = (bx - ax) * (dy - cy) - (by - ay) * (dx - cx)
    if abs(cross) < SAME:
        return None
    t = ((cx - ax) * (dy - cy) - (cy - ay) * (dx - cx)) / cross
    u = ((cx - ax) * (by - ay) - (cy - ay) * (bx - ax)) / cross
    if not (0 < t < 1 - SAME and 0 < u < 1 - SAME):
        return None
    return ax + t * (bx - ax), ay + t * (by - ay)


def _crossing(first: Man, second: Man, points: tuple[Point, Point], timing: Timing) -> Crossing:
    point = points[0]
    first_s, second_s = (_at_s(man, at, timing) for man, at in zip((first, second), points, strict=True))
    delay = max(0.0, first_s + timing.cross_clearance_s - second_s)
    return Crossing(
        first.position,
        second.position,
        point[0],
        -point[1],
        first_s,
        second_s,
        round(delay, 2) if delay > 1e-9 else 0.0,
    )


def _at_s(man: Man, point: Point, timing: Timing) -> float:
    pace = timing.rush[man.player_class]
    distance = hypot(point[0] - man.x, point[1] + man.depth_yd)
    return pace.reaction_s + (man.order - 1) * timing.order_delay_s + distance / pace.speed_yd_s
