"""At which stage of a call players are: from what they have answered, and from what their positions can be asked.

A position that has nothing to be asked at a stage starts at the next one that it has. It must not know pages.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Sequence

from server.mastery.picker import open_stages
from server.mastery.values import SIDES, STAGES
from server.playbooks import Playbook
from server.standing import Standing
from server.tables import Member


async def stages_at(
    playbook: Playbook, standing: Standing, call: str, members: Sequence[Member], positions: Collection[str]
) -> dict[int, int]:
    """How many of these players are at each stage of a call, for those of these positions that they play (all of theirs
    when they play none of them). Who can be asked nothing at all is not counted."""
    found: Counter[int] = Counter()
    for member in members:
        own = [p for p in member.positions if p in positions] or member.positions
        stage = await stage_at(playbook, standing, call, member.id, own)
        if stage is not None:
            found[stage] += 1
    return dict(sorted(found.items()))


async def stage_at(
    playbook: Playbook, standing: Standing, call: str, player: str, positions: Sequence[str]
) -> int | None:
    """The last stage that is open to a player on a call and has something to ask; None when none has."""
    first = await first_stage(playbook, call, positions, STAGES)
    if first is None:
        return None
    open_now = sorted(open_stages(standing.state, player, call, [first]), reverse=True)
    return await first_stage(playbook, call, positions, open_now)


async def first_stage(playbook: Playbook, call: str, positions: Sequence[str], stages: Sequence[int]) -> int | None:
    """The first of these stages at which one of these positions can be asked something; None when there is none."""
    for stage in stages:
        for position in positions:
            for side in SIDES:  # one after the other, since most have something to ask from the first
                if await playbook.pool(call, [position], [stage], [side.value]):
                    return stage
    return None


def most(at: dict[int, int]) -> list[int]:
    """The stage that most are at; several when as many are at each of them."""
    return [stage for stage, count in at.items() if count == max(at.values())]
