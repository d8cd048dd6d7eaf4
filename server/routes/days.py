"""Days of practice: what a coach usually assigns on each, so that one click fills in the set form."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request
from starlette.responses import Response

from server.database.tables import PracticeDay
from server.errors import BadInput
from server.i18n.languages import language_of
from server.mastery.picker import CHECK_MAX, CHECK_MIN
from server.mastery.values import SIDES, STAGES
from server.reading.fields import Id, Sent, Text
from server.sets.assignment import LONGEST_SET, USUAL_LENGTH
from server.sets.practice_days import (
    SUGGESTIONS,
    USUAL_TIME,
    DayForm,
    days_of,
    delete_day,
    next_due,
    save_day,
    take_suggestion,
)
from server.web.deps import AppServices, SignedIn, services_of, viewer_of
from server.web.responses import page, redirect_to

router = APIRouter()


class SuggestedDayForm(Sent):
    """A suggested day that a coach adds."""

    key: Text


@router.get("/coach/days")
def list_days(request: Request) -> Response:
    """The team's days of practice, and the suggested ones."""
    return show_days(request)


def show_days(request: Request, typed: DayForm | None = None, refusal: BadInput | None = None) -> Response:
    """The days; after a refusal, with the form as typed."""
    services, viewer = services_of(request), viewer_of(request)
    now, zone = services.now(), viewer.team.time_zone
    with services.store.read(viewer.team.id) as t:
        days = days_of(t)
    taken = {language_of(request.scope).translate(one.name): key for key, one in SUGGESTIONS.items()}
    names = {day.name for day in days}
    return page(
        request,
        "coach/days.html",
        refusal.status if refusal else 200,
        problem=refusal.message if refusal else "",
        typed=typed,
        days=[(day, typed_as(day), next_due(day.weekday, day.due, zone, now)) for day in days],
        suggested={key: SUGGESTIONS[key] for name, key in taken.items() if name not in names},
        blank=DayForm(length=str(USUAL_LENGTH), stages=["1"], sides=list(SIDES), weekday="0", due=USUAL_TIME),
        may_change=viewer.sees_all,
        stages=STAGES,
        sides=list(SIDES),
        longest=LONGEST_SET,
        check_min=CHECK_MIN,
        check_max=CHECK_MAX,
        zone=zone,
        tell=language_of(request.scope).translate,
    )


def typed_as(day: PracticeDay) -> DayForm:
    """A day as form fields."""
    return DayForm(
        id=day.id,
        name=day.name,
        weekday=str(day.weekday),
        due=day.due,
        purpose=day.purpose,
        stages=[str(stage) for stage in day.stages],
        sides=list(day.sides),
        length=str(min(day.length, LONGEST_SET)),
        is_weighted="1" if day.is_weighted else "",
    )


@router.post("/coach/days")
def save(request: Request, form: Annotated[DayForm, Form()], services: AppServices, viewer: SignedIn) -> Response:
    """Add or change a day; problems are shown on the form, with everything typed still there."""
    try:
        services.writes.write(viewer.team.id, lambda t: save_day(t, viewer, form, services.now()))
    except BadInput as refusal:
        return show_days(request, form, refusal)
    return redirect_to("/coach/days")


@router.post("/coach/days/suggested")
def take(
    request: Request, form: Annotated[SuggestedDayForm, Form()], services: AppServices, viewer: SignedIn
) -> Response:
    """Add a suggested day to the team's, named in the page's language."""
    suggested = SUGGESTIONS.get(form.key)
    name = language_of(request.scope).translate(suggested.name) if suggested else ""
    try:
        services.writes.write(viewer.team.id, lambda t: take_suggestion(t, viewer, form.key, name, services.now()))
    except BadInput as refusal:
        return show_days(request, None, refusal)
    return redirect_to("/coach/days")


@router.post("/coach/days/{day_id}/delete")
def delete(day_id: Id, services: AppServices, viewer: SignedIn) -> Response:
    """Delete a day. Sets sent for it stay."""
    services.writes.write(viewer.team.id, lambda t: delete_day(t, viewer, day_id, services.now()))
    return redirect_to("/coach/days")
