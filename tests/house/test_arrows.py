"""Imports run one way: content -> football <- engine <- reps -> drawing, server -> quizgen, and never back.

The import linter checks the source for the same rule. Here each package is loaded in a fresh process, so imports inside
functions that run on loading, or through a library, show up too.
"""

import json
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent.parent

# Which packages may be loaded with each package.
MAY_LOAD = {
    "quizgen.football": {"quizgen.football"},
    "quizgen.content": {"quizgen.content", "quizgen.football"},
    "quizgen.engine": {"quizgen.engine", "quizgen.football"},
    "quizgen.drawing": {"quizgen.drawing"},
    "quizgen.reps": {"quizgen.reps", "quizgen.engine", "quizgen.football", "quizgen.drawing"},
    "server.mastery": {"server.mastery"},
}
WEB_AND_DATABASE = ("fastapi", "starlette", "uvicorn", "sqlmodel", "sqlalchemy", "alembic", "jinja2", "pysqlite3")

LOAD_ALL = """
import importlib, json, pkgutil, sys
sys.path.insert(0, sys.argv[2])
package = importlib.import_module(sys.argv[1])
loaded = [info.name for info in pkgutil.walk_packages(package.__path__, package.__name__ + ".")]
for name in loaded:
    importlib.import_module(name)
print(json.dumps({"loaded": loaded, "modules": sorted(sys.modules)}))
"""


def modules_after_loading(package: str) -> list[str]:
    """The names of all modules in a new process after importing the whole package."""
    run = subprocess.run(
        (sys.executable, "-c", LOAD_ALL, package, str(ROOT)), check=False, capture_output=True, text=True, cwd="/"
    )
    assert run.returncode == 0, run.stderr
    said = json.loads(run.stdout)
    assert said["loaded"], f"{package} holds no module"
    return said["modules"]


def rooms(modules: list[str]) -> set[str]:
    """Our packages (first two parts of a name) among these modules."""
    ours = [name.split(".") for name in modules if name.split(".")[0] in {"quizgen", "server"}]
    return {".".join(parts[:2]) for parts in ours if len(parts) > 1}


@pytest.mark.parametrize("package", MAY_LOAD)
def test_a_room_loads_only_what_it_may(package: str) -> None:
    modules = modules_after_loading(package)
    assert rooms(modules) <= MAY_LOAD[package]
    assert [name for name in modules if name.split(".")[0] in WEB_AND_DATABASE] == []


def test_every_package_of_quizgen_has_a_rule() -> None:
    held = {name.split(".")[1] for name in MAY_LOAD if name.startswith("quizgen.")}
    found = {path.name for path in (ROOT / "quizgen").iterdir() if path.is_dir() and path.name != "__pycache__"}
    assert found == held
