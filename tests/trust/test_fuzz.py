"""A parser returns a value or a documented refusal for any input. Long form: python -m tests.bench.trust_fuzz"""

import ast
import random
import sys
import threading
from pathlib import Path
from types import CodeType, FrameType

import pytest

import quizgen
import server
from server.errors import BadInput
from server.reading.fields import Sent
from tests.trust.fuzzed import FORMS, targets
from tests.trust.fuzzing import Target, fuzz, spoiled

#: Inputs per target here; a hundred thousand in the long form.
INPUTS = {
    "content": 25,
    "filters": 25,
    "commands": 5,
    "backup rows": 10,
    "backup files": 60,
    "play lists through the pages": 25,
    "rosters through the pages": 25,
    "the defense edited in the browser": 4,
    "pages and their forms": 20,
}
#: Functions that take text from outside and aren't called `parse_…`.
OTHERS = {
    ("csv_files.py", "decode"),  # bytes of an uploaded file
    ("play_list.py", "read_lines"),
    ("play_list.py", "find_number"),
    ("backup.py", "restore"),  # a file given to a command
    ("main.py", "run"),
    ("load.py", "load_team"),  # TOML, from a folder or edited in the browser
    ("catalogue.py", "rep"),  # a rep's id
    ("middleware.py", "find_origin_problem"),  # Origin, Sec-Fetch-Site, Host
    ("middleware.py", "find_text_problem"),  # path and query
    ("middleware.py", "_find_refusal"),  # Content-Length
    ("languages.py", "language_of"),  # the language's cookie
    ("languages.py", "negotiate"),  # Accept-Language
    ("metrics.py", "may_read"),  # Authorization
    ("credentials.py", "find_token_team"),  # the session's cookie
    ("credentials.py", "from_typed_code"),
    ("credentials.py", "address_subject"),  # a peer's or a proxy's word
    ("credentials.py", "is_secret"),
    ("settings.py", "load_settings"),  # the environment
    ("responses.py", "to_refusal"),  # pydantic's report on any field
}
ROOMS = [Path(room.__path__[0]) for room in (server, quizgen)]


@pytest.mark.filterwarnings("ignore:Column .* is marked as a member of the primary key")
@pytest.mark.parametrize("target", targets(), ids=lambda target: target.name)
def test_a_value_or_a_documented_refusal(target: Target) -> None:
    came = fuzz(target, INPUTS.get(target.name, 200), seed=1)
    assert list(came.wrong.values()) == []
    assert came.inputs == came.taken + came.refused


def parsers() -> set[tuple[str, str]]:
    """All functions named `parse_…`, as file name and function name."""
    return {
        (path.name, node.name)
        for room in ROOMS
        for path in room.rglob("*.py")
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.FunctionDef) and node.name.lstrip("_").startswith("parse_")
    }


@pytest.mark.filterwarnings("ignore:Column .* is marked as a member of the primary key")
def test_every_parser_is_reached_by_a_target() -> None:
    """The calls are traced while the targets run, so that a parser without a target is named."""
    reached: set[CodeType] = set()

    def watch(frame: FrameType, event: str, _: object) -> None:
        if event == "call":
            reached.add(frame.f_code)

    threading.setprofile(watch)
    sys.setprofile(watch)
    try:
        for target in targets():
            fuzz(target, min(INPUTS.get(target.name, 12), 12), seed=2)
    finally:
        sys.setprofile(None)
        threading.setprofile(None)  # type: ignore[arg-type]
    own = {
        (Path(c.co_filename).name, c.co_name) for c in reached if any(r in Path(c.co_filename).parents for r in ROOMS)
    }
    assert (parsers() | OTHERS) - own == set()


def test_every_form_is_fuzzed() -> None:
    assert set(FORMS) == set(Sent.__subclasses__())


def parse_badly(text: str) -> None:
    """A parser with a hole: it only checks the first character."""
    if not text[:1].isdigit():
        raise BadInput("expected a number")
    int(text)


def refuse_wordlessly(text: str) -> None:
    raise BadInput("")


@pytest.mark.parametrize("parse", [parse_badly, refuse_wordlessly])
def test_a_parser_with_a_hole_is_found(parse) -> None:
    target = Target("bad", 1, lambda chance: spoiled(chance, "54", ["54", "7"]), parse)
    assert fuzz(target, 300, seed=1).wrong


def test_the_same_seed_makes_the_same_inputs() -> None:
    once, again = (spoiled(random.Random(3), "a sample", ["another"]) for _ in range(2))
    assert once == again
