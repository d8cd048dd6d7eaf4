"""The command line: what it does, and one line and exit code 2 for bad input."""

import io
import json
import socket
import sys
import tomllib
from pathlib import Path

import pytest

from server.commands.main import run
from server.commands.serving import address_of, bind, is_without_https
from server.database.store import open_store
from server.database.tables import AccountRole, Member
from server.paths import SEED_CONTENT
from server.settings import load_settings
from tests.harness.house import PASSPHRASE

SEED = next(path.parent for path in sorted(SEED_CONTENT.glob("*/team.toml")))


@pytest.fixture(autouse=True)
def own_data(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("GAPSOUND_DATA_DIR", str(tmp_path / "data"))


def gapsound(*arguments: str, typed: str = "", monkeypatch: pytest.MonkeyPatch) -> int:
    monkeypatch.setattr(sys, "stdin", io.StringIO(typed))
    return run(arguments)


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["nothing"], "No such command 'nothing'"),
        (["serve", "--port", "http"], "--port"),
        (["serve", "--port", "70000"], "--port"),
        (["serve", "--host", "192.0.2.1"], "--host: expected an address of this machine"),
        (["team", "check", "nowhere"], "expected a folder of TOML files, found 'nowhere'"),
        (["team", "check", "n" * 5000], "expected a folder of TOML files, found 'nnn"),
        (["reps", "--team", "n" * 5000], "a folder of TOML files"),
        (["team", "add", "nowhere", "--owner", "me"], "expected a folder of TOML files"),
        (["team", "update", "nobody", str(SEED)], "There is no such team"),
        (["coach", "add", "nobody", "me"], "There is no such team"),
        (["coach", "add", "nobody", "me", "--role", "king"], "--role: expected one of coach, owner, position coach"),
        (["coach", "add", "nobody", "me", "--group", "line"], "--group: expected one or more for a position coach"),
        (["restore", "nowhere"], "nowhere: expected a whole backup file"),
        (["backup", "nowhere/at/all"], "nowhere/at/all: expected a place that can be written"),
    ],
)
def test_bad_input_is_one_line(
    arguments: list[str], message: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    assert gapsound(*arguments, monkeypatch=monkeypatch) == 2
    said = capsys.readouterr()
    assert said.out == ""
    [line] = said.err.splitlines()
    assert message in line


def test_a_bad_setting_is_one_line(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.setenv("GAPSOUND_PUBLIC_URL", "http://gaps.example.org")
    assert gapsound("team", "list", monkeypatch=monkeypatch) == 2
    assert capsys.readouterr().err.startswith("GAPSOUND_PUBLIC_URL: expected https://")


def test_broken_files_name_every_problem_and_change_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "broken"
    folder.mkdir()
    for path in SEED.glob("*.toml"):
        (folder / path.name).write_bytes(path.read_bytes())
    (folder / "team.toml").write_text("name = \n")
    (folder / "roster.toml").write_text('[[player]]\nnumber = "x"\n')
    assert gapsound("team", "add", str(folder), "--owner", "me", typed=PASSPHRASE, monkeypatch=monkeypatch) == 2
    said = capsys.readouterr().err
    assert "team.toml" in said
    assert "roster.toml" in said
    assert "Traceback" not in said
    assert gapsound("team", "list", monkeypatch=monkeypatch) == 0
    assert capsys.readouterr().out == ""


def test_a_team_comes_in_with_its_coach(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert gapsound("team", "check", str(SEED), monkeypatch=monkeypatch) == 0
    assert "No problems." in capsys.readouterr().out
    assert gapsound("team", "add", str(SEED), "--owner", "me", typed="short\n", monkeypatch=monkeypatch) == 2
    assert "passphrase: expected 15 to 200 characters" in capsys.readouterr().err
    assert gapsound("team", "add", str(SEED), "--owner", "Me", typed=f"{PASSPHRASE}\n", monkeypatch=monkeypatch) == 0
    store = open_store(load_settings())
    [team] = store.teams()
    said = capsys.readouterr().out
    assert team.id in said
    assert f"/team/{team.join_code}" in said
    more = ["coach", "add", team.id, "line coach", "--role", "position coach", "--group", "line"]
    assert gapsound(*more, typed=f"{PASSPHRASE}\n", monkeypatch=monkeypatch) == 0
    assert gapsound(*more, typed=f"{PASSPHRASE}\n", monkeypatch=monkeypatch) == 2
    assert "is taken in this team" in capsys.readouterr().err
    with store.read(team.id) as t:
        coaches = [m for m in t.rows(Member) if m.role != AccountRole.PLAYER]
        assert {(m.sign_in_name, m.role) for m in coaches} == {("me", "owner"), ("line coach", "position coach")}
    store.close()
    assert gapsound("team", "update", team.id, str(SEED), monkeypatch=monkeypatch) == 0
    assert "0 players added, 0 changed, 0 removed" in capsys.readouterr().out
    backup = tmp_path / "backup"
    assert gapsound("backup", str(backup), monkeypatch=monkeypatch) == 0
    assert gapsound("restore", "--verify", str(backup), monkeypatch=monkeypatch) == 0
    assert "restored and compared: the same" in capsys.readouterr().out


def test_teams_as_json(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    assert gapsound("team", "list", "--json", monkeypatch=monkeypatch) == 0
    assert json.loads(capsys.readouterr().out) == []
    assert gapsound("team", "add", str(SEED), "--owner", "me", typed=f"{PASSPHRASE}\n", monkeypatch=monkeypatch) == 0
    capsys.readouterr()
    store = open_store(load_settings())
    [team] = store.teams()
    store.close()
    assert gapsound("team", "list", "--json", monkeypatch=monkeypatch) == 0
    assert json.loads(capsys.readouterr().out) == [{"id": team.id, "join_code": team.join_code, "name": team.name}]


def test_problems_of_files_as_json(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert gapsound("team", "check", str(SEED), "--json", monkeypatch=monkeypatch) == 0
    written = {path.stem: tomllib.loads(path.read_text("utf-8")) for path in SEED.glob("*.toml")}
    found = json.loads(capsys.readouterr().out)
    assert found["team"] == written["team"]["name"]
    assert found["players"] == len(written["roster"]["player"])
    assert found["problems"] == []
    for path in SEED.glob("*.toml"):
        (tmp_path / path.name).write_bytes(path.read_bytes())
    (tmp_path / "team.toml").write_text("name = \n")
    (tmp_path / "roster.toml").write_text('[[player]]\nnumber = "x"\n')
    assert gapsound("team", "check", str(tmp_path), "--json", monkeypatch=monkeypatch) == 2
    said = capsys.readouterr()
    assert said.err == ""
    problems = json.loads(said.out)["problems"]
    assert len(problems) >= 2
    assert {problem.split(":")[0] for problem in problems} >= {"team.toml", "roster.toml"}


def test_rushers_in_each_others_way_are_a_warning_and_no_problem(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    for path in SEED.glob("*.toml"):
        (tmp_path / path.name).write_bytes(path.read_bytes())
    assert gapsound("team", "check", str(tmp_path), "--json", monkeypatch=monkeypatch) == 0
    assert json.loads(capsys.readouterr().out)["warnings"] == []
    written = (tmp_path / "pressures.toml").read_text("utf-8")
    looper = '{ position = "Pick", gap = "to B", order = 2, path = "loop" }'
    assert looper in written
    (tmp_path / "pressures.toml").write_text(written.replace(looper, looper.replace("2", "1")))
    assert gapsound("team", "check", str(tmp_path), "--json", monkeypatch=monkeypatch) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["problems"] == []
    assert found["warnings"]
    assert gapsound("team", "check", str(tmp_path), monkeypatch=monkeypatch) == 0
    printed = capsys.readouterr().out
    for line in found["warnings"]:
        assert line.startswith("pressures.toml: 'Scree': ")
        assert "must wait 0." in line
        assert f"Warning: {line}.\n" in printed


def test_the_version_is_the_one_that_is_declared(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    declared = tomllib.loads((Path(__file__).parents[2] / "pyproject.toml").read_text("utf-8"))["project"]["version"]
    assert gapsound("--version", monkeypatch=monkeypatch) == 0
    assert capsys.readouterr().out == f"gapsound {declared}\n"


@pytest.mark.parametrize("arguments", [[], ["team"]])
def test_a_command_that_lacks_its_verb_prints_help(
    arguments: list[str], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert gapsound(*arguments, monkeypatch=monkeypatch) == 2
    said = capsys.readouterr().err.splitlines()
    assert said[0].startswith("Usage: gapsound")
    assert any(line.split()[:1] == ["check"] for line in said)


@pytest.mark.parametrize(("typed", "offered"), [("gapsound te", ["team"]), ("gapsound team up", ["update"])])
def test_the_shell_completes_commands(
    typed: str, offered: list[str], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("_GAPSOUND_COMPLETE", "complete_bash")
    monkeypatch.setenv("COMP_WORDS", typed)
    monkeypatch.setenv("COMP_CWORD", str(typed.count(" ")))
    with pytest.raises(SystemExit) as end:
        run([])
    assert end.value.code == 0
    assert capsys.readouterr().out.split() == offered


def test_a_taken_port_moves_the_demo_on_and_stops_a_server() -> None:
    from server.errors import BadInput

    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        with bind("127.0.0.1", port, may_move=True) as found:
            assert found.getsockname()[1] > port
            assert found.proto == socket.IPPROTO_TCP  # or asyncio would wait 40 ms for more data
        with pytest.raises(BadInput, match=f"expected a free port, found {port} taken"):
            bind("127.0.0.1", port, may_move=False)


def test_a_start_without_https_is_recognized() -> None:
    plain, public = load_settings(), load_settings(public_url="https://gaps.example.org")
    assert is_without_https(address_of(plain, "192.0.2.7", 80))
    assert not is_without_https(address_of(plain, "127.0.0.1", 80))
    assert not is_without_https(address_of(public, "0.0.0.0", 80))
    assert address_of(plain, "::1", 80) == "http://[::1]:80"
    assert json.dumps(address_of(public, "0.0.0.0", 80)) == '"https://gaps.example.org"'
