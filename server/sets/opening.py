"""Opening a sent set: the player's copy is laid out once, when his home first loads it or when he starts it.

His home loads what is due as soon as he sees it, so that a set can be started without signal. Rejected: laying out a
copy on the phone (it would need the catalogue, with its answers). Knows nothing of pages.
"""

from __future__ import annotations

from datetime import datetime

from server.database.store import TeamSession
from server.database.tables import Member
from server.database.write_queue import WriteQueue
from server.playbook.playbooks import Playbook
from server.progress.team_state import TeamState
from server.sets.check_sessions import state_on
from server.sets.opened_calls import opened_calls
from server.sets.player_sets import SetProgress, progress_of
from server.sets.set_layout import Opened, lay_out, missing_reps, store_opened


def open_set(
    writes: WriteQueue, playbook: Playbook, team_state: TeamState, done: SetProgress, member: Member, now: datetime
) -> SetProgress:
    """Lay out and store a player's copy of a set that he has not opened yet.

    Raises: Expired; BadInput when there are no reps for him.
    """
    assignment = done.assignment
    opened: Opened = {}
    if assignment.is_mixed:
        with writes.store.read(member.team_id) as t:
            opened = opened_calls(t, member, team_state.state, playbook.calls)
    rows = lay_out(playbook, assignment, member, team_state, opened, now)
    with writes.store.read(member.team_id) as t:
        missing = missing_reps(t, rows)
    shown = playbook.snapshots(member.team_id, missing, now)
    before = ""
    if not assignment.is_mixed:
        before = state_on(team_state, member.id, assignment.call, team_state.seconds(now)).value

    def store(t: TeamSession) -> SetProgress:
        store_opened(t, assignment, member.id, shown, rows, now, before)
        return progress_of(t, assignment, member.id)

    return writes.write(member.team_id, store)
