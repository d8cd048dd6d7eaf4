"""What routes reach for: the pieces of the running application, and who is asking. No logic."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from fastapi import Request

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
