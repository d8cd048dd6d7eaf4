"""What is refused can be said in every language: no message is put together before it is known which one.

Messages for the terminal are English; the modules that only it reaches are named here.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path
from string import Formatter

import pytest
from pydantic import TypeAdapter, ValidationError
from pydantic_core._pydantic_core import list_all_errors

import server.routes  # noqa: F401 - its forms are subclasses of Sent
from server import errors
from server.database.store import THINGS
from server.i18n.languages import language
from server.i18n.lazy_text import LazyText
from server.reading.fields import Sent
from server.web.responses import EXPECTED, line_of

SERVER = Path(errors.__file__).parent
#: What speaks to a terminal, where everything is in English.
TERMINAL = {"backup.py", "start.py"}
REFUSALS = {name for name, one in vars(errors).items() if isinstance(one, type) and issubclass(one, errors.Refusal)}
# Kinds of fault that the library's own texts are not needed for: the message is one of ours.
OUR_OWN = {"value_error"}


def modules() -> list[Path]:
    """What people on pages can reach."""
    rooms = {"commands", "mastery", "migrations"}
    return [path for path in SERVER.rglob("*.py") if path.name not in TERMINAL and not rooms & set(path.parts)]


def calls(tree: ast.AST, names: set[str]) -> Iterator[ast.Call]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in names:
            yield node


def is_put_together(node: ast.expr) -> bool:
    """Whether a text is made from pieces: nothing that is looked up afterwards could find it."""
    if isinstance(node, ast.IfExp):
        return is_put_together(node.body) or is_put_together(node.orelse)
    if isinstance(node, ast.Call):
        is_method = isinstance(node.func, ast.Attribute) and node.func.attr in ("format", "join", "replace")
        return is_method or (isinstance(node.func, ast.Name) and node.func.id == "repr")
    return isinstance(node, ast.JoinedStr | ast.BinOp)


def faults_of(source: str) -> list[int]:
    """The lines on which a refusal, or a text to be told, is put together."""
    tree = ast.parse(source)
    found = [call.lineno for call in calls(tree, REFUSALS) if call.args and is_put_together(call.args[0])]
    for call in calls(tree, {"LazyText"}):
        is_template = isinstance(call.args[0], ast.Attribute) and call.args[0].attr == "template"
        is_literal = isinstance(call.args[0], ast.Constant) and isinstance(call.args[0].value, str)
        if not (is_template or is_literal):
            found.append(call.lineno)
    for node in ast.walk(tree):
        pieces = [part.value for part in node.values if isinstance(part, ast.Constant)] if is_text(node) else []
        if any("expected " in str(piece) for piece in pieces) and not is_in_a_fault_of_ours(tree, node):
            found.append(node.lineno)
    return sorted(set(found))


def is_text(node: ast.AST) -> bool:
    return isinstance(node, ast.JoinedStr)


def is_in_a_fault_of_ours(tree: ast.AST, text: ast.AST) -> bool:
    """Whether a text is for programmers: of an error that no page shows."""
    return any(
        text in ast.walk(call) for call in calls(tree, {"ValueError", "TypeError", "RuntimeError", "SettingProblem"})
    )


def test_no_refusal_is_put_together() -> None:
    found = {path.relative_to(SERVER).as_posix(): faults_of(path.read_text(encoding="utf-8")) for path in modules()}
    found.pop("settings.py")  # what it refuses stops the start, in the terminal
    assert {path: lines for path, lines in found.items() if lines} == {}


@pytest.mark.parametrize(
    "source",
    [
        'raise BadInput(f"call: expected one, found {call}")',
        'raise NotFound("no " + what)',
        'raise Conflict("{} is taken".format(name))',
        'raise BadInput("a" if is_a else f"{b}")',
        'problem = f"length: expected 1 to {most}"',
        'LazyText(f"{one}, and more")',
        "LazyText(message)",
    ],
)
def test_the_check_finds_what_it_should(source: str) -> None:
    assert faults_of(source) == [1]


def test_every_thing_that_may_be_missing_has_a_word() -> None:
    named = {
        keyword.value.value
        for path in SERVER.rglob("*.py")
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call)
        for keyword in node.keywords
        if keyword.arg == "what" and isinstance(keyword.value, ast.Constant)
    }
    assert named
    assert named <= set(THINGS)


def test_the_words_for_faults_fit_the_library_that_finds_them() -> None:
    known = {one["type"]: set(one.get("example_context") or {}) for one in list_all_errors()}
    for kind, told in EXPECTED.items():
        slots = {name for _, name, _, _ in Formatter().parse(told.template) if name}
        assert slots <= known[kind] | {"where"}, kind


BAD = (
    None,
    1.5,
    10**30,
    -1,
    10**9,
    "",
    "x" * 300,
    "\x00",
    "é/",
    [],
    [1],
    ["x" * 90] * 999,
    {},
    True,
    float("inf"),
    "a",
)


def faults_of_forms() -> Iterator[dict]:
    """Every fault that the forms find in a few bad values for each field."""
    for form in Sent.__subclasses__():
        for name in [*form.model_fields, "no_such_field"]:
            for bad in BAD:
                try:
                    TypeAdapter(form).validate_python({name: bad})
                except ValidationError as error:
                    yield from error.errors()


def test_no_fault_of_a_form_is_said_in_the_librarys_own_words() -> None:
    spanish = language("es")
    kinds = set()
    for one in faults_of_forms():
        kinds.add(one["type"])
        assert one["type"] in EXPECTED or one["type"] in OUR_OWN, one["type"]
        line = line_of({**one, "loc": ("body", *one["loc"])})
        assert isinstance(line, LazyText)
        told = spanish.tell(line)
        assert "expected" not in told
        assert "should" not in told
        assert "{" not in told.replace(str((one.get("ctx") or {}).get("pattern")), "")
    assert len(kinds) > 8
