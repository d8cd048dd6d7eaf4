"""Names: a public class name says one thing in the whole house.

source: the project's own rule (a public class name is used once); the names are read from the files.
"""

import ast
from collections import defaultdict
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent


def classes_in(source: str) -> list[str]:
    return [
        node.name
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.ClassDef) and not node.name.startswith("_")
    ]


def test_no_public_class_name_is_used_twice() -> None:
    found: defaultdict[str, list[str]] = defaultdict(list)
    for room in ("server", "quizgen"):
        for file in sorted((ROOT / room).rglob("*.py")):
            for name in classes_in(file.read_text(encoding="utf-8")):
                found[name].append(file.relative_to(ROOT).as_posix())
    assert len(found) > 200
    assert {name: files for name, files in found.items() if len(files) > 1} == {}


def test_classes_are_found_within_others_and_private_ones_left_out() -> None:
    assert classes_in("class A:\n    class B: pass\nclass _C: pass") == ["A", "B"]
