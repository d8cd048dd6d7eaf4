"""Opponents and accepted lacks as a team's rows: taken from TOML once, and out and in again without a change."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from server.commands.demo import demo_files
from server.database.store import Store
from server.database.tables import Acceptance, ContentFile, Opponent
from server.playbook.charted import (
    ACCEPTED,
    OPPONENTS,
    AcceptedSnap,
    RunCount,
    charted_files,
    free_key,
    to_accepted,
    to_counts,
    to_opponent,
    to_snaps,
)
from server.playbook.engine import Engine
from server.playbook.playbooks import Playbook, read_playbook
from server.settings import load_settings
from server.team.install import accepted_snaps, add_team, charted_files_of, update_team
from tests.harness.databases import open_migrated
from tests.harness.long_form import IS_LONG

NOW = datetime(2026, 11, 30, tzinfo=UTC)
FOES = """[[opponent]]
name = "Oakdale"
key = "oak"
next = true
run = [
  { play = "Power", formation = "Wing right", to = "right", count = 3 },
  { play = "Flea flicker", formation = "Bunch", count = 2.5 },
]
"""
LACKS = """[[accepted]]
call = "Moraine"
to = "left"
formation = "Ace right, Trade"
play = "Power"
play_to = "right"
why = "we live with it"
lack = "0123456789ab"
"""


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    opened = open_migrated(load_settings(data_dir=tmp_path))
    yield opened
    opened.close()


@pytest.fixture(scope="module")
def playbook() -> Playbook:
    return read_playbook(Engine(), demo_files())


def test_files_become_rows_by_key_and_only_once(store: Store) -> None:
    files = {**demo_files(), OPPONENTS: FOES, ACCEPTED: LACKS}
    team_id = add_team(store, Engine(), files, NOW).team.id
    with store.read(team_id) as t:
        [foe], [lack] = t.rows(Opponent), t.rows(Acceptance)
        assert {one.path for one in t.rows(ContentFile)} == set(demo_files()) - {OPPONENTS, ACCEPTED}
    assert (foe.key, foe.name, foe.is_next, foe.stage_counts) == ("oak", "Oakdale", True, {"3": 3.0})
    assert [*map(tuple, foe.runs)] == [
        ("power", "wing-right", "right", 3.0), ("Flea flicker", "Bunch", "", 2.5),
    ]  # fmt: skip
    snap = (lack.call, lack.to, lack.formation, lack.play, lack.play_to, lack.why, lack.lack)
    assert snap == ("moraine", "left", "ace-right-trade", "power", "right", "we live with it", "0123456789ab")
    other = FOES.replace("Oakdale", "Birch Hill")
    update_team(store, Engine(), team_id, {**files, OPPONENTS: other, ACCEPTED: ""}, NOW)
    with store.read(team_id) as t:
        assert [one.name for one in t.rows(Opponent)] == ["Oakdale"]
        assert t.count(Acceptance) == 1


def test_out_and_in_again_is_the_same(store: Store, playbook: Playbook) -> None:
    files = {**demo_files(), OPPONENTS: FOES, ACCEPTED: LACKS}
    first = add_team(store, Engine(), files, NOW).team.id
    with store.read(first) as t:
        out = charted_files_of(t, playbook)
        before = [(one.key, one.name, one.runs, one.is_next, one.stage_counts) for one in t.rows(Opponent)]
        lacks = accepted_snaps(t)
    second = add_team(store, Engine(), {**files, **out}, NOW).team.id
    with store.read(second) as t:
        after = [(one.key, one.name, one.runs, one.is_next, one.stage_counts) for one in t.rows(Opponent)]
        assert after == before
        assert accepted_snaps(t) == lacks
        assert charted_files_of(t, playbook) == out


def some(keys: list[str]) -> st.SearchStrategy[str]:
    return st.sampled_from(["", *keys])


SIDES = st.sampled_from(["", "left", "right"])
WORDS = st.text(st.characters(codec="utf-8", exclude_categories=["C", "Z"]), min_size=1, max_size=12)


@given(st.data())
@settings(max_examples=200 if IS_LONG else 8, deadline=None)
def test_any_rows_come_back_the_same(playbook: Playbook, data: st.DataObject) -> None:
    plays = [one.key for one in playbook.plays()]
    formations = [one.key for one in playbook.formations()]
    run = st.builds(
        RunCount,
        st.sampled_from([*plays, "Any pass", "Flea flicker"]) | WORDS,
        some([*formations, "Bunch"]),
        SIDES,
        st.integers(1, 10**8).map(lambda n: n / 1000),
    )
    known = {name for one in playbook.plays() for name in (one.key, one.name.casefold())} | {"any pass"}
    is_theirs = run.filter(lambda one: one.play in (*plays, "Any pass") or one.play.casefold() not in known)
    runs = data.draw(st.lists(is_theirs, max_size=12))
    snaps = data.draw(
        st.lists(
            st.builds(
                AcceptedSnap,
                st.sampled_from(playbook.calls),
                SIDES,
                some(formations),
                some([one.key for one in playbook.plays() if one.family]),
                SIDES,
                WORDS,
                st.sampled_from(["", "0123456789ab"]),
            ),
            max_size=6,
        )
    )
    foe = to_opponent(playbook, "Oakdale", "oak", runs, is_next=True)
    texts = charted_files([foe], to_accepted(playbook, snaps))
    files = {path: text for path, text in demo_files().items() if path not in (OPPONENTS, ACCEPTED)}
    back = Engine().load_team({**files, **texts})
    assert to_counts(playbook, back.opponents[0]) == runs
    assert to_snaps(playbook, back.accepted) == snaps


def test_what_is_of_a_noun_that_is_gone_is_not_written(playbook: Playbook) -> None:
    gone = AcceptedSnap("a-call-of-last-year", "", "", "", "", "so it was", "")
    assert to_accepted(playbook, [gone]) == []


def test_keys_of_opponents_are_free() -> None:
    assert free_key("Oak Dale", []) == "oak-dale"
    assert free_key("Oak-dale", ["oak-dale", "oak-dale-2"]) == "oak-dale-3"
    assert free_key("!", []) == "opponent"
