"""An edit that changes a man's answer makes what he answered before past; bringing it back makes it count again; a
renaming changes nothing. With the real engine, on a part of the demo team."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from sqlmodel import col

from quizgen.content import load_team
from quizgen.content.dump import dump_team
from server.database.store import Store
from server.database.tables import Answer, KeptRep, Member
from server.database.write_queue import WriteQueue
from server.playbook.engine import Engine
from server.playbook.playbooks import Playbooks
from server.playbook.rep_summary import word
from server.progress.past_answers import mark_past_answers, past_answers_of
from server.progress.team_state import TeamStates
from server.settings import load_settings
from server.team.install import add_team, update_team
from tests.harness.databases import open_migrated
from tests.team.test_renaming import NOW, answer_all, files, jobs, renamed

assert files  # the fixture of the renamings: a small part of the demo team
LATER = NOW + timedelta(days=33)


def traded(files: dict[str, str]) -> dict[str, str]:
    """Esker with Mike's and Will's gaps traded: both have another job on it, nobody has one on Moraine."""
    team = load_team(files)
    esker = team.pressures[1]
    gaps = {rush.position: rush.gap for rush in esker.rushes}
    trade = {"Mike": gaps["Will"], "Will": gaps["Mike"]}
    rushes = tuple(replace(rush, gap=trade.get(rush.position, rush.gap)) for rush in esker.rushes)
    return dump_team(replace(team, pressures=(team.pressures[0], replace(esker, rushes=rushes))))


class Team:
    """A team whose Mikes and Wills have answered; its content changes."""

    def __init__(self, store: Store, files: dict[str, str]) -> None:
        self.store, self.writes = store, WriteQueue(store)
        self.id = add_team(store, Engine(), files, NOW).team.id
        answer_all(store, self.id)

    def install(self, files: dict[str, str]) -> int:
        """Install these files and compare; the number of reps whose mark changed."""
        update_team(self.store, Engine(), self.id, files, LATER)
        return self.compare()

    def compare(self) -> int:
        return mark_past_answers(self.writes, self.id, self.hash, self.playbook, LATER)

    @property
    def hash(self) -> str:
        with self.store.read(self.id) as t:
            return t.team().content_hash

    @property
    def playbook(self):
        with self.store.read(self.id) as t:
            team = t.team()
        return Playbooks(self.store).of(team)

    def counted(self) -> dict[str, int]:
        """Answers that the board counts, by call."""
        state = TeamStates().of(self.store, self.id, self.playbook)
        with self.store.read(self.id) as t:
            players = [m.id for m in t.rows(Member) if m.positions]
        found: dict[str, int] = {}
        for (_, call), one in state.board(players, self.playbook.calls, LATER).items():
            found[call] = found.get(call, 0) + one.answered
        return found

    def answers(self) -> dict[str, list[Answer]]:
        with self.store.read(self.id) as t:
            rows = t.rows(Answer)
        return {call: [one for one in rows if one.call == call] for call in ("moraine", "esker")}


@pytest.fixture
def team(tmp_path: Path, files: dict[str, str]) -> Iterator[Team]:
    store = open_migrated(load_settings(data_dir=tmp_path))
    made = Team(store, files)
    yield made
    made.writes.finish()
    store.close()


def test_what_was_answered_about_another_job_is_past(team: Team, files: dict[str, str]) -> None:
    """Which answers those are is told by the hashes of the two contents' reps, made apart from the comparison."""
    before, edited = team.counted(), traded(files)
    was, now = ({tuple(map(word, key)): job for key, job in jobs(one).items()} for one in (files, edited))
    assert team.install(edited) > 0
    after = team.answers()
    with team.store.read(team.id) as t:
        kept = {one.rep_id: one for one in t.rows(KeptRep)}
    for answer in (*after["moraine"], *after["esker"]):
        rep = kept[answer.rep_id]
        key = tuple(
            map(word, (rep.kind, rep.position, rep.call, rep.to, rep.formation, rep.play or "", rep.play_to or ""))
        )
        changed = was[key] != now.get(key, "")
        assert (answer.changed_at is not None) == changed, key
    assert team.counted()["moraine"] == before["moraine"]
    assert team.counted()["esker"] < before["esker"]
    assert team.compare() == 0  # nothing left to do


def test_the_players_page_says_since_when(team: Team, files: dict[str, str]) -> None:
    team.install(traded(files))
    with team.store.read(team.id) as t:
        mike = next(m for m in t.rows(Member) if m.positions[:1] == ["mike"])
        past = past_answers_of(t, mike.id)
        own = t.count(Answer, col(Answer.member_id) == mike.id, col(Answer.changed_at).is_not(None))
    assert set(past) == {"esker"}
    assert (past["esker"].answers, past["esker"].changed_at) == (own, LATER)


def test_bringing_it_back_makes_them_count_again(team: Team, files: dict[str, str]) -> None:
    before = team.counted()
    assert team.install(traded(files)) == team.install(files)
    assert team.counted() == before
    assert not any(one.changed_at for found in team.answers().values() for one in found)


def test_a_renaming_makes_nothing_past(team: Team, files: dict[str, str]) -> None:
    before = team.counted()
    assert team.install(renamed(files)) == 0
    assert team.counted() == before


def test_a_call_that_is_gone_makes_nothing_past(team: Team, files: dict[str, str]) -> None:
    small = load_team(files)
    assert team.install(dump_team(replace(small, pressures=small.pressures[:1]))) == 0
    assert not any(one.changed_at for found in team.answers().values() for one in found)


def test_a_comparison_of_content_that_changed_meanwhile_stores_nothing(team: Team, files: dict[str, str]) -> None:
    update_team(team.store, Engine(), team.id, traded(files), LATER)
    stale, its_hash = team.playbook, team.hash
    update_team(team.store, Engine(), team.id, files, LATER)
    assert mark_past_answers(team.writes, team.id, its_hash, stale, LATER) == 0
    assert not any(one.changed_at for found in team.answers().values() for one in found)
