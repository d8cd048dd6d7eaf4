"""The state of a player on a call, from his own answers, the estimate and the time.

What doesn't depend on the time is computed once (`tally_of`), so that refreshing a board only compares numbers. Knows
nothing of how the estimate is made or how a page words it.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from enum import StrEnum

from server.mastery.cells import cell_shares, p_can
from server.mastery.replay import PartOf, Record, Spacing, last_right, spacing_of
from server.mastery.values import DAY_S, LEFT, RIGHT, SIDES, State, StateRules, TeamSettings


class MissingForCan(StrEnum):
    """What is still missing for *can*."""

    ESTIMATE = "not sure enough"
    DAYS = "not right on two days yet"
    LEFT = "last answer from the left not right"
    RIGHT = "last answer from the right not right"
    OLD = "last right answer too long ago"


_OF_SIDE = {LEFT: MissingForCan.LEFT, RIGHT: MissingForCan.RIGHT}


@dataclass(frozen=True, slots=True)
class Tally:
    """What the state needs from a player's own answers on a part of a call.

    `answered` and `right` count all of them, `by_side` is (right, answered) per side; `last_at` is the time of the last
    (seconds; None when there is none). `is_missed`: one of the last few was wrong; `is_enough_to_miss`: enough answers
    on enough snaps for *can't*; `open_sides`: sides without an answer, or where the last one was wrong. `p_by_time`
    maps a time (seconds) to P(can) as if he had not answered since he last met the bar for *can*; None when he never
    met it, or missed since.
    """

    answered: int
    right: int
    by_side: tuple[tuple[int, int], ...]
    last_at: float | None
    spacing: Spacing
    is_missed: bool
    is_enough_to_miss: bool
    open_sides: tuple[MissingForCan, ...]
    p_by_time: Callable[[float], float] | None = field(compare=False)


def tally_of(record: Record | None, part: PartOf, settings: TeamSettings) -> Tally:
    """The tally of a player's answers on a call, or on a part of it. `record` None: no answers."""
    rules, (_, side) = settings.rules, part
    shown = record.select(*part) if record else []
    of_sides = [[one.right for one in shown if one.side == each] for each in SIDES]
    spacing = spacing_of(shown, rules)
    return Tally(
        len(shown),
        sum(one.right for one in shown),
        tuple((sum(own), len(own)) for own in of_sides),
        shown[-1].at if shown else None,
        spacing,
        not all(one.right for one in shown[-rules.last_few :]),
        len(shown) >= rules.cannot_answers and len({one.snap for one in shown}) >= rules.cannot_snaps,
        tuple(_OF_SIDE[one] for one in SIDES if side in (None, one) and not last_right(shown, one)),
        _p_by_time(record, part, spacing, settings),
    )


def _p_by_time(
    record: Record | None, part: PartOf, spacing: Spacing, settings: TeamSettings
) -> Callable[[float], float] | None:
    proof = record.proofs.get(part) if record else None
    if proof is None:
        return None
    shares = cell_shares(settings.weights(part[0]), part[1])

    def at(now: float) -> float:
        then, _, _ = p_can(*proof.cells(now, spacing.slower(settings.rules)), shares, settings.rules.known_share)
        return float(then[0])

    return at if at(proof.at) >= settings.rules.can_at else None


def missing_for_can(tally: Tally, p: float, now: float, rules: StateRules) -> Iterable[MissingForCan]:
    """What is missing for *can* at `now` (seconds), given P(can) `p`."""
    if p < rules.can_at:
        yield MissingForCan.ESTIMATE
    if tally.spacing.days < rules.can_days:
        yield MissingForCan.DAYS
    yield from tally.open_sides
    if _is_old(tally, now):
        yield MissingForCan.OLD


def _is_old(tally: Tally, now: float) -> bool:
    until = tally.spacing.sharp_until()
    return until is not None and now > until


def state_of(tally: Tally, p: float, short: tuple[MissingForCan, ...], now: float, rules: StateRules) -> State:
    """The state at `now` (seconds), given P(can) `p` and what is missing for *can*."""
    if not short:
        return State.CAN
    is_sure = p <= rules.cannot_at and tally.is_missed and tally.is_enough_to_miss
    if is_sure and tally.last_at is not None and now - tally.last_at <= rules.cannot_days * DAY_S:
        return State.CANNOT
    return State.FADED if _faded_by_time(tally, short, now, rules) else State.NOT_PROVEN


def _faded_by_time(tally: Tally, short: tuple[MissingForCan, ...], now: float, rules: StateRules) -> bool:
    """Whether he was *can* and lost it only because time passed."""
    # Misses on another call lower the estimate too; that is "not proven", not "faded". Rejected: faded for anyone who
    # was *can* before (eight misses on one call made four others "fade" the same minute).
    if tally.p_by_time is None:
        return False
    return MissingForCan.OLD in short or tally.p_by_time(now) < rules.can_at
