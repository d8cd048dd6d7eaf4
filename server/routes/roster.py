"""The roster and the code sheet: join code, and new PINs, shown once to be printed."""

from __future__ import annotations

import io
from typing import Annotated

import segno
from fastapi import APIRouter, Form, Request
from starlette.responses import Response

from server.board import groups_of, seen_players
from server.inputs import CodesForm
from server.parts import is_https, parts_of, viewer_of
from server.people import write_audit
from server.replies import go, page
from server.security import make_code
from server.tables import Role

router = APIRouter()


@router.get("/coach/roster")
async def roster(request: Request) -> Response:
    """The players, with the team's address for phones as a code to scan."""
    parts, viewer = parts_of(request), viewer_of(request)
    playbook = await parts.playbooks.of(viewer.team)
    with parts.store.read(viewer.team.id) as t:
        members = seen_players(t, playbook, viewer)
    lines = [
        {"member": m, "group": (groups_of(m, playbook) or [""])[0], "has_pin": bool(m.secret_hash)} for m in members
    ]
    link = join_link(request, viewer.team.join_code)
    may_issue = viewer.role in (Role.OWNER, Role.COACH)
    return page(request, "coach/roster.html", lines=lines, link=link, qr=qr_svg(link), may_issue=may_issue)


@router.post("/coach/roster/codes")
async def new_codes(request: Request, form: Annotated[CodesForm, Form()]) -> Response:
    """New PINs for these players as a sheet to print. It is shown this once."""
    parts, viewer = parts_of(request), viewer_of(request)
    issued = await parts.people.new_pins(viewer, list(dict.fromkeys(form.players)), parts.now())
    link = join_link(request, viewer.team.join_code)
    return page(request, "print/codes.html", issued=issued, link=link, qr=qr_svg(link))


@router.post("/coach/roster/join-code")
async def new_join_code(request: Request) -> Response:
    """Another join code; the old one ends, phones that are signed in stay so."""
    parts, viewer = parts_of(request), viewer_of(request)
    with parts.store.write(viewer.team.id) as t:
        team = t.team()
        team.join_code = make_code()
        t.session.add(team)
        write_audit(t, viewer.member.id, "new join code", "", parts.now())
    return go("/coach/roster")


def join_link(request: Request, code: str) -> str:
    """The address that a phone opens."""
    public = parts_of(request).settings.public_url
    scheme = "https" if is_https(request) else "http"
    return f"{public or f'{scheme}://{request.url.netloc}'}/join/{code}"


def qr_svg(link: str) -> str:
    """An address as a code to scan, in SVG without any style."""
    out = io.BytesIO()
    segno.make(link, error="m").save(
        out, kind="svg", xmldecl=False, svgns=True, omitsize=True, svgclass="qr", lineclass=None
    )
    return out.getvalue().decode()
