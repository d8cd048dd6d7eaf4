"""Which calls, and which of their stages, are open to a player.

A call is open to him once a set on it was sent to him, or he has answered one; so is a stage, or once he had the stage
before it right from both sides. Knows nothing of pages or football.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence

from sqlmodel import col

from server.database.store import TeamSession
from server.database.tables import NOT_SENT, Assignment, Member
from server.mastery.replay import MasteryState
from server.sets.player_sets import is_for


def calls_in_use(t: TeamSession, state: MasteryState, calls: Sequence[str]) -> list[str]:
    """The calls, in the team's order, that a set was sent on or somebody has answered."""
    rows = t.values(Assignment, Assignment.call, where=(col(Assignment.purpose).not_in(NOT_SENT),))
    used = {str(call) for (call,) in rows} | {call for own in state.records.values() for _, call in own}
    return [call for call in calls if call in used]


def opened_calls(t: TeamSession, member: Member, state: MasteryState, calls: Collection[str]) -> dict[str, set[int]]:
    """The calls open to a player, in the team's order, each with the stages that his coach has opened."""
    mine = [one for one in t.rows(Assignment, col(Assignment.purpose).not_in(NOT_SENT)) if is_for(one, member)]
    sent: dict[str, set[int]] = {}
    for one in mine:
        if one.is_mixed:  # it asks what is open already
            continue
        sent.setdefault(one.call, set()).update(one.stages)
    answered = {call for _, call in state.records.get(member.id, {})}
    return {call: sent.get(call, set()) for call in calls if call in sent or call in answered}
