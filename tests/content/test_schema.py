"""The published JSON Schemas are the ones the code makes, and an independent validator agrees with them."""

from __future__ import annotations

import json
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from quizgen.content.rows import FILES
from quizgen.content.schema import schema_name, schema_texts, schemas
from tests.content.conftest import DEMO

PUBLISHED = DEMO.parent / "schema"


def test_the_published_schemas_are_the_generated_ones() -> None:
    published = {path.name: path.read_text(encoding="utf-8") for path in PUBLISHED.iterdir()}
    assert published == schema_texts(), "write them anew: python -m quizgen.content.schema seed_content/schema"


def test_writing_them_gives_the_same_files(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "quizgen.content.schema", str(tmp_path / "new")]
    subprocess.run(command, check=True, cwd=DEMO.parent.parent)
    assert {path.name for path in (tmp_path / "new").iterdir()} == {schema_name(file) for file in FILES}


@pytest.mark.parametrize("file", sorted(FILES))
def test_the_demo_is_valid_by_an_independent_validator(file: str) -> None:
    schema = json.loads((PUBLISHED / schema_name(file)).read_text(encoding="utf-8"))
    Draft202012Validator.check_schema(schema)
    content = tomllib.loads((DEMO / file).read_text(encoding="utf-8"))
    assert [error.message for error in Draft202012Validator(schema).iter_errors(content)] == []


@pytest.mark.parametrize("file", sorted(FILES))
def test_each_demo_file_names_its_schema(file: str) -> None:
    first = (DEMO / file).read_text(encoding="utf-8").split("\n")[0]
    assert first == f"#:schema ../schema/{schema_name(file)}"
    assert (DEMO / first.split()[1]).resolve().is_file()


BAD_ROWS = [
    ("roster.toml", {"player": [{"number": "2", "name": "Teo", "positions": ["Hawk"]}]}),
    ("roster.toml", {"player": [{"number": 2, "name": "Teo", "positions": ["Hawk"], "birthday": "2010-01-01"}]}),
    ("pressures.toml", {"pressure": [{"name": "X", "front": "Y", "coverage": 4, "rush": []}]}),
    ("plays.toml", {"play": [{"name": "X", "family": "base", "aim": "Z", "block": [{"who": "line", "job": "base"}]}]}),
    (
        "plays.toml",
        {"play": [{"name": "X", "family": "base", "aim": "A", "block": [{"who": "linemen", "job": "base"}]}]},
    ),
    ("fronts.toml", {"front": [{"name": "X", "spot": [{"position": "Hawk", "on": "middle", "depth": 99}]}]}),
    ("positions.toml", {"position": []}),
    ("team.toml", {"school": "X"}),
]


@pytest.mark.parametrize(("file", "content"), BAD_ROWS)
def test_the_schemas_refuse_what_the_loader_refuses(file: str, content: dict[str, object]) -> None:
    assert list(Draft202012Validator(schemas()[schema_name(file)]).iter_errors(content))


def test_every_shape_refuses_unknown_keys() -> None:
    for name, schema in schemas().items():
        for part in (schema, *schema.get("$defs", {}).values()):
            if part.get("type") == "object":
                assert part["additionalProperties"] is False, name
