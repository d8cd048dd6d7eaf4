"""How far a call is from being a player's own, by side, and what he gained when he last answered.

The distance is worked out by the model: the fewest right answers that would make the call his. Rejected: counting
up to a fixed number of right answers (the model also weighs what he knows of like calls, and how long ago).
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from server.database.tables import Member
from server.mastery.missing_stages import missing_stages
from server.mastery.picker import open_stages
from server.mastery.readout import board
from server.mastery.replay import CallAnswer
from server.mastery.values import DAY_S, SIDES, AnswerFact, State
from server.progress.team_state import TeamState

MOST_STEPS = 4  # farther than this is "several more"
LATEST = 12  # answers that "last time" and "now" count
LATEST_OF_SIDE = 6
SITTING_S = DAY_S / 8  # a pause that ends a sitting
CHOICES = 6  # of the answer that is supposed


@dataclass(frozen=True, slots=True)
class SideDistance:
    """One side of a call: the share of its last answers that is right now, and was before he last sat down to it
    (0 to 1); ``more``: the right answers that are missing, None when they are several."""

    side: str
    before: float
    now: float
    more: int | None


@dataclass(frozen=True, slots=True)
class CallDistance:
    """A call's sides, and (right, answered) of its last answers before the last sitting and now; ``before`` is None
    when there was no earlier one."""

    sides: tuple[SideDistance, ...]
    before: tuple[int, int] | None
    now: tuple[int, int]

    @property
    def more(self) -> int | None:
        """The right answers that are missing in all; None when they are several."""
        parts = [one.more for one in self.sides]
        return None if None in parts else sum(one or 0 for one in parts)


def distance_of(
    team_state: TeamState, member: Member, call: str, opened: Collection[int], now_s: float, state: State
) -> CallDistance:
    """A player's distance to a call. ``opened``: the stages his coach has opened; ``state``: his state on the call."""
    record = team_state.state.record_of(member.id, call)
    shown = record.shown if record else []
    earlier = before_last_sitting(shown)
    had = earlier or shown  # without an earlier sitting nothing is called gained
    missing = (
        missing_by_side(team_state, member, call, opened, now_s) if state is not State.CAN else dict.fromkeys(SIDES, 0)
    )
    sides = tuple(
        SideDistance(
            side,
            share_right([one for one in had if one.side == side][-LATEST_OF_SIDE:]),
            share_right([one for one in shown if one.side == side][-LATEST_OF_SIDE:]),
            None if missing is None else missing[side],
        )
        for side in SIDES
    )
    return CallDistance(sides, count(earlier[-LATEST:]) if earlier else None, count(shown[-LATEST:]))


def before_last_sitting(shown: list[CallAnswer]) -> list[CallAnswer]:
    """The answers before the last long pause between two of them."""
    for n in range(len(shown) - 1, 0, -1):
        if shown[n].at - shown[n - 1].at > SITTING_S:
            return shown[:n]
    return []


def share_right(shown: list[CallAnswer]) -> float:
    """Right answers as a share of those that a whole side counts."""
    return sum(one.right for one in shown) / LATEST_OF_SIDE


def count(shown: list[CallAnswer]) -> tuple[int, int]:
    """Right, answered."""
    return sum(one.right for one in shown), len(shown)


def missing_by_side(
    team_state: TeamState, member: Member, call: str, opened: Collection[int], now_s: float
) -> dict[str, int] | None:
    """The fewest right answers on another day, by side, after which the call would be his; None when `MOST_STEPS` are
    not enough.

    Each is supposed where most is missing among the stages open to him.
    """
    supposed, settings = team_state.state, team_state.settings
    record, position, then = supposed.record_of(member.id, call), supposed.position_of(member.id, call), now_s + DAY_S
    day = record.shown[-1].day + 1 if record and record.shown else None
    found = dict.fromkeys(SIDES, 0)
    for step in range(MOST_STEPS):
        stages = open_stages(supposed, member.id, call, opened)
        missing = [one for one in missing_stages(supposed, member.id, call, then, settings) if one.stage in stages]
        stage, side = (missing[0].stage, missing[0].side) if missing else (max(stages), SIDES[step % len(SIDES)])
        answer = AnswerFact(member.id, call, stage, side, CHOICES, right=True, at=then, position=position, day=day)
        supposed = supposed.with_answers([answer])
        found[side] += 1
        if board(supposed, [member.id], [call], then, settings)[member.id, call].state is State.CAN:
            return found
    return None
