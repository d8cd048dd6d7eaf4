"""A renaming that keeps the key changes no board, no set and no confusion; an edit of a man's job gives him another
job. With the real engine, on a part of the demo team."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import islice
from pathlib import Path

import pytest

from quizgen.content import load_team, load_team_dir
from quizgen.content.documents import parse_files
from quizgen.content.dump import dump_team
from quizgen.reps.catalogue import Catalogue
from server.accounts.members import add_coach
from server.answers.recording import AnswerRecorder, GivenAnswer, SentAnswer
from server.app import make_app
from server.database.store import Store
from server.database.tables import AccountRole, Answer, Assignment, ContentFile, KeptRep, Member, Opponent, SetRep
from server.mastery.confusions import Confusion
from server.opponents.tendencies import add_opponent, store_counts, tendency_of
from server.paths import SEED_CONTENT
from server.playbook.content_edits import replay, write_edit
from server.playbook.engine import Engine
from server.playbook.kept_reps import KeptReps
from server.playbook.playbooks import Playbooks
from server.playbook.workbench import rename_edit
from server.progress.confusions import TeamConfusions
from server.progress.team_state import TeamStates
from server.sets.set_layout import layout, store_opened
from server.settings import load_settings
from server.team.install import add_team, update_team
from tests.harness.databases import open_migrated
from tests.harness.house import PAGE, Clock, House

NOW = datetime(2026, 9, 1, 12, tzinfo=UTC)
# What is renamed: file, old name, new name, key. A position is named in many files; each says the new name.
RENAMED = {
    "Mike": ("positions.toml", "Mac", "mike"),
    "Moraine": ("pressures.toml", "Ridge", "moraine"),
    "Granite": ("fronts.toml", "Bedrock", "granite"),
    "Open I right": ("formations.toml", "Pro right", "open-i-right"),
    "Inside zone": ("plays.toml", "Tight zone", "inside-zone"),
    "Half slide": ("plays.toml", "Half line", "half-slide"),
}


@pytest.fixture(scope="module")
def files() -> dict[str, str]:
    """Two calls, two formations, three runs and a protection of the demo team."""
    team = load_team_dir(SEED_CONTENT / "tarrow_falls")
    runs = [one for one in team.schemes if one.name in ("Inside zone", "Power", "Lead")]
    protections = [one for one in team.protections if one.name == "Half slide"]
    small = replace(
        team,
        pressures=tuple(replace(one, adjust=()) for one in team.pressures[:2]),
        formations=team.formations[:2],
        accepted=(),
        schemes=tuple(runs),
        protections=tuple(protections),
    )
    return dump_team(small)


def renamed(files: dict[str, str]) -> dict[str, str]:
    """The files after a coach has renamed one noun of each kind and written its key down."""
    found = dict(files)
    for old, (at, new, key) in RENAMED.items():
        found[at] = found[at].replace(f'name = "{old}"', f'name = "{new}"\nkey = "{key}"', 1)
        found = {path: text.replace(f'"{old}"', f'"{new}"') for path, text in found.items()}
    return found


@pytest.fixture
def store(tmp_path: Path) -> Store:
    return open_migrated(load_settings(data_dir=tmp_path))


def answer_all(store: Store, team_id: str) -> None:
    """Every Mike and Will answers a dozen reps of each call; questions about a moved gap wrong, with the first wrong
    choice."""
    with store.read(team_id) as t:
        team = t.team()
        men = [m for m in t.rows(Member) if set(m.positions) & {"mike", "will"}]
    playbook = Playbooks(store).of(team)
    recorder, at = AnswerRecorder(KeptReps()), NOW
    for member in men:
        for call in playbook.calls:
            reps = playbook.reps(call, member.positions, [1, 2], ["left", "right"])
            ids = list(dict.fromkeys(rep.id for rep in islice(reps, 12)))
            shown = playbook.snapshots(team_id, ids, at)
            row = Assignment(
                team_id=team_id,
                id=f"set{playbook.calls.index(call)}-{member.id}",
                call=call,
                positions=member.positions,
                stages=[1, 2],
                sides=["left"],
                length=len(ids),
                due_at=at + timedelta(days=9),
                created_at=at,
                created_by=member.id,
            )
            with store.write(team_id) as t:
                t.add(row)
            rows = layout(row, member.id, [(rep, None) for rep in shown_as_planned(shown)])
            with store.write(team_id) as t:
                store_opened(t, row, member.id, shown, rows, at)
            for number, rep in enumerate(shown):
                at += timedelta(minutes=1)
                given = GivenAnswer(f"{playbook.calls.index(call)}{number:015d}", rep.rep_id, taken(rep))
                with store.write(team_id) as t:
                    recorder.record(t, SentAnswer(row.id, member, given, at))


def shown_as_planned(shown: list[KeptRep]) -> list:
    return [type("Planned", (), {"id": rep.rep_id})() for rep in shown]


def taken(rep: KeptRep) -> tuple[str, ...]:
    is_wrong = rep.kind in ("moved-gap", "track")
    return tuple(
        next(c["id"] for c in part["choices"] if (c["id"] not in part["right"]) == is_wrong) for part in rep.parts
    )


def everything(store: Store, team_id: str) -> tuple[dict, list[Confusion], list, list]:
    """The board, the confusions, the sets and the answers."""
    with store.read(team_id) as t:
        team, members = t.team(), t.rows(Member)
        sets = [(one.id, one.call, one.positions) for one in t.rows(Assignment)]
        laid = [(one.assignment_id, one.member_id, one.place, one.rep_id) for one in t.rows(SetRep)]
        answers = [one.model_dump() for one in t.rows(Answer)]
    playbook = Playbooks(store).of(team)
    state = TeamStates().of(store, team_id, playbook)
    players = sorted(m.id for m in members if m.positions)
    board = state.board(players, playbook.calls, NOW + timedelta(days=1))
    cells = {key: (one.state, one.p_can, one.right, one.answered, one.last_at) for key, one in board.items()}
    return cells, TeamConfusions().of(store, team_id, state), sorted(sets), [*sorted(laid), *answers]


def test_a_renaming_through_the_engine_is_the_same_as_one_by_hand(files: dict[str, str]) -> None:
    """Compared with the files that `renamed` writes word by word: the same team, whatever the text looks like."""
    nouns = {"Mike": "position", "Moraine": "call", "Granite": "front", "Open I right": "formation"}
    nouns |= {"Inside zone": "run", "Half slide": "protection"}
    found = dict(files)
    for old, noun in nouns.items():
        _, new, key = RENAMED[old]
        edit = write_edit(parse_files(found), rename_edit(noun, key, new))
        assert edit
        found = dict(replay(found, [(1, edit)]).files)
    assert load_team(found) == load_team(renamed(files))


def test_a_renaming_changes_no_board_no_set_and_no_confusion(store: Store, files: dict[str, str]) -> None:
    team_id = add_team(store, Engine(), files, NOW).team.id
    answer_all(store, team_id)
    with store.write(team_id) as t:
        foe = add_opponent(t, "m", "Otter Creek", NOW)
        plays = Playbooks(store).of(t.team()).plays()
        store_counts(t, "m", foe.id, {"inside-zone": 6, "power": 3}, plays, NOW)
    before = everything(store, team_id)
    cells, confusions, _, _ = before
    assert sum(answered for *_, answered, _ in cells.values()) > 40
    assert confusions
    update_team(store, Engine(), team_id, renamed(files), NOW)
    assert everything(store, team_id) == before
    with store.read(team_id) as t:
        team, roster = t.team(), t.get(ContentFile, "roster.toml").text
        foe = t.get(Opponent, foe.id)
    playbooks = Playbooks(store)
    names = playbooks.names_of(team)
    shown = (names.position("mike"), names.call("moraine"), names.formation("open-i-right"), names.play("half-slide"))
    assert shown == ("Mac", "Ridge", "Pro right", "Half line")
    assert '"Mac"' in roster
    assert '"Mike"' not in roster
    tendency = tendency_of(foe.play_counts, playbooks.of(team).plays())
    assert [(play.name, play.count) for stage in tendency.stages for play in stage.plays if play.count] == [
        ("Tight zone", 6),
        ("Power", 3),
    ]
    store.close()


def test_a_deleted_call_keeps_its_name(store: Store, files: dict[str, str]) -> None:
    team_id = add_team(store, Engine(), files, NOW).team.id
    team = load_team(files)
    update_team(store, Engine(), team_id, dump_team(replace(team, pressures=team.pressures[1:])), NOW)
    with store.read(team_id) as t:
        assert Playbooks(store).names_of(t.team()).call("moraine") == "Moraine"
    store.close()


Jobs = dict[tuple, str]


def jobs(files: dict[str, str]) -> Jobs:
    """The job of every question by what it asks of whom."""
    return {
        (rep.kind, rep.keys.position, rep.keys.call, rep.to, rep.keys.formation, rep.keys.play, rep.play_to): (
            rep.keys.job
        )
        for rep in Catalogue(load_team(files)).reps()
    }


def test_jobs_outlive_a_renaming_and_change_with_the_answer(files: dict[str, str]) -> None:
    before = jobs(files)
    assert jobs(renamed(files)) == before
    # Esker, as written: Mike has A and Will B on the call's side. They trade: both have another job on it, the nose,
    # whose gap lies between their old and new ones only in the picture, has the same; nothing changes on Moraine.
    team = load_team(files)
    esker = team.pressures[1]
    gaps = {rush.position: rush.gap for rush in esker.rushes}
    trade = {"Mike": gaps["Will"], "Will": gaps["Mike"]}
    rushes = tuple(replace(rush, gap=trade.get(rush.position, rush.gap)) for rush in esker.rushes)
    edited = replace(team, pressures=(team.pressures[0], replace(esker, rushes=rushes)))
    after = jobs(dump_team(edited))
    changed = {key for key in before if before[key] != after.get(key, "")}
    assert {key[2] for key in changed} == {"esker"}
    tracks = {key: key in changed for key in before if key[0] == "track" and key[2] == "esker"}
    assert {key[1] for key, is_changed in tracks.items() if is_changed} == {"mike", "will"}
    assert "nose" in {key[1] for key, is_changed in tracks.items() if not is_changed}


PAGES = (
    *("/coach/board", "/coach/call?name=moraine", "/coach/sets", "/coach/results", "/coach/roster", "/coach/defense"),
    *("/coach/assign?call=moraine", "/coach/opponents", "/coach/sheets/walk-through?call=moraine"),
    *("/coach/sheets/scout-cards?call=moraine", "/coach/results.csv?kind=calls", "/coach/results.csv?kind=answers"),
    *("/coach/roster/roster.csv", "/coach/players/{player}?call=moraine", "/coach/players/{player}/data"),
    *(
        "/coach/players/{player}/data.csv",
        "/coach/sets/{set}",
        "/coach/opponents/{foe}",
        "/coach/defense/sound?call=moraine",
    ),
)
PLAYER_PAGES = ("/home", "/my-data", "/my-data.csv", "/sets/{set}", "/api/sets/{set}")
KEYS = re.compile(r"\b(?:mike|moraine|granite|open-i-right|inside-zone|half-slide)\b")


def test_pages_show_names_and_never_keys(store: Store, files: dict[str, str], tmp_path: Path) -> None:
    clock = Clock(NOW)
    team_id = add_team(store, Engine(), files, NOW).team.id
    answer_all(store, team_id)
    with store.write(team_id) as t:
        owner = add_coach(t, "owner", AccountRole.OWNER, "x", NOW)
        foe = add_opponent(t, owner.id, "Otter Creek", NOW)
        store_counts(t, owner.id, foe.id, {"inside-zone": 6}, Playbooks(store).of(t.team()).plays(), NOW)
        mike = next(m for m in t.rows(Member) if m.positions[:1] == ["mike"])
        where = {"player": mike.id, "set": f"set0-{mike.id}", "foe": foe.id}
    update_team(store, Engine(), team_id, renamed(files), NOW)
    settings = load_settings(data_dir=tmp_path)
    house = House(settings, store, clock, make_app(settings, store=store, football=Engine(), now=clock))
    seen = []
    for member, pages in ((owner, PAGES), (mike, PLAYER_PAGES)):
        device = house.signed_in(member, days=1)
        for page in pages:
            reply = device.get(page.format(**where), headers=PAGE)
            assert reply.status_code == 200, (page, reply.text)
            words = re.sub(
                r"(?s)<(script|style)\b.*?</\1>|<[^>]+>|\"(?:id|team_id|\w+_id)\":\"[^\"]*\"", " ", reply.text
            )
            assert not KEYS.search(words), (page, KEYS.findall(words), words[:3000])
            seen.append(words)
    text = " ".join(seen)
    assert all(new in text for new in ("Mac", "Ridge", "Tight zone"))
    store.close()
