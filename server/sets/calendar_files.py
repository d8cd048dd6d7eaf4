"""Sets as a calendar file (RFC 5545): for each one event at the moment when it is due, without an alarm.

An event, since phones import few to-dos; it takes no time and leaves the hour free. It names the call and the reps, no
player. A later file of the same set replaces it, since the id stays; one that was called back is cancelled in it.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from importlib.metadata import version

from server.database.tables import Assignment

CALENDAR_TYPE = "text/calendar; charset=utf-8"


def calendar_file(sets: Sequence[tuple[Assignment, str]], link: str, now: datetime) -> bytes:
    """The calendar file of these sets, each with its title; ``link`` is the address where players answer them."""
    from icalendar import Calendar, Event  # takes 70 ms, and no start should wait for it

    calendar = Calendar()
    calendar.add("prodid", f"-//Gapsound//{version('gapsound')}//EN")
    calendar.add("version", "2.0")
    for one, title in sets:
        event = Event()
        event.add("uid", f"{one.id}@gapsound")
        event.add("dtstamp", now.astimezone(UTC).replace(microsecond=0))
        event.add("dtstart", one.due_at.astimezone(UTC).replace(microsecond=0))
        event.add("summary", title)
        event.add("url", link)
        event.add("transp", "TRANSPARENT")
        event.add("class", "PRIVATE")
        if one.closed_at is not None:
            event.add("status", "CANCELLED")
        calendar.add_component(event)
    return calendar.to_ical()
