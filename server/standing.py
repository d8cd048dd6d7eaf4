"""Where a team stands: its mastery state, made from the stored answers and kept up to date in memory.

The answers are the record; what is kept here can be thrown away at any moment. It must not know how the model works.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlmodel import col

from server.mastery.replay import MasteryState, replay
from server.mastery.values import AnswerFact, Families, Side, TeamSettings, to_seconds
from server.store import TeamSession
from server.tables import Answer

COLUMNS = (
    Answer.received_at,
    Answer.id,
    Answer.member_id,
    Answer.call,
    Answer.stage,
    Answer.side,
    Answer.choices,
    Answer.is_right,
    Answer.chosen_words,
    Answer.right_words,
    Answer.relation,
    Answer.position,
)


@dataclass(slots=True)
class Kept:
    """A state and the last answer that it holds."""

    state: MasteryState
    last_at: datetime | None
    last_id: str


class Standings:
    """The mastery states of all teams that somebody has looked at."""

    def __init__(self) -> None:
        self._kept: dict[str, Kept] = {}

    def of(self, t: TeamSession, settings: TeamSettings) -> MasteryState:
        """The team's state with every answer stored so far.

        Answers that came in since are added; one that another process stored out of order makes it start again.
        """
        kept = self._kept.get(t.team_id)
        if kept is not None and kept.last_at is not None:
            rows = self._rows(t, col(Answer.received_at) >= kept.last_at)
            new = [row for row in rows if (row[0], row[1]) > (kept.last_at, kept.last_id)]
            if kept.state.answers + len(new) == t.count(Answer):
                for row in new:
                    kept.state.update(from_row(row))
                    kept.last_at, kept.last_id = row[0], row[1]
                return kept.state
        rows = self._rows(t)
        state = replay((from_row(row) for row in rows), settings, Families())
        last = (rows[-1][0], rows[-1][1]) if rows else (None, "")
        self._kept[t.team_id] = Kept(state, *last)
        return state

    @staticmethod
    def _rows(t: TeamSession, *where: object) -> list[tuple]:
        order = (col(Answer.received_at), col(Answer.id))
        return t.values(Answer, *COLUMNS, where=where, order_by=order)


def from_row(row: tuple) -> AnswerFact:
    """A stored answer as mastery takes it."""
    at, _, member_id, call, stage, side, choices, is_right, chosen, right, relation, position = row
    return AnswerFact(
        player=member_id,
        call=call,
        stage=stage,
        side=Side(side),
        choices=choices,
        right=is_right,
        at=to_seconds(at),
        chosen=chosen,
        right_answer=right,
        relation=relation,
        position=position,
    )
