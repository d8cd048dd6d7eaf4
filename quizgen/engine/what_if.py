"""What opens when one man loses his lane, and who could still cover. Works on an answer; decides nothing about the
play."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from quizgen.engine.alignment import spot_x
from quizgen.engine.fits import Fit
from quizgen.engine.timing import Arrival, arrival_s, ball_s, clock
from quizgen.engine.verdict import RunAnswer, can_fill
from quizgen.football.errors import FootballValueError


class LossKind(Enum):
    """How a man loses his lane."""

    BEATEN = "beaten"
    SPOT = "ran to the spot"


@dataclass(frozen=True, slots=True)
class Cover:
    """A man who could still get to a lane that has opened, and whether in time."""

    position: str
    lane: int
    arrival: Arrival


@dataclass(frozen=True, slots=True)
class Loss:
    """Where a man ends up (None: driven back, in no lane), what opens, and who could cover it, soonest first."""

    position: str
    how: LossKind
    lane: int | None
    opens: tuple[int, ...]
    covers: tuple[Cover, ...]


def beaten(answer: RunAnswer, position: str) -> Loss:
    """What follows when the blocker who threatens him wins.

    Raises:
        FootballValueError: he owns no lane, or nobody threatens it.
    """
    fit = _owner(answer, position)
    if fit.threat is None:
        raise FootballValueError("position", position, "a man whom a blocker threatens")
    return _loss(answer, fit, LossKind.BEATEN, fit.lost_to)


def to_the_spot(answer: RunAnswer, position: str) -> Loss:
    """What follows when he runs to where his gap was before the snap. He stands there from his arrival on, so the
    lane that counts is the one over the spot when the blocks have ended; where that is a blocker's own place, his own
    lane if it is beside that blocker, else the one nearer the center.

    Raises:
        FootballValueError: he owns no lane, or has no gap of his own to run to.
    """
    fit = _owner(answer, position)
    if not fit.man.gaps:
        raise FootballValueError("position", position, "a man with a gap of his own")
    spot = spot_x(answer.situation.formation, fit.man.gaps[0])
    over = [index for index, lane in enumerate(answer.lanes) if lane.covers(spot)]
    own = [index for index in over if index in fit.lanes]
    lane = min(own or over, key=lambda index: abs(answer.lanes[index].middle_x))
    return _loss(answer, fit, LossKind.SPOT, lane)


def _owner(answer: RunAnswer, position: str) -> Fit:
    fit = answer.fit(position)
    if not fit.owns:
        raise FootballValueError("position", position, "a man who owns a lane against this play")
    return fit


def _loss(answer: RunAnswer, fit: Fit, how: LossKind, ends_in: int | None) -> Loss:
    alone = tuple(i for i in fit.lanes if len(answer.owners(i)) <= 1 and i != ends_in)
    return Loss(fit.man.position, how, ends_in, alone, _covers(answer, fit, alone))


def _covers(answer: RunAnswer, loser: Fit, opened: tuple[int, ...]) -> tuple[Cover, ...]:
    s = answer.situation
    found: list[tuple[float, Cover]] = []
    for fit in answer.fits:
        if fit.owns or fit.phase is not None or fit.man.position == loser.man.position:
            continue
        for index in opened:
            if not can_fill(answer, fit.man, index, vacated=True):
                continue
            at_s = arrival_s(fit.man, answer.lanes[index].middle_x, s.rules.timing, reads=True)
            at = clock(at_s, ball_s(s, answer.lanes[index], answer.aim_x), s.rules.timing)
            if at.arrival is not Arrival.NEVER:
                found.append((at_s, Cover(fit.man.position, index, at.arrival)))
    return tuple(cover for _, cover in sorted(found, key=lambda one: (one[0], one[1].lane)))
