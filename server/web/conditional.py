"""Pages that stay current: each is sent with an ETag made of everything that decides its content.

The page's script asks again with its tag; if nothing changed, the reply is 304 and nothing is rendered. Tags are made
from the database, the request and the clock, so they are the same in every process. Knows nothing of a page's content.

Rejected: htmx (its pause while hidden needs eval, which our policy refuses, and it sends no tag of its own); a stream
per coach (one open connection each).
"""

from __future__ import annotations

import hashlib
from http import HTTPStatus
from typing import Any

from fastapi import Request
from starlette.responses import Response

from server.i18n.languages import language_of
from server.web.deps import viewer_of
from server.web.responses import page


def tag_of(request: Request, *decides: object) -> str:
    """The tag of a page for this viewer, from all values that decide its content (by their repr)."""
    viewer = viewer_of(request)
    own = (viewer.member.id, viewer.role, viewer.member.groups, viewer.team.name, viewer.team.content_hash)
    asked = (request.url.path, request.url.query, language_of(request.scope).code)
    return hashlib.sha256(repr((own, asked, decides)).encode()).hexdigest()[:24]


def find_unchanged(request: Request, tag: str) -> Response | None:
    """A 304 when the client already has the page with this tag; None when it must be rendered.

    If-None-Match may list several tags or be "*"; a proxy that compressed the page made its tag a weak one.
    """
    named = [one.strip().removeprefix("W/").strip('"') for one in request.headers.get("if-none-match", "").split(",")]
    if tag not in named and "*" not in named:
        return None
    return Response(status_code=HTTPStatus.NOT_MODIFIED, headers={"ETag": f'"{tag}"'})


def page_with_tag(request: Request, template: str, tag: str, status: int = HTTPStatus.OK, **context: Any) -> Response:
    """Render a page with its tag; the template also gets `tag`."""
    response = page(request, template, status, tag=tag, **context)
    response.headers["ETag"] = f'"{tag}"'
    return response
