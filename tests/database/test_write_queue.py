"""The one writer: writes share a transaction, each gets its own result after the commit, failures stay apart."""

from __future__ import annotations

import asyncio
import threading
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from sqlalchemy import event
from sqlalchemy.exc import IntegrityError, OperationalError

from server.database import write_queue
from server.database.store import Store, TeamSession
from server.database.tables import PlayWord, Team
from server.database.write_queue import MAX_BATCH, WriteQueue, run_each
from server.errors import BadInput, Unavailable
from server.settings import load_settings
from tests.harness.databases import open_migrated

TEAM = "a-team"
WAIT_S = 20
NOON = datetime(2026, 9, 1, 12, tzinfo=UTC)


@pytest.fixture(params=["sqlite", pytest.param("postgresql", marks=pytest.mark.postgres)])
def store(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Store]:
    """An empty team on either database."""
    url = "" if request.param == "sqlite" else request.getfixturevalue("postgres_url")
    opened = open_migrated(load_settings(data_dir=tmp_path, database_url=url))
    opened.add_team(Team(id=TEAM, name="T", join_code="CODE", time_zone="UTC", content_hash="", created_at=NOON))
    yield opened
    opened.close()


def add(word: str) -> Callable[[TeamSession], str]:
    """A write of one word, which returns it."""

    def work(t: TeamSession) -> str:
        t.add(PlayWord(team_id=TEAM, word=word))
        return word

    return work


def stored(store: Store) -> list[str]:
    with store.read(TEAM) as t:
        return sorted(row.word for row in t.rows(PlayWord))


def queue_all(store: Store, *works: Callable[[TeamSession], str], team_id: str = TEAM) -> list[object]:
    """The results of writes that are all queued before the writer gets the database."""
    queue = WriteQueue(store)
    with store.write(TEAM):
        outcomes = [queue.submit(team_id, work) for work in works]
    return [one.exception(WAIT_S) or one.result() for one in outcomes]


def count_commits(store: Store) -> list[int]:
    """A list that grows with every commit."""
    commits: list[int] = []
    event.listen(store.engine, "commit", lambda _: commits.append(1))
    return commits


def test_waiting_writes_share_a_commit(store: Store) -> None:
    commits = count_commits(store)
    words = [f"w{n:02}" for n in range(MAX_BATCH + 1)]
    assert queue_all(store, *map(add, words)) == words
    assert (stored(store), len(commits)) == (words, 1 + 2)  # the extra one is the block's that held the database


def test_an_outcome_comes_only_after_the_commit(store: Store) -> None:
    came: list[str] = []
    queue = WriteQueue(store)
    with store.write(TEAM):
        outcomes = [queue.submit(TEAM, add(word)) for word in "ab"]
        for one in outcomes:
            one.add_done_callback(lambda outcome: came.append(outcome.result()))
    event.listen(store.engine, "commit", lambda _: came.append("commit"))
    queue.finish()
    assert came[-3:] == ["commit", "a", "b"]


def test_a_refused_write_leaves_the_others_alone(store: Store) -> None:
    commits = count_commits(store)

    def refuse(_: TeamSession) -> str:
        raise BadInput("no")

    first, refused, last = queue_all(store, add("a"), refuse, add("b"))
    assert (first, str(refused), last) == ("a", "no", "b")
    assert (stored(store), len(commits)) == (["a", "b"], 1 + 1)


def test_a_row_that_the_database_refuses_fails_alone(store: Store) -> None:
    first, failed, last = queue_all(store, add("a"), add("a"), add("b"))
    assert (first, last) == ("a", "b")
    assert isinstance(failed, IntegrityError)
    assert stored(store) == ["a", "b"]


def test_a_bug_undoes_only_its_own_write(store: Store) -> None:
    def broken(t: TeamSession) -> str:
        t.add(PlayWord(team_id=TEAM, word="half"))
        raise ZeroDivisionError

    failed, last = queue_all(store, broken, add("b"))
    assert isinstance(failed, ZeroDivisionError)
    assert (last, stored(store)) == ("b", ["b"])


def test_a_commit_that_fails_fails_for_everybody_and_stores_nothing(store: Store) -> None:
    def on_commit(_: object) -> None:
        raise OperationalError("commit", None, OSError("no space"))

    event.listen(store.engine, "commit", on_commit)
    queue = WriteQueue(store)
    found = [queue.submit(TEAM, add(word)).exception(WAIT_S) for word in "ab"]
    assert [type(one) for one in found] == [Unavailable, Unavailable]
    event.remove(store.engine, "commit", on_commit)
    assert stored(store) == []


def test_a_database_that_is_away_is_waited_for_once(store: Store) -> None:
    """Three wait; the first to fail fails all of them. While one more tries it, others are refused at once."""
    queue, begins, may_fail = WriteQueue(store), [], threading.Event()

    def on_begin(_: object) -> None:
        begins.append(1)
        assert may_fail.wait(WAIT_S)
        raise OperationalError("BEGIN", None, OSError("away"))

    event.listen(store.engine, "begin", on_begin)
    waiting = [queue.submit(TEAM, add(word)) for word in "abc"]
    may_fail.set()
    assert [type(one.exception(WAIT_S)) for one in waiting] == [Unavailable] * 3
    queue.finish()
    assert len(begins) == 1
    may_fail.clear()
    tries = queue.submit(TEAM, add("d"))
    with pytest.raises(Unavailable):
        queue.submit("b-team", add("e"))
    may_fail.set()
    assert isinstance(tries.exception(WAIT_S), Unavailable)
    queue.finish()
    event.remove(store.engine, "begin", on_begin)
    assert (queue.write(TEAM, add("f")), stored(store)) == ("f", ["f"])


def test_a_write_given_up_is_not_stored_later(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(write_queue, "WRITE_WAIT_S", 0.1)
    queue = WriteQueue(store)
    with store.write(TEAM), pytest.raises(Unavailable, match="Nothing was changed"):
        queue.write(TEAM, add("a"))
    queue.finish()
    assert (queue.write(TEAM, add("b")), stored(store)) == ("b", ["b"])


def test_a_write_given_up_while_it_is_stored_says_so(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(write_queue, "WRITE_WAIT_S", 0.1)
    queue, may_end = WriteQueue(store), threading.Event()

    def slow(t: TeamSession) -> str:
        assert may_end.wait(WAIT_S)
        return add("a")(t)

    with pytest.raises(Unavailable, match="may have been stored"):
        queue.write(TEAM, slow)
    may_end.set()
    queue.finish()
    assert stored(store) == ["a"]


def test_a_cancelled_request_holds_up_nobody(store: Store) -> None:
    async def go() -> str:
        queue = WriteQueue(store)
        gone = asyncio.create_task(queue.write_item(TEAM, run_each, add("a")))
        stays = asyncio.create_task(queue.write_item(TEAM, run_each, add("b")))
        await asyncio.sleep(0)
        gone.cancel()
        return await stays

    assert asyncio.run(go()) == "b"


def test_teams_never_share_a_transaction(store: Store) -> None:
    store.add_team(Team(id="b-team", name="U", join_code="EDOC", time_zone="UTC", content_hash="", created_at=NOON))
    teams: list[str] = []

    def look(t: TeamSession) -> str:
        teams.append(t.team_id)
        return t.team_id

    queue, commits = WriteQueue(store), count_commits(store)
    with store.write(TEAM):
        outcomes = [queue.submit(team, look) for team in (TEAM, "b-team", TEAM)]
    assert [one.result(WAIT_S) for one in outcomes] == [TEAM, "b-team", TEAM]
    assert (sorted(teams), len(commits)) == ([TEAM, TEAM, "b-team"], 3)  # the extra one is the block's above


def test_on_postgresql_a_team_does_not_wait_for_another(tmp_path: Path, postgres_url: str) -> None:
    opened = open_migrated(load_settings(data_dir=tmp_path, database_url=postgres_url))
    queue, may_end = WriteQueue(opened), threading.Event()
    slow = queue.submit(TEAM, lambda _: may_end.wait(WAIT_S))
    assert queue.write("b-team", lambda t: t.team_id) == "b-team"
    may_end.set()
    assert slow.result(WAIT_S)
    opened.close()


def test_many_teams_at_once_leave_no_write_behind(store: Store) -> None:
    queue = WriteQueue(store)
    outcomes = [queue.submit(f"team-{n % 7}", lambda t: t.team_id) for n in range(200)]
    assert [one.result(WAIT_S) for one in outcomes] == [f"team-{n % 7}" for n in range(200)]
