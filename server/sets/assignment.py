"""A set that a coach assigns: parsed from the form, checked against the team, sent.

Every refusal names the field, what was found and what was expected. Knows nothing of pages or football.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Annotated, TypeVar
from zoneinfo import ZoneInfo

from pydantic import Field
from sqlmodel import col

from server.accounts.credentials import make_id
from server.accounts.members import write_audit
from server.accounts.sessions import Viewer
from server.database.store import TeamSession
from server.database.tables import Assignment, Member, Purpose
from server.errors import BadInput
from server.i18n.lazy_text import LazyText
from server.mastery.picker import CHECK_MAX
from server.mastery.values import SIDES, STAGES
from server.playbook.noun_names import NounKind
from server.playbook.playbooks import Playbook
from server.reading.fields import Sent, Text


class AssignmentFields(Sent):
    """The fields of the form, all as text, so that problems can be shown on it with nothing typed lost; this module
    parses them.

    ``mix`` means what each needs, instead of one call. ``is_filled`` means the form was shown before; without it, empty
    fields get defaults. ``pick``, ``day``, ``again`` and ``who`` ask for help: those not there yet, a day of practice,
    a set sent before, its players.
    """

    call: Text = ""
    mix: Text = ""
    group: Text = ""
    positions: Annotated[list[Text], Field(max_length=60)] = Field(default_factory=list)
    players: Annotated[list[Text], Field(max_length=300)] = Field(default_factory=list)
    stages: Annotated[list[Text], Field(max_length=10)] = Field(default_factory=list)
    sides: Annotated[list[Text], Field(max_length=10)] = Field(default_factory=list)
    purpose: Text = "reps"
    length: Text = ""
    due: Text = ""
    is_weighted: Text = ""
    is_filled: Text = ""
    pick: Text = ""
    day: Text = ""
    again: Text = ""
    who: Text = ""


T = TypeVar("T")

LONGEST_SET = 20
USUAL_LENGTH = 8
FARTHEST_DUE = timedelta(days=400)
JUST_SENT = timedelta(minutes=2)
DUE_FORMAT = "%Y-%m-%dT%H:%M"
#: Purposes that a coach can send; the third is a player's own practice.
COACH_PURPOSES = (Purpose.REPS, Purpose.CHECK)


@dataclass(frozen=True, slots=True)
class AssignmentOrder:
    """A set as a coach wants it: for everybody at these positions, or only for these players when there are some.

    ``is_mixed``: on what each needs, without a call. Players picked keep it when their positions change, and answer for
    those they have then. Rejected: positions and players combined (the form can't show at a glance who gets it); one
    set per player (no page shows who is done).
    """

    call: str
    positions: tuple[str, ...]
    stages: tuple[int, ...]
    sides: tuple[str, ...]
    length: int
    due_at: datetime
    purpose: Purpose = Purpose.REPS
    players: tuple[str, ...] = ()
    is_weighted: bool = False
    is_mixed: bool = False


def parse_due(text: str, zone: str) -> datetime:
    """Parse a date and time in the team's time zone. Raises: BadInput."""
    try:
        return datetime.strptime(text.strip()[:16], DUE_FORMAT).replace(tzinfo=ZoneInfo(zone))
    except ValueError:
        raise BadInput(
            LazyText("due: expected a day and time such as 2026-10-02T15:30, found {found!r}", found=text[:40])
        ) from None


def check_due(due: datetime, now: datetime) -> datetime:
    """Check that a due date is possible. Raises: BadInput."""
    if due <= now:
        raise BadInput("due: expected a day and time to come, found one that is past")
    if due > now + FARTHEST_DUE:
        raise BadInput("due: expected a day within the next 400 days")
    return due


def parse_stages(texts: Iterable[str]) -> tuple[int, ...]:
    """Parse stages, in teaching order. Raises: BadInput."""
    known = {str(stage): stage for stage in STAGES}
    return tuple(sorted({_one_of("stages", text, known) for text in texts}))


def parse_sides(texts: Iterable[str]) -> tuple[str, ...]:
    """Parse sides, left first. Raises: BadInput."""
    known = dict(zip(SIDES, SIDES, strict=True))
    found = {_one_of("sides", text, known) for text in texts}
    return tuple(side for side in known if side in found)


def parse_purpose(text: str) -> Purpose:
    """Parse the purpose: a number of reps, or a check session. Raises: BadInput."""
    return _one_of("purpose", text, {purpose.value: purpose for purpose in COACH_PURPOSES})


def parse_length(text: str, purpose: Purpose) -> int:
    """Parse the number of reps; for a check session the most it can take. Raises: BadInput."""
    if purpose is Purpose.CHECK:
        return CHECK_MAX
    digits = text.strip()
    if not (digits.isascii() and digits.isdigit() and 1 <= int(digits[:6]) <= LONGEST_SET):
        raise BadInput(
            LazyText("length: expected 1 to {most} reps, found {found!r}", most=LONGEST_SET, found=digits[:20])
        )
    return int(digits)


def _one_of(name: str, text: str, known: dict[str, T]) -> T:
    """The value with that name. Raises: BadInput."""
    if text not in known:
        raise BadInput(
            LazyText(
                "{name}: expected one of {known}, found {found!r}", name=name, known=", ".join(known), found=text[:40]
            )
        )
    return known[text]


def parse_order(fields: AssignmentFields, viewer: Viewer, now: datetime) -> AssignmentOrder:
    """Parse the form into an order, not yet checked against the team. Raises: BadInput."""
    due = check_due(parse_due(fields.due, viewer.team.time_zone), now)
    purpose, is_mixed = parse_purpose(fields.purpose), fields.mix == "1"
    if is_mixed and purpose is Purpose.CHECK:
        raise BadInput("check session: expected one call to decide, found what each needs; choose a call or reps")
    return AssignmentOrder(
        "" if is_mixed else fields.call,
        tuple(dict.fromkeys(fields.positions)),
        STAGES if is_mixed else parse_stages(fields.stages),
        parse_sides(fields.sides),
        parse_length(fields.length, purpose),
        due,
        purpose,
        tuple(dict.fromkeys(fields.players)),
        fields.is_weighted == "1",
        is_mixed,
    )


def check_order(
    order: AssignmentOrder, playbook: Playbook, viewer: Viewer, seen: Sequence[Member], *, has_opponent: bool
) -> AssignmentOrder:
    """The order in the team's keys, with the positions that its players answer for and the call has.

    ``seen`` are the players that this coach sees. Raises: BadInput naming the first problem.
    """
    calls = playbook.calls if order.is_mixed else [playbook.check_call(order.call)]
    keys = (playbook.find_key(NounKind.POSITION, typed) or typed for typed in order.positions)
    order = replace(order, positions=tuple(dict.fromkeys(keys)))
    check_positions(order, playbook, viewer)
    picked = find_players(order.players, seen)
    positions = asked_positions(picked, order.positions, playbook, viewer) if picked else order.positions
    positions = tuple(p for p in positions if any(playbook.has_job(call, [p]) for call in calls)) or positions
    for name, found in (("positions", positions), ("stages", order.stages), ("sides", order.sides)):
        if not found:
            raise BadInput(LazyText("{name}: expected at least one, found none", name=name))
    if order.is_weighted and not has_opponent:
        raise BadInput("weighting: expected a next opponent to weight by, found that none is set")
    return replace(order, call="" if order.is_mixed else calls[0], positions=positions)


def check_positions(order: AssignmentOrder, playbook: Playbook, viewer: Viewer) -> None:
    """Check that the team has these positions and that they are in the coach's groups. Raises: BadInput."""
    known = {p.key: p.name for p in playbook.positions}
    for position in order.positions:
        if position not in known:
            raise BadInput(
                LazyText(
                    "positions: expected some of {known}, found {found!r}",
                    known=", ".join(known.values()),
                    found=position[:60],
                )
            )
        if not viewer.sees_group(playbook.group_of(position)):
            raise BadInput(
                LazyText("positions: expected positions of your groups only, found {found!r}", found=known[position])
            )


def find_players(ids: Iterable[str], seen: Sequence[Member]) -> list[Member]:
    """These players. Raises: BadInput, the same for a missing, removed, another coach's or another team's player."""
    by_id = {member.id: member for member in seen}
    wanted = list(ids)
    if any(one not in by_id for one in wanted):
        raise BadInput("players: expected players of yours who are on the roster, found one who is not")
    return [by_id[one] for one in wanted]


def asked_positions(
    picked: Sequence[Member], ticked: Sequence[str], playbook: Playbook, viewer: Viewer
) -> tuple[str, ...]:
    """The positions that picked players answer for: the ticked ones that they play; for a player who plays none of
    them, all of his that this coach sees."""
    wanted: set[str] = set()
    for member in picked:
        own = [p for p in member.positions if viewer.sees_group(playbook.group_of(p))]
        wanted.update([p for p in own if p in ticked] or own)
    return tuple(p.key for p in playbook.positions if p.key in wanted)


def find_just_sent(t: TeamSession, viewer: Viewer, order: AssignmentOrder, now: datetime) -> Assignment | None:
    """The same set, sent by this coach a moment ago; None when there is none."""
    where = (
        col(Assignment.created_by) == viewer.member.id,
        col(Assignment.created_at) > now - JUST_SENT,
        col(Assignment.call) == order.call,
    )
    alike = (one for one in t.rows(Assignment, *where) if one.player_ids == list(order.players))
    return next((one for one in alike if one.sides == list(order.sides) and one.closed_at is None), None)


def send(t: TeamSession, viewer: Viewer, order: AssignmentOrder, now: datetime) -> Assignment:
    """Store a set, which sends it to its players."""
    assignment = Assignment(
        team_id=t.team_id,
        id=make_id(),
        call=order.call,
        positions=list(order.positions),
        stages=list(order.stages),
        sides=list(order.sides),
        length=order.length,
        purpose=order.purpose.value,
        player_ids=list(order.players),
        is_weighted=order.is_weighted,
        due_at=order.due_at,
        created_at=now,
        created_by=viewer.member.id,
    )
    t.add(assignment)
    write_audit(t, viewer.member.id, "sent a set", assignment.id, now)
    return assignment
