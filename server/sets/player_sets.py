"""Sets: whom they are for, and how far a player has come in his copy of one, as it was laid out when he opened it.

Once the call of a check session is decided, what is left of it is no longer asked, though an answer to it is kept. It
must not know football or pages.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import bindparam, select
from sqlmodel import col

from server.database.store import TeamSession, columns_of
from server.database.tables import Answer, Assignment, Member, PlayerSet, Purpose, Role, SetRep
from server.errors import NotFound
from server.mastery.picker import CHECK_MIN
from server.playbook.kept_reps import LAID_OUT, KeptReps, Laid

SETS_LOOKED_AT = 60
_answers = columns_of(Answer)
MARKS = select(_answers.place, _answers.is_right).where(
    _answers.team_id == bindparam("team_id"),
    _answers.assignment_id == bindparam("set_id"),
    _answers.member_id == bindparam("member_id"),
)
_sets, _copies = columns_of(Assignment), columns_of(PlayerSet)
SET = select(*_sets).where(_sets.team_id == bindparam("team_id"), _sets.id == bindparam("set_id"))
COPY = select(*_copies).where(
    _copies.team_id == bindparam("team_id"),
    _copies.assignment_id == bindparam("set_id"),
    _copies.member_id == bindparam("member_id"),
)


@dataclass(frozen=True, slots=True)
class Mark:
    """Of an answer no more than where it stands and whether it was right."""

    place: int
    is_right: bool


@dataclass(frozen=True, slots=True)
class Place:
    """One place of a player's set. ``is_right`` is None while he has not answered it; so is ``answer``, also where no
    more than marks were asked for."""

    place: int
    rep_id: str
    again_of: int | None
    is_right: bool | None = None
    answer: Answer | None = None


@dataclass(frozen=True, slots=True)
class Progress:
    """A player's copy of a set. ``opened`` is None and ``places`` empty until he opens it.

    ``places`` are those that he is asked: the set proper, then the missed ones in another guise. ``spare`` are those of
    a check session that are no longer asked, since the call was decided before; an answer to one is kept all the same.
    """

    assignment: Assignment
    opened: PlayerSet | None
    places: tuple[Place, ...]
    spare: tuple[Place, ...] = ()
    laid: tuple[Laid | SetRep, ...] = ()

    @property
    def total(self) -> int:
        """How many reps he is asked, as things stand; of a check session that goes on, at most."""
        return len(self.places) if self.opened else self.assignment.length

    @property
    def fewest(self) -> int:
        """How many reps it takes at least: all of them, but for a check session that goes on."""
        return min(CHECK_MIN, self.total) if self.is_check and not self.is_finished else self.total

    @property
    def answered(self) -> int:
        """How many he has answered."""
        return sum(p.is_right is not None for p in self.places)

    @property
    def right(self) -> int:
        """How many of his answers are right."""
        return sum(p.is_right is True for p in self.places)

    @property
    def again(self) -> int:
        """How many of the reps come back after a miss."""
        return sum(p.again_of is not None for p in self.places)

    @property
    def next_place(self) -> int | None:
        """The first place he has not answered; None when there is none."""
        return next((p.place for p in self.places if p.is_right is None), None)

    @property
    def is_finished(self) -> bool:
        """Whether he has answered all he is asked: as many as it took, in a check session."""
        return self.opened is not None and self.next_place is None

    @property
    def is_check(self) -> bool:
        """Whether the set is a check session."""
        return self.assignment.purpose == Purpose.CHECK

    def number_of(self, place: int) -> int:
        """The how-manieth rep of the set a place is, counted from 1."""
        return next((i for i, p in enumerate(self.places, start=1) if p.place == place), 0)

    def find(self, place: int) -> Place | None:
        """That place, if he is asked it; None otherwise."""
        return next((p for p in self.places if p.place == place), None)

    def find_rep(self, rep: str | int) -> Place | None:
        """A rep that he may answer, by its id or by its place; None when there is no such one."""
        return next((p for p in (*self.places, *self.spare) if rep in (p.rep_id, p.place)), None)


def is_over(assignment: Assignment, now: datetime) -> bool:
    """Whether a set is closed or past due."""
    return now > assignment.due_at or (assignment.closed_at is not None and now >= assignment.closed_at)


def is_for(assignment: Assignment, member: Member) -> bool:
    """Whether a set is meant for this player: he was picked for it, or nobody was and he plays one of its positions."""
    if member.role != Role.PLAYER or member.removed_at is not None:
        return False
    if assignment.player_ids:
        return member.id in assignment.player_ids
    return bool(set(member.positions) & set(assignment.positions))


def own_positions(assignment: Assignment, member: Member) -> list[str]:
    """The positions for which he answers this set, his first one first; all of his when he was picked for it and plays
    none of its positions any more."""
    own = [position for position in member.positions if position in assignment.positions]
    return own or (list(member.positions) if member.id in assignment.player_ids else [])


def find_copy(t: TeamSession, assignment_id: str, member: Member) -> tuple[Assignment, PlayerSet | None]:
    """A set that is this player's, and his copy of it, None until he opens it; both to be read only.

    Raises: NotFound, alike for a set that isn't his, another team's and none at all.
    """
    assignment = t.find_plain(Assignment, SET, set_id=assignment_id)
    opened = t.find_plain(PlayerSet, COPY, set_id=assignment_id, member_id=member.id)
    if assignment is None or not (opened or is_for(assignment, member)):
        raise NotFound("There is no such set for you.")
    return assignment, opened


def own_progress(t: TeamSession, assignment_id: str, member: Member) -> Progress:
    """How far a player has come in a set of his. Raises: NotFound."""
    assignment, _ = find_copy(t, assignment_id, member)
    return progress(t, assignment, member.id)


def progress(t: TeamSession, assignment: Assignment, member_id: str) -> Progress:
    """How far a player has come in a set."""
    opened = t.find(PlayerSet, assignment.id, member_id)
    if opened is None:
        return Progress(assignment, None, ())
    laid = [Laid(*row) for row in t.look(LAID_OUT, set_id=assignment.id, member_id=member_id)]
    answers = t.rows(Answer, col(Answer.assignment_id) == assignment.id, col(Answer.member_id) == member_id)
    return to_progress(assignment, opened, laid, answers)


def progress_in_marks(t: TeamSession, shown: KeptReps, assignment_id: str, member: Member) -> Progress:
    """The same as `own_progress` with a `Mark` of each answer in its place: for every answer that comes in.

    Raises: NotFound.
    """
    assignment, opened = find_copy(t, assignment_id, member)
    if opened is None:
        return Progress(assignment, None, ())
    laid = shown.layout(t, assignment_id, member.id).places
    marks = [Mark(*row) for row in t.look(MARKS, set_id=assignment_id, member_id=member.id)]
    return to_progress(assignment, opened, laid, marks)


def with_mark(before: Progress, mark: Mark) -> Progress:
    """How far he has come with one answer more, in marks."""
    given = [Mark(p.place, p.is_right) for p in (*before.places, *before.spare) if p.is_right is not None]
    return to_progress(before.assignment, before.opened, before.laid, [*given, mark])


def own_sets(t: TeamSession, member: Member) -> list[Progress]:
    """A player's sets of the last while, the one due first in front: so many that were sent, so many of his own."""
    sent = (col(Assignment.purpose) != Purpose.PRACTICE,)
    practices = (col(Assignment.purpose) == Purpose.PRACTICE, col(Assignment.created_by) == member.id)
    latest: dict[str, Any] = {"order_by": (col(Assignment.created_at).desc(),), "limit": SETS_LOOKED_AT}
    newest = [one for where in (sent, practices) for one in t.rows(Assignment, *where, **latest)]
    opened = {one.assignment_id: one for one in t.rows(PlayerSet, col(PlayerSet.member_id) == member.id)}
    mine = [a for a in newest if a.id in opened or is_for(a, member)]
    ids = [a.id for a in mine if a.id in opened]
    laid = t.rows(SetRep, col(SetRep.member_id) == member.id, col(SetRep.assignment_id).in_(ids))
    answers = t.rows(Answer, col(Answer.member_id) == member.id, col(Answer.assignment_id).in_(ids))
    found = []
    for assignment in sorted(mine, key=lambda a: (a.due_at, a.id)):
        rows = sorted((r for r in laid if r.assignment_id == assignment.id), key=lambda r: r.place)
        own = [a for a in answers if a.assignment_id == assignment.id]
        found.append(to_progress(assignment, opened.get(assignment.id), rows, own))
    return found


def to_progress(
    assignment: Assignment, opened: PlayerSet | None, laid: Sequence[Laid | SetRep], answers: Sequence[Answer | Mark]
) -> Progress:
    """How far a player has come, from his copy in order of places and his answers to it."""
    if opened is None:
        return Progress(assignment, None, ())
    places = asked_places(laid, answers)
    if assignment.purpose != Purpose.CHECK or opened.finished_at is None:
        return Progress(assignment, opened, places, laid=tuple(laid))
    asked = tuple(p for p in places if p.is_right is not None)
    return Progress(assignment, opened, asked, tuple(p for p in places if p.is_right is None), tuple(laid))


def asked_places(laid: Sequence[Laid | SetRep], answers: Sequence[Answer | Mark]) -> tuple[Place, ...]:
    """The places a player is asked: all of the set proper, and the second guise of those he missed."""
    by_place = {answer.place: answer for answer in answers}
    missed = {place for place, answer in by_place.items() if not answer.is_right}
    return tuple(
        to_place(one, by_place.get(one.place)) for one in laid if one.again_of is None or one.again_of in missed
    )


def to_place(laid: Laid | SetRep, given: Answer | Mark | None) -> Place:
    """A place with what is known of his answer."""
    is_right = None if given is None else given.is_right
    return Place(laid.place, laid.rep_id, laid.again_of, is_right, given if isinstance(given, Answer) else None)
