"""What an unsigned client may cost before it has sent a whole request: bytes, time, and a place among the connections.

uvicorn's parser takes a head of any length and waits for the rest as long as the client likes, and every silent
connection holds a descriptor. So a head has a size and a time, and where connections run out the one that has been
silent longest goes first: a new phone is served while an old silence waits. Rejected: uvicorn's own
``limit_concurrency`` (it answers 503 to the new ones and keeps the silent); h11 instead of httptools for its limit (it
parses in Python what every request pays). With TLS the handshake comes before all this; asyncio ends it after 60 s.
"""

from __future__ import annotations

import asyncio
from collections import Counter
from collections.abc import Iterator
from ipaddress import ip_address, ip_network

import structlog
from uvicorn.protocols.http.auto import AutoHTTPProtocol

CLOSE_GRACE_S = 0.5
#: Bytes and lines of a head. Browsers stay below a quarter of both, from memory.
HEAD_BYTES, HEAD_LINES = 32_768, 100
#: From the connection, or from a later request's first byte, to the end of the head.
HEAD_S = 10.0
#: Connections of one address: a whole school sits behind one.
OF_ADDRESS = 1_024
#: All connections of a process, and the descriptors kept for everything else (database, files, pipes).
AT_MOST, KEPT_DESCRIPTORS = 20_000, 96
TELL_EVERY_S = 60.0
HEAD_END = b"\r\n\r\n"
TOO_LARGE = (
    b"HTTP/1.1 431 Request Header Fields Too Large\r\nContent-Type: text/plain\r\nContent-Length: 0\r\n"
    b"Connection: close\r\n\r\n"
)

log = structlog.get_logger()


class OpenConnections:
    """The connections of this process, the silent ones in the order in which they fell silent."""

    def __init__(self) -> None:
        self.trusted: tuple[object, ...] = ()
        self.at_most = AT_MOST
        self._silent: dict[Connection, None] = {}
        self._of_address: Counter[str] = Counter()
        self._dropped: Counter[str] = Counter()
        self._is_telling = False

    def set_up(self, trusted_proxies: str) -> None:
        """Trust these proxies' addresses, and take as many connections as the process has descriptors for."""
        self.trusted = tuple(ip_network(one.strip(), strict=False) for one in trusted_proxies.split(",") if one.strip())
        try:
            import resource
        except ImportError:  # Windows: sockets are no files there
            return
        soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
        wanted = AT_MOST + KEPT_DESCRIPTORS
        if soft < wanted and (hard == resource.RLIM_INFINITY or hard > soft):
            soft = wanted if hard == resource.RLIM_INFINITY else min(wanted, hard)
            resource.setrlimit(resource.RLIMIT_NOFILE, (soft, hard))
        self.at_most = max(16, min(AT_MOST, soft - KEPT_DESCRIPTORS))

    @property
    def count(self) -> int:
        """How many there are."""
        return self._of_address.total()

    def add(self, one: Connection) -> None:
        """Take a new connection, silent so far; where there are too many, the one silent longest is dropped."""
        self._of_address[one.address] += 1
        self.mark(one, is_silent=True)
        if self._of_address[one.address] > OF_ADDRESS and not self._is_trusted(one.address):
            self._drop(self._silent_of(one.address), "of one address")
        if self.count > self.at_most:
            self._drop(iter(self._silent), "in all")

    def remove(self, one: Connection) -> None:
        """Forget a connection that is closed."""
        self._silent.pop(one, None)
        self._of_address[one.address] -= 1
        if not self._of_address[one.address]:
            del self._of_address[one.address]

    def mark(self, one: Connection, *, is_silent: bool) -> None:
        """Note whether the server waits for this connection; its place in the order is that of when it began to."""
        if is_silent:
            self._silent.setdefault(one)
        else:
            self._silent.pop(one, None)

    def tell(self, what: str) -> None:
        """Count what was refused, and log the counts once a minute, without addresses."""
        self._dropped[what] += 1
        if not self._is_telling:
            self._is_telling = True
            asyncio.get_running_loop().call_later(TELL_EVERY_S, self._tell_now)

    def _tell_now(self) -> None:
        log.warning("connections refused", **{name.replace(" ", "_"): n for name, n in sorted(self._dropped.items())})
        self._dropped.clear()
        self._is_telling = False

    def _silent_of(self, address: str) -> Iterator[Connection]:
        return (one for one in self._silent if one.address == address)

    def _drop(self, silent: Iterator[Connection], what: str) -> None:
        oldest = next(silent, None)
        if oldest is not None:
            self._silent.pop(oldest)  # it counts until it is closed, a moment later
            self.tell(f"too many {what}")
            oldest.transport.abort()

    def _is_trusted(self, address: str) -> bool:
        try:
            found = ip_address(address)
        except ValueError:
            return True  # a socket file: whoever may write to it is on this machine
        return any(found in network for network in self.trusted)  # type: ignore[operator]


#: Those of this process.
connections = OpenConnections()


class Connection(AutoHTTPProtocol):  # type: ignore[misc, valid-type]
    """uvicorn's connection with limits for its heads; it doesn't delay a stop.

    asyncio would wait for a client that keeps its TLS connection open. Cut after a moment, a stop takes .6 s instead of
    the 10 s allowed. Rejected: a shorter limit for stops (it would cut requests in progress).
    """

    address = ""
    _head_timer: asyncio.TimerHandle | None = None
    _bytes = _lines = 0
    _tail = b""

    def connection_made(self, transport: asyncio.Transport) -> None:
        """Take a connection, and wait for its first head."""
        super().connection_made(transport)
        self.address = self.client[0] if self.client else ""
        self._await_head()
        connections.add(self)

    def connection_lost(self, exc: Exception | None) -> None:
        """Forget it."""
        self._end_head()
        connections.remove(self)
        super().connection_lost(exc)

    def data_received(self, data: bytes) -> None:
        """Pass on what came, unless a head has become too large."""
        before = self.cycle
        if self._head_timer is None and (before is None or (before.response_complete and not before.more_body)):
            self._await_head()  # of a later request
        if self._head_timer is not None and self._is_too_large(data):
            self._refuse()
            return
        super().data_received(data)
        if self.cycle is not before:
            self._end_head()
        self._sort()

    def on_response_complete(self) -> None:
        """The request is answered: from here on the connection is idle."""
        super().on_response_complete()
        self._sort()

    def shutdown(self) -> None:
        """Finish the current request, close, and cut the connection after a moment."""
        super().shutdown()
        asyncio.get_running_loop().call_later(CLOSE_GRACE_S, self.cut)

    def cut(self) -> None:
        """Cut the connection if it was closed and everything is sent; else try again later."""
        if self.transport.is_closing() and not self.transport.get_write_buffer_size():
            self.transport.abort()
        else:
            asyncio.get_running_loop().call_later(CLOSE_GRACE_S, self.cut)

    def _await_head(self) -> None:
        self._bytes = self._lines = 0
        self._tail = b""
        self._head_timer = asyncio.get_running_loop().call_later(HEAD_S, self._is_late)

    def _end_head(self) -> None:
        if self._head_timer is not None:
            self._head_timer.cancel()
            self._head_timer = None

    def _is_too_large(self, data: bytes) -> bool:
        """Count the bytes and lines of the head that came with this."""
        seen = self._tail + data
        end = seen.find(HEAD_END)
        own = seen if end < 0 else seen[: end + len(HEAD_END)]
        self._bytes += len(own) - len(self._tail)
        self._lines += own.count(b"\n", len(self._tail))
        self._tail = seen[-3:]
        return self._bytes > HEAD_BYTES or self._lines > HEAD_LINES + 2  # the request's line, the empty one

    def _is_late(self) -> None:
        self._head_timer = None
        if not self.transport.is_closing():
            connections.tell("slow heads")
            self.transport.abort()

    def _refuse(self) -> None:
        self._end_head()
        connections.tell("large heads")
        self.transport.write(TOO_LARGE)
        self.transport.close()

    def _sort(self) -> None:
        """Whether the server waits for the client: for a head, or for more of a body."""
        cycle = self.cycle
        connections.mark(self, is_silent=cycle is None or cycle.response_complete or cycle.more_body)
