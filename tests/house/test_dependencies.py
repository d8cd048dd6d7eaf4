"""The code imports exactly what `pyproject.toml` requires; nothing works only because of a transitive dependency."""

import ast
import re
import sys
import tomllib
from importlib.metadata import packages_distributions
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent.parent
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
PINS = (ROOT / ".lock/constraints.txt").read_text(encoding="utf-8").splitlines()


def plain(requirement: str) -> str:
    """The normalized distribution name of a requirement."""
    return re.sub(r"[-_.]+", "-", re.split(r"[\[<>=!~; ]", requirement, maxsplit=1)[0]).lower()


def asked_for(*extras: str) -> set[str]:
    """The distributions required by the project and these extras."""
    lists = [PROJECT["dependencies"], *(PROJECT["optional-dependencies"][extra] for extra in extras)]
    return {plain(requirement) for requirements in lists for requirement in requirements}


def modules_imported(*rooms: str) -> dict[str, str]:
    """Third-party modules that these packages import, by first part of the name, each with a file that imports it."""
    files = [path for room in rooms for path in sorted((ROOT / room).rglob("*.py"))]
    ours = {"quizgen", "server", "tests", *(path.stem for path in (ROOT / "tests").rglob("*.py"))}
    found: dict[str, str] = {}
    for path in files:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            names = [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
            names += [node.module] if isinstance(node, ast.ImportFrom) and node.module and not node.level else []
            for name in {full.split(".")[0] for full in names} - ours - set(sys.stdlib_module_names):
                found[name] = str(path.relative_to(ROOT))
    return found


@pytest.mark.parametrize(
    ("rooms", "extras"),
    [(("quizgen", "server"), ("postgres", "png")), (("tests",), ("postgres", "png", "test", "bench"))],
    ids=["program", "tests"],
)
def test_every_import_is_required(rooms: tuple[str, ...], extras: tuple[str, ...]) -> None:
    brought_by = packages_distributions()
    lacking = {
        module: path
        for module, path in modules_imported(*rooms).items()
        if not {plain(name) for name in brought_by.get(module, [module])} & asked_for(*extras)
    }
    assert lacking == {}


def test_every_dependency_has_a_lower_bound_and_a_pin() -> None:
    pinned = {plain(line) for line in PINS if not line.startswith("#")}
    lists = [PROJECT["dependencies"], *PROJECT["optional-dependencies"].values()]
    outside = [r for requirements in lists for r in requirements if plain(r) != "gapsound"]
    assert [r for r in outside if ">=" not in r] == []
    assert {plain(r) for r in outside} - pinned == set()


def test_pins_are_only_names_and_versions() -> None:
    assert [line for line in PINS if not re.fullmatch(r"[A-Za-z0-9._-]+==[A-Za-z0-9.+!]+", line)][1:] == []
    assert PINS[0].startswith("# ")
