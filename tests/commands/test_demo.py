"""The demo: made on the first start, found on later ones, always with something to answer and something to see."""

import io
import json
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from rich.console import Console

from server.app import make_app
from server.commands.demo import keep_set_due, prepare, print_access
from server.commands.demo_season import DemoSeason, LearnerKind
from server.database.tables import Answer, Assignment, Member
from server.mastery.readout import board
from server.mastery.values import STAGES, State
from server.playbook.playbooks import Playbooks
from server.progress.team_state import TeamStates
from server.settings import load_settings
from tests.harness.databases import open_migrated
from tests.harness.house import ANSWER_ID, PAGE, TestClient

QUIET = Console(file=io.StringIO())


def test_a_start_without_a_season(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    settings = load_settings(data_dir=tmp_path)
    store = open_migrated(settings)
    access = prepare(store, tmp_path, QUIET, with_season=False)
    assert (tmp_path / "access.json").stat().st_mode & 0o077 == 0
    assert json.loads((tmp_path / "access.json").read_text())["pin"] == access.pin
    assert prepare(store, tmp_path, QUIET, with_season=False) == access
    print_access(store, access, settings, "127.0.0.1", 8000)
    said = capsys.readouterr().out
    [team] = store.teams()
    for word in (
        f"http://127.0.0.1:8000/team/{team.join_code}",
        access.pin,
        access.passphrase,
        str(access.number),
    ):
        assert word in said
    assert "█" not in said  # a QR code that no phone could open
    print_access(store, access, settings, "192.0.2.7", 8000)
    assert "█" in capsys.readouterr().out
    with TestClient(make_app(settings, store=store), headers=PAGE) as client:
        form = {"number": str(access.number), "pin": access.pin}
        home = client.post(f"/team/{team.join_code}", data=form)
        with store.read(team.id) as t:
            [one] = t.rows(Assignment)
        assert f"/sets/{one.id}" in home.text
        rep = client.post(f"/sets/{one.id}/open")
        assert rep.url.path == f"/sets/{one.id}/reps/1"
        assert "<svg" in rep.text
        assert ANSWER_ID.search(rep.text)


@pytest.mark.slow
def test_a_season_shows_every_state_on_the_board_and_what_it_says_is_true(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What each player truly knows is known of an invented season; the board doesn't see it."""
    seasons: list[DemoSeason] = []

    def play(*given: Any) -> DemoSeason:
        seasons.append(DemoSeason(*given))
        return seasons[-1]

    monkeypatch.setattr("server.commands.demo_fill.DemoSeason", play)
    settings = load_settings(data_dir=tmp_path)
    store = open_migrated(settings)
    access = prepare(store, tmp_path, QUIET, with_season=True)
    with store.read(access.team_id) as t:
        answers, members = t.rows(Answer), t.rows(Member)
    assert len({a.member_id for a in answers}) > 30
    assert len({a.call for a in answers}) == 6
    assert all(a.received_at <= datetime.now(UTC) for a in answers)
    playbook = Playbooks(store).of(store.teams()[0])
    team_state = TeamStates().of(store, access.team_id, playbook)
    now_s = team_state.seconds(datetime.now(UTC))
    cells = board(team_state.state, [m.id for m in members], ["esker", "drumlin"], now_s, team_state.settings)
    assert {cell.state for cell in cells.values()} == set(State)
    [season] = seasons
    whole = board(team_state.state, [m.id for m in members], playbook.calls, now_s, team_state.settings)
    truly: dict[State, list[bool]] = {State.CAN: [], State.CANNOT: []}
    rules, weights = team_state.settings.rules, team_state.settings.weights()
    for (player, call), cell in whole.items():
        if not (cell.answered and cell.state in truly):
            continue
        share = season.known_share(player, call, now_s, dict(zip(STAGES, weights, strict=True)))
        if season.kinds.get(player) is LearnerKind.MIXES:  # at all other stages he is hooked, and misses nine of ten
            share = weights[0] * season.known_share(player, call, now_s, {1: 1.0})
        truly[cell.state].append((share >= rules.known_share) is (cell.state is State.CAN))
    assert len(truly[State.CAN]) > 40
    assert sum(truly[State.CAN]) >= 0.95 * len(truly[State.CAN])
    assert len(truly[State.CANNOT]) > 15
    assert sum(truly[State.CANNOT]) >= 0.93 * len(truly[State.CANNOT])
    form = {"team": "", "name": access.coach_name, "passphrase": access.passphrase}
    with TestClient(make_app(settings, store=store), headers=PAGE) as client:
        assert client.post("/coach/sign-in", data=form).url.path == "/coach/board"
        wrong = next(a for a in answers if not a.is_right)
        assert "<svg" in client.get(f"/coach/players/{wrong.member_id}").text


def test_a_finished_set_is_followed_by_another(tmp_path: Path) -> None:
    store = open_migrated(load_settings(data_dir=tmp_path))
    access = prepare(store, tmp_path, QUIET, with_season=False)
    later = datetime(2099, 1, 1, tzinfo=UTC)
    with store.write(access.team_id) as t:
        keep_set_due(t, access, later)
        keep_set_due(t, access, later)
        assert len(t.rows(Assignment)) == 2
    store.close()
