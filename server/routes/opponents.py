"""Opponents: the list, the next one, and what each runs, typed in or exported as a file."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated

from fastapi import APIRouter, Form, Request
from pydantic import Field, StringConstraints
from starlette.responses import Response

from server.accounts.members import write_audit
from server.accounts.permissions import HEADS
from server.database.store import TeamSession
from server.database.tables import Opponent
from server.errors import BadInput
from server.opponents.tendencies import (
    Tendency,
    add_opponent,
    choose_next,
    delete_opponent,
    find_opponent,
    is_outdated,
    lined_up,
    opponents,
    parse_counts,
    rename_opponent,
    runs_of,
    store_counts,
    tendency_of,
)
from server.playbook.rep_summary import PlaySummary
from server.reading.csv_files import to_csv
from server.reading.fields import Id, Sent, Text
from server.web.deps import AppServices, SignedIn, services_of, viewer_of
from server.web.responses import csv_file, page, redirect_to

router = APIRouter()
BLANK_ROWS = 3


class OpponentForm(Sent):
    """An opponent's name."""

    name: Text = ""


class NextForm(Sent):
    """The next opponent; empty for none."""

    opponent: Annotated[str, StringConstraints(pattern=r"^[A-Za-z0-9_-]{0,64}$")] = ""


class TendencyForm(Sent):
    """What an opponent runs, as typed: a play and a number per row; the numbers are counts, or shares of ``snaps``."""

    play: Annotated[list[Text], Field(max_length=400)] = Field(default_factory=list)
    number: Annotated[list[Text], Field(max_length=400)] = Field(default_factory=list)
    unit: Annotated[str, StringConstraints(pattern="^(count|percent)$")] = "count"
    snaps: Text = ""


@router.get("/coach/opponents")
def list_opponents(request: Request) -> Response:
    """The opponents, the next one first."""
    return show_list(request)


def show_list(request: Request, name: str = "", refusal: BadInput | None = None) -> Response:
    """The list, with a form to add one."""
    services, viewer = services_of(request), viewer_of(request)
    plays = services.playbooks.of(viewer.team).plays()
    with services.store.read(viewer.team.id) as t:
        rows = [(one, tendency_of(one.play_counts, plays)) for one in opponents(t)]
    return page(
        request,
        "coach/opponents.html",
        refusal.status if refusal else 200,
        problem=refusal.message if refusal else "",
        rows=rows,
        name=name,
        may_change=viewer.role in HEADS,
    )


@router.post("/coach/opponents")
def add(request: Request, form: Annotated[OpponentForm, Form()], services: AppServices, viewer: SignedIn) -> Response:
    """Add an opponent; problems with the name are shown on the form."""
    try:
        added = services.writes.write(
            viewer.team.id, lambda t: add_opponent(t, viewer.member.id, form.name, services.now()).id
        )
    except BadInput as refusal:
        return show_list(request, form.name, refusal)
    return redirect_to(f"/coach/opponents/{added}")


@router.post("/coach/opponents/next")
def choose(form: Annotated[NextForm, Form()], services: AppServices, viewer: SignedIn) -> Response:
    """Choose the next opponent, or none."""
    services.writes.write(viewer.team.id, lambda t: choose_next(t, viewer.member.id, form.opponent, services.now()))
    return redirect_to("/coach/opponents")


@router.get("/coach/opponents/{opponent_id}")
def show(request: Request, opponent_id: Id, services: AppServices, viewer: SignedIn) -> Response:
    """What an opponent runs."""
    plays = services.playbooks.of(viewer.team).plays()
    with services.store.read(viewer.team.id) as t:
        opponent = find_opponent(t, opponent_id)
    return show_opponent(request, opponent, plays)


def show_opponent(
    request: Request,
    opponent: Opponent,
    plays: Sequence[PlaySummary],
    form: TendencyForm | None = None,
    refusal: BadInput | None = None,
) -> Response:
    """What an opponent runs, as stored or, after a refusal, as typed."""
    found = tendency_of(opponent.play_counts, plays)
    rows = [play for stage in found.stages for play in stage.plays]
    numbers = {play.key: f"{play.count:g}" for play in rows if play.count}
    others = [(play.name, f"{play.count:g}") for play in found.unknown]
    if form is not None:
        own = {play.key for play in rows}
        typed = list(zip(form.play, form.number, strict=False))
        numbers = {name: number for name, number in typed if name in own}
        others = [(name, number) for name, number in typed if name not in own and (name.strip() or number.strip())]
    return page(
        request,
        "coach/opponent.html",
        refusal.status if refusal else 200,
        problem=refusal.message if refusal else "",
        opponent=opponent,
        tendency=found,
        lined_up=lined_up(runs_of(opponent)),
        calls=[one.name for one in services_of(request).playbooks.of(viewer_of(request).team).team.pressures],
        numbers=numbers,
        others=[*others, *[("", "")] * BLANK_ROWS],
        unit=form.unit if form else "count",
        snaps=form.snaps if form else "",
        is_outdated=is_outdated(opponent, plays),
        may_change=viewer_of(request).role in HEADS,
    )


@router.post("/coach/opponents/{opponent_id}")
def save(
    request: Request, opponent_id: Id, form: Annotated[TendencyForm, Form()], services: AppServices, viewer: SignedIn
) -> Response:
    """Store what was typed; with a problem, nothing is stored and everything typed is still there."""
    plays = services.playbooks.of(viewer.team).plays()
    with services.store.read(viewer.team.id) as t:
        opponent = find_opponent(t, opponent_id)
    try:
        counts = parse_counts(form.play, form.number, plays, is_percent=form.unit == "percent", snaps=form.snaps)
        services.writes.write(
            viewer.team.id, lambda t: store_counts(t, viewer.member.id, opponent_id, counts, plays, services.now())
        )
    except BadInput as refusal:
        return show_opponent(request, opponent, plays, form, refusal)
    return redirect_to(f"/coach/opponents/{opponent_id}")


@router.post("/coach/opponents/{opponent_id}/name")
def rename(
    request: Request, opponent_id: Id, form: Annotated[OpponentForm, Form()], services: AppServices, viewer: SignedIn
) -> Response:
    """Rename an opponent."""
    plays = services.playbooks.of(viewer.team).plays()
    with services.store.read(viewer.team.id) as t:
        opponent = find_opponent(t, opponent_id)
    try:
        services.writes.write(
            viewer.team.id, lambda t: rename_opponent(t, viewer.member.id, opponent_id, form.name, services.now())
        )
    except BadInput as refusal:
        return show_opponent(request, opponent, plays, None, refusal)
    return redirect_to(f"/coach/opponents/{opponent_id}")


@router.post("/coach/opponents/{opponent_id}/delete")
def delete(opponent_id: Id, services: AppServices, viewer: SignedIn) -> Response:
    """Delete an opponent."""
    services.writes.write(viewer.team.id, lambda t: delete_opponent(t, viewer.member.id, opponent_id, services.now()))
    return redirect_to("/coach/opponents")


@router.get("/coach/opponents/{opponent_id}/plays.csv")
def download(opponent_id: Id, services: AppServices, viewer: SignedIn) -> Response:
    """What an opponent runs as a CSV file."""
    plays = services.playbooks.of(viewer.team).plays()

    def export(t: TeamSession) -> Tendency:
        found = tendency_of(find_opponent(t, opponent_id).play_counts, plays)
        write_audit(t, viewer.member.id, "exported an opponent", opponent_id, services.now())
        return found

    found = services.writes.write(viewer.team.id, export)
    known = [(play.name, play.count, str(stage.stage)) for stage in found.stages for play in stage.plays if play.count]
    rows = [*known, *((play.name, play.count, "") for play in found.unknown)]
    return csv_file(to_csv(("Play", "Count", "Stage"), rows), "plays.csv")
