"""Writes that arrive together share one transaction, and so one wait for the disk.

Phones answer in bursts, and making a commit durable takes about as long as all else that an answer needs of the
database. Whoever waits when the loop comes round is taken along; each still gets his own outcome, and none before the
commit. It must not know what is written.
"""

from __future__ import annotations

import asyncio
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, TypeVar

from server.database.store import Store, TeamSession
from server.errors import Refusal, Unavailable

Result = TypeVar("Result")

#: So many at most, so that none of them, and no other request, waits long for the rest.
MOST_TOGETHER = 24


@dataclass(frozen=True, slots=True)
class Waiting:
    """A write, and where its outcome is waited for."""

    work: Callable[[TeamSession], Any]
    outcome: asyncio.Future[Any]

    def say(self, result: object) -> None:
        """Hand the outcome, or the error, to whoever still waits for it."""
        if self.outcome.done():  # he has gone
            return
        if isinstance(result, Exception):
            self.outcome.set_exception(result)
        else:
            self.outcome.set_result(result)


class WriteQueue:
    """The writes that wait, by team: a transaction is always on behalf of one."""

    def __init__(self, store: Store) -> None:
        self.store = store
        self._waiting: dict[str, deque[Waiting]] = {}

    async def write(self, team_id: str, work: Callable[[TeamSession], Result]) -> Result:
        """Do this in a transaction that writes, maybe with others of the team; give what it gives, after the commit.

        ``work`` may run more than once, with all that it wrote before undone. What it refuses, it must refuse before it
        writes anything: the others' writes stand. Raises: what ``work`` raises; Unavailable.
        """
        loop = asyncio.get_running_loop()
        one = Waiting(work, loop.create_future())
        waiting = self._waiting.setdefault(team_id, deque())
        waiting.append(one)
        if len(waiting) == 1:
            loop.call_soon(self._begin, team_id)
        result: Result = await one.outcome
        return result

    def _begin(self, team_id: str) -> None:
        waiting = self._waiting[team_id]
        some = [waiting.popleft() for _ in range(min(len(waiting), MOST_TOGETHER))]
        if waiting:
            asyncio.get_running_loop().call_soon(self._begin, team_id)
        else:
            del self._waiting[team_id]
        self._write(team_id, some)

    def _write(self, team_id: str, some: list[Waiting]) -> None:
        try:
            with self.store.write(team_id) as t:
                results = [_outcome(one, t) for one in some]
        except Exception as error:
            if len(some) > 1 and not isinstance(error, Unavailable):
                for one in some:  # what went wrong with one is not to fail the others
                    self._write(team_id, [one])
                return
            for one in some:  # without its database the server is not to wait for it once for each of them
                one.say(error)
            return
        for one, result in zip(some, results, strict=True):
            one.say(result)


def _outcome(one: Waiting, t: TeamSession) -> object:
    try:
        return one.work(t)
    except Refusal as refusal:
        return refusal
