"""Answers as plain values for people and programs: the stable keys of ``gapsound fit`` and ``gapsound check``."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import product
from typing import Any

from quizgen.engine.alignment import line_up_call
from quizgen.engine.crossing import crossings
from quizgen.engine.fits import Fit
from quizgen.engine.lanes import Lane
from quizgen.engine.protection import Matchup, PassAnswer
from quizgen.engine.reasons import PLAIN, Names, because, because_rush, why
from quizgen.engine.shared_work import SharedWork
from quizgen.engine.verdict import Numbers, RunAnswer, solve
from quizgen.football.calling import call_sides
from quizgen.football.errors import CannotRun
from quizgen.football.formation import Formation
from quizgen.football.sides import Ball, Side
from quizgen.football.team import Situation, TeamBook, find_named, may_be_run


def fit_report(answer: RunAnswer, names: Names = PLAIN) -> dict[str, Any]:
    """One situation as JSON-ready values; keys and plain names are a stable interface."""
    s = answer.situation
    return {
        **_heading(s),
        "adjusted": s.adjusted.words if s.adjusted else None,
        "sound": answer.sound,
        "lanes": [_lane(answer, index, lane, names) for index, lane in enumerate(answer.lanes)],
        "fits": [_fit(answer, fit, names) for fit in answer.fits],
        "open": _names(answer, answer.open, names),
        "doubled": _names(answer, answer.doubled, names),
        "late": _names(answer, answer.late, names),
        "conceded": _names(answer, sorted(answer.conceded), names),
        "phases": {owner.phase.value: owner.position for owner in answer.phases},
        "frontside": _numbers(answer.frontside),
        "backside": _numbers(answer.backside),
        "why": why(answer, names),
    }


def _heading(s: Situation) -> dict[str, Any]:
    return {
        "call": s.called[0],
        "to": s.called[1].value,
        **_formation(s.formation),
        "play": s.play.name,
        "play_to": s.play_to.value,
    }


def _formation(formation: Formation) -> dict[str, Any]:
    """The formation as it was set, and the motion from it, if any."""
    moved = formation.moved
    return {
        "formation": moved.before.name if moved else formation.name,
        "motion": moved.motion.name if moved else None,
    }


def _lane(answer: RunAnswer, index: int, lane: Lane, names: Names) -> dict[str, Any]:
    beside = [names.blocker(block.player) if block else None for block in (lane.left, lane.right)]
    return {
        "name": names.lane(lane),
        "between": beside,
        "owners": [fit.man.position for fit in answer.owners(index)],
        "x": [round(lane.x_from, 2), round(lane.x_to, 2)],
    }


def _fit(answer: RunAnswer, fit: Fit, names: Names) -> dict[str, Any]:
    lane = answer.lanes[fit.lane] if fit.lane is not None else None
    return {
        "position": fit.man.position,
        "job": fit.job,
        "lane": " and ".join(names.lane(answer.lanes[i]) for i in fit.lanes) or None,
        "side": lane.side.value if lane and lane.side else None,
        "owns": fit.owns,
        "threat": [names.blocker(block.player) for block in fit.threats],
        "lost_to": names.lane(answer.lanes[fit.lost_to]) if fit.lost_to is not None else None,
        "arrival": fit.clock.arrival.value if fit.clock else None,
        "because": because(answer, fit, names),
    }


def _names(answer: RunAnswer, indices: Iterable[int], names: Names) -> list[str]:
    return [names.lane(answer.lanes[index]) for index in indices]


def _numbers(numbers: Numbers) -> dict[str, int]:
    return {"lanes": numbers.lanes, "defenders": numbers.defenders}


def row_values(answer: RunAnswer, names: Names = PLAIN) -> dict[str, Any]:
    """One line of the gap-sound table as JSON-ready values; keys and plain names are a stable interface."""
    return {
        **_heading(answer.situation),
        "sound": answer.sound,
        "open": _names(answer, answer.open, names),
        "doubled": _names(answer, answer.doubled, names),
        "late": _names(answer, answer.late, names),
        "why": why(answer, names),
    }


def situations(
    team: TeamBook, *, call: str | None = None, play: str | None = None, ball: Ball | None = None
) -> Iterator[Situation]:
    """Every situation of the team's table: call x side x formation (as set, and after each of its motions) x scheme x
    direction, those that can't be run included; to the sides only that the call's rule lets it go to (``ball`` None:
    wherever it lies).

    Raises:
        UnknownName: no such call or play.
    """
    pressures = (team.pressure(call),) if call else team.pressures
    plays = (find_named("play", play, team.schemes),) if play else team.schemes
    for pressure in pressures:
        for to, formation in product(Side, team.snap_formations):
            if to not in call_sides(pressure, formation, ball):
                continue
            played = team.played(pressure, to, formation, ball)
            front = team.front(played.pressure.front)
            before = (team.rules, team.positions, front, played.pressure, played.to, formation)
            for scheme, play_to in product(plays, Side):
                if may_be_run(formation, scheme):
                    yield Situation(*before, scheme, play_to, played.adjusted)


def check_situations(wanted: Iterable[Situation]) -> Iterator[RunAnswer]:
    """The engine's answers one by one; formations that lack a man whom the play needs have none.

    Raises:
        NoRule: the rules do not cover a situation.
    """
    shared = SharedWork()
    for one in wanted:
        try:
            yield solve(one, shared)
        except CannotRun:
            continue


def crossing_warnings(team: TeamBook) -> tuple[str, ...]:
    """A line for each two rushers of a call who get into each other's way: how long one must wait at the most, against
    how many line-ups of the team's formations, and an example. The call counts as late there; it is not refused."""
    lines = []
    for pressure in team.pressures:
        found: dict[tuple[str, str], list[tuple[float, str]]] = {}
        front, tried = team.front(pressure.front), 0
        for formation in team.formations:
            for to in call_sides(pressure, formation, None):
                tried += 1
                men = line_up_call(team.rules, team.positions, front, pressure, to, formation)
                for one in crossings(men, formation, team.rules.timing):
                    if not one.works:
                        where = f"to the {to.value} against {formation.name!r}"
                        found.setdefault((one.first, one.second), []).append((one.delay_s, where))
        for (first, second), waits in found.items():
            longest, where = max(waits, key=lambda wait: wait[0])
            lines.append(
                f"pressures.toml: {pressure.name!r}: {second} must wait {longest:.2f} s to be clear of {first} "
                f"({where}; {len(waits)} of {tried} line-ups): the call is late there"
            )
    return tuple(lines)


def pass_report(answer: PassAnswer, names: Names = PLAIN) -> dict[str, Any]:
    """One protection as JSON-ready values."""
    s = answer.situation
    return {
        "call": s.called[0],
        "to": s.called[1].value,
        **_formation(s.formation),
        "play": s.protection.name,
        "play_to": s.turn_to.value,
        "adjusted": s.adjusted.words if s.adjusted else None,
        "protectors": [names.blocker(p) for p in answer.protectors],
        "free": list(answer.free),
        "one_on_one": list(answer.alone),
        "rushers": [_rusher(answer, matchup, names) for matchup in answer.matchups],
    }


def _rusher(answer: PassAnswer, matchup: Matchup, names: Names) -> dict[str, Any]:
    return {
        "position": matchup.man.position,
        "blockers": [names.blocker(p) for p in matchup.blockers],
        "half": matchup.half.value if matchup.half else None,
        "contains": matchup.contains,
        "because": because_rush(answer, matchup, names),
    }
