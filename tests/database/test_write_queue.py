"""Writes that share a transaction: each gets his own outcome, after the commit, and none fails for another."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from sqlalchemy import event
from sqlalchemy.exc import IntegrityError, OperationalError

from server.database.store import Store, TeamSession, open_store
from server.database.tables import PlayWord, Team
from server.database.write_queue import MOST_TOGETHER, WriteQueue
from server.errors import BadInput, Unavailable
from server.settings import load_settings

TEAM = "a-team"
NOON = datetime(2026, 9, 1, 12, tzinfo=UTC)


@pytest.fixture(params=["sqlite", "postgresql"])
def store(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Store]:
    """An empty team on either database."""
    url = "" if request.param == "sqlite" else request.getfixturevalue("postgres_url")
    opened = open_store(load_settings(data_dir=tmp_path, database_url=url))
    opened.migrate()
    opened.add_team(Team(id=TEAM, name="T", join_code="CODE", time_zone="UTC", content_hash="", created_at=NOON))
    yield opened
    opened.close()


def add(word: str) -> Callable[[TeamSession], str]:
    """A write of one word; give it back."""

    def work(t: TeamSession) -> str:
        t.add(PlayWord(team_id=TEAM, word=word))
        return word

    return work


def stored(store: Store) -> list[str]:
    with store.read(TEAM) as t:
        return sorted(row.word for row in t.rows(PlayWord))


def all_at_once(store: Store, *works: Callable[[TeamSession], str]) -> list[object]:
    async def go() -> list[object]:
        together = WriteQueue(store)
        return await asyncio.gather(*(together.write(TEAM, one) for one in works), return_exceptions=True)

    return asyncio.run(go())


def count_commits(store: Store) -> list[int]:
    """A list that gets longer with every commit."""
    commits: list[int] = []
    event.listen(store.engine, "commit", lambda _: commits.append(1))
    return commits


def test_those_who_wait_at_once_share_a_commit(store: Store) -> None:
    commits = count_commits(store)
    words = [f"w{n:02}" for n in range(MOST_TOGETHER + 1)]
    assert all_at_once(store, *map(add, words)) == words
    assert (stored(store), len(commits)) == (words, 2)


def test_an_outcome_is_told_only_after_the_commit(store: Store) -> None:
    told: list[str] = []
    event.listen(store.engine, "commit", lambda _: told.append("commit"))

    async def go() -> None:
        together = WriteQueue(store)

        async def one(word: str) -> None:
            told.append(await together.write(TEAM, add(word)))

        await asyncio.gather(one("a"), one("b"))

    asyncio.run(go())
    assert told == ["commit", "a", "b"]


def test_what_one_is_refused_leaves_the_others_alone(store: Store) -> None:
    commits = count_commits(store)

    def refuse(_: TeamSession) -> str:
        raise BadInput("no")

    first, refused, last = all_at_once(store, add("a"), refuse, add("b"))
    assert (first, str(refused), last) == ("a", "no", "b")
    assert (stored(store), len(commits)) == (["a", "b"], 1)


def test_a_row_that_the_database_will_not_take_fails_alone(store: Store) -> None:
    first, failed, last = all_at_once(store, add("a"), add("a"), add("b"))
    assert (first, last) == ("a", "b")
    assert isinstance(failed, IntegrityError)
    assert stored(store) == ["a", "b"]


def test_a_fault_of_the_program_undoes_its_own_write_only(store: Store) -> None:
    def broken(t: TeamSession) -> str:
        t.add(PlayWord(team_id=TEAM, word="half"))
        raise ZeroDivisionError

    failed, last = all_at_once(store, broken, add("b"))
    assert isinstance(failed, ZeroDivisionError)
    assert (last, stored(store)) == ("b", ["b"])


def test_a_commit_that_fails_is_told_to_everybody_and_stores_nothing(store: Store) -> None:
    def on_commit(_: object) -> None:
        raise OperationalError("commit", None, OSError("no space"))

    event.listen(store.engine, "commit", on_commit)
    found = all_at_once(store, add("a"), add("b"))
    assert [type(one) for one in found] == [Unavailable, Unavailable]
    event.remove(store.engine, "commit", on_commit)
    assert stored(store) == []


def test_a_database_that_is_away_is_waited_for_once(store: Store) -> None:
    tries: list[int] = []

    def on_begin(_: object) -> None:
        tries.append(1)
        raise OperationalError("BEGIN", None, OSError("away"))

    event.listen(store.engine, "begin", on_begin)
    found = all_at_once(store, *map(add, "abc"))
    event.remove(store.engine, "begin", on_begin)
    assert [type(one) for one in found] == [Unavailable] * 3
    assert (len(tries), stored(store)) == (1, [])


def test_who_has_gone_meanwhile_holds_up_nobody(store: Store) -> None:
    async def go() -> str:
        together = WriteQueue(store)
        gone = asyncio.create_task(together.write(TEAM, add("a")))
        stays = asyncio.create_task(together.write(TEAM, add("b")))
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

    async def go() -> list[str]:
        together = WriteQueue(store)
        return await asyncio.gather(*(together.write(team, look) for team in (TEAM, "b-team", TEAM)))

    assert asyncio.run(go()) == [TEAM, "b-team", TEAM]
    assert teams == [TEAM, TEAM, "b-team"]
