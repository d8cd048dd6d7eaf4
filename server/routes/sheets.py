"""Sheets for the practice field: a walk-through of what is missed on a call, and cards for the scout offense."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.responses import Response

from server.database.tables import Member
from server.i18n.languages import language_of
from server.playbook.playbooks import Playbook
from server.progress.board import groups_of, seen_players
from server.progress.practice_sheets import MissedSituation, missed_situations, plays_of
from server.reading.fields import Text
from server.web.deps import AppServices, services_of, viewer_of
from server.web.responses import page
from server.web.translated_reps import translate_situations

router = APIRouter(prefix="/coach/sheets")


@router.get("/walk-through")
def walk_through(request: Request, call: Text, services: AppServices, group: Text = "") -> Response:
    """What players miss on a call, in teaching order."""
    _, chosen, members, situations = gather(request, call, group)
    return page(
        request,
        "print/walk_through.html",
        call=chosen,
        group=group,
        players=len(members),
        situations=situations,
        day=services.now(),
    )


@router.get("/scout-cards")
def scout_cards(request: Request, call: Text, services: AppServices, group: Text = "") -> Response:
    """The plays of those situations, as the scout offense sees them."""
    playbook, chosen, _, situations = gather(request, call, group)
    reps = plays_of(situations)
    cards = playbook.cards([rep.rep_id for rep in reps], language_of(request.scope))
    drawn = [(rep, cards[rep.rep_id]) for rep in reps if rep.rep_id in cards]
    return page(request, "print/scout_cards.html", call=chosen, group=group, cards=drawn, day=services.now())


def gather(request: Request, call: str, group: str) -> tuple[Playbook, str, list[Member], list[MissedSituation]]:
    """The playbook, the call in the team's spelling, the players, and what they miss on it."""
    services, viewer = services_of(request), viewer_of(request)
    playbook = services.playbooks.of(viewer.team)
    chosen = playbook.check_call(call)
    with services.store.read(viewer.team.id) as t:
        members = [m for m in seen_players(t, playbook, viewer) if not group or group in groups_of(m, playbook)]
        found = missed_situations(t, services.kept_reps, chosen, members)
    return playbook, chosen, members, translate_situations(request, found)
