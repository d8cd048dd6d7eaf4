"""Reports on sent sets: who opened and finished one, how it went, who should get it again.

Counts cover the players that a coach sees. Knows nothing of pages or football.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import ColumnElement
from sqlmodel import col

from server.accounts.sessions import Viewer
from server.database.store import TeamSession
from server.database.tables import NOT_SENT, Assignment, Member, PlayerSet
from server.errors import NotAllowed, NotFound
from server.playbook.playbooks import Playbook
from server.progress.board import SideCount, groups_of
from server.sets.check_sessions import Verdict, by_side, find_check_result
from server.sets.player_sets import SetProgress, copies_of_set, is_for, is_over

PAGE_SIZE = 25
#: Whom to send a set to again.
UNFINISHED, MISSED = "unfinished", "missed"


@dataclass(frozen=True, slots=True)
class PlayerInSet:
    """One player in a set. ``last_at`` is None before his first answer, ``verdict`` except for a finished check."""

    member: Member
    group: str
    progress: SetProgress
    sides: tuple[SideCount, ...]
    late: int
    last_at: datetime | None
    verdict: Verdict | None

    @property
    def has_missed(self) -> bool:
        """Whether he finished the set with a miss."""
        return self.progress.is_finished and self.progress.right < self.progress.answered

    @property
    def is_in_it(self) -> bool:
        """Whether he has answered something and not finished."""
        return not self.progress.is_finished and self.progress.answered > 0

    @property
    def rank(self) -> int:
        """The sort order, most urgent first: not opened, not finished, finished with a miss, all right."""
        if self.progress.opened is None:
            return 0
        if not self.progress.is_finished:
            return 1
        return 2 if self.has_missed else 3


@dataclass(frozen=True, slots=True)
class SentSet:
    """A set in the list, with its counts."""

    set: Assignment
    is_over: bool
    players: int
    opened: int
    finished: int


@dataclass(frozen=True, slots=True)
class SetPage:
    """One page of the list of sets, with the number of pages and of all sets."""

    rows: list[SentSet]
    number: int
    pages: int
    total: int


def find_sent(t: TeamSession, viewer: Viewer, playbook: Playbook, seen: Sequence[Member], set_id: str) -> Assignment:
    """A set that this coach sees. Raises: NotFound, the same for another group's, a player's practice, and a missing
    one."""
    one = t.find(Assignment, set_id)
    if one is None or not is_seen(one, viewer, playbook, seen):
        raise NotFound("There is no such set in your team.")
    return one


def is_seen(one: Assignment, viewer: Viewer, playbook: Playbook, seen: Sequence[Member]) -> bool:
    """Whether a coach sees a set: a position coach those of his groups, of his players, and his own."""
    if one.purpose in NOT_SENT:
        return False
    if viewer.sees_all or one.created_by == viewer.member.id:
        return True
    if one.player_ids:
        return any(member.id in one.player_ids for member in seen)
    return any(viewer.sees_group(playbook.group_of(position)) for position in one.positions)


def may_change(one: Assignment, viewer: Viewer, playbook: Playbook) -> bool:
    """Whether a coach may change a set or call it back: a position coach only one for no other positions than his."""
    if viewer.sees_all or one.created_by == viewer.member.id:
        return True
    return all(viewer.sees_group(playbook.group_of(position)) for position in one.positions)


def check_may_change(one: Assignment, viewer: Viewer, playbook: Playbook) -> None:
    """Check that a coach may change a set. Raises: NotAllowed."""
    if not may_change(one, viewer, playbook):
        raise NotAllowed("This set is for other groups too. Ask the coach who sent it.")


def members_of(one: Assignment, seen: Sequence[Member], opened: Collection[str]) -> list[Member]:
    """The players that a set is for, and those who opened it while it was for them; only those on the roster."""
    return [member for member in seen if is_for(one, member) or member.id in opened]


def lines_of(t: TeamSession, one: Assignment, seen: Sequence[Member], playbook: Playbook) -> list[PlayerInSet]:
    """The players of a set, the most urgent first."""
    copies = copies_of_set(t, one)
    lines = [
        to_line(member, copies.get(member.id) or SetProgress(one), playbook) for member in members_of(one, seen, copies)
    ]
    return sorted(lines, key=lambda line: (line.rank, line.member.number or 0))


def to_line(member: Member, done: SetProgress, playbook: Playbook) -> PlayerInSet:
    """One player in a set."""
    answers = [place.answer for place in done.places if place.answer is not None]
    return PlayerInSet(
        member,
        (groups_of(member, playbook) or [""])[0],
        done,
        by_side(answers),
        sum(answer.is_late for answer in answers),
        max((answer.received_at for answer in answers), default=None),
        find_check_result(done),
    )


@dataclass(frozen=True, slots=True)
class GroupInSet:
    """The players of one position group in a set, and how many of them have finished, are in it, have not begun."""

    name: str
    lines: list[PlayerInSet]

    @property
    def finished(self) -> int:
        """The number of those who have finished."""
        return sum(line.progress.is_finished for line in self.lines)

    @property
    def in_it(self) -> int:
        """The number of those who have answered something and not finished."""
        return sum(line.is_in_it for line in self.lines)


def groups_in(lines: Sequence[PlayerInSet], playbook: Playbook) -> list[GroupInSet]:
    """A set's players by group, in the team's order; those without a group last."""
    names = [*dict.fromkeys(position.group for position in playbook.positions), ""]
    own = {name: [line for line in lines if line.group == name] for name in names}
    return [GroupInSet(name, found) for name, found in own.items() if found]


def send_again_to(lines: Sequence[PlayerInSet], who: str) -> list[str]:
    """The players to send a set to again: those who have not finished it, or have finished it with a miss."""
    if who == UNFINISHED:
        return [line.member.id for line in lines if not line.progress.is_finished]
    return [line.member.id for line in lines if line.has_missed]


def list_page(
    t: TeamSession,
    viewer: Viewer,
    playbook: Playbook,
    seen: Sequence[Member],
    now: datetime,
    *,
    call: str = "",
    state: str = "",
    number: int = 1,
) -> SetPage:
    """A page of the sets that a coach sees, newest first; filtered by call, open or over when given."""
    every = sent_sets(t, viewer, playbook, seen, call)
    kept = [one for one in every if not state or is_over(one, now) == (state == "over")]
    pages = max(1, -(-len(kept) // PAGE_SIZE))
    number = min(max(number, 1), pages)
    shown = kept[(number - 1) * PAGE_SIZE : number * PAGE_SIZE]
    return SetPage(with_counts(t, shown, seen, now), number, pages, len(kept))


def every_sent(
    t: TeamSession, viewer: Viewer, playbook: Playbook, seen: Sequence[Member], now: datetime
) -> list[SentSet]:
    """All sets that a coach sees, newest first, with their counts."""
    return with_counts(t, sent_sets(t, viewer, playbook, seen), seen, now)


def sent_sets(
    t: TeamSession, viewer: Viewer, playbook: Playbook, seen: Sequence[Member], call: str = ""
) -> list[Assignment]:
    """The sets that a coach sees, newest first; on one call if given."""
    where: list[ColumnElement[bool]] = [col(Assignment.purpose).not_in(NOT_SENT)]
    if call:
        where.append(col(Assignment.call) == call)
    every = t.rows(Assignment, *where, order_by=(col(Assignment.created_at).desc(), col(Assignment.id)))
    return [one for one in every if is_seen(one, viewer, playbook, seen)]


def with_counts(t: TeamSession, sets: Sequence[Assignment], seen: Sequence[Member], now: datetime) -> list[SentSet]:
    """These sets with how many opened and finished them."""
    by_set: defaultdict[str, dict[str, PlayerSet]] = defaultdict(dict)
    for row in t.rows(PlayerSet, col(PlayerSet.assignment_id).in_([one.id for one in sets])):
        by_set[row.assignment_id][row.member_id] = row
    return [to_row(one, seen, by_set[one.id], now) for one in sets]


def to_row(one: Assignment, seen: Sequence[Member], opened: dict[str, PlayerSet], now: datetime) -> SentSet:
    """A set and its counts."""
    members = members_of(one, seen, opened)
    own = [opened[member.id] for member in members if member.id in opened]
    return SentSet(one, is_over(one, now), len(members), len(own), sum(o.finished_at is not None for o in own))
