"""How things are said back: pages through Jinja2, refusals as a page or as JSON, all in one place.

A browser that asks for a page gets a page; a program, and everything under /api, gets JSON. It must not know why
something was refused.
"""

from __future__ import annotations

import json
from datetime import datetime
from http import HTTPStatus
from typing import Any
from urllib.parse import quote, urlencode
from zoneinfo import ZoneInfo

from fastapi import Request
from fastapi.exceptions import RequestValidationError
from jinja2 import Environment, FileSystemLoader, StrictUndefined, select_autoescape
from markupsafe import Markup
from starlette.exceptions import HTTPException
from starlette.responses import HTMLResponse, RedirectResponse, Response
from starlette.types import Scope

from quizgen.football.errors import GapsoundError
from server.gate import TOO_LARGE
from server.paths import TEMPLATES
from server.problems import BadInput, NeedsSignIn, NotFound, Refusal, TooLarge, WrongMethod

DETAILS_SHOWN = 50


def _moment_words(moment: datetime, zone: str) -> str:
    """A moment as people say it: Thu 26 Nov, 6:30 PM."""
    local = moment.astimezone(ZoneInfo(zone))
    return f"{local:%a} {local.day} {local:%b}, {local:%I:%M %p}".replace(", 0", ", ")


def _day_words(moment: datetime | None, zone: str) -> str:
    """A day as people say it; a dash for none."""
    if moment is None:
        return "–"
    local = moment.astimezone(ZoneInfo(zone))
    return f"{local.day} {local:%b}"


def address(path: str, **query: Any) -> str:
    """An address of ours with a query; values that are lists repeat, those that are None or empty are left out."""
    kept = {name: value for name, value in query.items() if value not in (None, "", [], ())}
    return quote(path) + (f"?{urlencode(kept, doseq=True)}" if kept else "")


def make_pages() -> Environment:
    """The templates, with everything escaped unless it is a drawing of ours."""
    pages = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=select_autoescape(default=True, default_for_string=True),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    pages.filters["moment"] = _moment_words
    pages.filters["day"] = _day_words
    pages.filters["drawing"] = Markup
    pages.globals["address"] = address
    return pages


PAGES = make_pages()


def page(request: Request, template: str, status: int = 200, **context: Any) -> HTMLResponse:
    """A page. Every template also gets `viewer` (None when nobody is signed in) and `path`."""
    viewer = getattr(request.state, "viewer", None)
    text = PAGES.get_template(template).render(viewer=viewer, path=request.url.path, **context)
    return HTMLResponse(text, status_code=status)


def go(path: str, **query: Any) -> RedirectResponse:
    """To another page of ours, after a form."""
    return RedirectResponse(address(path, **query), status_code=HTTPStatus.SEE_OTHER)


def as_json(content: Any, status: int = 200) -> Response:
    """JSON that any text survives."""
    body = json.dumps(content, ensure_ascii=True, allow_nan=False, separators=(",", ":"))
    return Response(body, status_code=status, media_type="application/json")


def clean(text: str) -> str:
    """Text that can be sent: halves of characters and NULs are written out."""
    return text.encode("utf-8", "backslashreplace").decode("utf-8").replace("\x00", "\\x00")


def wants_page(scope: Scope) -> bool:
    """Whether the one who asks reads pages."""
    if scope["path"].startswith("/api/"):
        return False
    accepts = next((value for name, value in scope["headers"] if name == b"accept"), b"")
    return b"text/html" in accepts


def refuse(scope: Scope, refusal: Refusal) -> Response:
    """The reply to a request that is refused."""
    request_id = scope.get("state", {}).get("request_id", "")
    details = [clean(line) for line in refusal.details[:DETAILS_SHOWN]]
    if isinstance(refusal, NeedsSignIn) and wants_page(scope) and scope["method"] == "GET":
        return RedirectResponse("/coach/sign-in" if scope["path"].startswith("/coach") else "/join", status_code=303)
    response: Response
    if wants_page(scope):
        body = PAGES.get_template("problem.html").render(
            viewer=scope.get("state", {}).get("viewer"),
            path=scope["path"],
            title=refusal.title,
            message=clean(refusal.message),
            details=details if len(details) > 1 else [],
            status=refusal.status,
            request_id=request_id,
        )
        response = HTMLResponse(body, status_code=refusal.status)
    else:
        error = {"code": refusal.code, "message": clean(refusal.message), "details": details, "request_id": request_id}
        response = as_json({"error": error, **refusal.extra}, refusal.status)
    if refusal.retry_after_s is not None:
        response.headers["Retry-After"] = str(refusal.retry_after_s)
    return response


def to_refusal(error: Exception) -> Refusal:
    """What an error of a library, or of quizgen, means to the one who asked."""
    if isinstance(error, Refusal):
        return error
    if isinstance(error, RequestValidationError):
        details = [line_of(one) for one in error.errors()]
        return BadInput(details[0] if details else "the request: expected another form", details)
    if isinstance(error, GapsoundError):
        return BadInput(str(error))
    assert isinstance(error, HTTPException)
    if error.status_code == HTTPStatus.NOT_FOUND:
        return NotFound("There is no page at this address.")
    if error.status_code == HTTPStatus.METHOD_NOT_ALLOWED:
        return WrongMethod("This address is there, but not for this kind of request.")
    if error.status_code == HTTPStatus.REQUEST_ENTITY_TOO_LARGE:
        return TooLarge(TOO_LARGE)
    refusal = BadInput(f"the request: {error.detail}")
    refusal.status = error.status_code
    return refusal


def line_of(one: dict[str, Any]) -> str:
    """A validation error in one line, without what was sent: where, and what was expected."""
    where = ".".join(str(part) for part in one["loc"][1:]) or str(one["loc"][0])
    if one["type"] == "extra_forbidden":
        return f"{where}: expected no such field"
    if one["type"] == "missing":
        return f"{where}: expected a value, found none"
    return f"{where}: {str(one['msg']).removeprefix('Value error, ')}"


async def on_error(request: Request, error: Exception) -> Response:
    """The one handler of every error raised on purpose."""
    response = refuse(request.scope, to_refusal(error))
    allow = getattr(error, "headers", None) or {}
    if "Allow" in allow:
        response.headers["Allow"] = allow["Allow"]
    return response
