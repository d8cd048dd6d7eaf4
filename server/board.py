"""What a coach decides from: the board, the list of those not there yet, one player in full. Figures come from mastery.

Plain values for the templates; no figure without its count and date. It must not know how the model works or how a
page looks.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

from sqlmodel import col

from server.mastery.readout import CallReadout, Estimate, board, not_there_yet, readout
from server.mastery.values import SIDES, State
from server.people import Viewer, players
from server.playbooks import Playbook
from server.problems import NotFound
from server.shown import ShownReps
from server.standing import Standing
from server.store import TeamSession
from server.tables import Answer, Member, RepShown, Role
from server.told import Told

MISSES_SHOWN = 30

#: The group of players without a position.
NO_POSITION = Told("no position")


@dataclass(frozen=True, slots=True)
class Cell:
    """A player and a call. ``state`` is can, can't, faded or not proven; ``last_at`` is None without any answer."""

    call: str
    state: State
    answered: int
    right: int
    p_can: float
    last_at: datetime | None

    @property
    def letter(self) -> str:
        """The state in one letter."""
        return self.state.letter


@dataclass(frozen=True, slots=True)
class Line:
    """A player and his cells, one a call, in the order of the calls."""

    member: Member
    cells: tuple[Cell, ...]


@dataclass(frozen=True, slots=True)
class Group:
    """A position group and its players; ``totals`` says per call how many are in each state."""

    name: str
    lines: tuple[Line, ...]

    def count(self, index: int, state: State) -> int:
        """How many of the group are in a state on the call of that index."""
        return sum(line.cells[index].state is state for line in self.lines)


@dataclass(frozen=True, slots=True)
class SideCount:
    """Right and answered from one side."""

    side: str
    right: int
    answered: int


@dataclass(frozen=True, slots=True)
class Behind:
    """A player who is not there yet on a call, with why."""

    member: Member
    cell: Cell
    sides: tuple[SideCount, ...]
    short: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class WrongTap:
    """What a position answers where something else is right, how often, by how many players."""

    position: str
    right_words: str
    chosen_words: str
    count: int
    misses: int
    people: int


@dataclass(frozen=True, slots=True)
class Miss:
    """A wrong answer, the rep as it was shown, and what the answer leads to, drawn (empty: not asked for yet)."""

    answer: Answer
    rep: RepShown
    after_svg: str = ""


def to_cell(estimate: Estimate) -> Cell:
    """A cell of the board."""
    last_at = None if estimate.last_at is None else datetime.fromtimestamp(estimate.last_at, UTC)
    return Cell(estimate.call, estimate.state, estimate.answered, estimate.right, estimate.p_can, last_at)


def seen_players(t: TeamSession, playbook: Playbook, viewer: Viewer) -> list[Member]:
    """The players that this coach sees."""
    return [m for m in players(t) if any(viewer.sees_group(g) for g in groups_of(m, playbook)) or not m.positions]


def groups_of(member: Member, playbook: Playbook) -> list[str]:
    """The position groups a player belongs to, that of his first position in front."""
    return list(dict.fromkeys(playbook.group_of(position) for position in member.positions))


def make_board(
    members: Sequence[Member],
    playbook: Playbook,
    standing: Standing,
    now: datetime,
    *,
    group: str = "",
    stage: int | None = None,
) -> list[Group]:
    """The board: players by the group of their first position, calls across; one group or stage only when named."""
    found = board(
        standing.state, [m.id for m in members], playbook.calls, standing.seconds(now), standing.settings, stage
    )
    by_group: dict[str, list[Line]] = {}
    for member in members:
        own = (groups_of(member, playbook) or [""])[0] or NO_POSITION
        if group in ("", own):
            cells = tuple(to_cell(found[member.id, call]) for call in playbook.calls)
            by_group.setdefault(own, []).append(Line(member, cells))
    order = list(dict.fromkeys(p.group for p in playbook.positions))
    names = [name for name in order if name in by_group] + [name for name in by_group if name not in order]
    return [Group(name, tuple(by_group[name])) for name in names]


def behind_on(
    members: Sequence[Member], call: str, standing: Standing, now: datetime, stage: int | None = None
) -> list[Behind]:
    """Who is not there yet on a call, the surest first."""
    by_id = {m.id: m for m in members}
    state, settings, now_s = standing.state, standing.settings, standing.seconds(now)
    found = []
    for estimate in not_there_yet(state, list(by_id), [call], now_s, settings, stage):
        full = readout(state, estimate.player, call, now_s, settings, stage)
        found.append(
            Behind(
                by_id[estimate.player],
                to_cell(estimate),
                sides_of(full),
                tuple(short.value for short in estimate.short),
            )
        )
    return found


def sides_of(full: CallReadout) -> tuple[SideCount, ...]:
    """His counts by side."""
    return tuple(SideCount(side.value, *full.by_side(side)) for side in SIDES)


def wrong_taps(t: TeamSession, call: str, members: Sequence[Member]) -> list[WrongTap]:
    """Where wrong answers on a call go, by position, the most frequent first."""
    rows = t.values(
        Answer,
        Answer.position,
        Answer.right_words,
        Answer.chosen_words,
        Answer.member_id,
        where=(col(Answer.call) == call, col(Answer.is_right).is_(False)),
    )
    seen = {m.id for m in members}
    kept = [tuple(row) for row in rows if row[3] in seen]
    misses = Counter(row[:2] for row in kept)
    taps = Counter(row[:3] for row in kept)
    people = {tap: len({row[3] for row in kept if row[:3] == tap}) for tap in taps}
    return [
        WrongTap(position, right, chosen, count, misses[position, right], people[position, right, chosen])
        for (position, right, chosen), count in taps.most_common()
    ]


def find_player(t: TeamSession, playbook: Playbook, viewer: Viewer, player_id: str) -> Member:
    """A player that this coach sees. Raises: NotFound, alike for all others."""
    member = t.find(Member, player_id)
    if (
        member is None
        or member.role != Role.PLAYER
        or member.id not in {m.id for m in seen_players(t, playbook, viewer)}
    ):
        raise NotFound("There is no such player in your team.")
    return member


def misses_of(t: TeamSession, shown: ShownReps, player_id: str, call: str = "") -> list[Miss]:
    """His latest wrong answers, each with the rep as he saw it."""
    where = [col(Answer.member_id) == player_id, col(Answer.is_right).is_(False)]
    if call:
        where.append(col(Answer.call) == call)
    rows = t.rows(Answer, *where, order_by=(col(Answer.received_at).desc(), col(Answer.id)), limit=MISSES_SHOWN)
    return [Miss(row, shown.get(t, row.rep_id)) for row in rows]
