"""Ending a set: the player's state on the call before and after, and a check session's verdict.

A check session ends as soon as its call is decided, by the server after each stored answer. It is laid out at full
length, so that it can be finished without signal; answers beyond the decision are kept and counted. Rejected: choosing
the next rep after each answer (no signal, no session); ending on the phone (it has no state). Knows nothing of pages or
football.
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import datetime

from starlette.background import BackgroundTask

from server.database.store import Store, TeamSession
from server.database.tables import PlayerSet, Team
from server.database.write_queue import WriteQueue
from server.errors import BadInput, NotFound, Unavailable
from server.mastery.picker import CHECK_MIN, check_verdict
from server.mastery.readout import board
from server.mastery.values import SIDES, State
from server.playbook.playbooks import Playbooks
from server.progress.answer_counts import likely_range
from server.progress.board import SideCount
from server.progress.team_state import TeamState, TeamStates
from server.sets.player_sets import OpenedSet, PlaceAnswer, SetProgress


@dataclass(frozen=True, slots=True)
class Verdict:
    """A check session's result: ``state`` (None: not computed) after ``answered`` reps, ``right`` of them right, also
    by side. ``more`` counts the answers after the decision, ``more_right`` the right ones among them. ``likely`` is how
    many of ten such snaps he can name, from and to, four times out of five (None: not computed)."""

    state: State | None
    right: int
    answered: int
    sides: tuple[SideCount, ...]
    more: int
    more_right: int
    likely: tuple[int, int] | None = None


def find_check_result(done: SetProgress) -> Verdict | None:
    """The verdict of a check session; None while it goes on, and for other sets."""
    if not (done.is_check and done.is_finished and done.opened):
        return None
    answers = [p.answer for p in done.places if p.answer is not None]
    end = done.opened.finished_at
    asked = [a for a in answers if end is None or a.received_at <= end]
    later = [a for a in answers if a not in asked]
    state = State(done.opened.state_after) if done.opened.state_after else None
    right, more = count_right(asked), count_right(later)
    low, high = done.opened.likely_low, done.opened.likely_high
    likely = None if low is None or high is None else (low, high)
    return Verdict(state, right, len(asked), by_side(asked), len(later), more, likely)


def count_right(answers: list[PlaceAnswer]) -> int:
    """The number of right answers."""
    return sum(answer.is_right for answer in answers)


def by_side(answers: list[PlaceAnswer]) -> tuple[SideCount, ...]:
    """Right and answered from each side, left first."""
    found = []
    for side in SIDES:
        own = [answer for answer in answers if answer.side == side]
        found.append(SideCount(side, count_right(own), len(own)))
    return tuple(found)


def likely_on(team_state: TeamState, player: str, call: str, now_s: float) -> tuple[int, int]:
    """How many of ten snaps of a call he can likely name, from and to: a range four times out of five."""
    estimate = board(team_state.state, [player], [call], now_s, team_state.settings)[player, call]
    found = likely_range(estimate)
    return round(found.low / 10), round(found.high / 10)


def state_on(team_state: TeamState, player: str, call: str, now_s: float) -> State:
    """A player's state on a call at that moment; the board shows it as of the end of the hour."""
    return board(team_state.state, [player], [call], now_s, team_state.settings)[player, call].state


def store_state(
    t: TeamSession, done: SetProgress, opened: OpenedSet, state: str, likely: tuple[int, int] | None, now: datetime
) -> SetProgress:
    """Store that a player's copy is finished, and his state, after a check with the likely range, unless that is stored
    already. Raises: NotFound when he was erased in between."""
    row = t.get(PlayerSet, opened.assignment_id, opened.member_id, what="set")
    row.finished_at = row.finished_at or now
    if not row.state_after:
        row.state_after = state
        row.likely_low, row.likely_high = likely or (None, None)
    t.add(row)
    stored = {name: getattr(row, name) for name in ("finished_at", "state_after", "likely_low", "likely_high")}
    return replace(done, opened=replace(opened, **stored))


@dataclass(frozen=True, slots=True)
class CheckSessions:
    """Ends check sessions, and stores a player's state when he finishes a set."""

    store: Store
    writes: WriteQueue
    playbooks: Playbooks
    team_states: TeamStates

    def settle(self, team: Team, done: SetProgress, now: datetime) -> SetProgress:
        """End a player's check session if its call is decided; store his state if he has finished a set.

        Call after an answer is stored, and whenever he comes back to the set: the second call does nothing. Raises:
        Unavailable.
        """
        opened = done.opened
        if (
            opened is None
            or opened.state_after
            or not (done.is_finished or (done.is_check and done.answered >= CHECK_MIN))
        ):
            return done
        if done.assignment.is_mixed:  # several calls have no one state
            if opened.finished_at is not None:
                return done
            return self.writes.write(team.id, lambda t: store_state(t, done, opened, "", None, now))
        try:
            playbook = self.playbooks.of(team)
        except BadInput:
            return done  # the content has problems: answers stay, the rest waits until they are fixed
        team_state = self.team_states.of(self.store, team.id, playbook)
        call = done.assignment.call
        at = (team_state.state, opened.member_id, call, done.answered, team_state.seconds(now), team_state.settings)
        found = (
            state_on(team_state, opened.member_id, call, team_state.seconds(now))
            if done.is_finished
            else check_verdict(*at)
        )
        if found is None:
            return done
        state, now_s = found.value, team_state.seconds(now)
        likely = likely_on(team_state, opened.member_id, call, now_s) if done.is_check else None
        return self.writes.write(team.id, lambda t: store_state(t, done, opened, state, likely, now))

    def settle_soon(self, team: Team, done: SetProgress, now: datetime) -> tuple[SetProgress, BackgroundTask | None]:
        """`settle` for a phone that waits for its reply: a check is settled at once, since the set may end with it. The
        state after any other set is computed once the reply is sent, or when the player comes back, so that the last
        answer doesn't wait for a replay of the season. Rejected: computing it when somebody looks (later answers would
        count)."""
        if done.is_check or not done.is_finished:
            return self.settle(team, done, now), None

        def later() -> None:
            with suppress(Unavailable, NotFound):  # he may be erased by then
                self.settle(team, done, now)

        return done, BackgroundTask(later)
