"""Practice that a player starts himself."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form
from pydantic import Field
from starlette.responses import Response

from server.reading.fields import Id, Sent, Text
from server.routes.player import where_next
from server.sets.practice import begin, drop
from server.web.deps import AppServices, SignedIn
from server.web.responses import redirect_to

router = APIRouter()


class PracticeForm(Sent):
    """The call to practice, and the number of reps."""

    call: Text
    length: Annotated[int, Field(ge=1, le=20)] = 4


@router.post("/practice")
def practice(form: Annotated[PracticeForm, Form()], services: AppServices, viewer: SignedIn) -> Response:
    """Begin a practice on a call, or continue the open one, at its first rep without an answer."""
    playbook = services.playbooks.of(viewer.team)
    team_state = services.team_states.of(services.store, viewer.team.id, playbook)
    done = begin(services.writes, playbook, team_state, viewer.member, form.call, form.length, services.now())
    return redirect_to(where_next(done))


@router.post("/practice/{set_id}/drop")
def drop_practice(set_id: Id, services: AppServices, viewer: SignedIn) -> Response:
    """End an own practice that is not finished."""
    drop(services.writes, viewer.member, set_id, services.now())
    return redirect_to("/home")
