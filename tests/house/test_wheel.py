"""An installed wheel has what the source tree has: packages, templates and seed content in the same places. Alone in an
environment, it serves the demo."""

import os
import re
import shutil
import subprocess
import sys
import time
import urllib.request
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent.parent
CARRIED = ("quizgen", "seed_content", "server", "templates")
LOOK = """
import quizgen, server
from pathlib import Path
for package in (quizgen, server):
    top = Path(package.__file__).parent.parent
    print(top / "templates", (top / "templates").is_dir(), (top / "seed_content").is_dir())
"""

OTHERS = tuple(v for v in ("3.13", "3.12") if v != f"{sys.version_info.major}.{sys.version_info.minor}")
NO_REGISTRY = re.compile(r"No matching distribution|Could not find a version|connection", re.IGNORECASE)
READY_WITHIN_S = 120.0


def another_python() -> str:
    """A Python of another version on this machine; without one, the test is visibly skipped."""
    for version in OTHERS:
        if shutil.which(f"python{version}"):
            # A version manager puts a shim on the path, which needs to know which version to run.
            asked = subprocess.run(
                (f"python{version}", "-c", "import sys, ensurepip; print(sys.executable)"),
                env={**os.environ, "PYENV_VERSION": version},
                capture_output=True,
                text=True,
                check=False,
            )
            if asked.returncode == 0:
                return asked.stdout.strip()
    pytest.skip(f"no second Python ({' or '.join(OTHERS)}, with venv) on this machine to install the wheel in")


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel of this source tree, built without a network."""
    folder = tmp_path_factory.mktemp("wheel")
    pip = (sys.executable, "-m", "pip", "--disable-pip-version-check")
    subprocess.run(
        (*pip, "wheel", "--quiet", "--no-deps", "--no-build-isolation", "--no-index", "-w", folder, ROOT),
        check=True,
        capture_output=True,
    )
    [path] = folder.glob("*.whl")
    return path


@pytest.mark.slow
def test_a_wheel_holds_every_file_of_the_packages(wheel: Path) -> None:
    in_wheel = {name for name in zipfile.ZipFile(wheel).namelist() if ".dist-info/" not in name}
    in_tree = {
        str(path.relative_to(ROOT))
        for room in CARRIED
        for path in (ROOT / room).rglob("*")
        if path.is_file() and "__pycache__" not in path.parts
    }
    assert in_wheel == in_tree


@pytest.mark.slow
def test_templates_are_found_from_an_installed_wheel(wheel: Path, tmp_path: Path) -> None:
    zipfile.ZipFile(wheel).extractall(tmp_path)
    environment = {**os.environ, "PYTHONPATH": str(tmp_path)}
    # Not -I or -P: the folder must come from PYTHONPATH, before an editable install.
    run = subprocess.run(
        (sys.executable, "-c", LOOK), cwd="/", env=environment, capture_output=True, text=True, check=True
    )
    assert run.stdout.split() == [str(tmp_path / "templates"), "True", "True"] * 2


@pytest.mark.slow
def test_the_wheel_declares_licence_and_command(wheel: Path) -> None:
    archive = zipfile.ZipFile(wheel)
    info = next(name.split("/")[0] for name in archive.namelist() if ".dist-info/" in name)
    metadata = archive.read(f"{info}/METADATA").decode()
    assert "License-Expression: MIT AND OFL-1.1\n" in metadata
    for file in (".licences/MIT.txt", "server/static/fonts/OFL.txt"):
        assert f"License-File: {file}\n" in metadata
        assert archive.read(f"{info}/licenses/{file}") == (ROOT / file).read_bytes()
    assert "gapsound = server.commands.main:main" in archive.read(f"{info}/entry_points.txt").decode()


@pytest.mark.slow
@pytest.mark.parametrize("which", ["this Python", "another Python"])
def test_the_wheel_serves_the_demo_in_an_environment_of_its_own(wheel: Path, tmp_path: Path, which: str) -> None:
    python = sys.executable if which == "this Python" else another_python()
    bin_ = tmp_path / "env" / "bin"
    subprocess.run((python, "-m", "venv", "--without-pip", tmp_path / "env"), check=True, capture_output=True)
    pip = (sys.executable, "-m", "pip", "--python", bin_ / "python", "install", "--quiet", "--no-compile")
    pinned = ("--constraint", ROOT / ".lock" / "constraints.txt")
    install = subprocess.run(
        (*pip, "--disable-pip-version-check", "--no-input", *pinned, wheel),
        capture_output=True,
        text=True,
        check=False,
        cwd=tmp_path,
    )
    if install.returncode and NO_REGISTRY.search(install.stderr) and os.environ.get("CI") != "true":
        pytest.skip("no package registry in reach to install the wheel from")
    assert install.returncode == 0, install.stderr
    # Without the tests' variables and the system's time zones, so that only the wheel is found.
    environment = {k: v for k, v in os.environ.items() if not k.startswith(("PYTHON", "GAPSOUND_", "VIRTUAL_ENV"))}
    environment["PYTHONTZPATH"] = ""
    command = (bin_ / "gapsound", "demo", "--host", "127.0.0.1", "--no-season", "--data", tmp_path / "data")
    with (
        (tmp_path / "log").open("w") as log,
        subprocess.Popen(command, stdout=log, stderr=log, cwd=tmp_path, env=environment) as demo,
    ):
        try:
            page = first_page(demo, tmp_path / "log")
        finally:
            demo.terminate()
    assert "<title>" in page
    assert "Team code" in page


def first_page(demo: subprocess.Popen[bytes], log: Path) -> str:
    """The first page of the address that the demo prints, once it answers."""
    deadline = time.monotonic() + READY_WITHIN_S
    while time.monotonic() < deadline and demo.poll() is None:
        address = re.search(r"http://127\.0\.0\.1:\d+", log.read_text(encoding="utf-8"))
        if address:
            with urllib.request.urlopen(f"{address[0]}/team", timeout=10) as reply:
                return str(reply.read().decode())
        time.sleep(0.1)
    raise AssertionError(f"the demo did not answer:\n{log.read_text(encoding='utf-8')}")
