"""The one writer of the server: everything that the server stores goes through its queue.

What waits together is stored in one transaction, and so waits for the disk once: phones answer in bursts, and making a
commit durable takes about as long as all else that an answer needs of the database. Each write has a savepoint of its
own, so that one that fails leaves the others alone; each gets its own outcome, and none before the commit.

A team's writes go one after another. SQLite has one writer at a time, so one thread does; on PostgreSQL several threads
write for a team each, so that teams don't wait for each other. It must not know what is written.
"""

from __future__ import annotations

import asyncio
import threading
from collections import OrderedDict, deque
from collections.abc import Callable, Iterator
from concurrent.futures import Future
from dataclasses import dataclass, field
from typing import Any, TypeVar

from sqlalchemy import Connection
from sqlalchemy.exc import OperationalError
from sqlmodel import Session

from server.database.engine import away, is_away
from server.database.store import Store, TeamSession
from server.errors import Unavailable

Result = TypeVar("Result")

#: The most in one transaction, so that none of them waits long for the rest.
MOST_TOGETHER = 24
#: How long a request waits for its write; less than phones wait for a reply.
PATIENCE_S = 5.0
POSTGRES_WRITERS = 4
#: A thread without work ends after this time.
IDLE_S = 5.0


@dataclass(frozen=True, slots=True)
class QueuedWrite:
    """A write that waits, and where its outcome is waited for."""

    team_id: str
    work: Callable[[TeamSession], Any]
    outcome: Future[Any] = field(default_factory=Future)

    def run(self, connection: Connection) -> object:
        """What the work gives, or the error it raises, undone. Raises: OperationalError when the database fails."""
        try:
            with (
                Session(connection, join_transaction_mode="create_savepoint", expire_on_commit=False) as session,
                session.begin(),
            ):
                return self.work(TeamSession(session, self.team_id))
        except OperationalError:
            raise
        except Exception as error:
            return error

    def end(self, result: object) -> None:
        """Hand out the outcome: a result, or an error."""
        if isinstance(result, Exception):
            self.outcome.set_exception(result)
        else:
            self.outcome.set_result(result)


class WriteQueue:
    """The writes that wait, by team, and the threads that do them."""

    def __init__(self, store: Store) -> None:
        self.store = store
        self._most_threads = POSTGRES_WRITERS if store.engine.dialect.name == "postgresql" else 1
        self._changed = threading.Condition()
        self._waiting: OrderedDict[str, deque[QueuedWrite]] = OrderedDict()
        self._writing: set[str] = set()
        self._threads = 0
        self._idle = 0
        self._is_away = False

    def submit(self, team_id: str, work: Callable[[TeamSession], Result]) -> Future[Result]:
        """Queue this for a transaction that writes; its outcome comes after the commit.

        Raises: Unavailable while the database is away and another write is trying it.
        """
        one = QueuedWrite(team_id, work)
        with self._changed:
            if self._is_away and (self._waiting or self._writing):
                raise away()
            self._waiting.setdefault(team_id, deque()).append(one)
            if len(self._ready()) > self._idle and self._threads < self._most_threads:
                self._threads += 1
                threading.Thread(target=self._run, name="writer", daemon=True).start()
            self._changed.notify_all()
        return one.outcome

    def write(self, team_id: str, work: Callable[[TeamSession], Result]) -> Result:
        """Do this in a transaction that writes; give what it gives, after the commit. Waits: not for the event loop.

        Raises: what ``work`` raises; Unavailable.
        """
        outcome = self.submit(team_id, work)
        try:
            return outcome.result(PATIENCE_S)
        except TimeoutError:
            raise given_up(outcome) from None

    async def write_async(self, team_id: str, work: Callable[[TeamSession], Result]) -> Result:
        """The same for the event loop."""
        outcome = self.submit(team_id, work)
        try:
            return await asyncio.wait_for(asyncio.wrap_future(outcome), PATIENCE_S)
        except TimeoutError:
            raise given_up(outcome) from None

    def finish(self) -> None:
        """Wait until everything queued is written or has failed."""
        with self._changed:
            self._changed.wait_for(lambda: not self._waiting and not self._writing)

    def _run(self) -> None:
        while (team_id := self._next_team()) is not None:
            try:
                self._write(team_id)
            finally:
                with self._changed:
                    self._writing.discard(team_id)
                    self._changed.notify_all()

    def _next_team(self) -> str | None:
        """The team that waits longest of those that no other thread writes for; None when the thread is to end."""
        with self._changed:
            self._idle += 1
            ready = self._changed.wait_for(self._ready, IDLE_S)
            self._idle -= 1
            if not ready:
                self._threads -= 1
                return None
            self._writing.add(ready[0])
            return ready[0]

    def _ready(self) -> list[str]:
        return [team_id for team_id in self._waiting if team_id not in self._writing]

    def _write(self, team_id: str) -> None:
        taken: list[QueuedWrite] = []
        results: list[object] = []
        try:
            with self.store.batch(team_id) as connection:
                for one in self._take(team_id):  # only now: whoever gives up while the database is locked is not stored
                    taken.append(one)
                    results.append(one.run(connection))
        except Exception as error:
            self._fail(team_id, taken, error)
            return
        self._is_away = False
        for one, result in zip(taken, results, strict=True):
            one.end(result)

    def _take(self, team_id: str) -> Iterator[QueuedWrite]:
        """Those who still wait, the first in front."""
        for _ in range(MOST_TOGETHER):
            with self._changed:
                waiting = self._waiting.get(team_id)
                if not waiting:
                    return
                one = waiting.popleft()
                if waiting:
                    self._waiting.move_to_end(team_id)
                else:
                    del self._waiting[team_id]
            if one.outcome.set_running_or_notify_cancel():
                yield one

    def _fail(self, team_id: str, taken: list[QueuedWrite], error: Exception) -> None:
        """Hand out an error to those whose transaction failed, and to those who would only wait for the same."""
        if not isinstance(error, Unavailable):
            for one in taken:
                one.end(error)
            return
        with self._changed:
            self._is_away = is_away(error.__cause__)
            for other in [*self._waiting] if self._is_away else [] if taken else [team_id]:
                waiting = self._waiting.pop(other, deque())
                taken += [one for one in waiting if one.outcome.set_running_or_notify_cancel()]
        for one in taken:
            one.end(away())


def given_up(outcome: Future[Any]) -> Unavailable:
    """The refusal of a write that took too long: dropped from the queue if it still waited there."""
    if outcome.cancel():
        return away()
    return Unavailable(
        "The server's database takes too long. What you sent may have been stored; look, or send it again.",
        retry_after_s=5,
    )
