"""Help in the product: a page for players, a page for coaches. Their pictures are drawn when a page is made, from the
team's own content, so that they are never old."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.responses import Response

from server.errors import BadInput
from server.i18n.languages import language_of
from server.mastery.values import SIDES
from server.web.deps import AppServices, SignedIn
from server.web.responses import page
from server.web.translated_reps import translate_reps

router = APIRouter()
#: The choices of the first rep that are shown: another's lane, and the one in front of him.
WRONG, RIGHT = "b", "d"
#: The stages of the rep that coaches see: a man's fit, without a puller and with one.
FITS = (2, 3)


@router.get("/help")
def player_help(request: Request, services: AppServices, viewer: SignedIn) -> Response:
    """How a rep goes, what counts, what the words mean."""
    playbook, language = services.playbooks.of(viewer.team), language_of(request.scope)
    own = set(viewer.member.positions)
    label = next((one.label for one in playbook.positions if one.key in own), "ME")
    football = playbook.football
    asked, wrong, right = (
        playbook.ask(lambda catalogue, chosen=chosen: football.first_rep(catalogue, label, chosen), language)  # type: ignore[misc]
        for chosen in ("", WRONG, RIGHT)
    )
    pictures = {
        "asked": football.draw(asked.scene),
        "wrong": football.draw_end(wrong.moved),
        "right": football.draw_end(right.moved),
    }
    return page(request, "player/help.html", pictures=pictures)


@router.get("/coach/help")
def coach_help(request: Request, services: AppServices, viewer: SignedIn) -> Response:
    """The first hour, the board's words, a week; with reps of the team's own."""
    samples = []
    try:
        playbook = services.playbooks.of(viewer.team)
    except BadInput:
        playbook = None  # its files have problems: the page helps without pictures
    if playbook is not None and playbook.calls:
        positions = [one.key for one in playbook.positions]
        wanted = (viewer.team.id, playbook.calls[0], positions, FITS, list(SIDES))
        samples = translate_reps(request, playbook.samples(*wanted, services.now()))[:1]
    return page(request, "coach/help.html", samples=samples, keep_days=services.settings.keep_results_days)
