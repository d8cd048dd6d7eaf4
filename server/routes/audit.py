"""The log of who looked at, handed out or changed what; names are looked up for members who are still there."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request
from sqlmodel import col
from starlette.responses import Response

from server.inputs import Text
from server.parts import parts_of, viewer_of
from server.replies import page
from server.tables import AuditEntry, Member, Role
from server.told import Told

router = APIRouter()
ON_A_PAGE = 50
#: Everything that is noted, so that it can be said in the page's language; a test holds it against the sources.
ACTIONS = (
    Told("added a coach"),
    Told("added an opponent"),
    Told("brought a player back"),
    Told("changed the defense"),
    Told("changed what an opponent runs"),
    Told("chose the next opponent"),
    Told("closed a set"),
    Told("deleted a day of practice"),
    Told("deleted an opponent"),
    Told("erased a player"),
    Told("exported a player's data"),
    Told("exported an opponent"),
    Told("exported his own data"),
    Told("exported results"),
    Told("exported the roster"),
    Told("extended a set"),
    Told("imported a play list"),
    Told("imported the roster"),
    Told("new PINs"),
    Told("new join code"),
    Told("new passphrase for a coach"),
    Told("removed a coach"),
    Told("removed a player"),
    Told("renamed an opponent"),
    Told("saved a day of practice"),
    Told("sent a set"),
    Told("viewed a player"),
    Told("viewed a player's data"),
)


@router.get("/coach/audit")
async def show_log(
    request: Request, action: Text = "", number: Annotated[int, Query(ge=1, le=100_000)] = 1
) -> Response:
    """A page of the log, the newest first; of one action only when it is named."""
    parts, viewer = parts_of(request), viewer_of(request)
    with parts.store.read(viewer.team.id) as t:
        where = [col(AuditEntry.action) == action] if action else []
        total = t.count(AuditEntry, *where)
        pages = max(1, -(-total // ON_A_PAGE))
        number = min(number, pages)
        order = (col(AuditEntry.at).desc(), col(AuditEntry.id))
        rows = t.rows(AuditEntry, *where, order_by=order, limit=number * ON_A_PAGE)[(number - 1) * ON_A_PAGE :]
        actions = sorted(row[0] for row in t.values(AuditEntry, AuditEntry.action, group_by=(AuditEntry.action,)))
        members = {member.id: member for member in t.rows(Member)}
    lines = [
        {"entry": entry, "who": members.get(entry.member_id), "about": members.get(entry.subject)} for entry in rows
    ]
    return page(
        request,
        "coach/audit.html",
        lines=lines,
        action=action,
        actions=actions,
        number=number,
        pages=pages,
        total=total,
        player=Role.PLAYER.value,
        season_end=viewer.team.season_end,
        keep_days=parts.settings.keep_results_days,
    )
