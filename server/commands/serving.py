"""Starting the server: a socket, uvicorn, a clean stop, and a note on what doesn't work without HTTPS."""

from __future__ import annotations

import errno
import gc
import importlib
import os
import socket
import sys
import tempfile
from collections.abc import Callable
from urllib.parse import urlsplit

import uvicorn
from fastapi import FastAPI
from uvicorn.supervisors import Multiprocess

from server.app import make_app
from server.database.store import open_store
from server.errors import BadInput
from server.logs import set_up_logs
from server.settings import LOOPBACK, Settings, load_settings
from server.web.connections import Connection, connections

PORTS_TRIED = 50
#: New objects before the garbage collector runs, and how many runs before it looks at older ones.
COLLECT_AFTER = (50_000, 20, 50)
SWITCH_INTERVAL_S = 0.0005
NO_HTTPS = (
    "Without HTTPS phones can answer, but not finish a set without signal, and anybody on the same network "
    "can read PINs along. Use it on your own machine or for a try; else see Settings: public_url or tls_cert."
)


def bind(host: str, port: int, *, may_move: bool) -> socket.socket:
    """A socket bound to that port or, if it is taken and may move, to the next free one.

    Raises: BadInput when there is none, or the host is not this machine's.
    """
    for candidate in range(port, min(port + (PORTS_TRIED if may_move else 1), 65_536)):
        try:
            return _bind_one(host, candidate)
        except OSError as error:
            if error.errno not in (errno.EADDRINUSE, errno.EACCES):
                raise BadInput(f"--host: expected an address of this machine, found {host!r} ({error})") from None
    raise BadInput(f"--port: expected a free port, found {port} taken; choose another with --port")


def _bind_one(host: str, port: int) -> socket.socket:
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    # The protocol must be named: only then does asyncio set TCP_NODELAY, which saves 40 ms per reply.
    one = socket.socket(family, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    try:
        one.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        one.bind((host, port))
    except OSError:
        one.close()
        raise
    return one


def network_address() -> str:
    """This machine's address on its network, for phones; 127.0.0.1 when it has none. Sends nothing."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(
                ("192.0.2.1", 9)
            )  # an address reserved for documentation; connecting a datagram socket sends nothing
            return str(probe.getsockname()[0])
        except OSError:
            return "127.0.0.1"


def address_of(settings: Settings, host: str, port: int) -> str:
    """The address at which this server is reached."""
    if settings.public_url:
        return settings.public_url
    shown = network_address() if host in ("0.0.0.0", "::") else host  # noqa: S104 - compared, not bound
    scheme = "https" if settings.tls_cert else "http"
    return f"{scheme}://[{shown}]:{port}" if ":" in shown else f"{scheme}://{shown}:{port}"


def is_without_https(address: str) -> bool:
    """Whether phones would reach this address without encryption."""
    parts = urlsplit(address)
    return parts.scheme == "http" and parts.hostname not in LOOPBACK


def uvicorn_config(app: FastAPI | str, settings: Settings, **more: object) -> uvicorn.Config:
    """uvicorn's configuration: no access log, no banner, a stop that lets requests finish.

    httptools and uvloop are C instead of Python for what every request pays; a platform without them falls back.
    """
    options: dict[str, object] = {
        "http": Connection,
        "log_config": None,
        "access_log": False,
        "server_header": False,
        "proxy_headers": bool(settings.trusted_proxies),
        "forwarded_allow_ips": settings.trusted_proxies or None,
        "timeout_graceful_shutdown": settings.stop_within_s,
        "timeout_keep_alive": 15,
        "timeout_worker_healthcheck": 60,  # a worker that is still importing on a busy machine is alive
        "ssl_certfile": settings.tls_cert,
        "ssl_keyfile": settings.tls_key,
        **more,
    }
    return uvicorn.Config(app, **options)  # type: ignore[arg-type]


def tune_for_requests() -> None:
    """Keep background work from delaying requests.

    The garbage collector ignores what is loaded and runs less often: a team's content is tens of thousands of objects
    that stay, and each scan of them held everybody up for up to .19 s, now .02. Threads give way after half a
    millisecond: SQLite releases the GIL at each of an answer's statements, and beside a busy thread an answer took .4
    to .6 of the time it takes with Python's 5 ms. Rejected: no collection at all (cycles would stay); 1 ms (no better
    than 5 at the slowest twentieth).

    SciPy's matching is loaded before the server listens: loading one of its modules keeps the GIL for .07 to .1 s, and
    beside requests /healthz waited for that. The rest of the engine is loaded by `WarmUp`.
    """
    importlib.import_module("scipy.optimize")
    gc.freeze()
    gc.set_threshold(*COLLECT_AFTER)
    sys.setswitchinterval(SWITCH_INTERVAL_S)


def run(app: FastAPI, settings: Settings, listening: socket.socket, on_ready: Callable[[], None]) -> None:
    """Serve on this socket until stopped; `on_ready` is called once the server answers."""
    tune_for_requests()
    connections.set_up(settings.trusted_proxies)
    server = uvicorn.Server(uvicorn_config(app, settings))
    startup = server.startup

    async def startup_and_tell(sockets: list[socket.socket] | None = None) -> None:
        await startup(sockets)
        if server.started:
            on_ready()

    server.startup = startup_and_tell  # type: ignore[method-assign]
    server.run(sockets=[listening])


def run_workers(settings: Settings, listening: socket.socket, workers: int) -> None:
    """Serve on this socket from several processes; each makes its application from the environment."""
    config = uvicorn_config("server.commands.serving:from_environment", settings, factory=True, workers=workers)
    listening.set_inheritable(True)
    with tempfile.TemporaryDirectory(prefix="gapsound-figures-") as shared:
        if settings.metrics:
            os.environ["PROMETHEUS_MULTIPROC_DIR"] = shared  # where prometheus-client adds up the processes' metrics
        Multiprocess(config, sockets=[listening]).run()


def from_environment() -> FastAPI:
    """The application from environment settings, for a worker process."""
    tune_for_requests()
    set_up_logs()
    settings = load_settings()
    connections.set_up(settings.trusted_proxies)
    return make_app(settings, store=open_store(settings))
