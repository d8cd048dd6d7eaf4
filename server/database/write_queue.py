"""The server's one writer: all its writes go through this queue.

Queued writes are stored in one transaction and so wait for the disk once: phones answer in bursts, and a durable commit
takes about as long as everything else that an answer needs from the database. Writes of one kind that wait together
also share their statements. When one fails, all are undone and run again, each in its own savepoint, so that a failure
leaves the others alone: a write may run twice. Rejected: a session and a savepoint for every write. Each gets its own
result, after the commit.

A team's writes run one after another. SQLite has one writer at a time, so one thread runs them; on PostgreSQL several
threads do, one team each, so that teams don't wait for each other. Knows nothing of what is written.
"""

from __future__ import annotations

import asyncio
import threading
import time
from collections import OrderedDict, deque
from collections.abc import Callable, Sequence
from concurrent.futures import Future
from dataclasses import dataclass, field
from itertools import groupby
from typing import Any, TypeVar

from sqlalchemy.exc import OperationalError

from server.database.engine import away, is_away
from server.database.store import Store, TeamSession
from server.errors import Refusal, Unavailable

Item = TypeVar("Item")
Result = TypeVar("Result")

#: The most writes in one transaction, so that none waits long for the rest.
MAX_BATCH = 64
#: How long a request waits for its write; less than phones wait for a reply.
WRITE_WAIT_S = 5.0
#: After a batch of several a writer pauses as long as the batch took, at most so long: more writes share the next one.
LINGER_MAX_S = 0.02
POSTGRES_WRITERS = 4
#: An idle thread ends after this time.
IDLE_S = 5.0


@dataclass(frozen=True, slots=True)
class QueuedWrite:
    """A queued write and the future of its result. ``work`` gets the items of all waiting writes with the same work,
    and returns for each its result, or an error that it met before it changed anything."""

    work: Callable[[TeamSession, Sequence[Any]], Sequence[Any]]
    item: Any
    outcome: Future[Any] = field(default_factory=Future)

    def run_apart(self, t: TeamSession) -> object:
        """Run the work in a savepoint; return its result or the error that it raised. Raises: OperationalError when the
        database fails."""
        try:
            with t.session.begin_nested():
                [result] = self.work(t, [self.item])
                return result
        except OperationalError:
            raise
        except Exception as error:
            return error

    def end(self, result: object) -> None:
        """Set the future's result or error."""
        if isinstance(result, Exception):
            self.outcome.set_exception(result)
        else:
            self.outcome.set_result(result)


class WriteQueue:
    """Queued writes by team, and the threads that run them."""

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
        """Queue this work for a writing transaction; the future is set after the commit.

        Raises: Unavailable while the database is away and another write is trying it.
        """
        return self._queue(team_id, QueuedWrite(run_each, work))

    def write(self, team_id: str, work: Callable[[TeamSession], Result]) -> Result:
        """Run this work in a writing transaction and return its result after the commit. Blocks: not for the event
        loop.

        Raises: what ``work`` raises; Unavailable.
        """
        outcome = self.submit(team_id, work)
        try:
            return outcome.result(WRITE_WAIT_S)
        except TimeoutError:
            raise give_up_error(outcome) from None

    async def write_item(
        self, team_id: str, work: Callable[[TeamSession, Sequence[Item]], Sequence[Result | Refusal]], item: Item
    ) -> Result:
        """`write` for the event loop, sharing the statements of ``work`` with others that wait; see `QueuedWrite`."""
        outcome = self._queue(team_id, QueuedWrite(work, item))
        try:
            return await asyncio.wait_for(asyncio.wrap_future(outcome), WRITE_WAIT_S)
        except TimeoutError:
            raise give_up_error(outcome) from None

    def _queue(self, team_id: str, one: QueuedWrite) -> Future[Any]:
        with self._changed:
            if self._is_away and (self._waiting or self._writing):
                raise away()
            self._waiting.setdefault(team_id, deque()).append(one)
            if len(self._ready()) > self._idle and self._threads < self._most_threads:
                self._threads += 1
                threading.Thread(target=self._run, name="writer", daemon=True).start()
            self._changed.notify_all()
        return one.outcome

    def finish(self) -> None:
        """Wait until all queued writes are stored or have failed."""
        with self._changed:
            self._changed.wait_for(lambda: not self._waiting and not self._writing)

    def _run(self) -> None:
        while (team_id := self._next_team()) is not None:
            began, is_shared = time.monotonic(), False
            try:
                is_shared = self._write(team_id) > 1
            finally:
                with self._changed:
                    self._writing.discard(team_id)
                    self._changed.notify_all()
            if is_shared:
                time.sleep(min(time.monotonic() - began, LINGER_MAX_S))

    def _next_team(self) -> str | None:
        """The longest-waiting team that no other thread writes for; None when this thread should end."""
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

    def _write(self, team_id: str) -> int:
        """Store a batch; return how many writes it had."""
        taken: list[QueuedWrite] = []
        try:
            results = self._run_batch(team_id, taken)
        except Exception as error:
            self._fail(team_id, taken, error)
            return 0
        self._is_away = False
        for one, result in zip(taken, results, strict=True):
            one.end(result)
        return len(taken)

    def _run_batch(self, team_id: str, taken: list[QueuedWrite]) -> list[object]:
        """Take writes and store them; return their results, or the errors that they raised. Raises: Unavailable; the
        error of a write that is alone."""
        try:
            with self.store.write(team_id) as t:
                taken += self._take(team_id)  # only now, so that a write given up during a lock is not stored
                return [
                    result
                    for work, alike in groupby(taken, lambda one: one.work)
                    for result in work(t, [one.item for one in alike])
                ]
        except Unavailable:
            raise
        except Exception:
            if len(taken) == 1:
                raise
        with self.store.write(team_id) as t:
            return [one.run_apart(t) for one in taken]

    def _take(self, team_id: str) -> list[QueuedWrite]:
        """The next writes that nobody has given up, in order."""
        with self._changed:
            waiting = self._waiting[team_id]
            found = [waiting.popleft() for _ in range(min(len(waiting), MAX_BATCH))]
            if waiting:
                self._waiting.move_to_end(team_id)
            else:
                del self._waiting[team_id]
        return [one for one in found if one.outcome.set_running_or_notify_cancel()]

    def _fail(self, team_id: str, taken: list[QueuedWrite], error: Exception) -> None:
        """Fail the writes of a failed transaction, and those that would only wait for the same failure."""
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


def run_each(t: TeamSession, works: Sequence[Callable[[TeamSession], Any]]) -> list[Any]:
    """Run works that share nothing but the transaction."""
    return [work(t) for work in works]


def give_up_error(outcome: Future[Any]) -> Unavailable:
    """The error for a write that took too long: removed from the queue if it had not begun."""
    if outcome.cancel():
        return away()
    return Unavailable(
        "The server's database takes too long. What you sent may have been stored; look, or send it again.",
        retry_after_s=5,
    )
