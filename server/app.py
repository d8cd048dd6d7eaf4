"""The application: settings, database, services, routes and middleware put together.

No logic of its own: it only connects the pieces.
"""

from __future__ import annotations

import asyncio
import mimetypes
from collections.abc import AsyncIterator, Callable, Iterable, Sequence
from contextlib import asynccontextmanager
from datetime import UTC, datetime

import anyio.to_thread
from fastapi import APIRouter, Depends, FastAPI
from fastapi.exceptions import RequestValidationError
from fastapi.routing import APIRoute, iter_route_contexts
from fastapi.telemetry import TelemetryConfig
from starlette.exceptions import HTTPException
from starlette.middleware.gzip import GZipMiddleware
from starlette.routing import BaseRoute, Route
from starlette.staticfiles import StaticFiles

from server.accounts.permissions import ACCESS
from server.accounts.retention import erase_when_due
from server.accounts.sessions import Sessions
from server.accounts.sign_in import SignIns
from server.answers.miss_pictures import MissPictures
from server.answers.recording import AnswerRecorder
from server.database.store import Store, open_store
from server.database.write_queue import WriteQueue
from server.errors import Refusal
from server.opponents.play_list import BODY_MAX
from server.paths import STATIC
from server.playbook.engine import Engine, FootballError
from server.playbook.kept_reps import KeptReps
from server.playbook.mending_jobs import MendingJobs
from server.playbook.playbooks import Playbooks
from server.playbook.workbench import Workbench
from server.progress.confusions import TeamConfusions
from server.progress.team_state import TeamStates
from server.routes import ROUTERS, metrics
from server.sets.check_sessions import CheckSessions
from server.settings import Settings
from server.team.archive import ARCHIVE_MAX
from server.team.personal_data import erase
from server.web.deps import THREADS, Services, ViewerLookup, in_thread, load_viewer
from server.web.middleware import RequestMiddleware
from server.web.responses import on_error, refuse
from server.web.warm_up import WarmUp

#: Addresses with a larger body limit than all others, in bytes. Rejected: a larger limit everywhere.
LARGER_BODIES = {r"/coach/opponents/[^/]+/import(/[a-z]+)?": BODY_MAX, "/coach/defense/archive": ARCHIVE_MAX + 10_000}
#: Bodies of this size, in bytes, and more are compressed in a thread: pages, not the reply to an answer.
IN_THREAD_FROM = 16_000
#: Off: with FastAPI's defaults, an environment variable would send errors with their messages, names among them,
#: elsewhere, and every request would check for it. Rejected: a line in the README that says not to set it.
NO_TELEMETRY = TelemetryConfig(tracing=False, metrics=False, logs=False, operation_spans=False, auto_configure=False)


def utc_now() -> datetime:
    """The current time."""
    return datetime.now(UTC)


def make_app(
    settings: Settings,
    *,
    store: Store | None = None,
    football: Engine | None = None,
    now: Callable[[], datetime] = utc_now,
) -> FastAPI:
    """Make the application for these settings.

    Raises: SettingProblem; ValueError when the access table lacks a route, or has one that doesn't exist.
    """
    used = store or open_store(settings)

    @asynccontextmanager
    async def lifespan(_: FastAPI) -> AsyncIterator[None]:
        anyio.to_thread.current_default_thread_limiter().total_tokens = THREADS
        build_routes(app.routes)
        erasing = asyncio.create_task(
            erase_when_due(services.writes, settings.keep_results_days, now, erase, services.kept_reps.forget)
        )
        warming = WarmUp(services)
        warming.start()
        yield
        warming.stop()
        services.mendings.stop()
        erasing.cancel()
        await in_thread(services.writes.finish)
        used.close()

    app = FastAPI(
        title="Gapsound",
        docs_url=None,
        redoc_url=None,
        openapi_url=None,
        lifespan=lifespan,
        dependencies=[Depends(load_viewer)],
        redirect_slashes=False,
        telemetry=NO_TELEMETRY,
    )
    services = app.state.services = make_services(settings, used, football, now)
    figures = None
    if settings.metrics:
        from server.web.metrics import Metrics

        figures = app.state.metrics = Metrics()
    for router in ROUTERS:
        if figures or router is not metrics.router:
            app.include_router(router)
    check_routes(routes_of(ROUTERS))
    for kind in (Refusal, FootballError, RequestValidationError, HTTPException):
        app.add_exception_handler(kind, on_error)
    if STATIC.is_dir():
        mimetypes.add_type("font/woff2", ".woff2")  # Python knows this type only where the system's own list has it
        app.mount("/static", StaticFiles(directory=STATIC), name="static")
    app.add_middleware(GZipMiddleware, minimum_size=1000, compresslevel=5, thread_minimum_size=IN_THREAD_FROM)
    app.add_middleware(
        RequestMiddleware,
        refuse=refuse,
        public_url=settings.public_url,
        body_limit=settings.body_limit_kb * 1024,
        larger=LARGER_BODIES,
        observe=figures.observe if figures else None,
    )
    return app


def make_services(settings: Settings, store: Store, football: Engine | None, now: Callable[[], datetime]) -> Services:
    """Make the services, each with those it needs."""
    writes, kept_reps, team_states = WriteQueue(store), KeptReps(), TeamStates()
    playbooks, sessions = Playbooks(store, football, writes), Sessions(store, writes, settings)
    return Services(
        settings,
        store,
        writes,
        sessions,
        ViewerLookup(sessions, now),
        SignIns(store, writes, settings),
        playbooks,
        MendingJobs(store),
        Workbench(playbooks.football),
        team_states,
        TeamConfusions(),
        kept_reps,
        AnswerRecorder(kept_reps),
        CheckSessions(store, writes, playbooks, team_states),
        MissPictures(store, writes, playbooks, kept_reps),
        now,
    )


def routes_of(routers: Iterable[APIRouter]) -> set[tuple[str, str]]:
    """Every method and path of these routers. Paths are written in full, without prefixes."""
    return {
        (method, route.path)
        for router in routers
        for route in router.routes
        if isinstance(route, Route)
        for method in (route.methods or set()) - ({"HEAD"} if not isinstance(route, APIRoute) else set())
    }


def build_routes(routes: Sequence[BaseRoute]) -> None:
    """Work out what each route declares. FastAPI would do so at the first request, which held the event loop for .2 s
    while /healthz waited."""
    for _ in iter_route_contexts(routes):
        pass


def check_routes(routes: set[tuple[str, str]]) -> None:
    """Check that routes and access table match. Raises: ValueError."""
    if lacking := routes - set(ACCESS):
        raise ValueError(f"routes that the access table lacks: {sorted(lacking)}")
    if unknown := set(ACCESS) - routes:
        raise ValueError(f"the access table has routes that are not there: {sorted(unknown)}")
