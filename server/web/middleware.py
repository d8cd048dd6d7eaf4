"""The gate that every request passes, in and out: id, origin, headers, log line, and the last net under faults.

One plain ASGI layer, since each layer of the convenient kind costs a good part of the speed. It must not know routes,
teams or pages; how a refusal looks is handed to it.
"""

from __future__ import annotations

import re
import secrets
import time
from collections.abc import Callable, Mapping
from urllib.parse import urlsplit

import structlog
from starlette.datastructures import Headers
from starlette.exceptions import HTTPException
from starlette.responses import Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from server.errors import BadInput, NotAllowed, Refusal, TooLarge, Unexpected
from server.i18n.lazy_text import LazyText

SAFE_METHODS = frozenset({"GET", "HEAD", "OPTIONS"})
CONTENT_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; font-src 'self'; "
    "connect-src 'self'; manifest-src 'self'; worker-src 'self'; form-action 'self'; base-uri 'none'; "
    "object-src 'none'; frame-ancestors 'none'"
)
HEADERS = (
    (b"content-security-policy", CONTENT_POLICY.encode()),
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"same-origin"),
    (b"permissions-policy", b"camera=(), geolocation=(), microphone=()"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
)
HSTS = (b"strict-transport-security", b"max-age=31536000")
FRESH, UNSTORED = (b"cache-control", b"no-cache"), (b"cache-control", b"no-store")
KEPT = (b"cache-control", b"public, max-age=604800")  # asked for anew, a font would come late on every page
DIGITS_MOST = 18  # of a length; Python itself refuses to read numbers of more than 4,300
TOO_LARGE = LazyText("What was sent is larger than this server takes. Nothing was changed.")

log = structlog.get_logger()


def find_origin_problem(scope: Scope, headers: Headers, public_url: str) -> str | None:
    """Why a write may come from another site's page; None when it comes from one of ours.

    Browsers say so themselves: in Sec-Fetch-Site over HTTPS, in Origin everywhere. A write with neither is refused.
    """
    if scope["method"] in SAFE_METHODS:
        return None
    site = headers.get("sec-fetch-site")
    if site is not None:
        return None if site in ("same-origin", "none") else LazyText("This was sent from a page of another site.")
    origin = headers.get("origin")
    if origin is None:
        return LazyText("This was sent without saying from which page (no Origin header).")
    own = {f"{scope['scheme']}://{headers.get('host', '')}".lower(), public_url.lower()}
    return None if origin.lower() in own else LazyText("This was sent from a page of another site.")


def find_text_problem(scope: Scope) -> str | None:
    """Why the address can't be one of ours; None when it can."""
    if "\x00" in scope["path"] or b"%00" in scope["query_string"]:
        return LazyText("address: expected text without NUL characters")
    return None


def limited(receive: Receive, limit: int) -> Receive:
    """The body as it comes in, refused once it is larger than the limit (bytes), whatever its head said."""
    seen = 0

    async def receive_some() -> Message:
        nonlocal seen
        message = await receive()
        seen += len(message.get("body", b""))
        if seen > limit:
            raise HTTPException(413)
        return message

    return receive_some


class RequestMiddleware:
    """See the module. ``larger`` are the addresses, as patterns, that take larger bodies (bytes) than all others."""

    def __init__(
        self,
        app: ASGIApp,
        refuse: Callable[[Scope, Refusal], Response],
        public_url: str,
        body_limit: int,
        larger: Mapping[str, int] | None = None,
        observe: Callable[..., None] | None = None,
    ) -> None:
        self.app = app
        self.refuse = refuse
        self.public_url = public_url
        self.body_limit = body_limit
        self.observe = observe
        self.larger = [(re.compile(pattern), limit) for pattern, limit in (larger or {}).items()]
        self.is_public_https = urlsplit(public_url).scheme == "https"

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let one request through, or refuse it."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        request_id = secrets.token_hex(8)
        scope.setdefault("state", {})["request_id"] = request_id
        started = time.perf_counter()
        status = 0

        async def send_with_headers(message: Message) -> None:
            nonlocal status
            if message["type"] == "http.response.start":
                status = message["status"]
                self._dress(message, scope, request_id)
            await send(message)

        try:
            refusal = self._find_refusal(scope)
            if refusal is not None:
                await self.refuse(scope, refusal)(scope, receive, send_with_headers)
            else:
                await self.app(scope, limited(receive, self.limit_of(scope)), send_with_headers)
        except Exception:
            log.exception("fault", request_id=request_id, method=scope["method"], route=route_of(scope))
            if status:
                raise
            fault = Unexpected(
                LazyText("Something broke on our side. Tell whoever runs the server this number: {id}", id=request_id)
            )
            await self.refuse(scope, fault)(scope, receive, send_with_headers)
        finally:
            took_s = time.perf_counter() - started
            if self.observe:
                is_late = bool(scope["state"].get("is_late"))
                self.observe(scope["method"], route_of(scope), int(status or 500), took_s, is_late=is_late)
            log.info(
                "request",
                request_id=request_id,
                method=scope["method"],
                route=route_of(scope),
                status=int(status),
                ms=round(took_s * 1000, 1),
            )

    def limit_of(self, scope: Scope) -> int:
        """The largest body that this address takes, in bytes."""
        if scope["method"] in SAFE_METHODS:
            return self.body_limit
        own = (limit for pattern, limit in self.larger if pattern.fullmatch(scope["path"]))
        return max(self.body_limit, next(own, 0))

    def _find_refusal(self, scope: Scope) -> Refusal | None:
        if problem := find_text_problem(scope):
            return BadInput(problem)
        headers = Headers(scope=scope)
        if problem := find_origin_problem(scope, headers, self.public_url):
            return NotAllowed(
                LazyText("{problem} Nothing was changed. Open the page anew and try again.", problem=problem)
            )
        length = headers.get("content-length", "0")
        if not length.isdecimal() or len(length) > DIGITS_MOST or int(length) > self.limit_of(scope):
            return TooLarge(TOO_LARGE)
        return None

    def _dress(self, message: Message, scope: Scope, request_id: str) -> None:
        own = list(message["headers"])
        if not any(name.lower() == b"cache-control" for name, _ in own):
            is_font = scope["path"].startswith("/static/fonts/") and message["status"] < 400
            own.append(KEPT if is_font else FRESH if scope["path"].startswith("/static/") else UNSTORED)
        if self.is_public_https or scope["scheme"] == "https":
            own.append(HSTS)
        message["headers"] = [*own, *HEADERS, (b"x-request-id", request_id.encode())]


def route_of(scope: Scope) -> str:
    """The route's pattern, without the ids in it; empty when no route was found. Safe to log."""
    route = scope.get("route")
    return str(getattr(route, "path", "")) if route is not None else ""
