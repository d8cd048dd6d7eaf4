"""On time, late, or cannot get there (section 6, timing), and rushers whose paths meet (sections 3 and 6)."""

from __future__ import annotations

from functools import cache
from math import hypot

from quizgen.football.rules import Pace
from quizgen.football.team import Situation
from tests.page_solver.lanes import OUTER_FIT_YD, Lane, aim_lane
from tests.page_solver.placing import Man

ON_TIME, LATE, CANNOT = "on time", "late", "cannot get there"
MEET_YD = 0.7
MEET_S = 0.15
STEP_S = 0.02


def pace_of(situation: Situation, man: Man) -> Pace:
    """A rusher runs without a read; a dropper, or a man who has to exchange, reads first."""
    timing = situation.rules.timing
    if man.rush is not None and not man.exchanged:
        return timing.rush[man.player_class]
    return timing.read[man.player_class]


def start_s(situation: Situation, man: Man) -> float:
    """Seconds until he moves: his reaction and, for a later rusher, the delay of his order."""
    return pace_of(situation, man).reaction_s + (man.order - 1) * situation.rules.timing.order_delay_s


def arrival_s(situation: Situation, man: Man, lane: Lane) -> float:
    """Section 6: arrival = reaction + path length / speed."""
    return start_s(situation, man) + hypot(lane.fit_x - man.x, man.depth) / pace_of(situation, man).speed_yd_s


def ball_s(situation: Situation, lane: Lane, lanes: list[Lane]) -> float:
    """When the ball reaches a lane for that play: its time to the line, and its way across from the aim."""
    timing, play = situation.rules.timing, situation.play
    to_line = play.ball_s if play.ball_s is not None else timing.ball_s[play.family]
    return to_line + abs(lane.fit_x - aim_lane(situation, lanes).fit_x) / timing.ball_lateral_yd_s


def arrival_word(situation: Situation, man: Man, lane: Lane, lanes: list[Lane]) -> str:
    """On time, late or cannot get there, for one man in one lane."""
    behind = arrival_s(situation, man, lane) - ball_s(situation, lane, lanes)
    timing = situation.rules.timing
    if behind <= timing.late_after_s + 1e-9:
        return ON_TIME
    return LATE if behind <= timing.never_after_s + 1e-9 else CANNOT


def worst_arrival(situation: Situation, man: Man, lanes: list[Lane], waits: set[str]) -> str | None:
    """A man's arrival: that of his worst lane; a rusher who must wait for another is late; None without a lane."""
    if not man.lanes:
        return None
    words = [arrival_word(situation, man, lanes[index], lanes) for index in man.lanes]
    worst = max(words, key=(ON_TIME, LATE, CANNOT).index)
    return LATE if worst == ON_TIME and man.position in waits else worst


def rushers_who_wait(situation: Situation, men: list[Man]) -> set[str]:
    """Of two rushers whose crossing paths meet (within .7 yd and .15 s) on the way to the gaps of the call, or of whom
    the one called second is there before the first (section 3), the second: he must wait, so his fit is late."""
    rushers = [man for man in men if man.rush is not None and len(man.gaps) == 1]
    waits = set()
    for number, one in enumerate(rushers):
        for other in rushers[number + 1 :]:
            first, second = sorted((one, other), key=lambda man: (man.order, man.depth))
            first_path, second_path = path_of(situation, first), path_of(situation, second)
            times = crossing_times(first_path, second_path) if paths_cross(first_path, second_path) else None
            if times is None:
                continue
            first_s, second_s = times
            if first.order == second.order and second_s < first_s:
                # Nobody is called first, so who comes later waits, if they meet at all.
                first, first_s, second, second_s = second, second_s, first, first_s
            if second_s - first_s < MEET_S - 1e-9:
                waits.add(second.position)
    return waits


def gap_x(situation: Situation, gap: int) -> float:
    """The middle of a gap at the snap, or a yard outside the last blocker."""
    surface = situation.formation.surface
    if gap == 0:
        return surface[0].x - OUTER_FIT_YD
    if gap == len(surface):
        return surface[-1].x + OUTER_FIT_YD
    return (surface[gap - 1].x + surface[gap].x) / 2


Way = tuple[float, float, float, float, float]
"""x and depth at the snap, x at the line, seconds before he moves, yards a second."""


def path_of(situation: Situation, man: Man) -> Way:
    """A rusher's straight way to his gap."""
    pace = pace_of(situation, man)
    return (man.x, man.depth, gap_x(situation, man.gaps[0]), start_s(situation, man), pace.speed_yd_s)


def paths_cross(first: Way, second: Way) -> bool:
    """Whether two men end up in the other order from how they lined up."""
    return (first[0] - second[0]) * (first[2] - second[2]) < 0


def place_at(way: Way, seconds: float) -> tuple[float, float]:
    """Where a man is on his way after that many seconds."""
    x, depth, to_x, start, speed = way
    length = hypot(to_x - x, depth)
    share = min(1.0, max(0.0, (seconds - start) * speed / length))
    return x + share * (to_x - x), depth * (1 - share)


@cache
def crossing_times(first: Way, second: Way) -> tuple[float, float] | None:
    """Seconds at which each is where their ways come nearest to each other; None where they stay .7 yd apart."""
    best = None
    for a in moments(first):
        for b in moments(second):
            near = hypot(*(p - q for p, q in zip(place_at(first, a), place_at(second, b), strict=True)))
            if best is None or near < best[0]:
                best = (near, a, b)
    return (best[1], best[2]) if best is not None and best[0] <= MEET_YD else None


def moments(way: Way) -> list[float]:
    """The seconds from his first step to his fit, a fiftieth of one apart."""
    x, depth, to_x, start, speed = way
    steps = int(hypot(to_x - x, depth) / speed / STEP_S)
    return [start + STEP_S * number for number in range(steps + 1)]
