"""A team's mastery state, computed from the stored answers and kept up to date in memory.

The answers are the record; this cache can be dropped at any moment. Knows nothing of how the model works.
"""

from __future__ import annotations

import threading
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, tzinfo
from math import ceil
from zoneinfo import ZoneInfo

from cachetools import LRUCache
from sqlalchemy import bindparam, select
from sqlmodel import col

from server.database.store import Store, TeamSession, table_of
from server.database.tables import Answer, Member
from server.mastery.readout import Estimate, Reading
from server.mastery.replay import MasteryState, replay
from server.mastery.values import AnswerFact, Families, TeamSettings, to_seconds
from server.opponents.tendencies import find_next, settings_of
from server.playbook.playbooks import Playbook

KEPT_TEAMS = 200
#: How many letters of a rep's id stand for its snap; the others for the question and the position.
SNAP_LETTERS = 16
KEPT_READINGS = 20  # the whole call and each part of it: five stages, two sides
ADDED_AT_MOST = 3000  # more are replayed together with all others
#: A board is read as of the end of the hour, so that every process shows the same and computes it once an hour. In an
#: hour no P(can) of the demo's season moved by more than .0004. Rejected: the exact moment (everything again at each
#: look); the end of the day (two weeks would end at midnight).
HOUR_S = 3600.0
_answer = table_of(Answer).c
#: An answer that came sooner than anybody reads a stem and finds himself in a picture counts a quarter and proves
#: nothing, right or wrong. From memory: a pupil reads three to four words a second, and the shortest stems have eight.
HURRIED_MS, HURRIED_WEIGHT = 1_500, 0.25
#: A team's answers about what its jobs are today, in order, of each what mastery needs: all, those since a moment, the
#: wrong ones.
ANSWERS = (
    select(
        _answer.received_at,
        _answer.id,
        _answer.member_id,
        _answer.call,
        _answer.stage,
        _answer.side,
        _answer.choices,
        _answer.is_right,
        _answer.chosen_key,
        _answer.right_key,
        _answer.relation,
        _answer.position,
        _answer.kind,
        _answer.rep_id,
        _answer.guess,
        _answer.took_ms,
    )
    .where(_answer.team_id == bindparam("team_id"), _answer.changed_at.is_(None))
    .order_by(_answer.received_at, _answer.id)
)
ANSWERS_SINCE = ANSWERS.where(_answer.received_at >= bindparam("since"))
_member = table_of(Member).c
POSITIONS = select(_member.id, _member.positions).where(_member.team_id == bindparam("team_id"))
WRONG_ANSWERS = ANSWERS.where(_answer.is_right.is_(False))


class Readings:
    """Recent readings of a team's state; one thread at a time reads, holding ``lock``."""

    def __init__(self) -> None:
        self.lock = threading.Lock()
        self._kept: LRUCache[tuple[object, ...], Reading] = LRUCache(KEPT_READINGS)

    def of(self, calls: Sequence[str], settings: TeamSettings, stage: int | None, side: str | None) -> Reading:
        """The reading of these calls, or of a part of them."""
        key = (stage, side, *calls)
        reading = self._kept.get(key)
        if reading is None or reading.settings != settings:
            self._kept[key] = reading = Reading(calls, settings, stage, side)
        return reading


@dataclass(frozen=True, slots=True)
class TeamState:
    """A team's state and the settings that its coach reads it by. New answers don't change it.

    ``play_counts`` is what the next opponent runs, empty when there is none; ``opponent`` is his name when the weights
    are his, empty for the usual mix; ``last_id`` is the last answer in the state.
    """

    state: MasteryState
    settings: TeamSettings
    play_counts: Mapping[str, float] = field(default_factory=dict)
    opponent: str = ""
    last_id: str = ""
    readings: Readings = field(default_factory=Readings)

    def seconds(self, now: datetime) -> float:
        """The current time in seconds, never before the last answer (clocks of several machines differ a little)."""
        return max(now.timestamp(), self.state.last_at or 0.0)

    def hour(self, now: datetime) -> float:
        """The end of the current hour in seconds; boards are read as of then."""
        return ceil(self.seconds(now) / HOUR_S) * HOUR_S

    def board(
        self,
        players: Iterable[str],
        calls: Sequence[str],
        now: datetime,
        stage: int | None = None,
        side: str | None = None,
    ) -> Mapping[tuple[str, str], Estimate]:
        """Estimates of all these players and calls as of the end of the hour; unchanged ones are reused."""
        with self.readings.lock:
            reading = self.readings.of(calls, self.settings, stage, side)
            return reading.board(self.state, players, self.hour(now))


@dataclass(slots=True)
class KeptState:
    """A state, the content that its families of calls came from, its last answer, and its recent readings."""

    state: MasteryState
    content_hash: str
    last_at: datetime | None
    last_id: str
    readings: Readings = field(default_factory=Readings)


class TeamStates:
    """The mastery states of recently viewed teams."""

    def __init__(self) -> None:
        self._kept: LRUCache[str, KeptState] = LRUCache(KEPT_TEAMS)
        self._of_team: dict[str, threading.Lock] = {}
        self._keeping = threading.Lock()
        self._starting = threading.Lock()  # one replay at a time: each takes CPU from requests that answer

    def of(self, store: Store, team_id: str, playbook: Playbook) -> TeamState:
        """The team's state with every stored answer, and its settings with the next opponent's weights.

        New answers are added; an answer that another process stored out of order makes it start again, while other
        teams go on. Raises: Unavailable.
        """
        alike = playbook.families()
        with self._of_team.setdefault(team_id, threading.Lock()):
            with self._keeping:
                kept = self._kept.get(team_id)
            if kept is not None and kept.content_hash != playbook.content_hash:
                kept = None
            with store.read(team_id) as t:
                opponent = find_next(t)
                zone = ZoneInfo(t.team().time_zone)
                settings = settings_of(opponent)
                new = None if kept is None else rows_since(t, kept)
                positions = positions_on(t, playbook)
            if kept is None or new is None:
                with self._starting:
                    kept = start(store, team_id, settings, alike, playbook.content_hash, zone)
            else:
                add(kept, new, zone)
            with self._keeping:
                self._kept[team_id] = kept
            weighed = opponent.name if opponent is not None and opponent.stage_counts else ""
            counts = opponent.play_counts if opponent else {}
            state = kept.state.with_positions(positions)
            return TeamState(state, settings, counts, weighed, kept.last_id, kept.readings)


def rows_since(t: TeamSession, kept: KeptState) -> list[tuple] | None:
    """The answers since those in a state; None when they can't simply be added to it."""
    if kept.last_at is None:
        return None
    since = t.look(ANSWERS_SINCE, since=kept.last_at)
    new = [tuple(row) for row in since if (row[0], row[1]) > (kept.last_at, kept.last_id)]
    is_all = kept.state.answers + len(new) == t.count(Answer, col(Answer.changed_at).is_(None))
    return new if is_all and len(new) <= ADDED_AT_MOST else None


def start(
    store: Store,
    team_id: str,
    settings: TeamSettings,
    alike: Mapping[str, Mapping[str, str]],
    content_hash: str,
    zone: ZoneInfo,
) -> KeptState:
    """A state from all answers; ``alike`` is {position: {call: family}}. Raises: Unavailable."""
    with store.read(team_id) as t:
        rows = t.look(ANSWERS)
    state = replay((from_row(row, zone) for row in rows), settings, Families(by_position=alike))
    return KeptState(state, content_hash, rows[-1][0] if rows else None, rows[-1][1] if rows else "")


def add(kept: KeptState, rows: Sequence[tuple], zone: ZoneInfo) -> None:
    """Add answers; a state that was handed out doesn't change."""
    if rows:
        kept.state = kept.state.with_answers([from_row(row, zone) for row in rows])
        kept.last_at, kept.last_id = rows[-1][0], rows[-1][1]


def from_row(row: tuple, zone: tzinfo = UTC) -> AnswerFact:
    """A stored answer as mastery's value; its day is that of the team's time zone."""
    at, _, member_id, call, stage, side, choices, is_right, chosen, right, relation, position, kind, rep_id, *more = row
    guess, took_ms = more
    return AnswerFact(
        player=member_id,
        call=call,
        stage=stage,
        side=side,
        choices=choices,
        right=is_right,
        at=to_seconds(at),
        chosen=chosen,
        right_answer=right,
        relation=relation,
        position=position,
        kind=kind,
        snap=rep_id[:SNAP_LETTERS],
        weight=HURRIED_WEIGHT if took_ms is not None and took_ms < HURRIED_MS else 1.0,
        guess=guess,
        day=at.astimezone(zone).toordinal(),
    )


def positions_on(t: TeamSession, playbook: Playbook) -> dict[str, dict[str, list[str]]]:
    """{player: {call: positions}}: those of his positions that are on the field on that call, his first one first."""
    of: dict[tuple[str, ...], dict[str, list[str]]] = {}
    found = {}
    for member_id, positions in t.look(POSITIONS):
        own = tuple(positions)
        if own not in of:
            of[own] = {call: [one for one in own if playbook.has_job(call, [one])] for call in playbook.calls}
        found[member_id] = of[own]
    return found
