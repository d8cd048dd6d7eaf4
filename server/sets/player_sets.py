"""A player's sets: whom a set is for, and his progress in his copy, which is laid out when he opens it.

Once the call of a check session is decided, its remaining reps are no longer asked, but answers to them are kept. Knows
nothing of football or pages.
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
from server.database.tables import AccountRole, Answer, Assignment, Member, PlayerSet, Purpose, SetRep
from server.errors import NotFound
from server.mastery.picker import CHECK_MIN

RECENT_SETS = 60
#: Joins from a player's copy to its places, and to his answer at each.
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
    """One place of a player's set; ``answer`` is None until he answers it."""

    place: int
    rep_id: str
    again_of: int | None
    answer: Answer | None = None

    @property
    def is_right(self) -> bool | None:
        """Whether the answer is right; None without an answer."""
        return None if self.answer is None else self.answer.is_right


@dataclass(frozen=True)
class SetProgress:
    """A player's copy of a set: all its places in order, asked or not, with their answers.

    ``opened`` is None and ``layout`` empty until he opens it.
    """

    assignment: Assignment
    opened: PlayerSet | None = None
    layout: tuple[SetPlace, ...] = ()

    def with_answer(self, answer: Answer) -> SetProgress:
        """A copy with one more answer."""
        given = (replace(one, answer=answer) if one.place == answer.place else one for one in self.layout)
        return replace(self, layout=tuple(given))

    @cached_property
    def places(self) -> tuple[SetPlace, ...]:
        """The places that are asked: the set's own reps, then missed ones in another form. Once a check session is
        decided, only those answered until then."""
        return tuple(p for p in self._open_places if p.answer is not None) if self._is_decided else self._open_places

    @cached_property
    def spare(self) -> tuple[SetPlace, ...]:
        """A check session's places that are no longer asked, because the call was decided; answers to them are kept
        anyway."""
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
        """The number of reps asked, as of now; the maximum in a check session that goes on."""
        return len(self.places) if self.opened else self.assignment.length

    @property
    def own_reps(self) -> int:
        """The number of the set's own reps, without those that come back; the maximum in a check session."""
        return self.total - self.again

    @property
    def fewest(self) -> int:
        """The fewest reps it can take: all, except in a check session that goes on."""
        return min(CHECK_MIN, self.total) if self.is_check and not self.is_finished else self.total

    @property
    def answered(self) -> int:
        """The number of answered reps."""
        return sum(p.is_right is not None for p in self.places)

    @property
    def right(self) -> int:
        """The number of right answers."""
        return sum(p.is_right is True for p in self.places)

    @property
    def again(self) -> int:
        """The number of reps that return after a miss."""
        return sum(p.again_of is not None for p in self.places)

    @property
    def next_place(self) -> int | None:
        """The first place without an answer; None when there is none."""
        return next((p.place for p in self.places if p.is_right is None), None)

    @property
    def is_finished(self) -> bool:
        """Whether everything asked is answered; in a check session, as many as it took."""
        return self.opened is not None and self.next_place is None

    @property
    def is_check(self) -> bool:
        """Whether the set is a check session."""
        return self.assignment.purpose == Purpose.CHECK

    def number_of(self, place: SetPlace) -> int:
        """The number of a place, from 1, among the set's own reps or among those that come back."""
        alike = [p.place for p in self.places if (p.again_of is None) == (place.again_of is None)]
        return alike.index(place.place) + 1

    def find(self, place: int) -> SetPlace | None:
        """That place if it is asked; else None."""
        return next((p for p in self.places if p.place == place), None)

    def find_rep(self, rep: str | int) -> SetPlace | None:
        """A rep that may be answered, by its id or its place; None when there is none."""
        return next((p for p in (*self.places, *self.spare) if rep in (p.rep_id, p.place)), None)


def is_over(assignment: Assignment, now: datetime) -> bool:
    """Whether a set is closed or past due."""
    return now > assignment.due_at or (assignment.closed_at is not None and now >= assignment.closed_at)


def is_for(assignment: Assignment, member: Member) -> bool:
    """Whether a set is for this player: he was picked, or nobody was and he plays one of its positions."""
    if member.role != AccountRole.PLAYER or member.removed_at is not None:
        return False
    if assignment.player_ids:
        return member.id in assignment.player_ids
    return bool(set(member.positions) & set(assignment.positions))


def own_positions(assignment: Assignment, member: Member) -> list[str]:
    """The positions for which a player answers this set, his first one first; all of his when he was picked and no
    longer plays any of its positions."""
    own = [position for position in member.positions if position in assignment.positions]
    return own or (list(member.positions) if member.id in assignment.player_ids else [])


def own_progress(t: TeamSession, assignment_id: str, member: Member) -> SetProgress:
    """A player's progress in one of his sets.

    Raises: NotFound, the same for another player's set, another team's and a missing one.
    """
    assignment = t.find(Assignment, assignment_id)
    if assignment is not None:
        found = progress_of(t, assignment, member.id)
        if found.opened or is_for(assignment, member):
            return found
    raise NotFound("There is no such set for you.")


def progress_of(t: TeamSession, assignment: Assignment, member_id: str) -> SetProgress:
    """A player's progress in a set."""
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
    # One statement: three cost 0.8 ms more CPU per answer.
    for copy, *place in t.values(PlayerSet, *columns, joins=PLACES, where=where, order_by=(col(SetRep.place),)):
        key = (copy.assignment_id, copy.member_id)
        opened[key] = copy
        layouts[key].append(SetPlace(*place))
    return {key: SetProgress(by_id[key[0]], copy, tuple(layouts[key])) for key, copy in opened.items()}


def own_sets(t: TeamSession, member: Member) -> list[SetProgress]:
    """A player's recent sets, the one due first in front: up to a limit of sent ones, and of his own practices."""
    sent = (col(Assignment.purpose) != Purpose.PRACTICE,)
    practices = (col(Assignment.purpose) == Purpose.PRACTICE, col(Assignment.created_by) == member.id)
    latest: dict[str, Any] = {"order_by": (col(Assignment.created_at).desc(),), "limit": RECENT_SETS}
    newest = [one for where in (sent, practices) for one in t.rows(Assignment, *where, **latest)]
    copies = copies_of(t, newest, member.id)
    found = [copies.get((one.id, member.id)) or SetProgress(one) for one in newest]
    mine = [done for done in found if done.opened or is_for(done.assignment, member)]
    return sorted(mine, key=lambda done: (done.assignment.due_at, done.assignment.id))
