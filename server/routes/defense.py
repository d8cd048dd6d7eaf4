"""A coach's own defense: draw one snap, edit the team's files."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Form, Path, Query, Request
from pydantic import AfterValidator, StringConstraints
from starlette.responses import Response

from server.accounts.permissions import HEADS
from server.errors import BadInput
from server.i18n.languages import language_of
from server.mastery.values import SIDES
from server.playbook.engine import CallSide, FootballError
from server.reading.fields import Sent, Text, storable
from server.team.defense import Edit, file_names, find_file, named, preview_edit, rename, save
from server.team.draft import load_draft
from server.web.deps import AppServices, SignedIn, services_of, viewer_of
from server.web.responses import page, redirect_to

router = APIRouter()
SIDE_VALUES = list(SIDES)

SideName = Annotated[str, StringConstraints(pattern="^(left|right)$")]


class SnapFields(Sent):
    """A snap to draw; empty until chosen."""

    call: Text = ""
    to: SideName = "right"
    formation: Text = ""
    play: Text = ""
    play_to: SideName = "right"
    position: Text = ""
    saved: Annotated[str, StringConstraints(pattern="^1?$")] = ""


class RenameForm(Sent):
    """What is renamed ("kind/key"), and its new name."""

    thing: Text
    name: Text


class FileForm(Sent):
    """One of a team's files as edited, and the hash of the content that it was opened from."""

    text: Annotated[str, StringConstraints(max_length=60_000), AfterValidator(storable)] = ""
    stands: Annotated[str, StringConstraints(pattern="^[0-9a-f]{1,128}$")]
    action: Annotated[str, StringConstraints(pattern="^(look|save)$")] = "look"


FileName = Annotated[str, Path(pattern=r"^[a-z_]{1,40}\.toml$")]


@router.get("/coach/defense")
def show_defense(request: Request, fields: Annotated[SnapFields, Query()]) -> Response:
    """The calls, the chosen snap drawn, what can be renamed, and the team's files."""
    return defense_page(request, fields)


@router.post("/coach/defense/rename")
def rename_thing(
    request: Request, form: Annotated[RenameForm, Form()], services: AppServices, viewer: SignedIn
) -> Response:
    """Rename something everywhere at once. After a refusal the page comes back with what was typed."""
    football, now = services.playbooks.football, services.now()
    try:
        services.writes.write(viewer.team.id, lambda t: rename(t, football, viewer, form.thing, form.name, now))
    except BadInput as refusal:
        return defense_page(request, SnapFields(), form, refusal)
    with services.store.read(viewer.team.id) as t:
        waits = load_draft(t).is_changed
    return redirect_to("/coach/defense/install") if waits else redirect_to("/coach/defense", saved=1)


def defense_page(
    request: Request, fields: SnapFields, form: RenameForm | None = None, refusal: BadInput | None = None
) -> Response:
    """The page; after a refused new name with what was typed and why."""
    services, viewer = services_of(request), viewer_of(request)
    playbook = services.playbooks.of(viewer.team)
    with services.store.read(viewer.team.id) as t:
        files = file_names(t) if viewer.role in HEADS else []
        things = named(t, services.playbooks.football) if viewer.role in HEADS else {}
        draft = load_draft(t)
    drawn, problem = None, ""
    asked = (fields.call, fields.formation, fields.play)
    if all(asked):
        to, play_to = CallSide(fields.to), CallSide(fields.play_to)
        names = (fields.call, to, fields.formation, fields.play, play_to, fields.position)
        try:
            drawn = playbook.ask(
                lambda catalogue: playbook.football.look(catalogue, *names), language_of(request.scope)
            )
        except FootballError as error:
            problem = str(error)
    elif any(asked):
        problem = language_of(request.scope).translate_template("Choose a call, a formation and a play.")
    return page(
        request,
        "coach/defense.html",
        refusal.status if refusal else 422 if problem else 200,
        problem=problem,
        things=things,
        form=form,
        refused=refusal.message if refusal else "",
        fields=fields,
        calls=[one.name for one in playbook.team.pressures],
        call_keys={one.name: one.key for one in playbook.team.pressures},
        draft=draft,
        formations=[one.name for one in playbook.team.snap_formations],
        runs=[one.name for one in playbook.team.schemes],
        protections=[one.name for one in playbook.team.protections],
        positions=playbook.positions,
        sides=SIDE_VALUES,
        look=drawn,
        svg=playbook.football.draw_end(drawn.scene) if drawn else "",
        files=files,
        crossings=playbook.crossings(),
    )


@router.get("/coach/defense/files/{name}")
def show_file(request: Request, name: FileName, services: AppServices, viewer: SignedIn) -> Response:
    """One of the team's files, for editing."""
    with services.store.read(viewer.team.id) as t:
        file, team = find_file(t, name), t.team()
        return edit_page(request, Edit(name, file.text, team.content_hash))


@router.post("/coach/defense/files/{name}")
def change_file(
    request: Request, name: FileName, form: Annotated[FileForm, Form()], services: AppServices, viewer: SignedIn
) -> Response:
    """Preview or save an edit. Problems are shown above the text, with everything typed still there."""
    playbook, football = services.playbooks.of(viewer.team), services.playbooks.football
    edit = Edit(name, form.text.replace("\r\n", "\n"), form.stands)
    if form.action == "look":
        with services.store.read(viewer.team.id) as t:
            find_file(t, name)
        return edit_page(request, preview_edit(services.store, football, playbook, viewer.team.id, edit))
    try:
        now = services.now()
        services.writes.write(viewer.team.id, lambda t: save(t, football, viewer, edit, now))
    except BadInput as refusal:
        problems = refusal.details or [language_of(request.scope).translate(refusal.message)]
        return edit_page(request, Edit(name, edit.text, edit.base_hash, problems), 422)
    return redirect_to("/coach/defense", saved=1)


def edit_page(request: Request, edit: Edit, status: int = 200) -> Response:
    """The page of one file."""
    shared: dict[str, Any] = {"edit": edit}
    return page(request, "coach/defense_file.html", status, **shared)
