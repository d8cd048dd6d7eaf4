"""What would mend a call is worked out beside the requests: once for each question, one at a time, until the content
changes."""

import threading
from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

import pytest

from quizgen.football.opponent import ChartedOpponent
from server.playbook import mending_jobs
from server.playbook.mending_jobs import KEPT_JOBS, WAITING_MAX, MendingAsked, MendingJob, MendingJobs
from server.playbook.playbooks import Playbook, Playbooks
from server.team.install import update_team
from tests.harness.fake_football import FILES, FakeFootball
from tests.harness.house import House

WAIT_S = 10
FOE = ChartedOpponent("Oakdale", (), False, "oakdale")


class Slow(FakeFootball):
    """Tries three changes, each only when it is let; more than one call at a time is a fault."""

    def __init__(self) -> None:
        self.may_try, self.has_begun = threading.Semaphore(0), threading.Semaphore(0)
        self.calls: list[str] = []
        self.running = 0

    def mend(self, team: Any, call: str, to: Any, opponent: Any, *, watch: Any, tell: Any) -> None:
        self.calls.append(call)
        self.running += 1
        assert self.running == 1
        try:
            for one in watch("abc"):
                self.has_begun.release()
                assert self.may_try.acquire(timeout=WAIT_S)
                tell(one)
        finally:
            self.running -= 1


def asked(house: House, call: str = "Hammer") -> MendingAsked:
    return MendingAsked(house.team.id, house.team.content_hash, call, None, FOE)


def wait(jobs: MendingJobs) -> None:
    """Wait until all that was asked before is over."""
    jobs._worker.submit(int).result(WAIT_S)


def opened(house: House, football: FakeFootball) -> tuple[MendingJobs, Playbook]:
    return MendingJobs(house.store), Playbooks(house.store, football).of(house.team)


def begun(jobs: MendingJobs, playbook: Playbook, one: MendingAsked) -> MendingJob:
    job = jobs.of(playbook, one)
    assert job is not None
    return job


def test_a_job_says_how_far_it_is_and_is_done_once(house: House) -> None:
    football = Slow()
    jobs, playbook = opened(house, football)
    job = begun(jobs, playbook, asked(house))
    football.may_try.release()
    for _ in range(2):
        assert football.has_begun.acquire(timeout=WAIT_S)
    assert (job.tried, job.of, job.found, job.seconds) == ([1], [3], ["a"], None)
    assert jobs.of(playbook, asked(house)) is job
    other = begun(jobs, playbook, asked(house, "Anvil"))
    for _ in range(5):
        football.may_try.release()
    wait(jobs)
    assert (job.tried, job.found) == ([3], ["a", "b", "c"])
    assert None not in (job.seconds, other.seconds)
    assert jobs.of(playbook, asked(house)) is job
    assert football.calls == ["Hammer", "Anvil"]


def test_a_job_of_content_that_changed_is_dropped(house: House, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(mending_jobs, "LOOKS_EVERY_S", 0.0)
    football = Slow()
    jobs, playbook = opened(house, football)
    job = begun(jobs, playbook, asked(house))
    assert football.has_begun.acquire(timeout=WAIT_S)
    files = {"team.toml": "name = 'Made-up High, as edited'\n"}
    update_team(house.store, FakeFootball(), house.team.id, files, datetime.now(UTC))
    football.may_try.release()
    wait(jobs)
    assert job.tried == [1]  # the change that it was trying was its last
    assert begun(jobs, playbook, asked(house)) is not job
    wait(jobs)
    update_team(house.store, FakeFootball(), house.team.id, FILES, datetime.now(UTC))
    new = begun(jobs, playbook, asked(house))
    for _ in range(3):
        football.may_try.release()
    wait(jobs)
    assert new.seconds is not None
    # a result of other content goes at the first look at the new one
    assert begun(jobs, playbook, replace(asked(house), content_hash="other")) is not new
    wait(jobs)
    assert begun(jobs, playbook, asked(house)) is not new
    jobs.stop()


def test_only_so_many_wait_and_only_so_many_are_kept(house: House) -> None:
    football = Slow()
    jobs, playbook = opened(house, football)
    started = [jobs.of(playbook, asked(house, f"call {n}")) for n in range(WAITING_MAX + 3)]
    assert [one is not None for one in started] == [True] * (WAITING_MAX + 1) + [False, False]
    for _ in range(3 * (WAITING_MAX + 1 + KEPT_JOBS)):
        football.may_try.release()
    wait(jobs)
    for n in range(KEPT_JOBS):
        assert jobs.of(playbook, asked(house, f"later {n}")) is not None
        wait(jobs)
    assert jobs.of(playbook, asked(house, "call 0")) is not started[0]
    jobs.stop()


def test_a_fault_of_the_engine_is_said_and_stops_nothing(house: House) -> None:
    class Broken(FakeFootball):
        def mend(self, *_: Any, **__: Any) -> None:
            raise ZeroDivisionError

    jobs, playbook = opened(house, Broken())
    job = begun(jobs, playbook, asked(house))
    wait(jobs)
    assert job.problem == "Our fault"
    jobs.stop()
