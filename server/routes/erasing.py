"""What is erased, when, and how much of it: every coach reads it, the owner confirms and takes the way back."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request
from sqlmodel import col
from starlette.responses import Response

from server.accounts.retention import ask_to_erase, count_results, keep_results, last_day_kept
from server.database.erasing_table import Erasing
from server.database.tables import AccountRole, Member
from server.errors import BadInput
from server.i18n.lazy_text import LazyText
from server.reading.fields import Sent, Text
from server.team.season import set_last_day
from server.web.deps import AppServices, SignedIn, services_of, viewer_of
from server.web.responses import page, redirect_to

router = APIRouter()


class LastDayForm(Sent):
    """The season's last day, or empty."""

    day: Text = ""


class ConfirmEraseForm(Sent):
    """The team's name, typed to confirm."""

    typed: Text = ""


@router.get("/coach/erasing")
def erasing(request: Request) -> Response:
    """What would be erased, and when."""
    return erasing_page(request)


def erasing_page(request: Request, problem: str = "") -> Response:
    """The page, with what was wrong."""
    services, viewer = services_of(request), viewer_of(request)
    with services.store.read(viewer.team.id) as t:
        is_owner = (col(Member.role) == AccountRole.OWNER.value, col(Member.removed_at).is_(None))
        owners = [one.name for one in t.rows(Member, *is_owner, order_by=(col(Member.created_at), col(Member.id)))]
        row, counts = t.find(Erasing), count_results(t)
    return page(
        request,
        "coach/erasing.html",
        422 if problem else 200,
        erasing=row if row and row.state else None,
        counts=counts,
        owners=owners,
        is_owner=viewer.role is AccountRole.OWNER,
        season_end=viewer.team.season_end,
        due=last_day_kept(viewer.team, services.settings.keep_results_days),
        problem=problem,
    )


@router.post("/coach/erasing")
def confirm(
    request: Request, form: Annotated[ConfirmEraseForm, Form()], services: AppServices, viewer: SignedIn
) -> Response:
    """Begin the day of grace after which the results are erased."""
    if form.typed.strip().casefold() != viewer.team.name.casefold():
        return erasing_page(request, LazyText("Type the team's name, {name}, to erase.", name=viewer.team.name))
    services.writes.write(viewer.team.id, lambda t: ask_to_erase(t, viewer, services.now()))
    return redirect_to("/coach/erasing")


@router.post("/coach/erasing/last-day")
def change_last_day(
    request: Request, form: Annotated[LastDayForm, Form()], services: AppServices, viewer: SignedIn
) -> Response:
    """Set the season's last day."""
    football, now = services.playbooks.football, services.now()
    try:
        services.writes.write(viewer.team.id, lambda t: set_last_day(t, football, viewer, form.day, now))
    except BadInput as refusal:
        return erasing_page(request, refusal.message)
    return redirect_to("/coach/erasing")


@router.post("/coach/erasing/keep")
def keep(services: AppServices, viewer: SignedIn) -> Response:
    """The way back: nothing is erased."""
    services.writes.write(viewer.team.id, lambda t: keep_results(t, viewer, services.now()))
    return redirect_to("/coach/erasing")
