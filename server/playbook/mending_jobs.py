"""What would mend a call, worked out beside the requests: one job after the other, each kept until the content changes.

A job tells how far it is and what it found so far. Decides nothing about football.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, TypeVar

import structlog

from server.database.store import Store
from server.errors import Unavailable, Unexpected
from server.playbook.engine import CallSide, FootballError
from server.playbook.playbooks import Playbook

if TYPE_CHECKING:
    from quizgen.engine.mending import Mending
    from server.playbook.engine import ChartedOpponent

T = TypeVar("T")
KEPT_JOBS = 32
#: Jobs that wait; more are refused for the moment, and the next look asks again.
WAITING_MAX = 8
#: How often a running job looks whether the team's content is still the same, in seconds.
LOOKS_EVERY_S = 1.0

log = structlog.get_logger()


class _DroppedError(Exception):
    """The team's content changed, or the server stops: nobody will read this job's result."""


@dataclass(frozen=True, slots=True)
class MendingAsked:
    """A call (by name) of a team's content to a side (None: both) against an opponent."""

    team_id: str
    content_hash: str
    call: str
    to: CallSide | None
    opponent: ChartedOpponent


@dataclass(slots=True)
class MendingJob:
    """How far a job is: of the changes that are tried one by one, then in pairs, how many are tried, and what was found
    so far; ``seconds`` None: not done; ``problem``: why it ended early."""

    tried: list[int] = field(default_factory=list)
    of: list[int] = field(default_factory=list)
    found: list[Mending] = field(default_factory=list)
    seconds: float | None = None
    problem: str = ""


class MendingJobs:
    """The jobs of all teams. One thread works them out, so a team never has two at a time. Rejected: a newer job in
    place of the team's running one (two coaches who look at two calls would stop each other for ever)."""

    def __init__(self, store: Store) -> None:
        self.store = store
        self._jobs: dict[MendingAsked, MendingJob] = {}
        self._lock = threading.Lock()
        self._is_over = threading.Event()
        self._worker = ThreadPoolExecutor(1, "mending")

    def of(self, playbook: Playbook, asked: MendingAsked) -> MendingJob | None:
        """The job for this, started at the first look; None while too many others wait."""
        with self._lock:
            for other in [one for one in self._jobs if _is_outdated(one, asked)]:
                del self._jobs[other]
            job = self._jobs.get(asked)
            if job is None and sum(one.seconds is None for one in self._jobs.values()) <= WAITING_MAX:
                job = self._jobs[asked] = MendingJob()
                self._worker.submit(self._run, playbook, asked, job)
                done = [one for one, other in self._jobs.items() if other.seconds is not None]
                for one in done[: max(0, len(self._jobs) - KEPT_JOBS)]:
                    del self._jobs[one]
        return job

    def stop(self) -> None:
        """Stop after the current step, without waiting for it."""
        self._is_over.set()
        self._worker.shutdown(wait=False, cancel_futures=True)

    def _run(self, playbook: Playbook, asked: MendingAsked, job: MendingJob) -> None:
        began = time.monotonic()
        looked_at = began

        def watch(tried: Sequence[T]) -> Iterator[T]:
            nonlocal looked_at
            at = len(job.of)
            job.tried.append(0)
            job.of.append(len(tried))
            for one in tried:
                if self._is_over.is_set():
                    raise _DroppedError
                if time.monotonic() - looked_at > LOOKS_EVERY_S:
                    looked_at = time.monotonic()
                    self._check_content(asked)
                yield one
                job.tried[at] += 1

        try:
            self._check_content(asked)
            football, wanted = playbook.football, (asked.call, asked.to, asked.opponent)
            football.mend(playbook.team, *wanted, watch=watch, tell=job.found.append)
        except (_DroppedError, Unavailable):  # when the database is back, the next look starts it again
            with self._lock:
                self._jobs.pop(asked, None)
        except FootballError as error:
            job.problem = str(error)
        except Exception:
            log.exception("mending failed")
            job.problem = Unexpected.title
        finally:
            job.seconds = time.monotonic() - began

    def _check_content(self, asked: MendingAsked) -> None:
        team = self.store.find_team(team_id=asked.team_id)
        if team is None or team.content_hash != asked.content_hash:
            raise _DroppedError


def _is_outdated(one: MendingAsked, by: MendingAsked) -> bool:
    return one.team_id == by.team_id and one.content_hash != by.content_hash
