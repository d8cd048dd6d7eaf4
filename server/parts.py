"""What routes reach for: the pieces of the running application, and who is asking. No logic."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from fastapi import Request

from server.confused import Confused
from server.people import Device, People, Viewer, require
from server.playbooks import Playbooks
from server.settings import Settings
from server.shown import ShownReps
from server.standing import Standings
from server.store import Store
from server.together import Together


@dataclass(slots=True)
class Parts:
    """The pieces of one application."""

    settings: Settings
    store: Store
    together: Together
    people: People
    playbooks: Playbooks
    standings: Standings
    confused: Confused
    shown: ShownReps
    now: Callable[[], datetime]


def parts_of(request: Request) -> Parts:
    """The pieces of the application that got this request."""
    parts: Parts = request.app.state.parts
    return parts


def find_viewer(request: Request) -> Viewer | None:
    """Who is asking; None when nobody is signed in."""
    viewer: Viewer | None = request.state.viewer
    return viewer


def viewer_of(request: Request) -> Viewer:
    """Who is asking, on a route that nobody unknown gets to. Raises: NeedsSignIn."""
    return require(find_viewer(request))


def is_https(request: Request) -> bool:
    """Whether the phone speaks HTTPS with us, or with the proxy before us."""
    return speaks_https(request.url.scheme, parts_of(request).settings)


def speaks_https(scheme: str, settings: Settings) -> bool:
    """The same, by the scheme of the request as it came to us."""
    return scheme == "https" or settings.public_url.startswith("https:")


def device_of(request: Request) -> Device:
    """From where somebody asks."""
    return Device(request.client.host if request.client else "", is_https(request))
