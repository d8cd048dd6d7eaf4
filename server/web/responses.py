"""Responses: pages through Jinja2, refusals as a page or as JSON, all in one place.

A browser that asks for a page gets a page; programs, and everything under /api, get JSON. Knows nothing of why
something was refused.
"""

from __future__ import annotations

import json
from collections.abc import AsyncIterator, Callable, Iterator, Mapping
from contextvars import ContextVar
from functools import lru_cache
from http import HTTPStatus
from typing import Any
from urllib.parse import quote, urlencode

from fastapi import Request
from fastapi.exceptions import RequestValidationError
from jinja2 import Environment, FileSystemLoader, StrictUndefined, select_autoescape
from markupsafe import Markup
from starlette.exceptions import HTTPException
from starlette.responses import HTMLResponse, RedirectResponse, Response, StreamingResponse
from starlette.types import Scope

from server.errors import BadInput, NeedsSignIn, NotFound, Refusal, TooLarge, WrongMethod
from server.i18n.languages import LANGUAGES, Language, language_of
from server.i18n.lazy_text import LazyText
from server.paths import TEMPLATES
from server.playbook.engine import FootballError
from server.playbook.noun_names import NounNames
from server.reading.csv_files import CSV_TYPE
from server.sets.set_names import name_of_set
from server.web.middleware import TOO_LARGE

DETAILS_SHOWN = 50

ANOTHER = LazyText("{where}: expected another value")
#: Pydantic's error types in our words; placeholders are named as in pydantic's context. Rejected: translating
#: pydantic's messages by their English text (it changes with a release).
EXPECTED: Mapping[str, LazyText] = {
    "extra_forbidden": LazyText("{where}: expected no such field"),
    "missing": LazyText("{where}: expected a value, found none"),
    "string_type": LazyText("{where}: expected text"),
    "string_too_long": LazyText("{where}: expected at most {max_length} characters"),
    "string_too_short": LazyText("{where}: expected at least {min_length} characters"),
    "string_pattern_mismatch": LazyText("{where}: expected text of the form {pattern}"),
    "int_type": LazyText("{where}: expected a whole number"),
    "int_parsing": LazyText("{where}: expected a whole number"),
    "int_from_float": LazyText("{where}: expected a whole number"),
    "int_parsing_size": LazyText("{where}: expected a smaller whole number"),
    "float_type": LazyText("{where}: expected a number"),
    "float_parsing": LazyText("{where}: expected a number"),
    "finite_number": LazyText("{where}: expected a number that is not infinite"),
    "bool_type": LazyText("{where}: expected yes or no"),
    "bool_parsing": LazyText("{where}: expected yes or no"),
    "greater_than": LazyText("{where}: expected more than {gt}"),
    "greater_than_equal": LazyText("{where}: expected {ge} or more"),
    "less_than": LazyText("{where}: expected less than {lt}"),
    "less_than_equal": LazyText("{where}: expected {le} or less"),
    "list_type": LazyText("{where}: expected a list"),
    "too_short": LazyText("{where}: expected {min_length} or more of them"),
    "too_long": LazyText("{where}: expected at most {max_length} of them"),
    "literal_error": LazyText("{where}: expected one of {expected}"),
    "enum": LazyText("{where}: expected one of {expected}"),
    "json_invalid": LazyText("{where}: expected JSON"),
    "dict_type": LazyText("{where}: expected fields with values"),
    "model_attributes_type": LazyText("{where}: expected fields with values"),
}


def address(path: str, **query: Any) -> str:
    """A path with a query: lists repeat their key, None and empty values are left out."""
    kept = {name: value for name, value in query.items() if value not in (None, "", [], ())}
    return quote(path) + (f"?{urlencode(kept, doseq=True)}" if kept else "")


@lru_cache
def pages_in(language: Language) -> Environment:
    """The Jinja environment of one language. Everything is escaped except our own drawings."""
    pages = Environment(
        loader=FileSystemLoader(TEMPLATES),
        extensions=["jinja2.ext.i18n"],
        autoescape=select_autoescape(default=True, default_for_string=True),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    install_texts(pages, language)
    pages.filters["moment"] = language.moment
    pages.filters["day"] = language.day
    pages.filters["drawing"] = Markup
    pages.filters["translate"] = language.translate
    pages.filters.update(NAME_FILTERS)
    pages.filters["set_name"] = lambda one: name_of_set(_NAMES.get()(), language, one)
    pages.filters["own_set_name"] = lambda one: name_of_set(_NAMES.get()(), language, one, is_own=True)
    pages.globals["address"] = address
    pages.globals["language"] = language
    pages.globals["languages"] = LANGUAGES
    return pages


#: What the team of the page being rendered calls its nouns. Filters read it here, since an imported macro doesn't see
#: the page's values.
_NAMES: ContextVar[Callable[[], NounNames]] = ContextVar("names", default=NounNames)

NAME_FILTERS: Mapping[str, Callable[[Any], str]] = {
    "call_name": lambda key: _NAMES.get()().call(key),
    "position_name": lambda key: _NAMES.get()().position(key),
    "position_names": lambda keys: _NAMES.get()().positions(keys),
    "formation_name": lambda key: _NAMES.get()().formation(key),
    "play_name": lambda key: _NAMES.get()().play(key),
}


def install_texts(pages: Environment, language: Language) -> None:
    """Add `_("…")` and `{% trans %}` in a language to the templates."""
    install: Any = getattr(pages, "install_gettext_translations")  # noqa: B009 - the extension adds it
    install(language.translations, newstyle=True)


def page(request: Request, template: str, status: int = 200, **context: Any) -> HTMLResponse:
    """Render a page in the request's language. Every template also gets `viewer` (None when nobody is signed in),
    `path`, `language` and `languages`; a `problem` is translated."""
    viewer, language = getattr(request.state, "viewer", None), language_of(request.scope)
    if "problem" in context:
        context["problem"] = language.translate(context["problem"])
    token = _NAMES.set(lambda: request.app.state.services.playbooks.names_of(viewer.team) if viewer else NounNames())
    try:
        text = pages_in(language).get_template(template).render(viewer=viewer, path=request.url.path, **context)
    finally:
        _NAMES.reset(token)
    return HTMLResponse(text, status_code=status, headers={"Content-Language": language.code})


def redirect_to(path: str, **query: Any) -> RedirectResponse:
    """Redirect to another page of ours after a form."""
    return RedirectResponse(address(path, **query), status_code=HTTPStatus.SEE_OTHER)


def moved_to(path: str, **query: Any) -> RedirectResponse:
    """Redirect from an address that was in use before, for good."""
    return RedirectResponse(address(path, **query), status_code=HTTPStatus.PERMANENT_REDIRECT)


def json_response(content: Any, status: int = 200) -> Response:
    """JSON that any text survives."""
    body = json.dumps(content, ensure_ascii=True, allow_nan=False, separators=(",", ":"))
    return Response(body, status_code=status, media_type="application/json")


def csv_file(pieces: Iterator[bytes] | AsyncIterator[bytes], name: str) -> Response:
    """Send the parts of a CSV file as a download."""
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    return StreamingResponse(pieces, media_type=CSV_TYPE, headers=headers)


def clean(text: str) -> str:
    """Text that can be encoded: lone surrogates and NULs are written out."""
    return text.encode("utf-8", "backslashreplace").decode("utf-8").replace("\x00", "\\x00")


def wants_page(scope: Scope) -> bool:
    """Whether the client wants a page."""
    if scope["path"].startswith("/api/"):
        return False
    accepts = next((value for name, value in scope["headers"] if name == b"accept"), b"")
    return b"text/html" in accepts


def refuse(scope: Scope, refusal: Refusal) -> Response:
    """The response for a refused request."""
    request_id = scope.get("state", {}).get("request_id", "")
    language = language_of(scope)
    message = clean(language.translate(refusal.message))
    details = [clean(language.translate(line)) for line in refusal.details[:DETAILS_SHOWN]]
    if isinstance(refusal, NeedsSignIn) and wants_page(scope) and scope["method"] == "GET":
        return RedirectResponse("/coach/sign-in" if scope["path"].startswith("/coach") else "/team", status_code=303)
    response: Response
    if wants_page(scope):
        template = pages_in(language).get_template("problem.html")
        body = template.render(
            viewer=scope.get("state", {}).get("viewer"),
            path=scope["path"],
            title=language.translate(refusal.title),
            message=message,
            details=details if len(details) > 1 else [],
            status=refusal.status,
            request_id=request_id,
        )
        response = HTMLResponse(body, status_code=refusal.status)
    else:
        error = {"code": refusal.code, "message": message, "details": details, "request_id": request_id}
        response = json_response({"error": error, **refusal.extra}, refusal.status)
    if refusal.retry_after_s is not None:
        response.headers["Retry-After"] = str(refusal.retry_after_s)
    return response


def to_refusal(error: Exception) -> Refusal:
    """Turn an error of a library, or of quizgen, into a refusal."""
    if isinstance(error, Refusal):
        return error
    if isinstance(error, RequestValidationError):
        details = [format_error(one) for one in error.errors()]
        return BadInput(details[0] if details else LazyText("the request: expected another form"), details)
    if isinstance(error, FootballError):
        return BadInput(str(error))
    assert isinstance(error, HTTPException)
    if error.status_code == HTTPStatus.NOT_FOUND:
        return NotFound("There is no page at this address.")
    if error.status_code == HTTPStatus.METHOD_NOT_ALLOWED:
        return WrongMethod("This address is there, but not for this kind of request.")
    if error.status_code == HTTPStatus.REQUEST_ENTITY_TOO_LARGE:
        return TooLarge(TOO_LARGE)
    refusal = BadInput(LazyText("the request: expected a body that can be read, found another"))
    refusal.status = error.status_code
    return refusal


def format_error(one: dict[str, Any]) -> str:
    """A validation error in one line: where and what was expected, without what was sent."""
    where = ".".join(str(part) for part in one["loc"][1:]) or str(one["loc"][0])
    slots = one.get("ctx") or {}
    if one["type"] == "value_error":
        return LazyText("{where}: {what}", where=where, what=slots["error"].args[0])
    expected = EXPECTED.get(one["type"], ANOTHER)
    return LazyText(expected.template, where=where, **slots)


async def on_error(request: Request, error: Exception) -> Response:
    """The one handler for all errors raised on purpose."""
    response = refuse(request.scope, to_refusal(error))
    allow = getattr(error, "headers", None) or {}
    if "Allow" in allow:
        response.headers["Allow"] = allow["Allow"]
    return response
