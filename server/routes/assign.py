"""Assigning a set on one call, and following the sets sent."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Form, Query, Request
from starlette.responses import Response

from server.accounts.members import write_audit
from server.accounts.retention import check_season
from server.accounts.sessions import Viewer
from server.database.store import TeamSession
from server.database.tables import Assignment, Opponent, PracticeDay, Purpose
from server.errors import BadInput
from server.mastery.picker import CHECK_MAX, CHECK_MIN
from server.mastery.values import SIDES, STAGES, State
from server.opponents.tendencies import find_next
from server.playbook.noun_names import NounKind
from server.playbook.playbooks import Playbook
from server.progress.board import seen_players
from server.reading.fields import Id, Sent, Text
from server.sets.assignment import (
    LONGEST_SET,
    AssignmentFields,
    AssignmentOrder,
    check_due,
    check_order,
    parse_due,
    parse_order,
    send,
)
from server.sets.assignment_form import Filled, apply_day, as_sent, default_due, fill
from server.sets.player_sets import is_over
from server.sets.practice_days import days_of
from server.sets.set_report import (
    MISSED,
    UNFINISHED,
    PlayerInSet,
    check_may_change,
    find_sent,
    lines_of,
    list_page,
    may_change,
    send_again_to,
)
from server.web.conditional import find_unchanged, page_with_tag, tag_of
from server.web.deps import AppServices, SignedIn, services_of, viewer_of
from server.web.responses import page, redirect_to
from server.web.translated_reps import translate_reps

router = APIRouter()


class DueForm(Sent):
    """A new due date."""

    due: Text = ""


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
    for position in order.positions:
        if playbook.pool(order.call, [position], order.stages, order.sides):
            return
    raise BadInput("stages: this call has no reps for these positions, stages and sides; choose more of them")


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
    form = fill(fields, playbook, viewer, seen, team_state, now, has_opponent=charted is not None)
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
    if form.call not in playbook.calls:
        return []
    wanted = (viewer.team.id, form.call, form.positions, form.stages, form.sides)
    return translate_reps(request, playbook.samples(*wanted, services.now()))


# Sets sent ------------------------------------------------------------------------------------------------------------


@router.get("/coach/sets")
def list_sets(
    request: Request,
    services: AppServices,
    viewer: SignedIn,
    call: Text = "",
    state: Annotated[str, Query(pattern="^(open|over)?$")] = "",
    number: Annotated[int, Query(alias="page", ge=1, le=10_000)] = 1,
) -> Response:
    """The sets sent, newest first, with the number of players who opened and finished them."""
    playbook = services.playbooks.of(viewer.team)
    with services.store.read(viewer.team.id) as t:
        seen = seen_players(t, playbook, viewer)
        call = playbook.find_key(NounKind.CALL, call) or call
        found = list_page(t, viewer, playbook, seen, services.now(), call=call, state=state, number=number)
    return page(request, "coach/sets.html", sets=found, calls=playbook.calls, call=call, state=state)


@router.get("/coach/sets/{set_id}")
def show_set(request: Request, set_id: Id) -> Response:
    """A set: who opened and finished it, and how it went."""
    return show_sent(request, set_id)


def show_sent(request: Request, set_id: str, due: str = "", refusal: BadInput | None = None) -> Response:
    """A set; after a refusal, with the new due date as typed."""
    services, viewer = services_of(request), viewer_of(request)
    playbook = services.playbooks.of(viewer.team)
    with services.store.read(viewer.team.id) as t:
        seen = seen_players(t, playbook, viewer)
        one = find_sent(t, viewer, playbook, seen, set_id)
        lines = lines_of(t, one, seen, playbook)
        changes = may_change(one, viewer, playbook)
    zone, now = viewer.team.time_zone, services.now()
    people = [(line.member.id, line.member.number, line.member.name, line.group) for line in lines]
    results = [(line.progress, line.verdict) for line in lines]
    tag = tag_of(request, one, is_over(one, now), people, results)
    if refusal is None and (unchanged := find_unchanged(request, tag)):
        return unchanged
    return page_with_tag(
        request,
        "coach/set.html",
        tag,
        refusal.status if refusal else 200,
        problem=refusal.message if refusal else "",
        set=one,
        is_check=one.purpose == Purpose.CHECK,
        is_over=is_over(one, now),
        may_change=changes,
        lines=lines,
        counts=counts_of(lines),
        again={who: len(send_again_to(lines, who)) for who in (UNFINISHED, MISSED)},
        due=due or default_due(zone, max(now, one.due_at)),
        zone=zone,
        now=now,
    )


def counts_of(lines: list[PlayerInSet]) -> dict[str, int]:
    """A set's totals over its players."""
    return {
        "players": len(lines),
        "opened": sum(line.progress.opened is not None for line in lines),
        "finished": sum(line.progress.is_finished for line in lines),
        "right": sum(line.progress.right for line in lines),
        "answered": sum(line.progress.answered for line in lines),
        "can": sum(line.verdict is not None and line.verdict.state is State.CAN for line in lines),
        "late": sum(line.late for line in lines),
    }


@router.post("/coach/sets/{set_id}/close")
def close_set(set_id: Id, services: AppServices, viewer: SignedIn) -> Response:
    """Close a set now. Answers stay; those still on phones are stored later and marked late."""
    playbook, now = services.playbooks.of(viewer.team), services.now()

    def close(t: TeamSession) -> None:
        one = find_own(t, viewer, playbook, set_id)
        if one.closed_at is None:
            one.closed_at = now
            t.add(one)
            write_audit(t, viewer.member.id, "closed a set", one.id, now)

    services.writes.write(viewer.team.id, close)
    return redirect_to(f"/coach/sets/{set_id}")


@router.post("/coach/sets/{set_id}/extend")
def extend_set(
    request: Request, set_id: Id, form: Annotated[DueForm, Form()], services: AppServices, viewer: SignedIn
) -> Response:
    """Give a set a new due date; it is open again if it was over."""
    playbook, now = services.playbooks.of(viewer.team), services.now()
    try:
        due = check_due(parse_due(form.due, viewer.team.time_zone), now)
    except BadInput as refusal:
        return show_sent(request, set_id, form.due, refusal)

    def extend(t: TeamSession) -> None:
        one = find_own(t, viewer, playbook, set_id)
        one.due_at, one.closed_at = due, None
        t.add(one)
        write_audit(t, viewer.member.id, "extended a set", one.id, now)

    services.writes.write(viewer.team.id, extend)
    return redirect_to(f"/coach/sets/{set_id}")


def find_own(t: TeamSession, viewer: Viewer, playbook: Playbook, set_id: str) -> Assignment:
    """A set that this coach may change. Raises: NotFound, NotAllowed."""
    one = find_sent(t, viewer, playbook, seen_players(t, playbook, viewer), set_id)
    check_may_change(one, viewer, playbook)
    return one
