"""What to rep next: the call, side and group where most is missing against the next opponent, and with whom.

Pure functions on the board's own values. Knows nothing of pages, sets or football.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from server.mastery.replay import MasteryState
from server.mastery.values import SIDES, State, TeamSettings
from server.progress.board import BoardGroup, BoardRow

#: A side is named when this share of those not there yet lack it.
OF_A_SIDE = 0.6
#: How many of his latest answers at a stage say that he misses it.
LATEST = 3
#: One player is a talk, not a rep for a group.
FEWEST = 2


@dataclass(frozen=True, slots=True)
class RepNext:
    """A call to rep with a group: to one side, or to both where ``side`` is empty.

    ``behind`` are the ids of the players who are not there yet, of ``asked`` who have answered anything on it;
    ``missed`` of them miss ``stage``, the one missed most (None: no stage stands out).
    """

    call: str
    side: str
    group: str
    behind: tuple[str, ...]
    asked: int
    stage: int | None
    missed: int


def rep_next(
    groups: Sequence[BoardGroup],
    calls: Sequence[str],
    state: MasteryState,
    settings: TeamSettings,
    sent: Collection[tuple[str, str]] = (),
) -> RepNext | None:
    """The most urgent of all calls and groups; None when everybody who was asked knows every call or has a set on it.

    Urgency is the sum over players not there yet of call weight x (1 - P(can)). Only players who have answered count:
    a call that nobody has seen is taught before it is repped. ``sent`` are (player, call) where he has reps to do: to
    send him more before he has done those would be noise.
    """
    found: list[tuple[float, RepNext]] = []
    for group in groups:
        for index, call in enumerate(calls):
            lines = [one for one in group.lines if one.jobs[index] and one.cells[index].answered]
            not_there = [one for one in lines if one.cells[index].state is not State.CAN]
            behind = [one for one in not_there if (one.member.id, call) not in sent]
            if len(behind) < FEWEST:
                continue
            urgency = settings.call_weight(call) * sum(1.0 - one.cells[index].p_can for one in behind)
            stage, missed = _stage(behind, call, state)
            who = tuple(one.member.id for one in sorted(behind, key=lambda one: one.cells[index].p_can))
            found.append((urgency, RepNext(call, _side(behind, index), group.name, who, len(lines), stage, missed)))
    return max(found, key=lambda one: one[0])[1] if found else None


def _side(behind: Sequence[BoardRow], index: int) -> str:
    """The side that most of them lack and few lack the other; empty when it is both."""
    lacking = Counter(side for one in behind for side in one.cells[index].open_sides)
    for side, other in (SIDES, SIDES[::-1]):
        if lacking[side] >= OF_A_SIDE * len(behind) and lacking[other] < OF_A_SIDE * len(behind):
            return side
    return ""


def _stage(behind: Sequence[BoardRow], call: str, state: MasteryState) -> tuple[int | None, int]:
    """The stage that most of them have missed among their latest answers to it, and how many have."""
    missing: Counter[int] = Counter()
    for one in behind:
        record = state.record_of(one.member.id, call)
        latest: Mapping[int, list[bool]] = {}
        for shown in record.shown if record else []:
            latest = {**latest, shown.stage: [*latest.get(shown.stage, []), shown.right][-LATEST:]}
        missing.update(stage for stage, rights in latest.items() if not all(rights))
    if not missing:
        return None, 0
    stage, count = max(sorted(missing.items()), key=lambda one: one[1])
    return (stage, count) if count >= FEWEST else (None, 0)
