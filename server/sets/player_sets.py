"""Sets: whom they are for, and how far a player has come in his copy of one, as it was laid out when he opened it.

Once the call of a check session is decided, what is left of it is no longer asked, though an answer to it is kept. It
must not know football or pages.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from functools import cached_property
from typing import Any

from sqlalchemy import ColumnElement, and_
from sqlmodel import col

from server.database.store import TeamSession
from server.database.tables import Answer, Assignment, Member, PlayerSet, Purpose, Role, SetRep
from server.errors import NotFound
from server.mastery.picker import CHECK_MIN

SETS_LOOKED_AT = 60
#: From a player's copy of a set to its places, and to his answer at each of them.
PLACES = (
    (
        SetRep,
        and_(
            col(SetRep.team_id) == PlayerSet.team_id,
            col(SetRep.assignment_id) == PlayerSet.assignment_id,
            col(SetRep.member_id) == PlayerSet.member_id,
        ),
    ),
    (
        Answer,
        and_(
            col(Answer.team_id) == SetRep.team_id,
            col(Answer.assignment_id) == SetRep.assignment_id,
            col(Answer.member_id) == SetRep.member_id,
            col(Answer.place) == SetRep.place,
        ),
    ),
)


@dataclass(frozen=True, slots=True)
class SetPlace:
    """One place of a player's set; ``answer`` is None while he has not answered it."""

    place: int
    rep_id: str
    again_of: int | None
    answer: Answer | None = None

    @property
    def is_right(self) -> bool | None:
        """Whether his answer is right; None while there is none."""
        return None if self.answer is None else self.answer.is_right


@dataclass(frozen=True)
class SetProgress:
    """A player's copy of a set: all places that it has, asked or not, in order, each with his answer.

    ``opened`` is None, and ``layout`` empty, until he opens it.
    """

    assignment: Assignment
    opened: PlayerSet | None = None
    layout: tuple[SetPlace, ...] = ()

    def with_answer(self, answer: Answer) -> SetProgress:
        """The same with one more answer."""
        given = (replace(one, answer=answer) if one.place == answer.place else one for one in self.layout)
        return replace(self, layout=tuple(given))

    @cached_property
    def places(self) -> tuple[SetPlace, ...]:
        """The places that he is asked: the set proper, then the missed ones in another guise. Once a check session is
        decided, only those that he has answered by then."""
        return tuple(p for p in self._open_places if p.answer is not None) if self._is_decided else self._open_places

    @cached_property
    def spare(self) -> tuple[SetPlace, ...]:
        """The places of a check session that are no longer asked, because the call was decided before; an answer to one
        is kept all the same."""
        return tuple(p for p in self._open_places if p.answer is None) if self._is_decided else ()

    @cached_property
    def _open_places(self) -> tuple[SetPlace, ...]:
        missed = {one.place for one in self.layout if one.is_right is False}
        return tuple(one for one in self.layout if one.again_of is None or one.again_of in missed)

    @property
    def _is_decided(self) -> bool:
        return self.is_check and self.opened is not None and self.opened.finished_at is not None

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

    def find(self, place: int) -> SetPlace | None:
        """That place, if he is asked it; None otherwise."""
        return next((p for p in self.places if p.place == place), None)

    def find_rep(self, rep: str | int) -> SetPlace | None:
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


def own_progress(t: TeamSession, assignment_id: str, member: Member) -> SetProgress:
    """How far a player has come in a set of his.

    Raises: NotFound, alike for a set that isn't his, another team's and none at all.
    """
    assignment = t.find(Assignment, assignment_id)
    if assignment is not None:
        found = progress_of(t, assignment, member.id)
        if found.opened or is_for(assignment, member):
            return found
    raise NotFound("There is no such set for you.")


def progress_of(t: TeamSession, assignment: Assignment, member_id: str) -> SetProgress:
    """How far a player has come in a set."""
    return copies_of(t, [assignment], member_id).get((assignment.id, member_id)) or SetProgress(assignment)


def copies_of(
    t: TeamSession, assignments: Sequence[Assignment], member_id: str | None = None
) -> dict[tuple[str, str], SetProgress]:
    """The opened copies of these sets, by set and player; only this player's if one is named."""
    by_id = {one.id: one for one in assignments}
    where: list[ColumnElement[bool]] = [col(PlayerSet.assignment_id).in_(by_id)]
    if member_id is not None:
        where.append(col(PlayerSet.member_id) == member_id)
    opened: dict[tuple[str, str], PlayerSet] = {}
    layouts: defaultdict[tuple[str, str], list[SetPlace]] = defaultdict(list)
    columns = (PlayerSet, SetRep.place, SetRep.rep_id, SetRep.again_of, Answer)
    # One statement: three cost .8 ms of CPU more for each answer that comes in.
    for copy, *place in t.values(PlayerSet, *columns, joins=PLACES, where=where, order_by=(col(SetRep.place),)):
        key = (copy.assignment_id, copy.member_id)
        opened[key] = copy
        layouts[key].append(SetPlace(*place))
    return {key: SetProgress(by_id[key[0]], copy, tuple(layouts[key])) for key, copy in opened.items()}


def own_sets(t: TeamSession, member: Member) -> list[SetProgress]:
    """A player's sets of the last while, the one due first in front: so many that were sent, so many of his own."""
    sent = (col(Assignment.purpose) != Purpose.PRACTICE,)
    practices = (col(Assignment.purpose) == Purpose.PRACTICE, col(Assignment.created_by) == member.id)
    latest: dict[str, Any] = {"order_by": (col(Assignment.created_at).desc(),), "limit": SETS_LOOKED_AT}
    newest = [one for where in (sent, practices) for one in t.rows(Assignment, *where, **latest)]
    copies = copies_of(t, newest, member.id)
    found = [copies.get((one.id, member.id)) or SetProgress(one) for one in newest]
    mine = [done for done in found if done.opened or is_for(done.assignment, member)]
    return sorted(mine, key=lambda done: (done.assignment.due_at, done.assignment.id))
