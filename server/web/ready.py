"""Questions of reps answered out of memory, before a route is looked for: phones fetch each of them, many at a time.

It gives out what `server.routes.api.question` would, to whom that would, as long as all it takes is in memory: who asks
(found within the last moments), which reps his copy of the set has, the question's body. Everything else is left to
that route, which fills the memory. It must not decide anything of its own.
"""

from __future__ import annotations

import re

from starlette.datastructures import Headers
from starlette.requests import HTTPConnection
from starlette.responses import Response
from starlette.routing import BaseRoute
from starlette.types import ASGIApp, Receive, Scope, Send

from server.accounts.credentials import cookie_name
from server.accounts.permissions import ACCESS
from server.i18n.languages import SOURCE, language_of
from server.playbook.kept_reps import Kept
from server.web.deps import Services, speaks_https

QUESTION = "/api/sets/{set_id}/reps/{rep_id}"
ADDRESS = re.compile(QUESTION.format(set_id="(?P<set_id>[^/]+)", rep_id="(?P<rep_id>[^/]+)"))
HEADERS = {
    "Cache-Control": "private, max-age=31536000, immutable",
    "Vary": "Accept-Encoding, Accept-Language, Cookie",
}


def question_reply(kept: Kept, headers: Headers) -> Response:
    """A question as it was written, in the form that the one who asks takes."""
    is_packed = "gzip" in headers.get("accept-encoding", "")
    own = {**HEADERS, "Content-Encoding": "gzip" if is_packed else "identity"}
    return Response(kept.question_gzip if is_packed else kept.question, media_type="application/json", headers=own)


class ReadyQuestions:
    """See the module. ``route`` is the one whose work it does; it is what the log says."""

    def __init__(self, app: ASGIApp, services: Services, route: BaseRoute) -> None:
        self.app = app
        self.services = services
        self.route = route

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer a request out of memory, or hand it on."""
        asked = ADDRESS.fullmatch(scope["path"]) if scope["type"] == "http" and scope["method"] == "GET" else None
        reply = self.find_reply(scope, asked["set_id"], asked["rep_id"]) if asked else None
        if reply is None:
            await self.app(scope, receive, send)
            return
        scope["route"] = self.route
        await reply(scope, receive, send)

    def find_reply(self, scope: Scope, set_id: str, rep_id: str) -> Response | None:
        """The question, if it and all that decides who gets it is in memory; None when the route must be asked."""
        asking, services = HTTPConnection(scope), self.services
        token = asking.cookies.get(cookie_name(speaks_https(scope["scheme"], services.settings)))
        viewer = services.sessions.find_lately(token, services.now()) if token else None
        if viewer is None or viewer.role not in ACCESS["GET", QUESTION] or language_of(scope).code != SOURCE:
            return None
        kept = services.kept_reps.find_asked(viewer.team.id, set_id, viewer.member.id, rep_id)
        return None if kept is None else question_reply(kept, asking.headers)
