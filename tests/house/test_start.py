"""`server/start.py` installs when needed, and never mistakes a half-made environment for a complete one."""

import json
import re
import subprocess
import sys
from pathlib import Path

import pytest

from server import start


@pytest.fixture
def project(tmp_path: Path) -> Path:
    """A folder with the two files that determine the environment."""
    (tmp_path / ".lock").mkdir()
    (tmp_path / ".lock/constraints.txt").write_text("segno==1.6.6\n")
    (tmp_path / "pyproject.toml").write_text("[project]\n")
    return tmp_path


@pytest.fixture
def commands(monkeypatch: pytest.MonkeyPatch) -> list[list[str]]:
    """The commands that would run; "making" the environment creates a Python in it, as in reality."""
    ran: list[list[str]] = []

    def run(self: start.Progress, command: tuple[str, ...], describe: object, cwd: Path | None = None) -> None:
        ran.append([str(word) for word in command])
        if command[1:3] == ("-m", "venv"):
            env = start.Environment(Path(command[3]).parent)
            env.bin.mkdir(parents=True)
            env.python.touch()

    monkeypatch.setattr(start.Progress, "run", run)
    return ran


def test_the_first_start_makes_and_fills_the_environment(project: Path, commands: list[list[str]]) -> None:
    start.Environment(project).prepare(set())
    assert commands[0][1:3] == ["-m", "venv"]
    assert commands[1][-4:] == ["--constraint", ".lock/constraints.txt", "--editable", "."]


def test_the_second_start_runs_nothing(project: Path, commands: list[list[str]]) -> None:
    start.Environment(project).prepare(set())
    commands.clear()
    start.Environment(project).prepare(set())
    assert commands == []


@pytest.mark.parametrize("name", ["pyproject.toml", ".lock/constraints.txt"])
def test_a_changed_file_installs_again_into_the_same_environment(
    project: Path, commands: list[list[str]], name: str
) -> None:
    start.Environment(project).prepare(set())
    commands.clear()
    (project / name).write_text("# changed\n")
    start.Environment(project).prepare(set())
    assert [c[2] for c in commands] == ["pip"]


def test_the_test_extra_is_added_once_and_stays(project: Path, commands: list[list[str]]) -> None:
    env = start.Environment(project)
    env.prepare(set())
    env.prepare({"test"})
    assert commands[-1][-1] == ".[test]"
    commands.clear()
    env.prepare(set())
    assert commands == []
    (project / "pyproject.toml").write_text("# changed\n")
    env.prepare(set())
    assert commands[-1][-1] == ".[test]"


@pytest.mark.parametrize("stop", [start.InstallError("no network"), KeyboardInterrupt()])
def test_an_interrupted_install_is_redone_from_scratch(
    project: Path, commands: list[list[str]], monkeypatch: pytest.MonkeyPatch, stop: BaseException
) -> None:
    env = start.Environment(project)
    env.prepare(set())
    (project / "pyproject.toml").write_text("# changed\n")

    def interrupt(*_: object) -> None:
        raise stop

    with monkeypatch.context() as patch:
        patch.setattr(start.Progress, "run", interrupt)
        with pytest.raises(type(stop)):
            env.prepare(set())
    assert not env.is_ready(set())
    (env.folder / "half-written").touch()
    commands.clear()
    env.prepare(set())
    assert [c[2] for c in commands] == ["venv", "pip"]
    assert not (env.folder / "half-written").exists()
    assert env.is_ready(set())


def test_an_unreadable_stamp_installs_again(project: Path, commands: list[list[str]]) -> None:
    env = start.Environment(project)
    env.prepare(set())
    for content in ("", "[]", "{"):
        env.stamp.write_text(content)
        assert not env.is_ready(set())
    env.prepare(set())
    assert json.loads(env.stamp.read_text())["inputs"] == env.inputs()


def test_an_environment_made_by_hand_is_kept(project: Path, commands: list[list[str]]) -> None:
    env = start.Environment(project)
    env.bin.mkdir(parents=True)
    env.python.touch()
    (env.folder / "mine").touch()
    env.prepare(set())
    assert (env.folder / "mine").exists()
    assert [c[2] for c in commands] == ["pip"]


def test_a_failed_command_shows_its_last_lines() -> None:
    with pytest.raises(start.InstallError, match=r"(?s)this command failed: .*no such package") as caught:
        start.Progress().run((sys.executable, "-c", "print('no such package'); raise SystemExit(3)"), lambda _: "")
    assert "Traceback" not in str(caught.value)


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("Collecting pwdlib[argon2]>=0.3 (from gapsound==0.1.0)", "fetching pwdlib"),
        ("Collecting typing-extensions>=4.8 (from sqlmodel)", "fetching typing-extensions"),
        ("Installing collected packages: a, b, c", "installing 3 packages"),
        ("  Downloading numpy.whl (17 MB)", ""),
    ],
)
def test_progress_while_it_installs(line: str, told: str) -> None:
    assert start.describe_pip_line(line) == told


@pytest.mark.parametrize(
    ("arguments", "code", "says"),
    [([], 2, "usage:"), (["--help"], 0, "usage:"), (["dmeo"], 2, '"dmeo" is not a command')],
)
def test_a_wrong_command_gets_one_message(
    arguments: list[str], code: int, says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert start.main(arguments) == code
    said = capsys.readouterr()
    assert says in said.out + said.err


def test_it_needs_only_the_standard_library() -> None:
    """-I -S: no site packages, no current folder; the file alone must work."""
    run = subprocess.run(
        (sys.executable, "-I", "-S", start.__file__, "--help"), capture_output=True, text=True, check=True
    )
    assert run.stdout.startswith("usage: python3 server/start.py demo")


@pytest.fixture
def env(tmp_path: Path) -> start.Environment:
    """An environment with two checks, one of which fails, and a Python that passes."""
    made = start.Environment(tmp_path)
    made.bin.mkdir(parents=True)
    for name, code in {"good": 0, "bad": 1, made.python.name: 0}.items():
        program = made.bin / name
        program.write_text(f"#!/bin/sh\necho {name} said so: $*\nexit {code}\n")
        program.chmod(0o755)
    return made


def test_a_failed_check_fails_the_whole_run(
    env: start.Environment, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(start, "CHECKS", (("lint", ("good",)), ("types", ("bad",))))
    assert start.run_checks(env, []) == 1
    said = capfd.readouterr().out
    assert "bad said so" in said
    assert "good said so" not in said
    assert f"said so: -m pytest {' '.join(start.WHOLE_SUITE)}\n" in said
    assert re.fullmatch("FAILED: types, in .* s", said.splitlines()[-1])


def test_with_arguments_pytest_runs_as_they_say(
    env: start.Environment, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(start, "CHECKS", (("lint", ("good",)),))
    assert start.run_checks(env, ["-k", "lanes"]) == 0
    said = capfd.readouterr().out
    assert "said so: -m pytest -k lanes\n" in said
    steps = [line.split()[:2] for line in said.splitlines() if line.endswith(" s")]
    assert steps[:2] == [["lint", "ok"], ["tests", "ok"]]  # in this order, though they run at once
    assert re.fullmatch("everything passed in .* s", said.splitlines()[-1])


def test_a_check_without_its_program_is_skipped_at_home_and_fails_in_ci(
    env: start.Environment, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(start, "CHECKS", (("lint", ("good",)), ("styles", ("not-here",))))
    for is_ci, verdict in (("", "skipped"), ("true", "FAILED")):
        monkeypatch.setenv("CI", is_ci)
        assert start.run_checks(env, []) == (verdict == "FAILED")
        said = capfd.readouterr().out
        assert f"styles   {verdict}" in said
        assert "there is no not-here for this kind of machine" in said
