"""From a bare Python to a running demo, or a finished test run, in one command.

A coach needs nothing but Python 3.11 with its venv module: this makes the environment in `.venv`, installs the versions
in `.lock/constraints.txt`, and runs the `gapsound` command inside it. It runs before anything is installed, so it uses
only the standard library and imports nothing from this project. Rejected: a faster installer (one more thing to get
first); a container (needs an engine); a frozen program (a build for each platform).
"""

from __future__ import annotations  # so that an older Python gets far enough to print that it is too old

import contextlib
import hashlib
import json
import os
import re
import shutil
import subprocess
import sys
import threading
import time
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

ROOT = Path(__file__).resolve().parent.parent
OLDEST_PYTHON = (3, 11)
LAST_LINES_SHOWN = 25

USAGE = """usage: python3 server/start.py demo [ARGUMENT ...]
       python3 server/start.py test [ARGUMENT ...]

  demo   make the environment if need be, then start the demo team on this machine
         (arguments go to gapsound demo)
  test   make the environment if need be, then run every check and the whole test suite
         (arguments go to pytest: python3 server/start.py test -k lanes; without any it runs over all cores)

Every other command is gapsound's own: .venv/bin/gapsound --help"""

CHECKS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("format", ("ruff", "format", "--check", ".")),
    ("lint", ("ruff", "check", ".")),
    ("types", ("mypy",)),
    ("imports", ("lint-imports",)),
    ("pages", ("djlint", "--quiet", "--lint", "templates")),
    ("scripts", ("oxlint", "--config", ".lint/oxlint.json", "--deny-warnings", "server/static")),
    ("styles", ("biome", "lint", "--config-path=.lint/biome.jsonc", "--error-on-warnings", "server/static")),
)
#: How pytest runs when no arguments are given: one process more than cores, since many tests wait for a server or a
#: page; tests that share what is dear to make in one process. A run of a few tests is sooner done without processes.
WHOLE_SUITE = ("-n", str((os.cpu_count() or 1) + 1), "--dist", "loadgroup")


class InstallError(Exception):
    """The environment could not be made; the message has the command's last lines."""


class Environment:
    """The project's virtual environment, and the stamp that says what is in it.

    The stamp holds a hash of the inputs, "unfinished" during an install. So a second start installs nothing, a changed
    file installs again, and an interrupted install is redone. Rejected: asking pip each time (takes seconds); trusting
    that the folder exists.
    """

    def __init__(self, root: Path) -> None:
        self.root = root
        self.folder = root / ".venv"
        self.stamp = self.folder / "gapsound-stamp.json"
        self.bin = self.folder / ("Scripts" if os.name == "nt" else "bin")
        self.python = self.bin / ("python.exe" if os.name == "nt" else "python")

    def inputs(self) -> str:
        """Return a hash of everything that determines the environment's content."""
        digest = hashlib.sha256(str(self.root).encode())
        for name in ("pyproject.toml", ".lock/constraints.txt"):
            digest.update((self.root / name).read_bytes())
        return digest.hexdigest()

    def read_stamp(self) -> dict[str, object]:
        """Return the stamp of the last start; empty when missing or unreadable."""
        try:
            stamp = json.loads(self.stamp.read_text(encoding="utf-8"))
        except (OSError, ValueError):
            return {}
        return stamp if isinstance(stamp, dict) else {}

    def write_stamp(self, **values: object) -> None:
        """Replace the stamp atomically, so that nobody reads half of one."""
        draft = self.stamp.with_suffix(".new")
        draft.write_text(json.dumps(values), encoding="utf-8")
        draft.replace(self.stamp)

    def extras(self) -> set[str]:
        """Return the installed extras."""
        extras = self.read_stamp().get("extras", [])
        return set(extras) if isinstance(extras, list) else set()

    def is_ready(self, extras: set[str]) -> bool:
        """Return whether the project and these extras are installed and up to date."""
        return self.read_stamp().get("inputs") == self.inputs() and extras <= self.extras() and self.python.exists()

    def prepare(self, extras: set[str]) -> None:
        """Install the project and these extras. An interrupted install is deleted and done again.

        Raises: InstallError.
        """
        with one_at_a_time(self.root / ".venv.lock"):
            if self.is_ready(extras):
                return
            wanted = sorted(extras | self.extras())
            if self.read_stamp().get("inputs") == "unfinished" or not self.python.exists():
                self.clear()
            self.folder.mkdir(exist_ok=True)
            self.write_stamp(inputs="unfinished", extras=[])
            progress = Progress()
            if not self.python.exists():
                progress.run((sys.executable, "-m", "venv", str(self.folder)), lambda _: "making the environment")
            what = f".[{','.join(wanted)}]" if wanted else "."
            pip = ("-m", "pip", "install", "--disable-pip-version-check", "--no-input", "--progress-bar", "off")
            # Python compiles what is imported; to compile all would be 20 s of processor time.
            pinned = ("--no-compile", "--constraint", ".lock/constraints.txt", "--editable", what)
            progress.run((str(self.python), *pip, *pinned), describe_pip_line, self.root)
            self.write_stamp(inputs=self.inputs(), extras=wanted)
            progress.close(f"environment ready in {progress.seconds():.0f} s")

    def clear(self) -> None:
        """Delete an interrupted install; renamed first, so that a half-deleted folder never looks complete."""
        if self.folder.exists():
            old = self.root / f".venv-old-{os.getpid()}"
            self.folder.rename(old)
            shutil.rmtree(old)


class Progress:
    """A progress line on the terminal; without a terminal, one plain line for each stage."""

    def __init__(self) -> None:
        self.started = time.monotonic()
        self.is_terminal = sys.stderr.isatty()
        self.text = "starting"
        self.stage = ""

    def seconds(self) -> float:
        """Return the seconds since the first command began."""
        return time.monotonic() - self.started

    def show(self) -> None:
        """Draw the current line."""
        if self.is_terminal:
            width = shutil.get_terminal_size().columns - 1
            line = f"[{self.seconds():3.0f} s] {self.text}"[:width]
            print(f"\r{line:<{width}}", end="", file=sys.stderr, flush=True)
        elif (stage := self.text.split()[0]) != self.stage:
            self.stage = stage
            print(f"[{self.seconds():3.0f} s] {self.text}", file=sys.stderr, flush=True)

    def close(self, text: str) -> None:
        """End the line with this text."""
        self.text = text
        self.stage = ""
        self.show()
        if self.is_terminal:
            print(file=sys.stderr, flush=True)

    def run(self, command: Sequence[str], describe: Callable[[str], str], cwd: Path | None = None) -> None:
        """Run a command and show progress from its output.

        `describe` gets each line of output and returns what to show, or "" to keep the current text.
        Raises: InstallError with the command's last lines.
        """
        output: list[str] = []
        self.text = describe("") or self.text

        def listen(lines: Iterator[str]) -> None:
            for line in lines:
                output.append(line.rstrip())
                self.text = describe(line) or self.text

        with subprocess.Popen(
            command, cwd=cwd, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True
        ) as process:
            assert process.stdout is not None
            listener = threading.Thread(target=listen, args=(process.stdout,))
            listener.start()
            try:
                while listener.is_alive():
                    self.show()
                    listener.join(0.2)
            except KeyboardInterrupt:
                process.terminate()
                raise
        if process.returncode != 0:
            self.close("failed")
            raise InstallError("\n".join([f"this command failed: {' '.join(command)}", *output[-LAST_LINES_SHOWN:]]))


def describe_pip_line(line: str) -> str:
    """Summarize a line of pip's output; "" when it isn't worth showing."""
    words = line.split()
    if not words:
        return "fetching packages"
    if words[0] == "Collecting" and len(words) > 1:
        return f"fetching {re.split('[^A-Za-z0-9._-]', words[1])[0]}"
    if words[:3] == ["Installing", "collected", "packages:"]:
        return f"installing {len(words) - 3} packages"
    return ""


@contextlib.contextmanager
def one_at_a_time(path: Path) -> Iterator[None]:
    """Hold a lock file, so that two starts don't install at once; the system frees it when the process ends."""
    try:
        import fcntl
    except ImportError:  # a system without this kind of lock
        yield
        return
    with path.open("w") as handle:
        fcntl.flock(handle, fcntl.LOCK_EX)
        yield


def run_check(env: Environment, command: Sequence[str]) -> tuple[str, float, str]:
    """Run one check to its end; return its verdict, the seconds it took, and what it said when it did not pass."""
    began = time.monotonic()
    program = shutil.which(command[0], path=str(env.bin))
    if program is None:
        is_ci = os.environ.get("CI") == "true"  # where everything is installed
        return "FAILED" if is_ci else "skipped", 0.0, f"there is no {command[0]} for this kind of machine"
    words = (program, *command[1:])
    done = subprocess.run(words, cwd=env.root, capture_output=True, text=True, check=False)
    verdict, said = ("FAILED", done.stdout + done.stderr) if done.returncode else ("ok", "")
    return verdict, time.monotonic() - began, said


def run_checks(env: Environment, pytest_arguments: Sequence[str]) -> int:
    """Run every check, one after another, and the tests beside them, a clear line each; return 0 when all of them
    pass."""
    began = time.monotonic()
    failed: list[str] = []

    def check_all() -> None:
        for name, command in CHECKS:
            verdict, seconds, said = run_check(env, command)
            report(name, seconds, verdict, said)
            if verdict == "FAILED":
                failed.append(name)

    checks = threading.Thread(target=check_all, daemon=True)
    checks.start()
    command = (str(env.python), "-m", "pytest", *(pytest_arguments or WHOLE_SUITE))
    tests = subprocess.run(command, cwd=env.root, check=False)
    tests_s = time.monotonic() - began
    checks.join()
    report("tests", tests_s, "FAILED" if tests.returncode else "ok")
    if tests.returncode != 0:
        failed.append("tests")
    seconds = time.monotonic() - began
    if failed:
        print(f"FAILED: {', '.join(failed)}, in {seconds:.0f} s", flush=True)
        return 1
    print(f"everything passed in {seconds:.0f} s", flush=True)
    return 0


def report(step: str, seconds: float, verdict: str, said: str = "") -> None:
    """Print the line of one step, and what it said, at once: the tests print too."""
    print(f"\n{step:<8} {verdict:<7} {seconds:6.1f} s" + (f"\n{said}" if said else ""), flush=True)


def exec_command(command: list[str]) -> NoReturn:
    """Replace this process with the command; where that isn't possible, run it and exit with its code."""
    if os.name == "nt":
        sys.exit(subprocess.call(command))
    os.execv(command[0], command)  # noqa: S606 - our own command


def main(arguments: Sequence[str]) -> int:
    """Run one command from the command line; return its exit code."""
    if not arguments or arguments[0] in ("-h", "--help"):
        print(USAGE)
        return 0 if arguments else 2
    if sys.version_info < OLDEST_PYTHON:
        wanted = ".".join(map(str, OLDEST_PYTHON))
        print(f"Python {wanted} or newer is needed; this is {sys.version.split()[0]}.", file=sys.stderr)
        return 2
    command, *rest = arguments
    if command not in ("demo", "test"):
        print(f'"{command}" is not a command here: demo or test was expected.\n{USAGE}', file=sys.stderr)
        return 2
    env = Environment(ROOT)
    try:
        env.prepare({"test"} if command == "test" else set())
        if command == "test":
            return run_checks(env, rest)
        exec_command([str(env.bin / ("gapsound.exe" if os.name == "nt" else "gapsound")), "demo", *rest])
    except InstallError as error:
        print(f"The environment could not be made: {error}", file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        print("\nstopped", file=sys.stderr)
        return 130


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
