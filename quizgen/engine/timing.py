"""When a defender and the ball get to a lane. Knows paths and paces; decides nothing about who goes where.

Standing of the constants: see ``quizgen.football.rules.Timing``; every one is a team setting.

Timing: arrival = reaction + (order - 1) x order_delay + straight-line distance from (x, depth) to (fit x, 0) / speed.
Rushers use the `rush` pace (the `read` pace once they have exchanged), others `read`. Ball at a lane = the play's
time (its own or its family's) + |fit x - aim x| / ball_lateral, aim x = fit x of the leftmost lane containing the aim
gap with the play to the right. On time: behind the ball by <= late_after; late: <= never_after; else cannot get
there. A two-gap player's clock is his worst lane. A rusher who crosses behind another and is not clear of him at the
crossing (cross_clearance) must wait that long, and is late. A man who shows another place starts there at the snap and
bails toward his spot while he reads (his pace, for the reaction); from there he goes to his lane.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from math import hypot

from quizgen.engine.alignment import Man
from quizgen.engine.lanes import Lane
from quizgen.football.errors import NoRule
from quizgen.football.rules import Pace, Timing
from quizgen.football.team import Situation


class Arrival(Enum):
    """A man against the ball at a lane."""

    ON_TIME = "on time"
    LATE = "late"
    NEVER = "cannot get there"


@dataclass(frozen=True, slots=True)
class Clock:
    """Seconds from the snap at which a man and the ball reach a lane, and what follows."""

    at_s: float
    ball_s: float
    arrival: Arrival


def arrival_s(man: Man, x: float, timing: Timing, *, reads: bool) -> float:
    """Seconds until he is at ``x`` on the line; ``reads`` when he must read before he goes."""
    pace = (timing.read if reads else timing.rush)[man.player_class]
    delay = (man.rush.order - 1) * timing.order_delay_s if man.rush else 0.0
    from_x, depth_yd = turn_point(man, pace)
    return pace.reaction_s + delay + hypot(x - from_x, depth_yd) / pace.speed_yd_s


def turn_point(man: Man, pace: Pace) -> tuple[float, float]:
    """Where he is once he has read, x and depth in yards: at his spot; a man who shows another place bails toward his
    spot while he reads."""
    if man.shows is None:
        return man.x, man.depth_yd
    x, depth_yd = man.shows
    way_yd = hypot(man.x - x, man.depth_yd - depth_yd)
    share = min(1.0, pace.reaction_s * pace.speed_yd_s / way_yd) if way_yd else 1.0
    return x + share * (man.x - x), depth_yd + share * (man.depth_yd - depth_yd)


def ball_s(s: Situation, lane: Lane, aim_x: float) -> float:
    """Seconds until the ball can be at the lane: the play's time to its aim, then sideways.

    Raises:
        NoRule: the team has no time for this family of plays.
    """
    timing = s.rules.timing
    base = s.play.ball_s if s.play.ball_s is not None else timing.ball_s.get(s.play.family)
    if base is None:
        raise NoRule(s.pressure.name, s.front.name, s.play.name, f"no ball time for {s.play.family.value!r}")
    return base + abs(lane.middle_x - aim_x) / timing.ball_lateral_yd_s


def clock(at_s: float, ball_at_s: float, timing: Timing) -> Clock:
    """On time, late, or cannot get there: with the team's slack after the ball."""
    behind = at_s - ball_at_s
    if behind <= timing.late_after_s:
        arrival = Arrival.ON_TIME
    elif behind <= timing.never_after_s:
        arrival = Arrival.LATE
    else:
        arrival = Arrival.NEVER
    return Clock(at_s, ball_at_s, arrival)


def late_by(at: Clock, wait_s: float, timing: Timing) -> Clock:
    """The clock of a rusher who must wait for the man who crosses in front of him: late at the best."""
    later = clock(at.at_s + wait_s, at.ball_s, timing)
    return later if later.arrival is not Arrival.ON_TIME else Clock(later.at_s, later.ball_s, Arrival.LATE)
