"""The commands that start a server: `demo` and `serve`. Slow imports wait until one of them runs."""

from __future__ import annotations

import contextlib
import gc
import sys
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated

import typer

from server.errors import BadInput

Host = Annotated[str, typer.Option(help="Address to listen on; 0.0.0.0: all of this machine's.")]
Port = Annotated[int, typer.Option(min=1, max=65_535, help="Port to listen on.")]


def register(app: typer.Typer) -> None:
    """Add these commands."""
    app.command()(demo)
    app.command()(serve)


def demo(
    data: Annotated[Path | None, typer.Option("--data", help="Folder to keep the demo in.")] = None,
    host: Host = "0.0.0.0",  # noqa: S104 - a demo with invented people, so that a phone can be tried
    port: Port = 8000,
    season: Annotated[bool, typer.Option(help="Fill the board with an invented season.")] = True,
) -> None:
    """Start the invented demo team on an embedded database, and print how to sign in."""
    from server.commands.demo import start_demo

    start_demo(data, host, port, with_season=season)


def serve(
    host: Host = "127.0.0.1",
    port: Port = 8000,
    workers: Annotated[int, typer.Option(min=1, max=64, help="Processes that answer.")] = 1,
) -> None:
    """Start the server for the teams in its database."""
    with gc_disabled():
        from server.app import make_app
        from server.commands.serving import NO_HTTPS, address_of, bind, is_without_https, run_workers
        from server.commands.serving import run as run_server
        from server.database.store import open_store
        from server.logs import set_up_logs
        from server.settings import load_settings

    settings = load_settings()
    listening = bind(host, port, may_move=False)
    store = open_store(settings)
    if settings.database_url:
        if not store.is_ready():
            raise BadInput("the database: expected the tables of this version; run gapsound migrate")
    else:
        store.migrate()
    set_up_logs()
    address = address_of(settings, host, port)
    if not store.teams():
        from server.team.beginning import make_invite

        token = make_invite(store, datetime.now(UTC), is_first=True)
        print(f"No team is here yet. Begin yours, once, at {address}/begin/{token}", file=sys.stderr)
    if is_without_https(address):
        print(NO_HTTPS, file=sys.stderr)
    if workers > 1:
        store.close()
        print(f"Listening on {address} with {workers} processes", file=sys.stderr)
        run_workers(settings, listening, workers)
        return
    run_server(
        make_app(settings, store=store), settings, listening, lambda: print(f"Listening on {address}", file=sys.stderr)
    )


@contextlib.contextmanager
def gc_disabled() -> Iterator[None]:
    """Import without the garbage collector, which would scan the new modules again and again, though none is ever
    garbage."""
    gc.disable()
    try:
        yield
    finally:
        gc.enable()
