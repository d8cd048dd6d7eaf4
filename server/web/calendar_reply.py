"""Sets as a calendar file in a reply, with their titles in the language of the page."""

from __future__ import annotations

from collections.abc import Sequence

from fastapi import Request
from starlette.responses import Response

from server.database.tables import Assignment
from server.i18n.languages import language_of
from server.sets.calendar_files import CALENDAR_TYPE, calendar_file
from server.sets.set_names import title_of_set
from server.web.deps import services_of, viewer_of


def calendar_reply(request: Request, one: Assignment, link: str) -> Response:
    """The calendar file of a set; ``link`` is the address where players answer it."""
    return calendar_of(request, [one], link, "set.ics")


def calendar_of(request: Request, sets: Sequence[Assignment], link: str, name: str) -> Response:
    """The calendar file of these sets."""
    services = services_of(request)
    names, language = services.playbooks.names_of(viewer_of(request).team), language_of(request.scope)
    titled = [(one, title_of_set(names, language, one)) for one in sets]
    return Response(
        calendar_file(titled, link, services.now()),
        media_type=CALENDAR_TYPE,
        headers={"Content-Disposition": f'attachment; filename="{name}"'},
    )
