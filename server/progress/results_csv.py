"""Results as CSV files: each player's state on each call, and all answers; only of players that the coach sees.

The files use the board's figures, so that a spreadsheet and the board agree. Knows nothing of pages.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from sqlalchemy import func, tuple_
from sqlmodel import col

from server.database.store import Store, TeamSession
from server.database.tables import Answer, Member, Team
from server.mastery.values import SIDES
from server.playbook.noun_names import NounNames
from server.playbook.playbooks import Playbook
from server.progress.board import groups_of
from server.progress.team_state import TeamState
from server.reading.csv_files import BOM, encode_rows

BATCH = 500
CALLS_HEADER = (
    *("Number", "Name", "Positions", "Group", "Call", "State", "P(can)", "Right", "Answered"),
    *("Right to our left", "Answered to our left", "Right to our right", "Answered to our right", "Last answer"),
)
ANSWERS_HEADER = (
    *("Number", "Name", "Answered at", "Call", "Stage", "Call goes to our", "Position", "Kind", "He took"),
    *("Right is", "Right", "After it was due", "Seconds"),
)


@dataclass(frozen=True, slots=True)
class ResultsFilter:
    """The results wanted: of these players, on one call if given."""

    members: Sequence[Member]
    call: str = ""

    @property
    def where(self) -> list[object]:
        """The conditions on answers."""
        ids = [member.id for member in self.members]
        found: list[object] = [col(Answer.member_id).in_(ids)]
        return [*found, col(Answer.call) == self.call] if self.call else found


def count_answers(t: TeamSession, wanted: ResultsFilter) -> int:
    """The number of answers."""
    return t.count(Answer, *wanted.where)


def call_rows(
    t: TeamSession,
    wanted: ResultsFilter,
    playbook: Playbook,
    names: NounNames,
    team_state: TeamState,
    now: datetime,
) -> Iterator[Sequence[object]]:
    """A row for each player and call, below `CALLS_HEADER`."""
    calls = [call for call in playbook.calls if wanted.call in ("", call)]
    ids = [member.id for member in wanted.members]
    found = team_state.board(ids, calls, now)
    counts: dict[tuple[str, str, str], list[int]] = defaultdict(lambda: [0, 0])
    by = (Answer.member_id, Answer.call, Answer.side, Answer.is_right)
    for member_id, call, side, is_right, count in t.values(Answer, *by, func.count(), where=wanted.where, group_by=by):
        pair = counts[member_id, call, side]
        pair[0] += count if is_right else 0
        pair[1] += count
    zone = ZoneInfo(t.team().time_zone)
    for member in wanted.members:
        group = (groups_of(member, playbook) or [""])[0]
        for call in calls:
            estimate = found[member.id, call]
            sides = [counts[member.id, call, side] for side in SIDES]
            last = "" if estimate.last_at is None else datetime.fromtimestamp(estimate.last_at, zone)
            yield (
                *(member.number, member.name, names.positions(member.positions), group, names.call(call)),
                *(estimate.state.value, round(estimate.p_can, 3), estimate.right, estimate.answered),
                *(count for pair in sides for count in pair),
                f"{last:%Y-%m-%d}" if last else "",
            )


def answer_lines(store: Store, team: Team, wanted: ResultsFilter, names: NounNames, until: datetime) -> Iterator[bytes]:
    """The file of all answers up to a moment, in order, read and sent in batches so that it is never all in memory."""
    yield BOM.encode() + encode_rows([ANSWERS_HEADER])
    by_id, local = {member.id: member for member in wanted.members}, ZoneInfo(team.time_zone)
    for lot in batches_of(store, team, wanted, until):
        yield encode_rows(to_row(one, by_id[one.member_id], names, local) for one in lot)


def batches_of(store: Store, team: Team, wanted: ResultsFilter, until: datetime) -> Iterator[list[Answer]]:
    """All answers up to a moment, in order, a batch at a time."""
    order = (col(Answer.received_at), col(Answer.member_id), col(Answer.id))
    where = [*wanted.where, col(Answer.received_at) <= until]
    after: list[object] = []
    while True:
        with store.read(team.id) as t:
            lot = t.rows(Answer, *where, *after, order_by=order, limit=BATCH)
        if not lot:
            return
        yield lot
        last = lot[-1]
        after = [
            (col(Answer.received_at) > last.received_at)
            | (
                (col(Answer.received_at) == last.received_at)
                & (tuple_(col(Answer.member_id), col(Answer.id)) > (last.member_id, last.id))
            )
        ]


def to_row(answer: Answer, member: Member, names: NounNames, zone: ZoneInfo) -> Sequence[object]:
    """A row below `ANSWERS_HEADER`."""
    return (
        *(member.number, member.name, f"{answer.received_at.astimezone(zone):%Y-%m-%d %H:%M:%S}"),
        *(names.call(answer.call), answer.stage, answer.side, names.position(answer.position), answer.kind),
        *(answer.chosen_words, answer.right_words),
        *("yes" if one else "no" for one in (answer.is_right, answer.is_late)),
        "" if answer.took_ms is None else answer.took_ms / 1000,
    )
