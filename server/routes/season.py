"""The next season, for the owner: its last day, who leaves, what becomes of the results, new PINs; looked at first."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request
from pydantic import Field, StringConstraints
from starlette.responses import Response

from server.accounts.retention import GRACE, last_day_kept
from server.database.store import TeamSession
from server.errors import BadInput
from server.progress.board import groups_of, seen_players
from server.reading.fields import Id, Sent, Text
from server.routes.roster import code_sheet
from server.team.season import Counted, NextSeason, a_week_longer, begin_next, count_up
from server.web.deps import AppServices, SignedIn, services_of, viewer_of
from server.web.responses import page, redirect_to

router = APIRouter()


class SeasonForm(Sent):
    """How the next season begins; ``action``: look at what it means, or begin it."""

    day: Text = ""
    leaves: Annotated[list[Id], Field(max_length=200)] = Field(default_factory=list)
    results: Annotated[str, StringConstraints(pattern="^(erase|keep)$")] = "erase"
    pins: Annotated[str, StringConstraints(pattern="^(yes)?$")] = ""
    action: Annotated[str, StringConstraints(pattern="^(look|begin)$")] = "look"

    @property
    def plan(self) -> NextSeason:
        """The same for the roster and the results."""
        return NextSeason(self.day, tuple(dict.fromkeys(self.leaves)), self.results == "erase")


@router.get("/coach/season")
def season(request: Request) -> Response:
    """The plan of the next season, still empty."""
    return season_page(request, SeasonForm())


@router.post("/coach/season")
def plan_season(
    request: Request, form: Annotated[SeasonForm, Form()], services: AppServices, viewer: SignedIn
) -> Response:
    """Show what the plan means, or begin the season: with new PINs the reply is their sheet, shown once."""
    football, now = services.playbooks.football, services.now()

    def begin(t: TeamSession) -> Counted:
        return begin_next(t, football, viewer, form.plan, now)

    try:
        if form.action == "look":
            with services.store.read(viewer.team.id) as t:
                return season_page(request, form, counted=count_up(t, form.plan))
        counted = services.writes.write(viewer.team.id, begin)
    except BadInput as refusal:
        return season_page(request, form, problem=refusal.message)
    services.store.forget()
    if form.pins and counted.staying:
        return code_sheet(request, [one.id for one in counted.staying])
    return redirect_to("/coach/roster")


@router.post("/coach/season/longer")
def play_on(request: Request, services: AppServices, viewer: SignedIn) -> Response:
    """Still playing: the last day is a week later."""
    football, now = services.playbooks.football, services.now()
    try:
        services.writes.write(viewer.team.id, lambda t: a_week_longer(t, football, viewer, now))
    except BadInput as refusal:
        return season_page(request, SeasonForm(), problem=refusal.message)
    return redirect_to("/coach/season")


def season_page(request: Request, form: SeasonForm, *, counted: Counted | None = None, problem: str = "") -> Response:
    """The form, and under it what it means once it was looked at."""
    services, viewer = services_of(request), viewer_of(request)
    playbook = services.playbooks.of(viewer.team)
    with services.store.read(viewer.team.id) as t:
        members, season_end = seen_players(t, playbook, viewer), t.team().season_end
    return page(
        request,
        "coach/season.html",
        422 if problem else 200,
        lines=[{"member": one, "group": (groups_of(one, playbook) or [""])[0]} for one in members],
        form=form,
        counted=counted,
        erased_at=services.now() + GRACE,
        season_end=season_end,
        due=last_day_kept(viewer.team, services.settings.keep_results_days),
        problem=problem,
    )
