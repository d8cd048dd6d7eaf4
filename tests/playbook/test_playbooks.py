"""Teams in memory match the database, and one request's long work doesn't block others."""

import threading
from concurrent.futures import ThreadPoolExecutor
from contextlib import AbstractContextManager
from datetime import UTC, datetime

import pytest

from server.database.store import Store, TeamSession
from server.database.write_queue import WriteQueue
from server.i18n.languages import language
from server.mastery.replay import MasteryState
from server.mastery.values import Families, TeamSettings
from server.playbook.playbooks import Playbooks, hash_files, read_files
from server.progress.team_state import KeptState, TeamStates
from server.team.install import update_team
from tests.harness.fake_football import FILES, REPS, FakeCatalogue, FakeFootball
from tests.harness.house import House

WAIT_S = 10
OTHER_FILES = {"team.toml": "name = 'Made-up High, as edited'\n"}


class SlowToCompare(FakeFootball):
    """Compares calls until it is released."""

    def __init__(self) -> None:
        self.has_begun, self.may_end = threading.Event(), threading.Event()

    def families(self, catalogue: FakeCatalogue) -> dict[str, dict[str, str]]:
        self.has_begun.set()
        assert self.may_end.wait(WAIT_S)
        return {"Mike": {"Hammer": "Hammer"}}


def test_content_saved_during_a_load_is_not_cached_under_the_old_hash(house: House) -> None:
    """A request found the team, then somebody saved, then its playbook was loaded; then he undid his edit."""
    playbooks, found = Playbooks(house.store, FakeFootball()), house.team
    stands, _ = read_files(house.store, found.id)
    update_team(house.store, FakeFootball(), found.id, OTHER_FILES, datetime.now(UTC))
    edited = read_files(house.store, found.id)[1]
    assert playbooks.of(found).content_hash == hash_files(edited)
    update_team(house.store, FakeFootball(), found.id, FILES, datetime.now(UTC))
    again, undone = read_files(house.store, found.id)
    assert again == stands
    assert playbooks.of(house.store.teams()[0]).content_hash == hash_files(undone) != hash_files(edited)


def test_files_and_their_hash_are_of_one_moment(house: House) -> None:
    """Somebody saves after the hash was read and before the files were: both are read again."""
    [(_, old), store] = read_files(house.store, house.team.id), house.store
    reads: list[str] = []
    saves = [OTHER_FILES]

    class Between(Store):
        """The same database, with somebody else saving before the first read of the files."""

        def __init__(self) -> None:
            self.engine = store.engine

        def read(self, team_id: str) -> AbstractContextManager[TeamSession]:  # type: ignore[override]
            reads.append(team_id)
            if len(reads) == 2 and saves:
                update_team(store, FakeFootball(), team_id, saves.pop(), datetime.now(UTC))
            return store.read(team_id)

    key, files = read_files(Between(), house.team.id)
    assert files != old
    assert (key, files) == read_files(store, house.team.id)
    assert len(reads) == 4


def test_pictures_do_not_wait_while_calls_are_compared(house: House) -> None:
    football = SlowToCompare()

    playbook = Playbooks(house.store, football).of(house.team)
    with ThreadPoolExecutor(2) as pool:
        comparing = pool.submit(playbook.families)
        assert football.has_begun.wait(WAIT_S)
        drawn = pool.submit(playbook.misses, []).result(WAIT_S / 2)
        football.may_end.set()
    assert (drawn, comparing.result()) == ([], {"Mike": {"Hammer": "Hammer"}})


def test_calls_are_compared_once_for_all_who_ask(house: House) -> None:
    football = SlowToCompare()
    football.may_end.set()

    playbook = Playbooks(house.store, football).of(house.team)
    with ThreadPoolExecutor(2) as pool:
        first, second = pool.map(lambda _: playbook.families(), range(2))
    assert first is second


class Comparing(FakeFootball):
    """Counts its comparisons."""

    def __init__(self) -> None:
        self.compared = 0

    def families(self, catalogue: FakeCatalogue) -> dict[str, dict[str, str]]:
        self.compared += 1
        return {"Mike": {"Hammer": f"comparison {self.compared}"}}


def test_a_start_compares_calls_only_for_another_content_or_engine(house: House) -> None:
    football, found = Comparing(), []

    def start() -> None:
        team = house.store.find_team(team_id=house.team.id)
        assert team is not None
        families = Playbooks(house.store, football, WriteQueue(house.store)).of(team).families()
        found.append(int(families["Mike"]["Hammer"].split()[1]))

    start()
    start()
    football.version = "another"
    start()
    update_team(house.store, football, house.team.id, OTHER_FILES, datetime.now(UTC))
    start()
    start()
    assert found == [1, 1, 2, 3, 3]


def test_a_rep_that_the_content_no_longer_has_is_shown_as_it_was(house: House) -> None:
    playbook = Playbooks(house.store, FakeFootball()).of(house.team)
    [there] = playbook.snapshots(house.team.id, [REPS[0].id], datetime.now(UTC))
    gone = there.model_copy(update={"rep_id": "nosuch"})
    drawn = playbook.tapped([(there, ["a"]), (gone, ["a"])], language("en"))
    assert f"before {REPS[0].id}, tapped a" in drawn[0]
    assert drawn[1] == there.before_svg


def test_one_teams_replay_blocks_no_other_team(house: House, monkeypatch: pytest.MonkeyPatch) -> None:
    other, team_states = house.add_team(), TeamStates()
    has_begun, may_end = threading.Event(), threading.Event()

    def start(store: Store, team_id: str, settings: TeamSettings, *rest: object) -> KeptState:
        has_begun.set()
        assert may_end.wait(WAIT_S)
        return KeptState(MasteryState(settings.rules, Families()), str(rest[-1]), None, "")

    playbooks = house.app.state.services.playbooks
    playbook, of_other = playbooks.of(house.team), playbooks.of(other)
    team_states.of(house.store, other.id, of_other)
    monkeypatch.setattr("server.progress.team_state.start", start)
    with ThreadPoolExecutor(2) as pool:
        replaying = pool.submit(team_states.of, house.store, house.team.id, playbook)
        assert has_begun.wait(WAIT_S)
        monkeypatch.undo()
        team_states._kept[other.id].last_at = datetime.now(UTC)
        found = pool.submit(team_states.of, house.store, other.id, of_other).result(WAIT_S / 2)
        may_end.set()
        replaying.result()
    assert found.state.answers == 0
