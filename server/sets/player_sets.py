"""A player's sets: whom a set is for, and his progress in his copy, which is laid out when he opens it.

Once the call of a check session is decided, its remaining reps are no longer asked, but answers to them are kept. Knows
nothing of football or pages.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from functools import cached_property
from typing import Any, NamedTuple

from sqlalchemy import and_, bindparam, select, tuple_
from sqlmodel import col

from server.database.store import TeamSession, table_of
from server.database.tables import (
    NOT_SENT,
    AccountRole,
    Answer,
    Assignment,
    GradedAnswer,
    Member,
    PlayerSet,
    Purpose,
    SetRep,
)
from server.errors import Expired, NotFound
from server.mastery.picker import CHECK_MIN

RECENT_SETS = 60
_copies, _laid_out, _given = table_of(PlayerSet), table_of(SetRep), table_of(Answer)
_copy, _place, _answer = _copies.c, _laid_out.c, _given.c
_places = and_(
    _place.team_id == _copy.team_id,
    _place.assignment_id == _copy.assignment_id,
    _place.member_id == _copy.member_id,
)
_answers = and_(
    _answer.team_id == _place.team_id,
    _answer.assignment_id == _place.assignment_id,
    _answer.member_id == _place.member_id,
    _answer.place == _place.place,
)
#: The opened copies of sets with their places and answers, as columns and without the answers' texts: it is run for
#: every answer, and as objects it took more than all the rest of the answer's transaction.
COPIES = (
    select(
        _copy.assignment_id,
        _copy.member_id,
        _copy.opened_at,
        _copy.finished_at,
        _copy.state_before,
        _copy.state_after,
        _copy.likely_low,
        _copy.likely_high,
        _place.place,
        _place.rep_id,
        _place.again_of,
        _answer.id,
        _answer.is_right,
        _answer.is_late,
        _answer.side,
        _answer.received_at,
    )
    .select_from(_copies.outerjoin(_laid_out, _places).outerjoin(_given, _answers))
    .where(_copy.team_id == bindparam("team_id"))
    .order_by(_place.place)
)
COPIES_OF_SET = COPIES.where(_copy.assignment_id == bindparam("set_id"))
#: ``copies`` are pairs of a set and a player.
SOME_COPIES = COPIES.where(tuple_(_copy.assignment_id, _copy.member_id).in_(bindparam("copies", expanding=True)))


@dataclass(frozen=True, slots=True)
class OpenedSet:
    """A player's copy of a set, as `PlayerSet` stores it."""

    assignment_id: str
    member_id: str
    opened_at: datetime
    finished_at: datetime | None = None
    state_before: str = ""
    state_after: str = ""
    likely_low: int | None = None
    likely_high: int | None = None


class PlaceAnswer(NamedTuple):
    """What a set's progress needs of the answer at a place."""

    id: str
    is_right: bool
    is_late: bool
    side: str
    received_at: datetime


@dataclass(frozen=True, slots=True)
class SetPlace:
    """One place of a player's set; ``answer`` is None until he answers it."""

    place: int
    rep_id: str
    again_of: int | None
    answer: PlaceAnswer | None = None

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
    opened: OpenedSet | None = None
    layout: tuple[SetPlace, ...] = ()

    def with_answer(self, answer: GradedAnswer) -> SetProgress:
        """A copy with one more answer."""
        own = PlaceAnswer(answer.id, answer.is_right, answer.is_late, answer.side, answer.received_at)
        given = (replace(one, answer=own) if one.place == answer.place else one for one in self.layout)
        return replace(self, layout=tuple(given))

    @cached_property
    def places(self) -> tuple[SetPlace, ...]:
        """The places that are asked: the set's own reps, then missed ones in another form. Once a check session is
        decided, only those answered until then."""
        return tuple(p for p in self._open_places if p.answer is not None) if self._is_decided else self._open_places

    @cached_property
    def spare(self) -> tuple[SetPlace, ...]:
        """Places that are no longer asked, because a check session's call was decided or the set was made shorter;
        answers to them are kept anyway."""
        asked = {p.place for p in self.places}
        return tuple(
            p for p in self.layout if p.place not in asked and (p.again_of is None or p.again_of in self._missed)
        )

    @cached_property
    def kept(self) -> tuple[SetPlace, ...]:
        """The layout for a phone, own reps first: without what the set lost when it was made shorter."""
        own = [one for one in self.layout if one.again_of is None]
        within = {one.place for one in own[: self.assignment.length]}
        back = [one for one in self.layout if one.again_of is not None]
        return (
            *(one for one in own if one.place in within or one.answer is not None),
            *(one for one in back if one.again_of in within or one.answer is not None),
        )

    @cached_property
    def _missed(self) -> set[int]:
        return {one.place for one in self.layout if one.is_right is False}

    @cached_property
    def _open_places(self) -> tuple[SetPlace, ...]:
        return tuple(one for one in self.kept if one.again_of is None or one.again_of in self._missed)

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
    def own_answered(self) -> int:
        """The number of the set's own reps answered, without those that come back."""
        return sum(p.again_of is None and p.answer is not None for p in self.places)

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

    @cached_property
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
    """Whether a set is past due or was called back."""
    return now > assignment.due_at or (assignment.closed_at is not None and now >= assignment.closed_at)


def is_taken_back(assignment: Assignment, member_id: str) -> bool:
    """Whether a set was called back, or this player was let off it."""
    is_back = assignment.closed_at is not None and assignment.purpose not in NOT_SENT
    return is_back or member_id in assignment.let_off


def is_over_for(assignment: Assignment, member_id: str, now: datetime) -> bool:
    """Whether a set is past due, was called back, or this player was let off it."""
    return is_over(assignment, now) or member_id in assignment.let_off


def check_not_over(assignment: Assignment, member_id: str, now: datetime, answered: int = 0) -> None:
    """Check that a player may still answer a set. Raises: Expired, with what happened to the set and his answers."""
    if not is_over_for(assignment, member_id, now):
        return
    if is_taken_back(assignment, member_id):
        if answered:
            raise Expired(
                "Your coach called this set back. Your answers are kept and count. There is nothing left to do."
            )
        raise Expired("Your coach called this set back. There is nothing left to do.")
    if answered:
        raise Expired("This set is closed. Your answers are kept. Ask your coach if you still need it.")
    raise Expired("This set is closed. Ask your coach if you still need it.")


def is_for(assignment: Assignment, member: Member) -> bool:
    """Whether a set is for this player: he was picked, or nobody was and he plays one of its positions; unless he was
    let off."""
    if member.role != AccountRole.PLAYER or member.removed_at is not None or member.id in assignment.let_off:
        return False
    if assignment.player_ids:
        return member.id in assignment.player_ids
    return bool(set(member.positions) & set(assignment.positions))


def still_to_do(t: TeamSession, members: Collection[Member], now: datetime) -> frozenset[tuple[str, str]]:
    """(player, call) of every set that was sent to one of these and that he has not finished yet."""
    is_open = (col(Assignment.due_at) > now, col(Assignment.closed_at).is_(None))
    kinds = col(Assignment.purpose).not_in([one.value for one in NOT_SENT])
    sets = t.rows(Assignment, *is_open, kinds)
    done = col(PlayerSet.finished_at).is_not(None)
    finished = set(t.values(PlayerSet, col(PlayerSet.assignment_id), col(PlayerSet.member_id), where=(done,)))
    pairs = ((one, member) for one in sets for member in members if is_for(one, member))
    return frozenset((member.id, one.call) for one, member in pairs if (one.id, member.id) not in finished)


def own_positions(assignment: Assignment, member: Member) -> list[str]:
    """The positions for which a player answers this set, his first one first; all of his when he was picked and no
    longer plays any of its positions."""
    own = [position for position in member.positions if position in assignment.positions]
    return own or (list(member.positions) if member.id in assignment.player_ids else [])


def own_progress(t: TeamSession, assignment_id: str, member: Member) -> SetProgress:
    """A player's progress in one of his sets.

    Raises: NotFound, the same for another player's set, another team's and a missing one.
    """
    return get_own(progress_in(t, [(assignment_id, member)]), assignment_id, member)


def get_own(found: Mapping[tuple[str, str], SetProgress], assignment_id: str, member: Member) -> SetProgress:
    """A player's progress in one of his sets, from that in several. A meeting is one only once he has answered in it:
    before that it has nothing to show. Raises: NotFound; see `own_progress`."""
    done = found.get((assignment_id, member.id))
    if done is not None and done.assignment.purpose == Purpose.MEETING and not done.layout:
        done = None
    if done is None or not (done.opened or is_for(done.assignment, member) or member.id in done.assignment.let_off):
        raise NotFound("There is no such set for you.")
    return done


def progress_in(t: TeamSession, asked: Collection[tuple[str, Member]]) -> dict[tuple[str, str], SetProgress]:
    """The progress of each of these players in the set beside him, by set and player; a missing set is left out."""
    set_ids = {set_id for set_id, _ in asked}
    assignments = {one.id: one for one in t.rows(Assignment, col(Assignment.id).in_(set_ids))}
    keys = [(set_id, member.id) for set_id, member in asked if set_id in assignments]
    found = read_copies([*assignments.values()], t.look(SOME_COPIES, copies=keys)) if keys else {}
    return {key: found.get(key) or SetProgress(assignments[key[0]]) for key in keys}


def progress_of(t: TeamSession, assignment: Assignment, member_id: str) -> SetProgress:
    """A player's progress in a set."""
    return own_copies(t, [assignment], member_id).get(assignment.id) or SetProgress(assignment)


def copies_of_set(t: TeamSession, assignment: Assignment) -> dict[str, SetProgress]:
    """The opened copies of a set, by player."""
    found = read_copies([assignment], t.look(COPIES_OF_SET, set_id=assignment.id))
    return {member_id: done for (_, member_id), done in found.items()}


def own_copies(t: TeamSession, assignments: Sequence[Assignment], member_id: str) -> dict[str, SetProgress]:
    """The copies that a player has opened of these sets, by set."""
    found = read_copies(assignments, t.look(SOME_COPIES, copies=[(one.id, member_id) for one in assignments]))
    return {set_id: done for (set_id, _), done in found.items()}


def read_copies(assignments: Sequence[Assignment], rows: Sequence[Sequence[Any]]) -> dict[tuple[str, str], SetProgress]:
    """Copies of these sets by set and player, from rows of `COPIES`."""
    by_id = {one.id: one for one in assignments}
    opened: dict[tuple[str, str], OpenedSet] = {}
    layouts: defaultdict[tuple[str, str], list[SetPlace]] = defaultdict(list)
    for set_id, member_id, *copy, place, rep_id, again_of, answer_id, right, late, side, at in rows:
        key = (set_id, member_id)
        if key not in opened:
            opened[key] = OpenedSet(set_id, member_id, *copy)
        if place is None:  # a copy without places: he has come to a meeting and not answered yet
            continue
        answer = None if answer_id is None else PlaceAnswer(answer_id, right, late, side, at)
        layouts[key].append(SetPlace(place, rep_id, again_of, answer))
    return {key: SetProgress(by_id[key[0]], copy, tuple(layouts.get(key, ()))) for key, copy in opened.items()}


def answers_of(t: TeamSession, done: SetProgress, member_id: str) -> dict[int, Answer]:
    """The stored answers of a player's copy, by place."""
    own = (col(Answer.assignment_id) == done.assignment.id, col(Answer.member_id) == member_id)
    return {answer.place: answer for answer in t.rows(Answer, *own)}


def own_sets(t: TeamSession, member: Member) -> list[SetProgress]:
    """A player's recent sets, the one due first in front: up to a limit of sent ones, and of his own practices."""
    sent = (col(Assignment.purpose).not_in(NOT_SENT),)
    practices = (col(Assignment.purpose) == Purpose.PRACTICE, col(Assignment.created_by) == member.id)
    latest: dict[str, Any] = {"order_by": (col(Assignment.created_at).desc(),), "limit": RECENT_SETS}
    newest = [one for where in (sent, practices) for one in t.rows(Assignment, *where, **latest)]
    copies = own_copies(t, newest, member.id)
    found = [copies.get(one.id) or SetProgress(one) for one in newest]
    mine = [done for done in found if done.opened or is_for(done.assignment, member)]
    return sorted(mine, key=lambda done: (done.assignment.due_at, done.assignment.id))
