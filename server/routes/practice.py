"""Practice that a player chooses himself."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request
from starlette.responses import Response

from server.inputs import PracticeForm
from server.parts import parts_of, viewer_of
from server.practice import begin
from server.replies import go
from server.routes.player import where_next

router = APIRouter()


@router.post("/practice")
async def practice(request: Request, form: Annotated[PracticeForm, Form()]) -> Response:
    """Begin a practice on a call, or go on with the one that is open on it, at its first rep without an answer."""
    parts, viewer = parts_of(request), viewer_of(request)
    playbook = await parts.playbooks.of(viewer.team)
    standing = await parts.standings.of(parts.store, viewer.team.id, playbook)
    done = await begin(parts.store, playbook, standing, viewer.member, form.call, form.length, parts.now())
    return go(where_next(done))
