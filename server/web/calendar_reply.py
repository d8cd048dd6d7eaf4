"""A set's calendar file as a reply, with its title in the language of the page."""

from __future__ import annotations

from fastapi import Request
from starlette.responses import Response

from server.database.tables import Assignment, Purpose
from server.i18n.languages import language_of
from server.i18n.lazy_text import LazyText
from server.sets.calendar_files import CALENDAR_TYPE, calendar_file
from server.web.deps import services_of, viewer_of
from server.web.responses import name_of_set


def calendar_reply(request: Request, one: Assignment, link: str) -> Response:
    """The calendar file of a set; ``link`` is the address where players answer it."""
    services = services_of(request)
    call = name_of_set(services.playbooks.names_of(viewer_of(request).team), language_of(request.scope), one)
    if one.purpose == Purpose.CHECK:
        title = LazyText("{call}: check session", call=call)
    else:
        title = LazyText("{call}, reps: {count}", call=call, count=one.length)
    said = language_of(request.scope).translate(title)
    return Response(
        calendar_file(one, said, link, services.now()),
        media_type=CALENDAR_TYPE,
        headers={"Content-Disposition": 'attachment; filename="set.ics"'},
    )
