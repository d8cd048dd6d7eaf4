"""The outermost middleware: request id, origin check, limits, headers, log line, and a 500 for uncaught errors.

One plain ASGI class, since each `BaseHTTPMiddleware` costs a good part of the speed. Knows nothing of routes, teams or
pages; the caller passes in how a refusal looks.
"""

from __future__ import annotations

import random
import re
import time
from collections.abc import Callable, Mapping
from urllib.parse import urlsplit

import structlog
from starlette.datastructures import Headers
from starlette.exceptions import HTTPException
from starlette.responses import Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from server.errors import BadHost, BadInput, NotAllowed, Refusal, TooLarge, Unexpected
from server.i18n.lazy_text import LazyText
from server.settings import LOOPBACK

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
REVALIDATE, NO_STORE = (b"cache-control", b"no-cache"), (b"cache-control", b"no-store")
CACHE_A_WEEK = (b"cache-control", b"public, max-age=604800")  # revalidating a font would delay text on every page
MAX_LENGTH_DIGITS = 18  # digits of a length; Python itself refuses to parse more than 4,300
TOO_LARGE = LazyText("What was sent is larger than this server takes. Nothing was changed.")

log = structlog.get_logger()


def find_origin_problem(scope: Scope, headers: Headers, public_url: str) -> str | None:
    """Why a write may come from another site's page; None when it comes from ours.

    Browsers say so: with Sec-Fetch-Site over HTTPS, with Origin everywhere. A write with neither is refused. The
    referrer policy is `same-origin`. Rejected: `no-referrer`, since browsers then send no usable Origin.
    """
    if scope["method"] in SAFE_METHODS:
        return None
    site = headers.get("sec-fetch-site")
    if site is not None:
        return None if site in ("same-origin", "none") else LazyText("This was sent from a page of another site.")
    origin = headers.get("origin")
    if not origin:
        return LazyText("This was sent without saying from which page (no Origin header).")
    own = {f"{scope['scheme']}://{headers.get('host', '')}".lower(), public_url.lower()}
    return None if origin.lower() in own else LazyText("This was sent from a page of another site.")


def find_host_problem(scope: Scope, public_url: str) -> str | None:
    """Why the Host header names no server of ours; None when it does. HTTP asks for exactly one (RFC 9112, 3.2); with a
    public address it must be that one, but for whoever looks after the server from the machine itself."""
    hosts = [value.decode("latin-1").lower() for name, value in scope["headers"] if name == b"host"]
    if len(hosts) != 1 or not hosts[0].strip():
        return LazyText("Host: expected the address of this server, once.")
    try:
        name = urlsplit(f"//{hosts[0]}").hostname if "@" not in hosts[0] else None
    except ValueError:  # half of an IPv6 address, say
        name = None
    if name is None or (public_url and name not in (*LOOPBACK, urlsplit(public_url).hostname)):
        return LazyText("Host: expected the address of this server, found another.")
    return None


def find_text_problem(scope: Scope) -> str | None:
    """Why the address can't be ours; None when it can."""
    if "\x00" in scope["path"] or b"%00" in scope["query_string"]:
        return LazyText("address: expected text without NUL characters")
    return None


def limit_body(receive: Receive, limit: int) -> Receive:
    """Limit the body (bytes) as it arrives, whatever its Content-Length says.

    The limit is ours because the framework's own refusal (`max_body_size`) has neither our headers nor our page.
    """
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
    """See the module. ``larger`` maps patterns of addresses to larger body limits (bytes)."""

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
        self._ids = random.Random()  # noqa: S311 - ids for the log, which need no secrecy; asking the system lets the GIL go

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass one request on, or refuse it."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        # A server may ignore Range (RFC 9110, 14.2). Our files are small, and the framework refuses a range that it
        # can't read in a text of its own.
        scope["headers"] = [one for one in scope["headers"] if one[0] != b"range"]
        request_id = f"{self._ids.getrandbits(64):016x}"
        scope.setdefault("state", {})["request_id"] = request_id
        started = time.perf_counter()
        status = 0

        async def send_with_headers(message: Message) -> None:
            nonlocal status
            if message["type"] == "http.response.start":
                status = message["status"]
                self._add_headers(message, scope, request_id)
            await send(message)

        try:
            refusal = self._find_refusal(scope)
            if refusal is not None:
                await self.refuse(scope, refusal)(scope, receive, send_with_headers)
            else:
                await self.app(scope, limit_body(receive, self.limit_of(scope)), send_with_headers)
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
        """The largest body allowed for this address, in bytes."""
        if scope["method"] in SAFE_METHODS:
            return self.body_limit
        own = (limit for pattern, limit in self.larger if pattern.fullmatch(scope["path"]))
        return max(self.body_limit, next(own, 0))

    def _find_refusal(self, scope: Scope) -> Refusal | None:
        if problem := find_text_problem(scope):
            return BadInput(problem)
        if problem := find_host_problem(scope, self.public_url):
            return BadHost(problem)
        headers = Headers(scope=scope)
        if problem := find_origin_problem(scope, headers, self.public_url):
            return NotAllowed(
                LazyText("{problem} Nothing was changed. Open the page anew and try again.", problem=problem)
            )
        length = headers.get("content-length", "0")
        if not length.isdecimal() or len(length) > MAX_LENGTH_DIGITS or int(length) > self.limit_of(scope):
            return TooLarge(TOO_LARGE)
        return None

    def _add_headers(self, message: Message, scope: Scope, request_id: str) -> None:
        own = list(message["headers"])
        if not any(name.lower() == b"cache-control" for name, _ in own):
            is_font = scope["path"].startswith("/static/fonts/") and message["status"] < 400
            own.append(CACHE_A_WEEK if is_font else REVALIDATE if scope["path"].startswith("/static/") else NO_STORE)
        if self.is_public_https or scope["scheme"] == "https":
            own.append(HSTS)
        message["headers"] = [*own, *HEADERS, (b"x-request-id", request_id.encode())]


def route_of(scope: Scope) -> str:
    """The route's pattern, without ids; empty when no route matched. Safe to log."""
    route = scope.get("route")
    return str(getattr(route, "path", "")) if route is not None else ""
