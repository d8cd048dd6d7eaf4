"""What routes declare that they need: the pieces of the running application, and who is asking.

Routes that wait for the database, the engine, a hash or a file are plain functions: each runs in a thread, one of
`THREADS`, and reads from top to bottom. Where a coroutine has to wait for one of these it awaits `in_thread`. Of all
requests only questions and answers, which phones ask for most, are coroutines.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from datetime import datetime
from typing import Annotated, TypeVar

from fastapi import Depends, Request

from server.accounts.sessions import Sessions, Viewer, require
from server.accounts.sign_in import Device, SignIns
from server.answers.miss_pictures import MissPictures
from server.database.store import Store
from server.database.write_queue import WriteQueue
from server.playbook.kept_reps import KeptReps
from server.playbook.playbooks import Playbooks
from server.progress.confusions import TeamConfusions
from server.progress.team_state import TeamStates
from server.sets.check_sessions import CheckSessions
from server.settings import Settings

Result = TypeVar("Result")

#: Pages are made in this many threads: Python runs one of them at a time, and the event loop has its turn between all.
THREADS = 8
#: What is short and asked for with every request has threads of its own, so that it never waits behind pages.
_SHORT_WORK = ThreadPoolExecutor(max_workers=4, thread_name_prefix="short")


@dataclass(slots=True)
class Services:
    """The pieces of one application."""

    settings: Settings
    store: Store
    writes: WriteQueue
    sessions: Sessions
    sign_ins: SignIns
    playbooks: Playbooks
    team_states: TeamStates
    confusions: TeamConfusions
    kept_reps: KeptReps
    check_sessions: CheckSessions
    miss_pictures: MissPictures
    now: Callable[[], datetime]


def services_of(request: Request) -> Services:
    """The pieces of the application that got this request."""
    services: Services = request.app.state.services
    return services


async def in_thread(work: Callable[..., Result], *args: object) -> Result:
    """What this gives, done in a thread, while the event loop goes on."""
    return await asyncio.get_running_loop().run_in_executor(_SHORT_WORK, work, *args)


def find_viewer(request: Request) -> Viewer | None:
    """Who is asking; None when nobody is signed in."""
    viewer: Viewer | None = request.state.viewer
    return viewer


def viewer_of(request: Request) -> Viewer:
    """Who is asking, on a route that nobody unknown gets to. Raises: NeedsSignIn."""
    return require(find_viewer(request))


def is_https(request: Request) -> bool:
    """Whether the phone speaks HTTPS with us, or with the proxy before us."""
    return speaks_https(request.url.scheme, services_of(request).settings)


def speaks_https(scheme: str, settings: Settings) -> bool:
    """The same, by the scheme of the request as it came to us."""
    return scheme == "https" or settings.public_url.startswith("https:")


def device_of(request: Request) -> Device:
    """From where somebody asks."""
    return Device(request.client.host if request.client else "", is_https(request))


async def _services(request: Request) -> Services:
    return services_of(request)


async def _viewer(request: Request) -> Viewer:
    return viewer_of(request)


#: Declared by routes, as parameters. They are coroutines since FastAPI would give each plain function a thread.
AppServices = Annotated[Services, Depends(_services)]
SignedIn = Annotated[Viewer, Depends(_viewer)]
