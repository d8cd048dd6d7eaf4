"""Every refusal can be translated: no message is formatted before the language is known.

Messages for the terminal are English; the modules that only the terminal uses are named here.
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
from server.web.responses import EXPECTED, format_error

SERVER = Path(errors.__file__).parent
#: Modules that only write to the terminal, where everything is English.
TERMINAL = {"backup.py", "start.py"}
REFUSALS = {name for name, one in vars(errors).items() if isinstance(one, type) and issubclass(one, errors.Refusal)}
# Pydantic error types whose message is ours.
OUR_OWN = {"value_error"}


def modules() -> list[Path]:
    """The modules whose messages reach pages."""
    rooms = {"commands", "mastery", "migrations"}
    return [path for path in SERVER.rglob("*.py") if path.name not in TERMINAL and not rooms & set(path.parts)]


def calls(tree: ast.AST, names: set[str]) -> Iterator[ast.Call]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in names:
            yield node


def is_formatted(node: ast.expr) -> bool:
    """Whether a text is built from pieces, so that no catalogue can contain it."""
    if isinstance(node, ast.IfExp):
        return is_formatted(node.body) or is_formatted(node.orelse)
    if isinstance(node, ast.Call):
        is_method = isinstance(node.func, ast.Attribute) and node.func.attr in ("format", "join", "replace")
        return is_method or (isinstance(node.func, ast.Name) and node.func.id == "repr")
    return isinstance(node, ast.JoinedStr | ast.BinOp)


def preformatted(source: str) -> list[int]:
    """The lines that format a refusal or a lazy text in advance."""
    tree = ast.parse(source)
    found = [call.lineno for call in calls(tree, REFUSALS) if call.args and is_formatted(call.args[0])]
    for call in calls(tree, {"LazyText"}):
        is_template = isinstance(call.args[0], ast.Attribute) and call.args[0].attr == "template"
        is_literal = isinstance(call.args[0], ast.Constant) and isinstance(call.args[0].value, str)
        if not (is_template or is_literal):
            found.append(call.lineno)
    for node in ast.walk(tree):
        pieces = [part.value for part in node.values if isinstance(part, ast.Constant)] if is_text(node) else []
        if any("expected " in str(piece) for piece in pieces) and not is_in_internal_error(tree, node):
            found.append(node.lineno)
    return sorted(set(found))


def is_text(node: ast.AST) -> bool:
    return isinstance(node, ast.JoinedStr)


def is_in_internal_error(tree: ast.AST, text: ast.AST) -> bool:
    """Whether a text is for programmers, in an error that no page shows."""
    return any(
        text in ast.walk(call) for call in calls(tree, {"ValueError", "TypeError", "RuntimeError", "SettingProblem"})
    )


def test_no_refusal_is_formatted_in_advance() -> None:
    found = {path.relative_to(SERVER).as_posix(): preformatted(path.read_text(encoding="utf-8")) for path in modules()}
    found.pop("settings.py")  # its refusals stop the start and go to the terminal
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
    assert preformatted(source) == [1]


def test_everything_that_may_be_missing_has_a_name() -> None:
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


def test_messages_for_errors_fit_the_slots_of_pydantic() -> None:
    known = {one["type"]: set(one.get("example_context") or {}) for one in list_all_errors()}
    for kind, message in EXPECTED.items():
        slots = {name for _, name, _, _ in Formatter().parse(message.template) if name}
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


def form_errors() -> Iterator[dict]:
    """All errors that the forms report for a few bad values in each field."""
    for form in Sent.__subclasses__():
        for name in [*form.model_fields, "no_such_field"]:
            for bad in BAD:
                try:
                    TypeAdapter(form).validate_python({name: bad})
                except ValidationError as error:
                    yield from error.errors()


def test_no_form_error_uses_the_text_of_pydantic() -> None:
    spanish = language("es")
    kinds = set()
    for one in form_errors():
        kinds.add(one["type"])
        assert one["type"] in EXPECTED or one["type"] in OUR_OWN, one["type"]
        line = format_error({**one, "loc": ("body", *one["loc"])})
        assert isinstance(line, LazyText)
        message = spanish.translate(line)
        assert "expected" not in message
        assert "should" not in message
        assert "{" not in message.replace(str((one.get("ctx") or {}).get("pattern")), "")
    assert len(kinds) > 8
