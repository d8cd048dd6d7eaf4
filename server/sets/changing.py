"""Changing a set that was sent: who gets it, how many reps, due when; and what that will do, before it is done.

What was answered stays and counts. A player who is let off keeps his answers, and those that his phone still holds are
stored when they come. Fewer reps: what is not answered is no longer asked. More reps: they are added for all who have
not finished. Knows nothing of pages or football.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from server.accounts.members import write_audit
from server.accounts.sessions import Viewer
from server.database.store import TeamSession
from server.database.tables import Assignment, KeptRep, Member, Purpose, SetRep
from server.errors import BadInput
from server.playbook.playbooks import Playbook
from server.progress.team_state import TeamState
from server.sets.assignment import (
    DUE_FORMAT,
    AssignmentFields,
    AssignmentOrder,
    check_due,
    check_order,
    parse_due,
    parse_length,
)
from server.sets.opened_calls import opened_calls
from server.sets.player_sets import SetProgress, is_for
from server.sets.set_layout import add_reps, missing_reps


@dataclass(frozen=True, slots=True)
class SetChange:
    """What a change does: from and to what, who gets it now and who no longer, of those how many answered something
    (``answers`` in all), how many go on with more or fewer reps, and whether it brings a set back."""

    order: AssignmentOrder
    due_was: datetime
    length_was: int
    players: int
    joined: tuple[Member, ...]
    let_off: tuple[Member, ...]
    answers: int
    unfinished: int
    is_back: bool

    @property
    def has_new_due(self) -> bool:
        """Whether it is due at another time."""
        return self.order.due_at != self.due_was

    @property
    def has_new_length(self) -> bool:
        """Whether it has more or fewer reps for somebody."""
        return self.order.length != self.length_was

    @property
    def is_nothing(self) -> bool:
        """Whether all stays as it is."""
        return not (self.has_new_due or self.has_new_length or self.joined or self.let_off or self.is_back)


def fields_of(one: Assignment, fields: AssignmentFields, zone: str) -> AssignmentFields:
    """The fields of a change, those not sent as the set has them."""
    own: dict[str, object] = {
        "call": one.call,
        "mix": "1" if one.is_mixed else "",
        "stages": [str(stage) for stage in one.stages],
        "sides": list(one.sides),
        "purpose": one.purpose,
        "length": fields.length or str(one.length),
        "due": fields.due or one.due_at.astimezone(ZoneInfo(zone)).strftime(DUE_FORMAT),
        "is_weighted": "1" if one.is_weighted else "",
    }
    if not fields.is_filled:
        own |= {"positions": list(one.positions), "players": list(one.player_ids), "is_filled": "1"}
    return fields.model_copy(update=own)


def plan_change(
    one: Assignment,
    fields: AssignmentFields,
    viewer: Viewer,
    playbook: Playbook,
    seen: Sequence[Member],
    copies: Mapping[str, SetProgress],
    now: datetime,
) -> SetChange:
    """What these fields would change. ``copies`` are the opened ones by player. Raises: BadInput naming the first
    problem."""
    was = one.due_at.astimezone(ZoneInfo(viewer.team.time_zone)).strftime(DUE_FORMAT)
    due = one.due_at if fields.due[:16] == was else parse_due(fields.due, viewer.team.time_zone)
    purpose = Purpose(one.purpose)
    order = AssignmentOrder(
        one.call,
        tuple(dict.fromkeys(fields.positions)),
        tuple(one.stages),
        tuple(one.sides),
        parse_length(fields.length, purpose) if purpose is Purpose.REPS else one.length,
        check_due(due, now),
        purpose,
        tuple(dict.fromkeys(player for player in fields.players if player in {m.id for m in seen})),
        is_mixed=one.is_mixed,
    )
    if (list(order.positions), list(order.players)) != (list(one.positions), list(one.player_ids)):
        order = check_order(order, playbook, viewer, seen, has_opponent=True)
    after = Assignment(
        team_id=one.team_id,
        id=one.id,
        call=one.call,
        positions=list(order.positions),
        player_ids=list(order.players),
        length=order.length,
        due_at=order.due_at,
        created_at=one.created_at,
        created_by=one.created_by,
    )
    had, gets = ({m.id: m for m in seen if is_for(which, m)} for which in (one, after))
    if not gets:
        raise BadInput("players: nobody would be left in this set; call it back instead")
    lost = tuple(m for key, m in had.items() if key not in gets)
    return SetChange(
        order,
        one.due_at,
        one.length,
        len(gets),
        tuple(m for key, m in gets.items() if key not in had),
        lost,
        sum(copies[m.id].answered for m in lost if m.id in copies),
        sum(not (key in copies and copies[key].is_finished) for key in gets),
        one.closed_at is not None,
    )


@dataclass(frozen=True, slots=True)
class MoreReps:
    """What a player's copy gets when the set is made longer."""

    member_id: str
    rows: list[SetRep]
    shown: list[KeptRep]


def plan_more_reps(
    t: TeamSession,
    one: Assignment,
    change: SetChange,
    seen: Sequence[Member],
    copies: Mapping[str, SetProgress],
    playbook: Playbook,
    team_state: TeamState,
    now: datetime,
) -> list[MoreReps]:
    """The reps to add to the copies of those who have opened the set, are still in it and have not finished."""
    by_id = {member.id: member for member in seen}
    off = {member.id for member in change.let_off}
    found: list[MoreReps] = []
    for member_id, done in copies.items():
        if member_id not in by_id or member_id in off or done.is_finished or done.is_check:
            continue
        member = by_id[member_id]
        opened = opened_calls(t, member, team_state.state, playbook.calls) if one.is_mixed else {}
        rows = add_reps(playbook, one, member, team_state, done, change.order.length, opened, now)
        if rows:
            found.append(MoreReps(member_id, rows, playbook.snapshots(t.team_id, missing_reps(t, rows), now)))
    return found


def apply_change(
    t: TeamSession, viewer: Viewer, one: Assignment, change: SetChange, more: Sequence[MoreReps], now: datetime
) -> None:
    """Store a change, with the added reps."""
    order, off = change.order, {member.id for member in change.let_off}
    back = {member.id for member in change.joined}
    one.positions, one.player_ids = list(order.positions), list(order.players)
    one.let_off = [*(player for player in one.let_off if player not in back), *sorted(off - set(one.let_off))]
    one.length, one.due_at, one.closed_at = order.length, order.due_at, None
    t.add(one)
    for copy in more:
        for rep in copy.shown:
            t.add_once(rep)
        for row in copy.rows:
            t.add_once(row)
    write_audit(t, viewer.member.id, "changed a set", one.id, now)
