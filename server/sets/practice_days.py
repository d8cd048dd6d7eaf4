"""Days of practice: what a coach usually assigns on each, the suggested ones, and when a day is next.

Knows nothing of pages or football.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta
from typing import Annotated
from zoneinfo import ZoneInfo

from pydantic import Field
from sqlmodel import col

from server.accounts.credentials import make_id
from server.accounts.members import write_audit
from server.accounts.sessions import Viewer
from server.database.store import TeamSession
from server.database.tables import PracticeDay, Purpose
from server.errors import BadInput
from server.i18n.lazy_text import LazyText
from server.mastery.picker import CHECK_MAX
from server.mastery.values import SIDES
from server.reading.fields import Sent, Text
from server.sets.assignment import USUAL_LENGTH, parse_length, parse_purpose, parse_sides, parse_stages


class DayForm(Sent):
    """A day of practice as typed; with an id when one is changed. `server/sets/practice_days.py` parses it."""

    id: Text = ""
    name: Text = ""
    weekday: Text = ""
    due: Text = ""
    purpose: Text = "reps"
    stages: Annotated[list[Text], Field(max_length=10)] = Field(default_factory=list)
    sides: Annotated[list[Text], Field(max_length=10)] = Field(default_factory=list)
    length: Text = ""
    is_weighted: Text = ""


MAX_DAYS = 20
LONGEST_NAME = 60
WEEK = 7
MONDAY, TUESDAY, WEDNESDAY, THURSDAY = range(4)


@dataclass(frozen=True, slots=True)
class Suggestion:
    """A day that a coach can add unchanged. ``why`` is one line about its use."""

    name: str
    why: str
    weekday: int
    purpose: Purpose
    stages: tuple[int, ...]
    length: int
    is_weighted: bool


#: Runs before passes, knowing where to go before reading, and a check on the last day that leaves one practice to fix
#: what it shows: common practice in a week with a game on Friday.
SUGGESTIONS: Mapping[str, Suggestion] = {
    "walk": Suggestion(
        LazyText("Monday walk-through"),
        LazyText("Where each man enters, on air, before anybody lines up against him."),
        MONDAY,
        Purpose.REPS,
        (1,),
        6,
        False,
    ),
    "runs": Suggestion(
        LazyText("Tuesday runs"),
        LazyText("Run fits as the next opponent mixes them."),
        TUESDAY,
        Purpose.REPS,
        (2,),
        USUAL_LENGTH,
        True,
    ),
    "pulls": Suggestion(
        LazyText("Wednesday pulls"),
        LazyText("Who stays and who goes when a guard leaves, the option with it."),
        WEDNESDAY,
        Purpose.REPS,
        (3, 4),
        USUAL_LENGTH,
        True,
    ),
    "check": Suggestion(
        LazyText("Thursday check"),
        LazyText("Who can name it before the game, with a walk-through left for those who can't."),
        THURSDAY,
        Purpose.CHECK,
        (1, 2, 3, 4, 5),
        CHECK_MAX,
        True,
    ),
}
USUAL_TIME = "15:00"


def days_of(t: TeamSession) -> list[PracticeDay]:
    """The team's days, from Monday on."""
    return t.rows(PracticeDay, order_by=(col(PracticeDay.weekday), col(PracticeDay.due), col(PracticeDay.name)))


def next_due(weekday: int, due: str, zone: str, now: datetime) -> datetime:
    """The next time (hh:mm) of that weekday in the team's time zone: today if it is still to come."""
    local = now.astimezone(ZoneInfo(zone))
    at = time.fromisoformat(due)
    ahead = (weekday - local.weekday()) % WEEK
    for days in (ahead, ahead + WEEK):
        found = datetime.combine(local.date() + timedelta(days=days), at, ZoneInfo(zone))
        if found.astimezone(UTC) > now:
            return found
    raise AssertionError("the same weekday a week from now is past")


def parse_day(form: DayForm, t: TeamSession) -> PracticeDay:
    """Parse a day. Raises: BadInput naming the first problem."""
    name = " ".join(form.name.split())
    if not 1 <= len(name) <= LONGEST_NAME:
        raise BadInput(
            LazyText("name: expected 1 to {most} characters, found {found}", most=LONGEST_NAME, found=len(name))
        )
    if form.weekday not in {str(day) for day in range(WEEK)}:
        raise BadInput("day: expected one of the seven days of the week, found none of them")
    purpose = parse_purpose(form.purpose)
    stages, sides = parse_stages(form.stages), parse_sides(form.sides)
    for field, found in (("stages", stages), ("sides", sides)):
        if not found:
            raise BadInput(LazyText("{name}: expected at least one, found none", name=field))
    return PracticeDay(
        team_id=t.team_id,
        id=form.id or make_id(),
        name=name,
        weekday=int(form.weekday),
        due=parse_time(form.due),
        purpose=purpose.value,
        stages=list(stages),
        sides=list(sides),
        length=parse_length(form.length, purpose),
        is_weighted=form.is_weighted == "1",
    )


def parse_time(text: str) -> str:
    """Parse a time of day, hh:mm. Raises: BadInput."""
    try:
        return time.fromisoformat(text.strip()[:5]).strftime("%H:%M")
    except ValueError:
        raise BadInput(LazyText("time: expected a time such as 15:30, found {found!r}", found=text[:20])) from None


def save_day(t: TeamSession, viewer: Viewer, form: DayForm, now: datetime) -> PracticeDay:
    """Add a day, or change the one with the form's id. Raises: BadInput; NotFound."""
    typed = parse_day(form, t)
    if form.id:
        day = t.get(PracticeDay, form.id, what="day")
        for field in ("name", "weekday", "due", "purpose", "stages", "sides", "length", "is_weighted"):
            setattr(day, field, getattr(typed, field))
    else:
        check_room(t)
        day = typed
    t.add(day)
    write_audit(t, viewer.member.id, "saved a day of practice", day.id, now)
    return day


def take_suggestion(t: TeamSession, viewer: Viewer, key: str, name: str, now: datetime) -> None:
    """Add a suggested day to the team's, with this name. Raises: BadInput."""
    suggested = SUGGESTIONS.get(key)
    if suggested is None:
        raise BadInput(
            LazyText("key: expected one of {known}, found {found!r}", known=", ".join(SUGGESTIONS), found=key[:40])
        )
    check_room(t)
    day = PracticeDay(
        team_id=t.team_id,
        id=make_id(),
        name=name,
        weekday=suggested.weekday,
        due=USUAL_TIME,
        purpose=suggested.purpose.value,
        stages=list(suggested.stages),
        sides=list(SIDES),
        length=suggested.length,
        is_weighted=suggested.is_weighted,
    )
    t.add(day)
    write_audit(t, viewer.member.id, "saved a day of practice", day.id, now)


def check_room(t: TeamSession) -> None:
    """Check that one more day may be added. Raises: BadInput."""
    if t.count(PracticeDay) >= MAX_DAYS:
        raise BadInput(LazyText("days: expected at most {most} of them; delete one first", most=MAX_DAYS))


def delete_day(t: TeamSession, viewer: Viewer, day_id: str, now: datetime) -> None:
    """Delete a day. Sets sent for it stay. Raises: NotFound."""
    t.delete(t.get(PracticeDay, day_id, what="day"))
    write_audit(t, viewer.member.id, "deleted a day of practice", day_id, now)
