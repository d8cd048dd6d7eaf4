"""Stages of a call, by side, that a player has yet to show: on a page, "pulls: not yet from the left".

The rule is mild: one recent right answer at a stage from a side is enough. *Can* is judged over the whole call, so
these are hints, not verdicts. Knows nothing of a page's wording.
"""

from dataclasses import dataclass
from enum import StrEnum

from server.mastery.readout import cell_chances
from server.mastery.replay import CallAnswer, MasteryState
from server.mastery.values import DAY_S, SIDES, STAGES, StateRules, TeamSettings


class MissingReason(StrEnum):
    """Why a stage counts as not shown from a side."""

    NEVER = "never asked"
    WRONG = "last answer wrong"
    OLD = "last answer too long ago"


@dataclass(frozen=True, slots=True)
class MissingStage:
    """A stage that he has yet to show from a side.

    `right` of his `answered` answers there were right, the last at `last_at` (seconds; None: no answer). `share` is the
    part of the call's situations that fall there against the next opponent, `chance` the chance that he knows it.
    """

    stage: int
    side: str
    why: MissingReason
    right: int
    answered: int
    last_at: float | None
    share: float
    chance: float


def missing_stages(
    state: MasteryState, player: str, call: str, now: float, settings: TeamSettings
) -> tuple[MissingStage, ...]:
    """What a player has yet to show of a call, most important first; stages without weight are left out.

    Raises: MasteryError when `now` is before his last answer.
    """
    chances = cell_chances(state, player, [call], now)
    record = state.record_of(player, call)
    found = []
    for stage, weight in zip(STAGES, settings.weights(), strict=True):
        for side in SIDES:
            shown = record.select(stage, side) if record else []
            why = _why(shown, now, settings.rules)
            if weight > 0 and why is not None:
                last_at = shown[-1].at if shown else None
                right = sum(one.right for one in shown)
                found.append(
                    MissingStage(stage, side, why, right, len(shown), last_at, weight / 2, chances[call, stage, side])
                )
    return tuple(sorted(found, key=lambda one: (-one.share * (1.0 - one.chance), one.stage, one.side)))


def _why(shown: list[CallAnswer], now: float, rules: StateRules) -> MissingReason | None:
    if not shown:
        return MissingReason.NEVER
    if not shown[-1].right:
        return MissingReason.WRONG
    return MissingReason.OLD if now - shown[-1].at > rules.hint_days * DAY_S else None
