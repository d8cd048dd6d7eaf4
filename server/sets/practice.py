"""A player's own page: his calls, which fade, which to keep sharp; and practice that he starts himself.

A practice is a set like any other, for one player: its answers count, it never comes before a coach's set, and it is in
no coach's list. Rejected: a mode whose answers don't count (what he shows there is
what he knows). Knows nothing of pages or of how the model works.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from enum import StrEnum

from sqlmodel import col

from server.accounts.credentials import make_id
from server.database.store import TeamSession
from server.database.tables import Assignment, Member, Purpose
from server.database.write_queue import WriteQueue
from server.errors import BadInput, NotFound
from server.i18n.lazy_text import LazyText
from server.mastery.missing_stages import MissingReason, missing_stages
from server.mastery.picker import open_stages
from server.mastery.readout import Estimate, board
from server.mastery.values import DAY_S, SIDES, State
from server.opponents.tendencies import find_next
from server.playbook.noun_names import NounKind
from server.playbook.playbooks import Playbook
from server.progress.team_state import TeamState
from server.sets.distance import MOST_STEPS, CallDistance, distance_of
from server.sets.opened_calls import opened_calls
from server.sets.player_sets import SetProgress, is_over, own_copies, progress_of
from server.sets.set_layout import lay_out, missing_reps, store_opened

LENGTHS = (4, 6, 8)
SHORTEST = LENGTHS[0]
MAX_OPEN = 3
KEPT_DAYS = 7
KEEP_SHARP_DAYS = 3
MISSING_SHOWN = 2


class OwnCallState(StrEnum):
    """A player's state on a call, in the words shown to him."""

    OWNED = "owned"
    KEEP_SHARP = "keep sharp"
    FADING = "fading"
    COMING = "coming"
    NOT_YET = "not yet"
    NEW = "new"


#: The order in which calls are suggested for practice.
OFFERED = (OwnCallState.FADING, OwnCallState.KEEP_SHARP, OwnCallState.NOT_YET, OwnCallState.COMING, OwnCallState.NEW)


@dataclass(frozen=True, slots=True)
class StageToShow:
    """A stage of a call that he still has to show, and from which side (empty: both); ``is_old``: he had it right last,
    but not recently."""

    stage: int
    side: str
    is_old: bool


@dataclass(frozen=True, slots=True)
class OwnCall:
    """A call that is open to him. ``last_at`` is None without an answer; ``until`` is the day by which an owned call
    wants a few reps, None when that is not soon."""

    call: str
    stand: OwnCallState
    right: int
    answered: int
    last_at: datetime | None
    until: datetime | None
    to_show: tuple[StageToShow, ...]
    distance: CallDistance


def own_calls(
    opened: Mapping[str, Collection[int]], member: Member, team_state: TeamState, now: datetime
) -> list[OwnCall]:
    """The player's state on each of these calls, in their order."""
    state, settings, now_s = team_state.state, team_state.settings, team_state.seconds(now)
    found = board(state, [member.id], list(opened), now_s, settings)
    estimates = [found[member.id, call] for call in opened]
    owned = [one.call for one in estimates if one.state is State.CAN]
    until = due_again(team_state, member, owned, now_s)
    return [
        OwnCall(
            one.call,
            to_stand(one, is_due=one.call in until),
            one.right,
            one.answered,
            None if one.last_at is None else datetime.fromtimestamp(one.last_at, UTC),
            until.get(one.call),
            () if one.state is State.CAN else still_to_show(team_state, member, one.call, opened[one.call], now_s),
            distance_of(team_state, member, one.call, opened[one.call], now_s, one.state),
        )
        for one in estimates
    ]


def due_again(team_state: TeamState, member: Member, owned: Sequence[str], now_s: float) -> dict[str, datetime]:
    """The owned calls that will no longer be owned within days, by time alone, each with the day."""
    found: dict[str, datetime] = {}
    for days in range(1, KEEP_SHARP_DAYS + 1):
        then = now_s + days * DAY_S
        for (_, call), one in board(team_state.state, [member.id], list(owned), then, team_state.settings).items():
            if one.state is not State.CAN:
                found.setdefault(call, datetime.fromtimestamp(then, UTC))
    return found


def to_stand(one: Estimate, *, is_due: bool) -> OwnCallState:
    """A state in the words shown to the player."""
    if one.state is State.CAN:
        return OwnCallState.KEEP_SHARP if is_due else OwnCallState.OWNED
    if not one.answered:
        return OwnCallState.NEW
    return {State.FADED: OwnCallState.FADING, State.CANNOT: OwnCallState.NOT_YET}.get(one.state, OwnCallState.COMING)


def still_to_show(
    team_state: TeamState, member: Member, call: str, opened: Collection[int], now_s: float
) -> tuple[StageToShow, ...]:
    """The open stages that he missed last or has not had recently, the most important first."""
    stages = open_stages(team_state.state, member.id, call, opened)
    missing = [
        one
        for one in missing_stages(team_state.state, member.id, call, now_s, team_state.settings)
        if one.stage in stages and one.why is not MissingReason.NEVER
    ]
    found = []
    for stage in dict.fromkeys(one.stage for one in missing):
        own = [one for one in missing if one.stage == stage]
        side = "" if len(own) == len(SIDES) else own[0].side
        found.append(StageToShow(stage, side, is_old=all(one.why is MissingReason.OLD for one in own)))
    return tuple(found[:MISSING_SHOWN])


def nearest_first(calls: Sequence[OwnCall]) -> list[OwnCall]:
    """The calls by what is missing, those he owns last."""
    far = len(SIDES) * MOST_STEPS

    def order(one: OwnCall) -> tuple[bool, int, float]:
        more = far if one.distance.more is None else one.distance.more
        return one.stand is OwnCallState.OWNED, more, -sum(side.now for side in one.distance.sides)

    return sorted(calls, key=order)


def suggest_call(calls: Sequence[OwnCall]) -> OwnCall | None:
    """The call to practice when nothing is due, in the order of ``OFFERED``; among equals the one answered longest ago;
    None when there is none."""
    ranked = [one for one in calls if one.stand in OFFERED]
    long_ago = datetime.min.replace(tzinfo=UTC)
    return min(ranked, key=lambda one: (OFFERED.index(one.stand), one.last_at or long_ago), default=None)


# Free practice --------------------------------------------------------------------------------------------------------


def is_practice(assignment: Assignment) -> bool:
    """Whether a set is a player's own practice."""
    return assignment.purpose == Purpose.PRACTICE


def open_practices(t: TeamSession, member: Member, now: datetime) -> list[SetProgress]:
    """The player's practices that he can continue, the newest first."""
    mine = (col(Assignment.purpose) == Purpose.PRACTICE, col(Assignment.created_by) == member.id)
    rows = t.rows(Assignment, *mine, col(Assignment.due_at) > now, order_by=(col(Assignment.created_at).desc(),))
    copies = own_copies(t, [one for one in rows if not is_over(one, now)], member.id)
    return [done for one in rows if (done := copies.get(one.id)) and not done.is_finished]


def check_practice(
    practices: Sequence[SetProgress], call: str, opened: Collection[str], playbook: Playbook
) -> SetProgress | None:
    """The practice already open on that call; None when a new one may begin.

    Raises: BadInput when the call is not open to him, or he has too many practices.
    """
    if call not in opened:
        raise BadInput(
            LazyText(
                "{call} is not open to you yet. It is once your coach has sent you a set on it.",
                call=playbook.name(NounKind.CALL, call),
            ),
        )
    for one in practices:
        if one.assignment.call == call:
            return one
    if len(practices) >= MAX_OPEN:
        names = ", ".join(playbook.names(NounKind.CALL, (one.assignment.call for one in practices)))
        raise BadInput(
            LazyText(
                "You have {count} practices open: {names}. Finish one of them first.", count=len(practices), names=names
            )
        )
    return None


def drop(writes: WriteQueue, member: Member, set_id: str, now: datetime) -> None:
    """End a player's own practice that he doesn't want to finish; its answers stay. Raises: NotFound."""

    def close(t: TeamSession) -> None:
        one = t.find(Assignment, set_id)
        if one is None or not is_practice(one) or one.created_by != member.id:
            raise NotFound("There is no such practice of yours.")
        if one.closed_at is None:
            one.closed_at = now
            t.add(one)

    writes.write(member.team_id, close)


def make_practice(
    t: TeamSession, member: Member, call: str, stages: Collection[int], length: int, now: datetime
) -> Assignment:
    """A new practice for one player, not stored yet."""
    return Assignment(
        team_id=t.team_id,
        id=make_id(),
        call=call,
        positions=list(member.positions),
        stages=sorted(stages),
        sides=list(SIDES),
        length=length,
        purpose=Purpose.PRACTICE,
        player_ids=[member.id],
        is_weighted=find_next(t) is not None,
        due_at=now + timedelta(days=KEPT_DAYS),
        created_at=now,
        created_by=member.id,
    )


def begin(
    writes: WriteQueue, playbook: Playbook, team_state: TeamState, member: Member, call: str, length: int, now: datetime
) -> SetProgress:
    """Begin a practice on a call, or continue the open one. Raises: BadInput."""
    call = playbook.check_call(call)
    if length not in LENGTHS:
        raise BadInput(LazyText("length: expected one of {known} reps, found {found}", known="4, 6, 8", found=length))
    with writes.store.read(member.team_id) as t:
        opened = opened_calls(t, member, team_state.state, playbook.calls)
        there = check_practice(open_practices(t, member, now), call, opened, playbook)
        if there is not None:
            return there
        stages = open_stages(team_state.state, member.id, call, opened[call])
        practice = make_practice(t, member, call, stages, length, now)
    rows = lay_out(playbook, practice, member, team_state, opened, now)
    with writes.store.read(member.team_id) as t:
        missing = missing_reps(t, rows)
    shown = playbook.snapshots(member.team_id, missing, now)

    def store(t: TeamSession) -> SetProgress:
        there = check_practice(open_practices(t, member, now), call, opened, playbook)
        if there is None:
            t.add(practice)
            store_opened(t, practice, member.id, shown, rows, now)
        return there or progress_of(t, practice, member.id)

    return writes.write(member.team_id, store)
