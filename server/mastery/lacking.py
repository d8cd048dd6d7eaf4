"""Stages of a call, from a side, that a player has yet to show: what a page says as "pulls: not yet from the left".

One right answer of the last weeks at a stage from a side is the least that can be asked there; *can* is judged over the
whole call, so these are leads, not verdicts. Must not know: the words of a page.
"""

from dataclasses import dataclass
from enum import StrEnum

from server.mastery.readout import cell_chances
from server.mastery.replay import MasteryState, Shown
from server.mastery.values import DAY_S, SIDES, STAGES, StateRules, TeamSettings


class Lack(StrEnum):
    """Why a stage from a side is not shown yet."""

    NEVER = "never asked"
    WRONG = "last answer wrong"
    OLD = "last answer too long ago"


@dataclass(frozen=True, slots=True)
class Lacking:
    """A stage from a side that he has yet to show.

    `right` of `answered` own answers there, the last at `last_at` (seconds; None when there is none); `share` of the
    call's situations that lie there against the next opponent, `chance` of knowing it.
    """

    stage: int
    side: str
    why: Lack
    right: int
    answered: int
    last_at: float | None
    share: float
    chance: float


def lacking(state: MasteryState, player: str, call: str, now: float, settings: TeamSettings) -> tuple[Lacking, ...]:
    """What a player has yet to show of a call, what matters most first; stages without weight are left out.

    Raises: MasteryError when `now` lies before his last answer.
    """
    chances = cell_chances(state, player, [call], now)
    record = state.records.get(player, {}).get(call)
    found = []
    for stage, weight in zip(STAGES, settings.weights(), strict=True):
        for side in SIDES:
            shown = record.of(stage, side) if record else []
            why = _why(shown, now, settings.rules)
            if weight > 0 and why is not None:
                last_at = shown[-1].at if shown else None
                right = sum(one.right for one in shown)
                found.append(
                    Lacking(stage, side, why, right, len(shown), last_at, weight / 2, chances[call, stage, side])
                )
    return tuple(sorted(found, key=lambda one: (-one.share * (1.0 - one.chance), one.stage, one.side)))


def _why(shown: list[Shown], now: float, rules: StateRules) -> Lack | None:
    if not shown:
        return Lack.NEVER
    if not shown[-1].right:
        return Lack.WRONG
    return Lack.OLD if now - shown[-1].at > rules.recent_days * DAY_S else None
