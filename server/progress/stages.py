"""The stage of a call that players are at, by their answers and by what their positions can be asked.

A position that has no rep at a stage starts at the next one that has. Knows nothing of pages.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Sequence

from server.database.tables import Member
from server.mastery.picker import open_stages
from server.playbook.playbooks import Playbook
from server.progress.team_state import TeamState


def stages_at(
    playbook: Playbook, team_state: TeamState, call: str, members: Sequence[Member], positions: Collection[str]
) -> dict[int, int]:
    """How many of these players are at each stage of a call, by those of these positions that they play (by all of
    theirs when they play none of them). Players who can be asked nothing are not counted."""
    has, found = playbook.stages_of(call), Counter[int]()
    for member in members:
        own = [p for p in member.positions if p in positions] or member.positions
        stage = stage_at(team_state, call, member.id, {stage for p in own for stage in has.get(p, ())})
        if stage is not None:
            found[stage] += 1
    return dict(sorted(found.items()))


def stage_at(team_state: TeamState, call: str, player: str, has: Collection[int]) -> int | None:
    """The last stage open to a player on a call among those that have reps; None when none has."""
    if not has:
        return None
    return max(open_stages(team_state.state, player, call, [min(has)]) & set(has))


def most(at: dict[int, int]) -> list[int]:
    """The stages that most players are at; several in a tie."""
    return [stage for stage, count in at.items() if count == max(at.values())]
