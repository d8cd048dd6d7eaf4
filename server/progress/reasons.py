"""Why a cell of the board is what it is, in one sentence, from the same values that decided its state.

Knows nothing of pages; days come as words from the caller.
"""

from __future__ import annotations

from collections.abc import Callable

from server.i18n.lazy_text import LazyText
from server.mastery.judging import MissingForCan
from server.mastery.readout import Estimate
from server.mastery.values import LEFT, RIGHT, SIDES, State

Days = Callable[[float], str]
"""A moment in seconds as a day in words."""

LAST_MISSED = {
    LEFT: LazyText("{count}, but missed the last one to our left"),
    RIGHT: LazyText("{count}, but missed the last one to our right"),
}
NOTHING_YET = {
    LEFT: LazyText("{count}, but nothing to our left yet"),
    RIGHT: LazyText("{count}, but nothing to our right yet"),
}
WEAK_SIDE = {
    LEFT: LazyText("{count}, only {side} to our left"),
    RIGHT: LazyText("{count}, only {side} to our right"),
}
#: How much less often he is right on the side that is named.
WEAKER_BY = 0.3
OF_SIDE = {LEFT: MissingForCan.LEFT, RIGHT: MissingForCan.RIGHT}


def reason(cell: Estimate, days: Days) -> LazyText:
    """The reason for a cell's state.

    What is missing for "knows it" is said in the order in which a coach can do something about it: a side that was
    never asked or missed last, another day, a fresh answer; that he is merely not sure enough comes last.
    """
    tally, short = cell.tally, cell.short
    if not tally.answered or tally.last_at is None:
        return LazyText("not asked yet")
    count = _count(tally.right, tally.answered)
    if cell.state is State.CAN:
        until = cell.sharp_until
        assert until is not None  # who knows it has a right answer
        days_right = tally.spacing.days
        return LazyText("{count} on {days} days; good until {day}", count=count, days=days_right, day=days(until))
    if cell.state is State.FADED:
        return LazyText("knew it, {count}; last asked {day}", count=count, day=days(tally.last_at))
    for side in SIDES:
        if OF_SIDE[side] in short and cell.state is State.NOT_PROVEN:
            _, answered = tally.by_side[SIDES.index(side)]
            return LazyText((LAST_MISSED if answered else NOTHING_YET)[side].template, count=count)
    weak = _weak_side(cell)
    if weak is not None:
        side, right, answered = weak
        return LazyText(WEAK_SIDE[side].template, count=count, side=_count(right, answered))
    if cell.state is State.CANNOT:
        return LazyText("{count}; enough is 8 of 10", count=count)
    if MissingForCan.DAYS in short and tally.right:
        if tally.right < tally.answered:
            return LazyText("{count}, but right on one day only", count=count)
        return LazyText("{count}, but all on one day", count=count)
    if MissingForCan.OLD in short:
        day = days(tally.spacing.last_right_at or tally.last_at)
        return LazyText("{count}, but the last one right was on {day}", count=count, day=day)
    return LazyText("{count}: not sure yet", count=count)


def _count(right: int, answered: int) -> LazyText:
    return LazyText("{right} of {answered} right", right=right, answered=answered)


def _weak_side(cell: Estimate) -> tuple[str, int, int] | None:
    """The side on which he is right much less often than on the other, when both were asked twice or more."""
    shares = [(right / answered, right, answered) for right, answered in cell.tally.by_side if answered >= 2]
    if cell.side is not None or len(shares) < len(SIDES):
        return None
    low, high = sorted(shares)
    if high[0] - low[0] < WEAKER_BY:
        return None
    return SIDES[shares.index(low)], low[1], low[2]
