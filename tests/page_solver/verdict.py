"""The whole answer for one snap, in the shape of the design page's section 9, as plain values.

``solve`` calls the steps in the page's order: movement, lanes, owners, options, support, threats, timing, verdict.
"""

from __future__ import annotations

from dataclasses import dataclass

from quizgen.football.pressure import RunJob
from quizgen.football.sides import Side
from quizgen.football.team import Situation
from tests.page_solver.backers import jump_slants, send_backers
from tests.page_solver.lanes import Lane, make_lanes
from tests.page_solver.motion import give_motion
from tests.page_solver.movement import move_blockers
from tests.page_solver.options import give_dive, give_phases
from tests.page_solver.owners import (
    apply_crack,
    apply_exchanges,
    apply_flow,
    apply_pulls,
    concede,
    give_gap_lanes,
    rides_hip,
)
from tests.page_solver.placing import Man, job_word, place_defense
from tests.page_solver.support import give_support
from tests.page_solver.threats import Threat, find_threats
from tests.page_solver.timing import CANNOT, ON_TIME, rushers_who_wait, worst_arrival


@dataclass(frozen=True)
class Fit:
    """One defender's answer."""

    position: str
    job: str
    lane: str | None
    lane_index: int | None
    side: str | None
    threat: tuple[str, ...]
    threat_kind: str | None
    lost_to: str | None
    lost_to_index: int | None
    phase: str | None
    is_read: bool
    arrival: str | None
    on_the_hip: bool
    over_the_top: bool


@dataclass(frozen=True)
class Answer:
    """One snap. ``owners`` has the positions of each lane, left to right, without men who cannot get there."""

    lanes: tuple[Lane, ...]
    owners: tuple[tuple[str, ...], ...]
    fits: tuple[Fit, ...]
    open: tuple[str, ...]
    doubled: tuple[str, ...]
    late: tuple[str, ...]
    sound: bool
    frontside: tuple[int, int]
    backside: tuple[int, int]
    men: tuple[Man, ...]

    def fit(self, position: str) -> Fit:
        """That position's answer."""
        return next(one for one in self.fits if one.position == position)


def solve(situation: Situation) -> Answer:
    """Every defender's lane, threat and phase, and the verdict on the call.

    Raises:
        NoAnswer: the formation cannot run the play, or the page has no rule.
    """
    men = place_defense(situation)
    apply_crack(situation, men)
    apply_exchanges(situation, men)
    apply_flow(situation, men)
    blockers = move_blockers(situation, men)
    lanes = make_lanes(situation, blockers)
    jump_slants(situation, men, blockers)
    give_gap_lanes(situation, men, lanes)
    send_backers(situation, men, lanes)
    vacated = apply_pulls(situation, men, lanes)
    scraper_left = give_phases(situation, men, lanes)
    waits = rushers_who_wait(situation, men)
    give_motion(situation, men)
    wanted, conceded = leftover(situation, men, lanes, waits, scraper_left)
    give_support(situation, men, lanes, wanted, vacated)
    give_dive(situation, men, lanes)
    threats = find_threats(situation, men, lanes)
    arrivals = {man.position: worst_arrival(situation, man, lanes, waits) for man in men}
    owners = [[man for man in men if lane.index in man.lanes and arrivals[man.position] != CANNOT] for lane in lanes]
    opened = [lane for lane in lanes if not owners[lane.index] and lane.index not in conceded]
    late = [lane for lane in lanes if owners[lane.index] and not in_time(lane, owners[lane.index], arrivals)]
    return Answer(
        lanes=tuple(lanes),
        owners=tuple(tuple(man.position for man in one) for one in owners),
        fits=tuple(fit_of(situation, man, lanes, threats, arrivals) for man in men),
        open=tuple(lane.name for lane in opened),
        doubled=tuple(lane.name for lane in lanes if len(owners[lane.index]) > 1),
        late=tuple(lane.name for lane in late),
        sound=not opened and not any(counts_as_late(lane, owners[lane.index]) for lane in late),
        frontside=numbers(situation.play_to, lanes, men, arrivals),
        backside=numbers(situation.play_to.other, lanes, men, arrivals),
        men=tuple(men),
    )


def leftover(
    situation: Situation, men: list[Man], lanes: list[Lane], waits: set[str], scraper_left: int | None
) -> tuple[list[int], set[int]]:
    """The lanes for support, and the conceded ones. A lane whose owner cannot get there is really open."""
    owned = {index for man in men for index in man.lanes}
    covered = {index for man in men for index in man.lanes if worst_arrival(situation, man, lanes, waits) != CANNOT}
    conceded = concede(situation, lanes, owned)
    taken = covered | conceded | ({scraper_left} if scraper_left is not None else set())
    return [lane.index for lane in lanes if lane.index not in taken], conceded


def in_time(lane: Lane, owners: list[Man], arrivals: dict[str, str | None]) -> bool:
    """Whether one of a lane's owners is there on time."""
    return any(arrivals[man.position] == ON_TIME for man in owners)


def counts_as_late(lane: Lane, owners: list[Man]) -> bool:
    """Section 7: outermost lanes may be owned late by force."""
    return not (lane.is_outermost and any(man.run_job is RunJob.FORCE for man in owners))


def numbers(side: Side, lanes: list[Lane], men: list[Man], arrivals: dict[str, str | None]) -> tuple[int, int]:
    """Lanes on a side and the defenders who are in one of them on time ("a man who is late is not counted")."""
    there = {lane.index for lane in lanes if lane.side is side}
    return len(there), sum(1 for man in men if there & set(man.lanes) and arrivals[man.position] == ON_TIME)


def fit_of(
    situation: Situation,
    man: Man,
    lanes: list[Lane],
    threats: dict[str, list[Threat]],
    arrivals: dict[str, str | None],
) -> Fit:
    """One man's row: his first lane, or the one in which he is threatened."""
    own = threats[man.position]
    index = own[0].lane if own else (man.lanes[0] if man.lanes else None)
    lane = None if index is None else lanes[index]
    lost_to = own[0].lost_to if own else None
    return Fit(
        position=man.position,
        job=job_word(man),
        lane=lane.name if lane else None,
        lane_index=index,
        side=lane.side.value if lane and lane.side else None,
        threat=tuple(sorted(one.blocker.name for one in own)),
        threat_kind=own[0].kind if own else None,
        lost_to=None if lost_to is None else lanes[lost_to].name,
        lost_to_index=lost_to,
        phase=man.phase,
        is_read=man.is_read,
        arrival=arrivals[man.position],
        on_the_hip=rides_hip(situation, man, lanes),
        over_the_top=man.over_the_top,
    )
