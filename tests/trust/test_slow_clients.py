"""Clients that send nothing, or never stop sending a head, against a real server: everybody else is served.

The limits are those of the issue that asked for them; that a head has 431 as its answer is RFC 6585, section 5.
"""

import asyncio
import socket
import time
from collections.abc import Iterator
from contextlib import ExitStack

import httpx
import pytest

from server.web import connections as limits
from server.web.connections import Connection, OpenConnections
from tests.trust.live import Process, prepare, serving

pytestmark = pytest.mark.slow
SILENT, DESCRIPTORS = 300, 256


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Process]:
    """A server that may open few files."""
    folder = tmp_path_factory.mktemp("slow")
    site = prepare(folder, players=1, sets=1)
    with serving(site.settings, log=folder / "log", descriptors=DESCRIPTORS) as running:
        yield running


def reach(server: Process) -> socket.socket:
    return socket.create_connection(("127.0.0.1", server.port), timeout=5)


def reply_of(one: socket.socket) -> bytes:
    """All that comes until the server closes; empty when it cut the connection."""
    found = b""
    try:
        while more := one.recv(65_536):
            found += more
    except ConnectionResetError:
        pass
    return found


def test_silent_connections_beyond_the_descriptors_keep_nobody_out(server: Process) -> None:
    with ExitStack() as held:
        for _ in range(SILENT):
            held.enter_context(reach(server))
        for _ in range(20):
            assert httpx.get(f"{server.base}/healthz").status_code == 200
            assert httpx.get(f"{server.base}/readyz").status_code == 200  # opens the database


def test_a_head_that_never_ends_is_cut_and_delays_nobody(server: Process) -> None:
    with reach(server) as one:
        one.sendall(b"GET /healthz HTTP/1.1\r\nHost: localhost\r\nX-Long: ")
        sent = 0
        try:
            while sent < 1_000_000:
                sent += one.send(b"a" * 8192)
                assert httpx.get(f"{server.base}/healthz").status_code == 200
        except (BrokenPipeError, ConnectionResetError):
            pass
        assert sent <= 8 * limits.HEAD_BYTES, "it was read on"  # what the system's buffers held in between


@pytest.mark.parametrize(
    "head",
    [
        pytest.param(b"X-Long: " + b"a" * limits.HEAD_BYTES + b"\r\n", id="long"),
        pytest.param(b"".join(b"X-%d: a\r\n" % n for n in range(limits.HEAD_LINES + 1)), id="many lines"),
    ],
)
def test_a_large_head_is_refused_with_its_own_status(server: Process, head: bytes) -> None:
    with reach(server) as one:
        one.sendall(b"GET /healthz HTTP/1.1\r\nHost: localhost\r\n" + head + b"\r\n")
        assert reply_of(one).startswith(b"HTTP/1.1 431 ")


def test_a_head_as_long_as_allowed_is_answered_however_it_is_cut(server: Process) -> None:
    start, end = b"GET /healthz HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\nX-Long: ", b"\r\n\r\n"
    whole = start + b"a" * (limits.HEAD_BYTES - len(start) - len(end)) + end
    for cut in (1, len(whole) - 3, len(whole) - 1):
        with reach(server) as one:
            one.sendall(whole[:cut])
            time.sleep(0.05)
            one.sendall(whole[cut:])
            assert reply_of(one).startswith(b"HTTP/1.1 200 "), cut


def test_a_large_body_in_one_piece_with_its_head_is_no_large_head(server: Process) -> None:
    body = b"number=1&pin=" + b"0" * (limits.HEAD_BYTES + 5_000)
    head = b"POST /team/AAAAAAAA HTTP/1.1\r\nHost: localhost:%d\r\nContent-Type: application/x-www-form-urlencoded\r\n"
    with reach(server) as one:
        one.sendall(head % server.port + b"Content-Length: %d\r\nConnection: close\r\n\r\n" % len(body) + body)
        assert not reply_of(one).startswith(b"HTTP/1.1 431 ")


def test_a_second_request_on_a_connection_has_its_own_limit(server: Process) -> None:
    with reach(server) as one:
        for _ in range(3):  # each below the limit, together above it
            padding = b"a" * (limits.HEAD_BYTES // 2)
            one.sendall(b"GET /healthz HTTP/1.1\r\nHost: localhost\r\nX-Long: " + padding + b"\r\n\r\n")
            found = b""
            while not found.endswith(b'{"status":"ok"}'):
                found += one.recv(65_536)
            assert found.startswith(b"HTTP/1.1 200 ")
        one.sendall(b"GET /healthz HTTP/1.1\r\nX-Long: " + b"a" * limits.HEAD_BYTES)
        assert reply_of(one).startswith(b"HTTP/1.1 431 ")


def test_a_slow_head_is_cut(server: Process) -> None:
    """A byte now and then doesn't buy more time."""
    with reach(server) as one:
        began = time.monotonic()
        one.sendall(b"GET /healthz HTTP/1.1\r\n")
        one.settimeout(0.5)
        while time.monotonic() - began < limits.HEAD_S + 20:
            try:
                if not one.recv(1):
                    break
            except TimeoutError:
                one.send(b"X")
            except ConnectionError:
                break
        took = time.monotonic() - began
    assert limits.HEAD_S - 1 < took < limits.HEAD_S + 15


# The order in which connections are dropped -------------------------------------------------------------------------


class Cut:
    """A transport that only knows whether it was cut."""

    is_cut = False

    def abort(self) -> None:
        self.is_cut = True


def stand_in(address: str) -> Connection:
    one = Connection.__new__(Connection)
    one.address, one.transport = address, Cut()
    return one


async def drops(taken: OpenConnections, arriving: list[Connection]) -> list[int]:
    """Which of these are cut when they come in this order."""
    for one in arriving:
        taken.add(one)
    return [n for n, one in enumerate(arriving) if one.transport.is_cut]


def test_the_one_silent_longest_goes_first() -> None:
    taken = OpenConnections()
    taken.at_most = 3
    busy, *rest = (stand_in(f"10.0.0.{n}") for n in range(4))

    async def come() -> list[int]:
        await drops(taken, [busy])
        taken.mark(busy, is_silent=False)
        return await drops(taken, rest)

    assert asyncio.run(come()) == [0]
    assert not busy.transport.is_cut


@pytest.mark.parametrize(("trusted", "cut"), [("", [0, 1]), ("10.1.0.0/16", [])])
def test_one_address_has_its_share_and_a_trusted_proxy_all(
    trusted: str, cut: list[int], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(limits, "OF_ADDRESS", 3)
    taken = OpenConnections()
    taken.set_up(trusted)
    assert asyncio.run(drops(taken, [stand_in("10.1.2.3") for _ in range(5)])) == cut
