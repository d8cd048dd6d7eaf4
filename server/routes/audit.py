"""The log of who looked at, exported or changed what, with the names of members who still exist."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request
from sqlmodel import col
from starlette.responses import Response

from server.database.tables import AccountRole, AuditEntry, Member
from server.i18n.lazy_text import LazyText
from server.reading.fields import Text
from server.web.deps import AppServices, SignedIn
from server.web.responses import page

router = APIRouter()
PAGE_SIZE = 50
#: All logged actions, so that they can be translated; a test compares them with the sources.
ACTIONS = (
    LazyText("added a coach"),
    LazyText("asked to erase the results"),
    LazyText("began the next season"),
    LazyText("began the team"),
    LazyText("added an opponent"),
    LazyText("brought a player back"),
    LazyText("changed the defense"),
    LazyText("changed what an opponent runs"),
    LazyText("chose the next opponent"),
    LazyText("called a set back"),
    LazyText("changed a set"),
    LazyText("closed a set"),
    LazyText("deleted a day of practice"),
    LazyText("deleted an opponent"),
    LazyText("erased a player"),
    LazyText("exported a player's data"),
    LazyText("exported an opponent"),
    LazyText("exported his own data"),
    LazyText("exported results"),
    LazyText("exported the roster"),
    LazyText("exported the team"),
    LazyText("extended a set"),
    LazyText("erased the results"),
    LazyText("erased who left"),
    LazyText("imported a play list"),
    LazyText("kept the results"),
    LazyText("imported the roster"),
    LazyText("new PINs"),
    LazyText("new team code"),
    LazyText("new passphrase for a coach"),
    LazyText("removed a coach"),
    LazyText("removed a player"),
    LazyText("renamed an opponent"),
    LazyText("saved a day of practice"),
    LazyText("sent a set"),
    LazyText("set the season's last day"),
    LazyText("held a meeting"),
    LazyText("viewed a player"),
    LazyText("viewed a player's data"),
)


@router.get("/coach/audit")
def show_log(
    request: Request,
    services: AppServices,
    viewer: SignedIn,
    action: Text = "",
    number: Annotated[int, Query(ge=1, le=100_000)] = 1,
) -> Response:
    """A page of the log, newest first; only one action if given."""
    with services.store.read(viewer.team.id) as t:
        where = [col(AuditEntry.action) == action] if action else []
        total = t.count(AuditEntry, *where)
        pages = max(1, -(-total // PAGE_SIZE))
        number = min(number, pages)
        order = (col(AuditEntry.at).desc(), col(AuditEntry.id))
        rows = t.rows(AuditEntry, *where, order_by=order, limit=number * PAGE_SIZE)[(number - 1) * PAGE_SIZE :]
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
        player=AccountRole.PLAYER.value,
    )
