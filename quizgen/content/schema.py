"""The published JSON Schema of every file in a team's folder, made from the row shapes.

An editor that knows TOML shows a coach the keys and words as he types. ``python -m quizgen.content.schema FOLDER``
writes them anew; a test holds the published ones against these.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

from quizgen.content.fields import Shape
from quizgen.content.rows import FILES

DIALECT = "https://json-schema.org/draft/2020-12/schema"


def schema_name(file: str) -> str:
    """The schema file of a TOML file: ``team.toml`` -> ``team.schema.json``."""
    return file.removesuffix(".toml") + ".schema.json"


def schemas() -> dict[str, dict[str, Any]]:
    """The schema of each TOML file, by the schema's file name."""
    return {schema_name(file): {"$schema": DIALECT, **shape.model_json_schema()} for file, shape in FILES.items()}


def schema_texts() -> dict[str, str]:
    """The schemas as they are published, by file name."""
    return {name: json.dumps(schema, indent=1, ensure_ascii=False) + "\n" for name, schema in schemas().items()}


def words_of(shape: type[Shape]) -> dict[str, tuple[str, ...]]:
    """The words that each field of a row may hold, for fields that have a fixed list."""
    schema = shape.model_json_schema()
    found = {}
    for name, field in schema["properties"].items():
        for one in (field, *field.get("anyOf", ())):
            listed = schema.get("$defs", {}).get(one.get("$ref", "").rpartition("/")[2], {})
            if "enum" in listed:
                found[name] = tuple(listed["enum"])
    return found


def write_schemas(folder: Path) -> None:
    """Write every schema into a folder, which is made if it is not there."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in schema_texts().items():
        (folder / name).write_text(text, encoding="utf-8", newline="\n")


if __name__ == "__main__":
    write_schemas(Path(sys.argv[1]))
