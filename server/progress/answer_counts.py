"""The counts behind an estimate, for pages: by stage and side, by week, and how far the estimate may be off.

Counts cover the answers in the team's state. Knows nothing of pages or of how the model works.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

from server.mastery.readout import Estimate
from server.mastery.replay import CallAnswer
from server.mastery.values import SIDES, STAGES
from server.progress.board import BoardCell, SideCount, sides_of, to_cell
from server.progress.team_state import TeamState

WEEKS_SHOWN = 10
#: Four of five values of a normal distribution are within this many standard deviations of the mean.
FOUR_OF_FIVE = 1.2816


@dataclass(frozen=True, slots=True)
class StageCount:
    """Answers on a call at a stage from a side: right, answered, by how many players, and when the last one was."""

    stage: int
    side: str
    right: int
    answered: int
    people: int
    last_at: datetime | None


@dataclass(frozen=True, slots=True)
class Week:
    """A player's answers in the week that begins on that day."""

    begins: date
    right: int
    answered: int


@dataclass(frozen=True, slots=True)
class CallRow:
    """One call of a player: the cell, and its counts by side."""

    cell: BoardCell
    sides: tuple[SideCount, ...]


@dataclass(frozen=True, slots=True)
class LikelyRange:
    """How many of 100 situations of a call he knows: expected, and the range that holds four times out of five."""

    low: int
    likely: int
    high: int


def to_row(estimate: Estimate) -> CallRow:
    """A player's call as a row of his page."""
    return CallRow(to_cell(estimate), sides_of(estimate))


def likely_range(estimate: Estimate) -> LikelyRange:
    """How much of the call he knows."""
    off = FOUR_OF_FIVE * estimate.chance_sd
    low, likely, high = (
        round(100 * min(max(share, 0.0), 1.0))
        for share in (estimate.chance - off, estimate.chance, estimate.chance + off)
    )
    return LikelyRange(low, likely, high)


def answers_of(team_state: TeamState, player: str, call: str = "") -> Iterator[CallAnswer]:
    """A player's answers in the state, on one call if given: those at the position that he plays now."""
    state = team_state.state
    for (position, name), record in state.records.get(player, {}).items():
        if position == state.position_of(player, name) and call in ("", name):
            yield from record.shown


def count_by_stage(
    team_state: TeamState, players: Iterable[str], call: str, stage: int | None = None, side: str | None = None
) -> list[StageCount]:
    """These players' answers on a call, by stage and side; only one stage or side if given."""
    given = [(player, one) for player in players for one in answers_of(team_state, player, call)]
    found = []
    for each in STAGES if stage is None else (stage,):
        for of in SIDES if side is None else (side,):
            own = [(player, one) for player, one in given if one.stage == each and one.side == of]
            last = max((one.at for _, one in own), default=None)
            found.append(
                StageCount(
                    each,
                    of,
                    sum(one.right for _, one in own),
                    len(own),
                    len({player for player, _ in own}),
                    None if last is None else datetime.fromtimestamp(last, UTC),
                )
            )
    return found


def by_week(team_state: TeamState, player: str, call: str, zone: str, now: datetime) -> list[Week]:
    """A player's answers of the last weeks, Monday to Sunday in the team's time zone, from his first week with one."""
    place = ZoneInfo(zone)
    this = monday(now.astimezone(place).date())
    weeks = [this - timedelta(weeks=n) for n in reversed(range(WEEKS_SHOWN))]
    own = [(monday(datetime.fromtimestamp(a.at, place).date()), a.right) for a in answers_of(team_state, player, call)]
    counted = [
        Week(week, sum(right for at, right in own if at == week), sum(at == week for at, _ in own)) for week in weeks
    ]
    first = next((n for n, week in enumerate(counted) if week.answered), len(counted))
    return counted[first:]


def monday(day: date) -> date:
    """The Monday of that day's week."""
    return day - timedelta(days=day.weekday())
