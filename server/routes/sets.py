"""Sets sent: the list, a set with who has finished it, changing it, calling it back, its calendar file."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Query, Request
from starlette.responses import Response

from server.accounts.members import write_audit
from server.accounts.sessions import Viewer
from server.database.store import TeamSession
from server.database.tables import Assignment, Member, Purpose
from server.errors import BadInput
from server.mastery.values import State
from server.playbook.noun_names import NounKind
from server.playbook.playbooks import Playbook
from server.progress.board import seen_players
from server.reading.fields import Id, Text
from server.routes.roster import team_link
from server.sets.assignment import LONGEST_SET, AssignmentFields
from server.sets.assignment_form import fill
from server.sets.changing import SetChange, apply_change, fields_of, plan_change, plan_more_reps
from server.sets.picks import picks_of
from server.sets.player_sets import copies_of_set, is_over
from server.sets.set_report import (
    MISSED,
    UNFINISHED,
    PlayerInSet,
    check_may_change,
    find_sent,
    groups_in,
    lines_of,
    list_page,
    may_change,
    members_of,
    send_again_to,
)
from server.web.calendar_reply import calendar_reply
from server.web.conditional import find_unchanged, page_with_tag, tag_of
from server.web.deps import AppServices, SignedIn, services_of, viewer_of
from server.web.responses import page, redirect_to

router = APIRouter()


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
    services, viewer = services_of(request), viewer_of(request)
    playbook = services.playbooks.of(viewer.team)
    with services.store.read(viewer.team.id) as t:
        seen = seen_players(t, playbook, viewer)
        one = find_sent(t, viewer, playbook, seen, set_id)
        lines = lines_of(t, one, seen, playbook)
        changes = may_change(one, viewer, playbook)
        sender = t.find(Member, one.created_by)
    zone, now = viewer.team.time_zone, services.now()
    people = [(line.member.id, line.member.number, line.member.name, line.group) for line in lines]
    results = [(line.progress, line.verdict) for line in lines]
    tag = tag_of(request, one, is_over(one, now), people, results)
    if unchanged := find_unchanged(request, tag):
        return unchanged
    return page_with_tag(
        request,
        "coach/set.html",
        tag,
        set=one,
        sender=sender.name if sender else "",
        is_check=one.purpose == Purpose.CHECK,
        is_over=is_over(one, now),
        may_change=changes,
        lines=lines,
        groups=groups_in(lines, playbook),
        counts=counts_of(lines),
        again={who: len(send_again_to(lines, who)) for who in (UNFINISHED, MISSED)},
        link=team_link(request, viewer.team.join_code),
        zone=zone,
        now=now,
    )


def counts_of(lines: list[PlayerInSet]) -> dict[str, int]:
    """A set's totals over its players."""
    return {
        "players": len(lines),
        "opened": sum(line.progress.opened is not None for line in lines),
        "in_it": sum(line.is_in_it for line in lines),
        "finished": sum(line.progress.is_finished for line in lines),
        "right": sum(line.progress.right for line in lines),
        "answered": sum(line.progress.answered for line in lines),
        "can": sum(line.verdict is not None and line.verdict.state is State.CAN for line in lines),
        "late": sum(line.late for line in lines),
    }


@router.get("/coach/sets/{set_id}/picks")
def show_picks(request: Request, set_id: Id, services: AppServices, viewer: SignedIn) -> Response:
    """What each player who has opened a set was given, and why."""
    playbook = services.playbooks.of(viewer.team)
    with services.store.read(viewer.team.id) as t:
        seen = seen_players(t, playbook, viewer)
        one = find_sent(t, viewer, playbook, seen, set_id)
        picks = picks_of(t, one.id, playbook.calls)
        members = members_of(one, seen, picks)
    return page(
        request,
        "coach/set_picks.html",
        set=one,
        lines=[(member, picks[member.id]) for member in members if member.id in picks],
        waiting=sum(member.id not in picks for member in members),
    )


@router.get("/coach/sets/{set_id}/calendar.ics")
def calendar(request: Request, set_id: Id, services: AppServices, viewer: SignedIn) -> Response:
    """The moment when a set is due, as a calendar file."""
    playbook = services.playbooks.of(viewer.team)
    with services.store.read(viewer.team.id) as t:
        one = find_sent(t, viewer, playbook, seen_players(t, playbook, viewer), set_id)
    return calendar_reply(request, one, team_link(request, viewer.team.join_code))


@router.get("/coach/sets/{set_id}/change")
def show_change(request: Request, set_id: Id, fields: Annotated[AssignmentFields, Query()]) -> Response:
    """The form that changes a set, with a sentence of what it would do as it stands."""
    return show_form(request, set_id, fields)


def show_form(request: Request, set_id: str, fields: AssignmentFields, refusal: BadInput | None = None) -> Response:
    """The form with everything typed; after a refusal, with its message in place of the sentence."""
    services, viewer = services_of(request), viewer_of(request)
    playbook, now = services.playbooks.of(viewer.team), services.now()
    team_state = services.team_states.of(services.store, viewer.team.id, playbook)
    with services.store.read(viewer.team.id) as t:
        seen = seen_players(t, playbook, viewer)
        one = find_own(t, viewer, playbook, set_id)
        copies = copies_of_set(t, one)
        lines = lines_of(t, one, seen, playbook)
    fields = fields_of(one, fields, viewer.team.time_zone)
    form = fill(fields, playbook, viewer, seen, team_state, now, has_opponent=one.is_weighted)
    change: SetChange | None = None
    try:
        change = plan_change(one, form.fields, viewer, playbook, seen, copies, now)
    except BadInput as problem:
        refusal = refusal or problem
    return page(
        request,
        "coach/set_change.html",
        refusal.status if refusal and request.method == "POST" else 200,
        problem=refusal.message if refusal else "",
        set=one,
        form=form,
        change=change,
        counts=counts_of(lines),
        is_check=one.purpose == Purpose.CHECK,
        is_over=is_over(one, now),
        longest=LONGEST_SET,
        zone=viewer.team.time_zone,
    )


@router.post("/coach/sets/{set_id}/change")
def change_set(
    request: Request, set_id: Id, fields: Annotated[AssignmentFields, Form()], services: AppServices, viewer: SignedIn
) -> Response:
    """Change who gets a set, how many reps, due when. One that was called back goes out again."""
    playbook, now = services.playbooks.of(viewer.team), services.now()
    team_state = services.team_states.of(services.store, viewer.team.id, playbook)

    def planned(t: TeamSession) -> tuple[Assignment, SetChange]:
        one, seen = find_own(t, viewer, playbook, set_id), seen_players(t, playbook, viewer)
        wanted = fields_of(one, fields, viewer.team.time_zone)
        return one, plan_change(one, wanted, viewer, playbook, seen, copies_of_set(t, one), now)

    try:
        with services.store.read(viewer.team.id) as t:
            one, change = planned(t)
            seen = seen_players(t, playbook, viewer)
            more = plan_more_reps(t, one, change, seen, copies_of_set(t, one), playbook, team_state, now)

        def store(t: TeamSession) -> None:
            stored, as_now = planned(t)
            if not as_now.is_nothing:
                apply_change(t, viewer, stored, as_now, more, now)

        services.writes.write(viewer.team.id, store)
    except BadInput as refusal:
        return show_form(request, set_id, fields, refusal)
    return redirect_to(f"/coach/sets/{set_id}")


@router.post("/coach/sets/{set_id}/call-back")
def call_back(set_id: Id, services: AppServices, viewer: SignedIn) -> Response:
    """Take a set off all phones. Answers stay; those still on phones are stored when they come, and marked late."""
    playbook, now = services.playbooks.of(viewer.team), services.now()

    def take_back(t: TeamSession) -> None:
        one = find_own(t, viewer, playbook, set_id)
        if one.closed_at is None:
            one.closed_at = now
            t.add(one)
            write_audit(t, viewer.member.id, "called a set back", one.id, now)

    services.writes.write(viewer.team.id, take_back)
    return redirect_to(f"/coach/sets/{set_id}")


def find_own(t: TeamSession, viewer: Viewer, playbook: Playbook, set_id: str) -> Assignment:
    """A set that this coach may change. Raises: NotFound, NotAllowed."""
    one = find_sent(t, viewer, playbook, seen_players(t, playbook, viewer), set_id)
    check_may_change(one, viewer, playbook)
    return one
