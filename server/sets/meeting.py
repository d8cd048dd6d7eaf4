"""A meeting: one snap on the wall and on every phone, each man's own question, and the front as the room filled it.

A meeting is a set with a row of its own for where it is. A player's copy gets the place of a snap with his answer to
it, so nobody can look ahead. Answers count like any other, until the coach shows the fits. Knows nothing of football or
pages.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from sqlmodel import col

from server.accounts.credentials import make_id
from server.accounts.members import players, write_audit
from server.accounts.sessions import Viewer
from server.database.meeting_tables import Meeting, MeetingSnapShown
from server.database.store import TeamSession
from server.database.tables import (
    Answer,
    Assignment,
    KeptRep,
    Member,
    PlayerSet,
    Purpose,
)
from server.errors import BadInput, NotFound
from server.sets.player_sets import is_for

SNAP, FITS, OVER = "snap", "fits", "over"
MOST_SNAPS = 10
#: A meeting that nobody ended ends by itself.
LASTS = timedelta(hours=4)
#: A position of fewer players is counted with its group, a group of fewer with the others, and fewer others not at all:
#: a count of one would be a name.
FEWEST_SHOWN = 3


@dataclass(frozen=True, slots=True)
class MeetingNow:
    """A meeting at one moment; ``snap`` is the one that is on. ``joined`` are its players, ``answered`` those of them
    with an answer to this snap, ``asked`` those of them who have a question on it."""

    assignment: Assignment
    meeting: Meeting
    snap: MeetingSnapShown
    snaps: int
    joined: tuple[Member, ...]
    asked: int
    answered: int

    @property
    def version(self) -> str:
        """Changes with everything that decides what a phone shows."""
        return version_of(self.meeting)

    @property
    def wall_version(self) -> str:
        """The same for the wall."""
        return f"{self.version}-{self.meeting.seen}"


@dataclass(frozen=True, slots=True)
class PlaceCount:
    """How many of a position, or of several in a group (empty: in several), answered the snap and were right.
    ``positions`` are keys."""

    positions: tuple[str, ...]
    group: str
    right: int
    answered: int


@dataclass(frozen=True, slots=True)
class SnapResult:
    """A snap of a meeting, and how many were right on it."""

    snap: MeetingSnapShown
    right: int
    answered: int
    missed_by: tuple[str, ...]


def version_of(meeting: Meeting) -> str:
    """Changes with everything that decides what a phone shows."""
    return f"{meeting.assignment_id}-{meeting.place}-{meeting.phase}"


def position_in(member: Member, snap: MeetingSnapShown, assignment: Assignment) -> str | None:
    """The position that a player is asked for on a snap; None where he has no question."""
    own = (one for one in member.positions if one in assignment.positions and one in snap.reps)
    return next(own, None)


def start(
    t: TeamSession,
    viewer: Viewer,
    call: str,
    positions: Sequence[str],
    snaps: Sequence[MeetingSnapShown],
    reps: Sequence[KeptRep],
    now: datetime,
) -> Assignment:
    """Store a meeting and put its first snap on; the coach's own meetings before it are over."""
    for before in open_meetings(t, now):
        if before.created_by == viewer.member.id:
            end(t, before, now)
    assignment = Assignment(
        team_id=t.team_id,
        id=make_id(),
        call=call,
        positions=list(positions),
        length=len(snaps),
        purpose=Purpose.MEETING,
        due_at=now + LASTS,
        created_at=now,
        created_by=viewer.member.id,
    )
    t.add(assignment)
    t.add_each_once(KeptRep, reps)
    for place, snap in enumerate(snaps, start=1):
        snap.assignment_id, snap.place = assignment.id, place
    t.add(Meeting(team_id=t.team_id, assignment_id=assignment.id, changed_at=now), *snaps)
    write_audit(t, viewer.member.id, "held a meeting", assignment.id, now)
    return assignment


def open_meetings(t: TeamSession, now: datetime) -> list[Assignment]:
    """The meetings that are on, the newest first."""
    where = (
        col(Assignment.purpose) == Purpose.MEETING,
        col(Assignment.closed_at).is_(None),
        col(Assignment.due_at) > now,
    )
    return t.rows(Assignment, *where, order_by=(col(Assignment.created_at).desc(), col(Assignment.id)))


def find_own_meeting(t: TeamSession, member: Member, now: datetime) -> Assignment | None:
    """The meeting that is on for a player; None when there is none."""
    return next((one for one in open_meetings(t, now) if is_for(one, member)), None)


def find_meeting(t: TeamSession, set_id: str, now: datetime) -> MeetingNow:
    """A meeting as it is now; one whose time is up is over. Raises: NotFound."""
    assignment, meeting = t.find(Assignment, set_id), t.find(Meeting, set_id)
    if assignment is None or meeting is None:
        raise NotFound("There is no such meeting in your team.")
    if now >= assignment.due_at:
        meeting.phase = OVER
    snap = t.get(MeetingSnapShown, set_id, meeting.place, what="snap")
    opened = {
        row[0] for row in t.values(PlayerSet, PlayerSet.member_id, where=(col(PlayerSet.assignment_id) == set_id,))
    }
    joined = tuple(one for one in players(t) if one.id in opened)
    answered = t.count(Answer, col(Answer.assignment_id) == set_id, col(Answer.place) == meeting.place)
    asked = sum(position_in(one, snap, assignment) is not None for one in joined)
    return MeetingNow(assignment, meeting, snap, assignment.length, joined, asked, answered)


def get_led(t: TeamSession, set_id: str, viewer: Viewer, now: datetime) -> MeetingNow:
    """A meeting that this coach may lead: his own, or any for a coach of the whole team. Raises: NotFound."""
    found = find_meeting(t, set_id, now)
    if not viewer.sees_all and found.assignment.created_by != viewer.member.id:
        raise NotFound("There is no such meeting in your team.")
    return found


def join(t: TeamSession, set_id: str, member: Member, now: datetime) -> None:
    """Note that a player is in the meeting. Raises: NotFound when it is not for him, or over."""
    own = find_own_meeting(t, member, now)
    if own is None or own.id != set_id:
        raise NotFound("There is no meeting on for you now.")
    t.add_once(PlayerSet(team_id=t.team_id, assignment_id=set_id, member_id=member.id, opened_at=now))


def move(t: TeamSession, set_id: str, viewer: Viewer, action: str, place: int, seen: int, now: datetime) -> None:
    """Show the fits, a what-if or the next snap, or end the meeting. Asked again for a snap that is no longer on, it
    does nothing, so that a second tap doesn't skip one."""
    found = get_led(t, set_id, viewer, now)
    meeting = found.meeting
    if meeting.place != place or meeting.phase == OVER:
        return
    if action == FITS:
        meeting.phase, meeting.seen = FITS, 0
    elif action == "what-if" and meeting.phase == FITS:
        meeting.seen = seen if 0 <= seen <= len(found.snap.what_ifs) else 0
    elif action == "next" and meeting.phase == FITS and place < found.snaps:
        meeting.place, meeting.phase, meeting.seen = place + 1, SNAP, 0
    elif action == "end" or (action == "next" and meeting.phase == FITS):
        end(t, found.assignment, now)
        meeting.phase = OVER
    meeting.changed_at = now
    t.add(meeting)


def end(t: TeamSession, assignment: Assignment, now: datetime) -> None:
    """End a meeting: answers that come later don't count."""
    assignment.closed_at = now
    t.add(assignment)
    meeting = t.find(Meeting, assignment.id)
    if meeting is not None:
        meeting.phase, meeting.changed_at = OVER, now
        t.add(meeting)


def count_snap(t: TeamSession, now: MeetingNow, groups: Mapping[str, str]) -> list[PlaceCount]:
    """How many answered the snap that is on, and were right, by position; few of one position with their group.

    ``groups`` is the group of each position.
    """
    given = t.values(
        Answer,
        Answer.position,
        Answer.is_right,
        where=(col(Answer.assignment_id) == now.assignment.id, col(Answer.place) == now.meeting.place),
    )
    there: dict[str, list[bool]] = {position: [] for position in now.snap.reps}
    for position, is_right in given:
        there.setdefault(position, []).append(is_right)
    many = {one: found for one, found in there.items() if len(found) >= FEWEST_SHOWN}
    counts = [PlaceCount((one,), groups.get(one, ""), sum(found), len(found)) for one, found in many.items()]
    few: dict[str, dict[str, list[bool]]] = {}
    for one, found in there.items():
        if found and one not in many:
            few.setdefault(groups.get(one, ""), {})[one] = found
    for group in [group for group, own in few.items() if sum(map(len, own.values())) < FEWEST_SHOWN]:
        few.setdefault("", {}).update(few.pop(group) if group else {})
    for group, own in few.items():
        all_of = [is_right for found in own.values() for is_right in found]
        if len(all_of) >= FEWEST_SHOWN:
            counts.append(PlaceCount(tuple(own), group, sum(all_of), len(all_of)))
    order = list(now.snap.reps)
    return sorted(counts, key=lambda one: order.index(one.positions[0]))


def missing_positions(t: TeamSession, now: MeetingNow) -> set[str]:
    """The positions asked for their own fit in the room, of whose players fewer than half had it; a man without an
    answer has not."""
    rows = t.values(
        Answer,
        Answer.member_id,
        Answer.is_right,
        where=(col(Answer.assignment_id) == now.assignment.id, col(Answer.place) == now.meeting.place),
    )
    right = {member_id for member_id, is_right in rows if is_right}
    there = {member_id for member_id, _ in rows} | {one.id for one in now.joined}
    in_room: dict[str, list[bool]] = {}
    for member in players(t):
        position = position_in(member, now.snap, now.assignment)
        if position is not None and member.id in there:
            in_room.setdefault(position, []).append(member.id in right)
    own_fit = set(now.snap.own_fit)
    return {one for one, found in in_room.items() if one in own_fit and 2 * sum(found) < len(found)}


def store_fits(t: TeamSession, set_id: str, place: int, svg: str) -> None:
    """Keep the picture of the front as the room filled it; the first one stays."""
    snap = t.get(MeetingSnapShown, set_id, place, what="snap")
    if not snap.fits_svg:
        snap.fits_svg = svg
        t.add(snap)


def results(t: TeamSession, now: MeetingNow) -> list[SnapResult]:
    """How each snap went, in order."""
    set_id = now.assignment.id
    rows = t.values(
        Answer, Answer.place, Answer.position, Answer.is_right, where=(col(Answer.assignment_id) == set_id,)
    )
    snaps = t.rows(
        MeetingSnapShown,
        col(MeetingSnapShown.assignment_id) == set_id,
        order_by=(col(MeetingSnapShown.place),),
    )
    found = []
    for snap in snaps:
        own = [(position, is_right) for place, position, is_right in rows if place == snap.place]
        missed = tuple(dict.fromkeys(position for position, is_right in own if not is_right))
        found.append(SnapResult(snap, sum(is_right for _, is_right in own), len(own), missed))
    return found


def silent(now: MeetingNow, t: TeamSession, seen: Sequence[Member]) -> list[Member]:
    """The players that this coach sees who have a question on this snap and no answer: they may answer aloud."""
    answered = {
        row[0]
        for row in t.values(
            Answer,
            Answer.member_id,
            where=(col(Answer.assignment_id) == now.assignment.id, col(Answer.place) == now.meeting.place),
        )
    }
    return [one for one in seen if one.id not in answered and position_in(one, now.snap, now.assignment) is not None]


def check_snaps(found: Collection[str], known: Mapping[str, Any]) -> list[str]:
    """The chosen snaps in the order offered. Raises: BadInput."""
    wanted = [digest for digest in known if digest in found]
    if not wanted or set(found) - set(known):
        raise BadInput("snaps: expected at least one of the snaps offered. Choose again; the list may have changed.")
    return wanted[:MOST_SNAPS]
