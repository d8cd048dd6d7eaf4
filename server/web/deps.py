"""The dependencies that routes declare: the application's services, and who is asking.

Routes that wait for the database, the engine, a hash or a file are plain functions: each runs in one of `THREADS`
threads and reads from top to bottom. A coroutine that has to wait for one of these awaits `in_thread`. Only questions
and answers, which phones send most, are coroutines.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from datetime import datetime
from typing import Annotated, TypeVar

from fastapi import Depends, Request

from server.accounts.credentials import cookie_name, device_cookie_name
from server.accounts.permissions import ACCEPTS_ENDED_SESSION, check_access
from server.accounts.sessions import Sessions, Viewer, require
from server.accounts.sign_in import Device, SignIns
from server.answers.miss_pictures import MissPictures
from server.answers.recording import AnswerRecorder
from server.database.engine import away
from server.database.store import Store
from server.database.tables import AccountRole
from server.database.write_queue import WriteQueue
from server.errors import Unavailable
from server.playbook.kept_reps import KeptReps
from server.playbook.mending_jobs import MendingJobs
from server.playbook.playbooks import Playbooks
from server.playbook.workbench import Workbench
from server.progress.confusions import TeamConfusions
from server.progress.team_state import TeamStates
from server.sets.check_sessions import CheckSessions
from server.settings import Settings

Result = TypeVar("Result")

#: Threads for pages: Python runs one of them at a time, and the event loop must get its turn among them.
THREADS = 8
#: Short work that every request needs has its own threads, so that it never waits behind pages.
_SHORT_WORK = ThreadPoolExecutor(max_workers=4, thread_name_prefix="short")


class ViewerLookup:
    """Finds viewers for the event loop: requests that arrive during a lookup share the next one, in one thread and one
    statement, so that the busier a server is the less it spends on each."""

    def __init__(self, sessions: Sessions, now: Callable[[], datetime]) -> None:
        self.sessions = sessions
        self.now = now
        self._waiting: list[tuple[str, asyncio.Future[Viewer | None]]] = []
        self._lookups: asyncio.Task[None] | None = None

    async def find(self, token: str) -> Viewer | None:
        """The viewer who holds this token; None when the session is unknown or over. Raises: Unavailable."""
        is_running = self._lookups is not None and not self._lookups.done()
        if is_running and self.sessions.store.reading.is_tried:
            raise away()
        found = asyncio.get_running_loop().create_future()
        self._waiting.append((token, found))
        if not is_running:
            self._lookups = asyncio.create_task(self._run())
        return await found

    async def _run(self) -> None:
        while self._waiting:
            taken, self._waiting = self._waiting, []
            try:
                viewers = await in_thread(self.sessions.find_viewers, [token for token, _ in taken], self.now())
            except Exception as error:
                waited, self._waiting = self._waiting, []  # they would only wait for the same
                for _, found in (*taken, *waited):
                    if not found.done():
                        found.set_exception(away() if isinstance(error, Unavailable) else error)
            else:
                for (_, found), viewer in zip(taken, viewers, strict=True):
                    if not found.done():
                        found.set_result(viewer)


@dataclass(slots=True)
class Services:
    """The services of one application."""

    settings: Settings
    store: Store
    writes: WriteQueue
    sessions: Sessions
    viewers: ViewerLookup
    sign_ins: SignIns
    playbooks: Playbooks
    mendings: MendingJobs
    workbench: Workbench
    team_states: TeamStates
    confusions: TeamConfusions
    kept_reps: KeptReps
    recorder: AnswerRecorder
    check_sessions: CheckSessions
    miss_pictures: MissPictures
    now: Callable[[], datetime]


def services_of(request: Request) -> Services:
    """The services of the application that got this request."""
    services: Services = request.app.state.services
    return services


async def in_thread(work: Callable[..., Result], *args: object) -> Result:
    """Run this in a thread and return its result, while the event loop goes on."""
    return await asyncio.get_running_loop().run_in_executor(_SHORT_WORK, work, *args)


async def load_viewer(request: Request) -> None:
    """Find the viewer and check his access. Raises: NeedsSignIn, NotAllowed."""
    services, path = services_of(request), request.scope["route"].path
    viewer: Viewer | None = None
    token = request.cookies.get(cookie_name(is_https(request)))
    if token:
        if path in ACCEPTS_ENDED_SESSION:
            viewer = services.sessions.find_recent(token, services.now())
        if viewer is None:
            viewer = await services.viewers.find(token)
    request.state.viewer = viewer
    check_access(request.method, path, viewer.role if viewer else AccountRole.NOBODY)


def find_viewer(request: Request) -> Viewer | None:
    """The viewer; None when nobody is signed in."""
    viewer: Viewer | None = request.state.viewer
    return viewer


def viewer_of(request: Request) -> Viewer:
    """The viewer, on a route that needs sign-in. Raises: NeedsSignIn."""
    return require(find_viewer(request))


def is_https(request: Request) -> bool:
    """Whether the phone uses HTTPS, with us or with the proxy in front of us."""
    return uses_https(request.scope["scheme"], services_of(request).settings)


def uses_https(scheme: str, settings: Settings) -> bool:
    """The same, from the scheme of the request as we got it."""
    return scheme == "https" or settings.public_url.startswith("https:")


def device_of(request: Request) -> Device:
    """The device that sent this request."""
    https = is_https(request)
    key = request.cookies.get(device_cookie_name(https), "")
    return Device(request.client.host if request.client else "", https, key)


async def _services(request: Request) -> Services:
    return services_of(request)


async def _viewer(request: Request) -> Viewer:
    return viewer_of(request)


#: Dependencies for routes. They are coroutines because FastAPI would run plain functions in a thread each.
AppServices = Annotated[Services, Depends(_services)]
SignedIn = Annotated[Viewer, Depends(_viewer)]
