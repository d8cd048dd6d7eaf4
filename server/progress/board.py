"""A coach's views: the board, the list of players who are not there yet, one player's page. Figures come from mastery.

Plain values for the templates; each figure has its count and date. Knows nothing of how the model works or of how a
page looks.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import NamedTuple

from sqlalchemy import ColumnElement
from sqlmodel import col

from server.accounts.members import players
from server.accounts.sessions import Viewer
from server.database.store import TeamSession
from server.database.tables import AccountRole, Answer, GradedAnswer, KeptRep, Member
from server.errors import NotFound
from server.i18n.lazy_text import LazyText
from server.mastery.readout import Estimate, worst_first
from server.mastery.values import SIDES, State, TeamSettings
from server.playbook.kept_reps import KeptReps
from server.playbook.playbooks import Playbook

MISSES_SHOWN = 12

Estimates = Mapping[tuple[str, str], Estimate]
"""Estimates by player and call."""

#: The group of players without a position.
NO_POSITION = LazyText("no position")


class BoardCell(NamedTuple):
    """A player and a call. ``state`` is can, can't, faded or not proven; ``last_at`` is None without an answer."""

    call: str
    state: State
    answered: int
    right: int
    p_can: float
    last_at: datetime | None


@dataclass(frozen=True, slots=True)
class BoardRow:
    """A player's cells in the order of the calls, and whether he has a job in each call."""

    member: Member
    cells: tuple[Estimate, ...]
    jobs: tuple[bool, ...]


@dataclass(frozen=True, slots=True)
class BoardGroup:
    """A position group and its players. Only players with a job in a call are counted on it."""

    name: str
    lines: tuple[BoardRow, ...]

    def count(self, index: int, state: State) -> int:
        """How many of the group are in a state on the call at that index."""
        return sum(line.jobs[index] and line.cells[index].state == state for line in self.lines)

    def asked(self, index: int) -> int:
        """How many of the group have a job in the call at that index."""
        return sum(line.jobs[index] for line in self.lines)


@dataclass(frozen=True, slots=True)
class SideCount:
    """Right and answered from one side."""

    side: str
    right: int
    answered: int


@dataclass(frozen=True, slots=True)
class NotThereYet:
    """A player who is not there yet on a call, and why; ``open_sides`` are the sides still missing."""

    member: Member
    cell: BoardCell
    sides: tuple[SideCount, ...]
    short: tuple[str, ...]
    open_sides: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class WrongTap:
    """A wrong choice of a position where another is right: how often, by how many players.

    ``rep_id`` and ``chosen`` are one such answer; the words are made from it when it is shown.
    """

    position: str
    rep_id: str
    chosen: tuple[str, ...]
    count: int
    misses: int
    people: int
    right_words: str = ""
    chosen_words: str = ""


@dataclass(frozen=True, slots=True)
class ShownMiss:
    """A wrong answer and the rep as shown, with pictures of the tapped question and of where the answer leads (both
    empty until drawn)."""

    answer: GradedAnswer
    rep: KeptRep
    tapped_svg: str = ""
    after_svg: str = ""


def to_cell(estimate: Estimate) -> BoardCell:
    """A cell of the board."""
    tally = estimate.tally
    last_at = datetime.fromtimestamp(tally.last_at, UTC) if tally.last_at is not None else None
    return BoardCell(estimate.call, estimate.state, tally.answered, tally.right, estimate.p_can, last_at)


def seen_players(t: TeamSession, playbook: Playbook, viewer: Viewer) -> list[Member]:
    """The players that this coach sees."""
    own = {p.key for p in playbook.positions if viewer.sees_group(p.group)}
    known = {p.key for p in playbook.positions}
    is_head = viewer.sees_group("")  # a coach of all groups also sees players whose position the team no longer has
    return [
        m
        for m in players(t)
        if not m.positions or any(one in own or (is_head and one not in known) for one in m.positions)
    ]


def groups_of(member: Member, playbook: Playbook) -> list[str]:
    """A player's position groups, that of his first position in front."""
    return list(dict.fromkeys(playbook.group_of(position) for position in member.positions))


def first_group(member: Member, groups: Mapping[str, str]) -> str:
    """The group that a player is listed under, given the group of each position."""
    return groups.get(next(iter(member.positions), ""), "") or NO_POSITION


def make_board(
    members: Sequence[Member], playbook: Playbook, found: Estimates, calls: Sequence[str]
) -> list[BoardGroup]:
    """The board: players by the group of their first position, with these calls as columns."""
    by_group: dict[str, list[BoardRow]] = {}
    groups = {p.key: p.group for p in playbook.positions}
    for member in members:
        cells = tuple(found[member.id, call] for call in calls)
        jobs = tuple(playbook.has_job(call, member.positions) for call in calls)
        by_group.setdefault(first_group(member, groups), []).append(BoardRow(member, cells, jobs))
    order = list(dict.fromkeys(p.group for p in playbook.positions))
    names = [name for name in order if name in by_group] + [name for name in by_group if name not in order]
    return [BoardGroup(name, tuple(by_group[name])) for name in names]


def behind_on(members: Sequence[Member], call: str, found: Estimates, settings: TeamSettings) -> list[NotThereYet]:
    """The players who are not there yet on a call, the most certain first."""
    by_id = {m.id: m for m in members}
    return [
        NotThereYet(
            by_id[estimate.player],
            to_cell(estimate),
            sides_of(estimate),
            tuple(short.value for short in estimate.short),
            estimate.open_sides,
        )
        for estimate in worst_first((found[m.id, call] for m in members), settings)
    ]


def sides_of(estimate: Estimate) -> tuple[SideCount, ...]:
    """His counts by side; only one side when the estimate covers only that one."""
    each = zip(SIDES, estimate.tally.by_side, strict=True)
    return tuple(SideCount(side, *counts) for side, counts in each if estimate.side in (None, side))


def wrong_taps(
    t: TeamSession, call: str, members: Sequence[Member], stage: int | None = None, side: str | None = None
) -> list[WrongTap]:
    """The wrong choices on a call by position, the most frequent first; only one stage or side if given."""
    where = [col(Answer.call) == call, col(Answer.is_right).is_(False)]
    if stage is not None:
        where.append(col(Answer.stage) == stage)
    if side is not None:
        where.append(col(Answer.side) == side)
    columns = (Answer.position, Answer.right_key, Answer.chosen_key, Answer.member_id, Answer.rep_id, Answer.chosen)
    rows = t.values(Answer, *columns, where=where, order_by=(col(Answer.id),))
    seen = {m.id for m in members}
    kept = [tuple(row) for row in rows if row[3] in seen]
    misses = Counter(row[:2] for row in kept)
    taps = Counter(row[:3] for row in kept)
    people = {tap: len({row[3] for row in kept if row[:3] == tap}) for tap in taps}
    examples = {row[:3]: row[4:] for row in reversed(kept)}
    return [
        WrongTap(tap[0], examples[tap][0], tuple(examples[tap][1]), count, misses[tap[:2]], people[tap])
        for tap, count in taps.most_common()
    ]


def find_player(t: TeamSession, playbook: Playbook, viewer: Viewer, player_id: str) -> Member:
    """A player that this coach sees. Raises: NotFound, the same for all others."""
    member = t.find(Member, player_id)
    if (
        member is None
        or member.role != AccountRole.PLAYER
        or member.id not in {m.id for m in seen_players(t, playbook, viewer)}
    ):
        raise NotFound("There is no such player in your team.")
    return member


def misses_of(t: TeamSession, shown: KeptReps, player_id: str, call: str = "") -> list[ShownMiss]:
    """A player's latest wrong answers, each with the rep as shown."""
    newest = (col(Answer.received_at).desc(), col(Answer.id))
    rows = t.rows(Answer, *_missed(player_id, call), order_by=newest, limit=MISSES_SHOWN)
    return [ShownMiss(row, shown.get(t, row.rep_id)) for row in rows]


def count_misses(t: TeamSession, player_id: str, call: str = "") -> int:
    """The number of a player's wrong answers."""
    return t.count(Answer, *_missed(player_id, call))


def _missed(player_id: str, call: str) -> list[ColumnElement[bool]]:
    where = [col(Answer.member_id) == player_id, col(Answer.is_right).is_(False)]
    return [*where, col(Answer.call) == call] if call else where
