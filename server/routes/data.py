"""A player's data: shown, exported, erased; by his coach, and (except for erasing) by himself."""

from __future__ import annotations

import json
from typing import Annotated

from fastapi import APIRouter, Form, Request
from starlette.responses import Response

from server.accounts.members import write_audit
from server.accounts.sessions import Viewer
from server.database.store import TeamSession
from server.database.tables import AccountRole, Member
from server.errors import BadInput, NotFound
from server.playbook.noun_names import NounNames
from server.reading.fields import Id, Sent, Text
from server.team.personal_data import HeldData, check_confirmation, erase, load_held, to_dict, to_held_csv
from server.web.deps import AppServices, SignedIn, services_of
from server.web.responses import csv_file, page, redirect_to

router = APIRouter()


class EraseForm(Sent):
    """A player's name, typed to confirm the erasure."""

    typed: Text = ""


def find_player(t: TeamSession, player_id: str) -> Member:
    """A player of the team, on the roster or removed. Raises: NotFound."""
    member = t.find(Member, player_id)
    if member is None or member.role != AccountRole.PLAYER:
        raise NotFound("There is no such player in your team.")
    return member


def look_up(request: Request, viewer: Viewer, player_id: str, action: str) -> HeldData:
    """Everything stored about a player; the look is logged. Raises: NotFound."""
    services = services_of(request)

    def look(t: TeamSession) -> HeldData:
        held = load_held(t, find_player(t, player_id))
        write_audit(t, viewer.member.id, action, player_id, services.now())
        return held

    return services.writes.write(viewer.team.id, look)


@router.get("/coach/players/{player_id}/data")
def player_data(request: Request, player_id: Id, viewer: SignedIn) -> Response:
    """Everything stored about a player, and what can be done with it."""
    held = look_up(request, viewer, player_id, "viewed a player's data")
    return page(request, "coach/data.html", held=held, problem="")


@router.get("/coach/players/{player_id}/data.json")
def player_json(request: Request, player_id: Id, viewer: SignedIn) -> Response:
    """The same as a JSON file."""
    held = look_up(request, viewer, player_id, "exported a player's data")
    return json_file(request, held, viewer)


@router.get("/coach/players/{player_id}/data.csv")
def player_csv(request: Request, player_id: Id, viewer: SignedIn) -> Response:
    """The same as a CSV file."""
    held = look_up(request, viewer, player_id, "exported a player's data")
    return csv_file(to_held_csv(held, names_in(request, viewer)), f"player-{held.member.number}.csv")


def names_in(request: Request, viewer: Viewer) -> NounNames:
    """What the viewer's team calls its nouns."""
    return services_of(request).playbooks.names_of(viewer.team)


def json_file(request: Request, held: HeldData, viewer: Viewer) -> Response:
    """A player's data as a JSON download."""
    found = to_dict(held, names_in(request, viewer), services_of(request).now())
    body = json.dumps(found, indent=1, ensure_ascii=True)
    name = f"player-{held.member.number}.json"
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    return Response(body, media_type="application/json", headers=headers)


@router.post("/coach/players/{player_id}/erase")
def erase_player(
    request: Request, player_id: Id, form: Annotated[EraseForm, Form()], services: AppServices, viewer: SignedIn
) -> Response:
    """Erase a player for good, after his name was typed."""

    def erase_him(t: TeamSession) -> None:
        member = find_player(t, player_id)
        check_confirmation(member, form.typed)
        answers = erase(t, member)
        write_audit(t, viewer.member.id, "erased a player", f"{answers} answers", services.now())

    try:
        services.writes.write(viewer.team.id, erase_him)
    except BadInput as refusal:
        held = look_up(request, viewer, player_id, "viewed a player's data")
        return page(request, "coach/data.html", 422, held=held, problem=refusal.message)
    services.store.forget()
    return redirect_to("/coach/roster")


@router.get("/my-data")
def my_data(request: Request, services: AppServices, viewer: SignedIn) -> Response:
    """Everything stored about the signed-in player."""
    with services.store.read(viewer.team.id) as t:
        held = load_held(t, find_player(t, viewer.member.id))
    return page(request, "player/data.html", held=held)


@router.get("/my-data.json")
def my_json(request: Request, viewer: SignedIn) -> Response:
    """The same as a JSON file."""
    return json_file(request, look_up(request, viewer, viewer.member.id, "exported his own data"), viewer)


@router.get("/my-data.csv")
def my_csv(request: Request, viewer: SignedIn) -> Response:
    """The same as a CSV file."""
    held = look_up(request, viewer, viewer.member.id, "exported his own data")
    return csv_file(to_held_csv(held, names_in(request, viewer)), "my-data.csv")
