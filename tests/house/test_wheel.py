"""An installed wheel holds what the source tree holds: packages, templates and seed content in the same places."""

import os
import subprocess
import sys
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
    # Not -I or -P: the folder must come from PYTHONPATH alone, ahead of an editable install.
    run = subprocess.run(
        (sys.executable, "-c", LOOK), cwd="/", env=environment, capture_output=True, text=True, check=True
    )
    assert run.stdout.split() == [str(tmp_path / "templates"), "True", "True"] * 2


@pytest.mark.slow
def test_the_wheel_declares_licence_and_command(wheel: Path) -> None:
    archive = zipfile.ZipFile(wheel)
    info = next(name.split("/")[0] for name in archive.namelist() if ".dist-info/" in name)
    assert "License-Expression: MIT\n" in archive.read(f"{info}/METADATA").decode()
    assert "gapsound = server.commands.main:main" in archive.read(f"{info}/entry_points.txt").decode()
