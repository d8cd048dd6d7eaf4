"""The set form, filled in from what was typed, a set sent before, a day of practice, and where the players are. Knows
nothing of pages or football.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

from server.accounts.sessions import Viewer
from server.database.tables import Assignment, Member, PracticeDay, Purpose
from server.mastery.readout import board
from server.mastery.values import SIDES, STAGES, State
from server.playbook.noun_names import NounKind
from server.playbook.playbooks import Playbook, PositionWords
from server.progress.board import BoardCell, groups_of, to_cell
from server.progress.stages import most, stages_at
from server.progress.team_state import TeamState
from server.sets.assignment import DUE_FORMAT, USUAL_LENGTH, AssignmentFields, asked_positions
from server.sets.practice_days import next_due

NOON = time(12)
#: Asks to tick a whole position group, before its name.
GROUP = "group:"


@dataclass(frozen=True, slots=True)
class PlayerOption:
    """A player on the form: his cell on the call (None for an unknown call) and whether he is picked."""

    member: Member
    cell: BoardCell | None
    is_picked: bool


@dataclass(frozen=True, slots=True)
class GroupChoice:
    """A position group on the form: its positions, the players whose first position is in it, and whether all its
    positions are ticked."""

    name: str
    is_ticked: bool = False
    positions: list[PositionWords] = field(default_factory=list)
    players: list[PlayerOption] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Filled:
    """The form as shown. ``open_calls`` are those that what each needs is drawn from. ``at`` counts its players at each
    stage of the call; ``jobs`` lists the calls that have each position on the field."""

    fields: AssignmentFields
    call: str
    groups: list[GroupChoice]
    receivers: list[Member]
    behind: list[Member]
    at: dict[int, int]
    positions: tuple[str, ...]
    jobs: dict[str, list[str]]
    open_calls: list[str]

    @property
    def is_mixed(self) -> bool:
        """Whether it is for a set on what each needs."""
        return self.fields.mix == "1"

    @property
    def stages(self) -> list[int]:
        """The ticked stages that exist."""
        return [stage for stage in STAGES if str(stage) in self.fields.stages]

    @property
    def sides(self) -> list[str]:
        """The ticked sides that exist."""
        return [side for side in SIDES if side in self.fields.sides]

    @property
    def has_usual_stages(self) -> bool:
        """Whether the ticked stages are those that most players are at."""
        return bool(self.at) and self.stages == most(self.at)


def as_sent(one: Assignment, viewer: Viewer, playbook: Playbook, seen: Sequence[Member], due: str) -> AssignmentFields:
    """The fields of a set sent before, with a new due date, without what this coach can't send or no longer exists."""
    return AssignmentFields(
        call=one.call,
        mix="1" if one.is_mixed else "",
        positions=[p for p in one.positions if viewer.sees_group(playbook.group_of(p))],
        players=[member.id for member in seen if member.id in one.player_ids],
        stages=[str(stage) for stage in one.stages],
        sides=list(one.sides),
        purpose=one.purpose,
        length=str(one.length if one.purpose == Purpose.REPS else USUAL_LENGTH),
        due=due,
        is_weighted="1" if one.is_weighted else "",
        is_filled="1",
    )


def apply_day(
    day: PracticeDay, fields: AssignmentFields, zone: str, now: datetime, *, has_opponent: bool
) -> AssignmentFields:
    """The fields with the values of a day of practice; call, positions and players stay."""
    return fields.model_copy(
        update={
            "stages": [str(stage) for stage in day.stages],
            "sides": list(day.sides),
            "purpose": day.purpose,
            "length": str(day.length) if day.purpose == Purpose.REPS else fields.length or str(USUAL_LENGTH),
            "due": next_due(day.weekday, day.due, zone, now).strftime(DUE_FORMAT),
            "is_weighted": "1" if day.is_weighted and has_opponent else "0",
        }
    )


def default_due(zone: str, now: datetime) -> str:
    """Tomorrow at noon in the team's time zone, in the format of a `datetime-local` field."""
    local = now.astimezone(ZoneInfo(zone))
    return datetime.combine(local.date() + timedelta(days=1), NOON).strftime(DUE_FORMAT)


def fill(
    fields: AssignmentFields,
    playbook: Playbook,
    viewer: Viewer,
    seen: Sequence[Member],
    team_state: TeamState,
    now: datetime,
    *,
    has_opponent: bool,
    open_calls: Sequence[str] = (),
) -> Filled:
    """The form with these fields; when it is shown for the first time, empty ones get defaults."""
    own = [p for p in playbook.positions if viewer.sees_group(p.group)]
    typed = fields.call.strip() or playbook.calls[0]
    call = playbook.find_key(NounKind.CALL, typed) or typed
    is_new = not fields.is_filled
    if is_new:
        fields = fields.model_copy(
            update={
                "positions": fields.positions or first_positions(fields, own, seen, playbook, viewer),
                "sides": fields.sides or list(SIDES),
                "length": fields.length or str(USUAL_LENGTH),
                "due": fields.due or default_due(viewer.team.time_zone, now),
                "is_weighted": fields.is_weighted or ("1" if has_opponent else ""),
            }
        )
    is_mixed = fields.mix == "1"
    asked = playbook.calls if is_mixed else [call]
    in_call = [p for p in own if any(playbook.has_job(one, [p.key]) for one in asked)]
    if fields.pick.startswith(GROUP):
        fields = toggle_group(fields.pick.removeprefix(GROUP), in_call, fields)
    cells = {} if is_mixed else cells_on(call, playbook, seen, team_state, now)
    on_field = [p for p in fields.positions if any(playbook.has_job(one, [p]) for one in asked)]
    behind = [m for m in players_at(on_field, seen) if m.id in cells and cells[m.id].state is not State.CAN]
    if fields.pick == "behind":
        fields = fields.model_copy(update={"players": [member.id for member in behind]})
    elif fields.pick == "nobody":
        fields = fields.model_copy(update={"players": []})
    picked = [member for member in seen if member.id in fields.players]
    receivers = picked or players_at(on_field, seen)
    known = [p.key for p in own if p.key in on_field]
    at = {}
    if call in playbook.calls and not is_mixed:
        at = stages_at(playbook, team_state, call, receivers, known)
    if not is_mixed and (fields.pick == "stages" or (is_new and not fields.stages)):
        fields = fields.model_copy(update={"stages": [str(stage) for stage in usual_stages(at, fields.purpose)]})
    positions = asked_positions(picked, known, playbook, viewer) if picked else tuple(known)
    jobs = {p.key: [one for one in playbook.calls if playbook.has_job(one, [p.key])] for p in own}
    groups = group_choices(own, in_call, seen, playbook, cells, fields)
    return Filled(fields, call, groups, receivers, behind, at, positions, jobs, list(open_calls))


def first_positions(
    fields: AssignmentFields, own: Sequence[PositionWords], seen: Sequence[Member], playbook: Playbook, viewer: Viewer
) -> list[str]:
    """The positions ticked at first: those of the picked players, of the named group, or all of this coach's."""
    picked = [member for member in seen if member.id in fields.players]
    if picked:
        return list(asked_positions(picked, (), playbook, viewer))
    of_group = [p.key for p in own if p.group == fields.group]
    return of_group or [p.key for p in own]


def usual_stages(at: dict[int, int], purpose: str) -> list[int]:
    """The stages ticked at first: where most players are; in a check, all up to there. All when no player is at any.

    Rejected: all stages (the last ones are not taught yet in August); the stages of the last set (nobody may have
    answered it).
    """
    if not at:
        return list(STAGES)
    return [stage for stage in STAGES if stage <= max(most(at))] if purpose == Purpose.CHECK else most(at)


def players_at(positions: Sequence[str], seen: Sequence[Member]) -> list[Member]:
    """The players of these positions."""
    return [member for member in seen if set(member.positions) & set(positions)]


def cells_on(
    call: str, playbook: Playbook, seen: Sequence[Member], team_state: TeamState, now: datetime
) -> dict[str, BoardCell]:
    """Each player's cell on a call, as on the board; empty for an unknown call."""
    if call not in playbook.calls:
        return {}
    found = board(team_state.state, [m.id for m in seen], [call], team_state.seconds(now), team_state.settings)
    return {player: to_cell(estimate) for (player, _), estimate in found.items()}


def is_ticked(group: str, in_call: Sequence[PositionWords], fields: AssignmentFields) -> bool:
    """Whether all positions of a group that the call has are ticked."""
    keys = [p.key for p in in_call if p.group == group]
    return bool(keys) and all(key in fields.positions for key in keys)


def toggle_group(group: str, in_call: Sequence[PositionWords], fields: AssignmentFields) -> AssignmentFields:
    """The fields with all positions of a group that the call has ticked, or with none when all are."""
    keys = [p.key for p in in_call if p.group == group]
    rest = [key for key in fields.positions if key not in keys]
    return fields.model_copy(update={"positions": rest if is_ticked(group, in_call, fields) else [*rest, *keys]})


def group_choices(
    own: Sequence[PositionWords],
    in_call: Sequence[PositionWords],
    seen: Sequence[Member],
    playbook: Playbook,
    cells: dict[str, BoardCell],
    fields: AssignmentFields,
) -> list[GroupChoice]:
    """This coach's groups in the team's order, each with its positions and players."""
    groups = {p.group: GroupChoice(p.group, is_ticked(p.group, in_call, fields)) for p in own}
    for position in own:
        groups[position.group].positions.append(position)
    for member in seen:
        mine = next((name for name in groups_of(member, playbook) if name in groups), None)
        if mine is not None:
            groups[mine].players.append(PlayerOption(member, cells.get(member.id), member.id in fields.players))
    return list(groups.values())
