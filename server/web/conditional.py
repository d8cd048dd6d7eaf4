"""Pages that stay current while they are looked at: a tag of all that decides what a page says, sent with it.

The page's script asks again with the tag it has; while nothing has changed the reply is 304 and nothing is rendered.
What the tag is made of lies in the database, the request and the clock, so every process gives the same. It must not
know what a page says.
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
    """The tag of a page as this viewer gets it, from all that decides what it says (values whose repr says all)."""
    viewer = viewer_of(request)
    own = (viewer.member.id, viewer.role, viewer.member.groups, viewer.team.name, viewer.team.content_hash)
    asked = (request.url.path, request.url.query, language_of(request.scope).code)
    return hashlib.sha256(repr((own, asked, decides)).encode()).hexdigest()[:24]


def find_unchanged(request: Request, tag: str) -> Response | None:
    """The reply when the one who asks has the page of that tag already; None when it must be made.

    He may name several, or any at all; a proxy that packed the page has marked its tag as weak.
    """
    named = [one.strip().removeprefix("W/").strip('"') for one in request.headers.get("if-none-match", "").split(",")]
    if tag not in named and "*" not in named:
        return None
    return Response(status_code=HTTPStatus.NOT_MODIFIED, headers={"ETag": f'"{tag}"'})


def page_with_tag(request: Request, template: str, tag: str, status: int = HTTPStatus.OK, **context: Any) -> Response:
    """A page with its tag; its template also gets `tag`."""
    response = page(request, template, status, tag=tag, **context)
    response.headers["ETag"] = f'"{tag}"'
    return response
