"""Assigning a set on one call."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Form, Query, Request
from starlette.responses import Response

from server.accounts.retention import check_season
from server.database.tables import Opponent, PracticeDay
from server.errors import BadInput
from server.mastery.picker import CHECK_MAX, CHECK_MIN
from server.mastery.values import SIDES, STAGES
from server.opponents.tendencies import find_next
from server.playbook.playbooks import Playbook
from server.progress.board import seen_players
from server.sets.assignment import (
    LONGEST_SET,
    AssignmentFields,
    AssignmentOrder,
    check_order,
    parse_order,
    send,
)
from server.sets.assignment_form import Filled, apply_day, as_sent, default_due, fill
from server.sets.opened_calls import calls_in_use
from server.sets.practice_days import days_of
from server.sets.set_report import MISSED, UNFINISHED, find_sent, lines_of, send_again_to
from server.web.deps import AppServices, SignedIn, services_of, viewer_of
from server.web.responses import page, redirect_to
from server.web.translated_reps import translate_reps

router = APIRouter()


@router.get("/coach/assign")
def assign(request: Request, fields: Annotated[AssignmentFields, Query()]) -> Response:
    """The set form, filled in as far as possible, with three sample reps."""
    try:
        return show_form(request, prefill(request, fields))
    except BadInput as nobody:
        return show_form(request, AssignmentFields(call=fields.call), nobody)


@router.post("/coach/sets")
def send_set(
    request: Request, fields: Annotated[AssignmentFields, Form()], services: AppServices, viewer: SignedIn
) -> Response:
    """Send the set; problems are shown on the form, with everything typed still there."""
    playbook, now = services.playbooks.of(viewer.team), services.now()
    fields = fields.model_copy(update={"is_filled": "1", "pick": ""})
    with services.store.read(viewer.team.id) as t:
        seen, opponent = seen_players(t, playbook, viewer), find_charted(find_next(t))
    try:
        check_season(viewer.team, services.settings.keep_results_days, now)
        order = check_order(parse_order(fields, viewer, now), playbook, viewer, seen, has_opponent=opponent is not None)
        check_reps(request, order)
    except BadInput as refusal:
        return show_form(request, fields, refusal)
    sent = services.writes.write(viewer.team.id, lambda t: send(t, viewer, order, now))
    return redirect_to(f"/coach/sets/{sent.id}")


def check_reps(request: Request, order: AssignmentOrder) -> None:
    """Check that the set has reps. Raises: BadInput."""
    services, viewer = services_of(request), viewer_of(request)
    playbook = services.playbooks.of(viewer.team)
    if order.is_mixed:
        if not calls_in_use_of(request, playbook):
            raise BadInput("what each needs: expected a call that was sent before, found none; send one call first")
        return
    for position in order.positions:
        if playbook.pool(order.call, [position], order.stages, order.sides):
            return
    raise BadInput("stages: this call has no reps for these positions, stages and sides; choose more of them")


def calls_in_use_of(request: Request, playbook: Playbook) -> list[str]:
    """The calls that a set was sent on or somebody has answered."""
    services, viewer = services_of(request), viewer_of(request)
    state = services.team_states.of(services.store, viewer.team.id, playbook).state
    with services.store.read(viewer.team.id) as t:
        return calls_in_use(t, state, playbook.calls)


def prefill(request: Request, fields: AssignmentFields) -> AssignmentFields:
    """The fields, filled from a set sent before or a day of practice when one is asked for.

    Raises: NotFound; BadInput when no player is left to send a set to again.
    """
    services, viewer = services_of(request), viewer_of(request)
    playbook, now = services.playbooks.of(viewer.team), services.now()
    zone = viewer.team.time_zone
    if not (fields.again or fields.day):
        return fields
    with services.store.read(viewer.team.id) as t:
        if fields.again:
            seen = seen_players(t, playbook, viewer)
            one = find_sent(t, viewer, playbook, seen, fields.again)
            lines = lines_of(t, one, seen, playbook) if fields.who else []
            copied = as_sent(one, viewer, playbook, seen, default_due(zone, now))
            players = send_again_to(lines, fields.who) if fields.who in (UNFINISHED, MISSED) else copied.players
            if fields.who and not players:
                raise BadInput("Nobody is left to send that set to again.")
            return copied.model_copy(update={"players": players})
        day = t.get(PracticeDay, fields.day, what="day")
        has_opponent = find_charted(find_next(t)) is not None
    usual = apply_day(day, fields, zone, now, has_opponent=has_opponent)
    return usual.model_copy(update={"day": day.name})


def find_charted(opponent: Opponent | None) -> Opponent | None:
    """The next opponent, if his plays are known; else None."""
    return opponent if opponent is not None and opponent.stage_counts else None


def show_form(request: Request, fields: AssignmentFields, refusal: BadInput | None = None) -> Response:
    """The form with all values known so far."""
    services, viewer = services_of(request), viewer_of(request)
    playbook, now = services.playbooks.of(viewer.team), services.now()
    if not playbook.calls:
        raise BadInput("The team's content has no calls yet; there is nothing to assign.")
    if fields.call and refusal is None:
        try:
            playbook.check_call(fields.call)
        except BadInput as unknown:
            refusal = unknown
    team_state = services.team_states.of(services.store, viewer.team.id, playbook)
    with services.store.read(viewer.team.id) as t:
        seen, days, opponent = seen_players(t, playbook, viewer), days_of(t), find_next(t)
    charted = find_charted(opponent)
    open_calls = calls_in_use_of(request, playbook)
    has_opponent = charted is not None
    form = fill(fields, playbook, viewer, seen, team_state, now, has_opponent=has_opponent, open_calls=open_calls)
    return page(
        request,
        "coach/assign.html",
        refusal.status if refusal else 200,
        problem=refusal.message if refusal else "",
        form=form,
        calls=playbook.calls,
        stages=STAGES,
        sides=list(SIDES),
        longest=LONGEST_SET,
        check_min=CHECK_MIN,
        check_max=CHECK_MAX,
        zone=viewer.team.time_zone,
        samples=samples_of(request, form),
        days=days,
        opponent=opponent,
        is_charted=charted is not None,
    )


def samples_of(request: Request, form: Filled) -> list[Any]:
    """A few sample reps for the players of the form."""
    services, viewer = services_of(request), viewer_of(request)
    playbook = services.playbooks.of(viewer.team)
    if form.call not in playbook.calls or form.is_mixed:
        return []
    wanted = (viewer.team.id, form.call, form.positions, form.stages, form.sides)
    return translate_reps(request, playbook.samples(*wanted, services.now()))
