"""Assigning a set on one call, and what became of the sets sent."""

from __future__ import annotations

from datetime import datetime, time, timedelta
from typing import Annotated, Any
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Form, Query, Request
from sqlmodel import col
from starlette.responses import Response

from server.board import groups_of, seen_players
from server.inputs import DueForm, Id, OrderFields
from server.mastery.values import SIDES, STAGES
from server.parts import Parts, parts_of, viewer_of
from server.people import Viewer, players, write_audit
from server.playbooks import Playbook
from server.problems import BadInput, NotFound
from server.replies import go, page
from server.sets import LONGEST_SET, Order, check_order, is_for, is_over, progress, send
from server.spoken import speak
from server.store import TeamSession
from server.tables import Answer, Assignment, Member, PlayerSet
from server.told import Told

router = APIRouter()
DUE_FORMAT = "%Y-%m-%dT%H:%M"


@router.get("/coach/assign")
async def assign(request: Request, fields: Annotated[OrderFields, Query()]) -> Response:
    """The form of a set, filled in as far as it is known, with three sample reps."""
    return await show_form(request, fields)


@router.post("/coach/sets")
async def send_set(request: Request, fields: Annotated[OrderFields, Form()]) -> Response:
    """Send the set; a field that is wrong is said on the form, and nothing typed is lost."""
    parts, viewer = parts_of(request), viewer_of(request)
    playbook, now = await parts.playbooks.of(viewer.team), parts.now()
    try:
        order = check_order(to_order(fields, viewer, now), playbook, now)
        check_groups(order, viewer, playbook)
        if not await playbook.samples(viewer.team.id, order.call, order.positions, order.stages, order.sides, now):
            raise BadInput("stages: this call has no reps for these positions, stages and sides; choose more of them")
    except BadInput as refusal:
        return await show_form(request, fields, refusal)
    with parts.store.write(viewer.team.id) as t:
        sent = send(t, viewer, order, now)
    return go(f"/coach/sets/{sent.id}")


async def show_form(request: Request, fields: OrderFields, refusal: BadInput | None = None) -> Response:
    """The form with what is known."""
    parts, viewer = parts_of(request), viewer_of(request)
    playbook, now = await parts.playbooks.of(viewer.team), parts.now()
    if not playbook.calls:
        raise BadInput("The team's content has no calls yet; there is nothing to assign.")
    call = playbook.check_call(fields.call) if fields.call and refusal is None else (fields.call or playbook.calls[0])
    known = [p for p in playbook.positions if viewer.sees_group(p.group)]
    positions = fields.positions or [p.name for p in known]
    own = [p for p in positions if p in {k.name for k in known}]
    stages, sides = fields.stages or list(STAGES), fields.sides or [side.value for side in SIDES]
    samples = []
    if call in playbook.calls:
        samples = await speak(request, await playbook.samples(viewer.team.id, call, own, stages, sides, now))
    with parts.store.read(viewer.team.id) as t:
        members = seen_players(t, playbook, viewer)
    return page(
        request,
        "coach/assign.html",
        refusal.status if refusal else 200,
        problem=refusal.message if refusal else "",
        calls=playbook.calls,
        call=call,
        positions=known,
        chosen_positions=positions,
        stages=STAGES,
        chosen_stages=stages,
        sides=[side.value for side in SIDES],
        chosen_sides=sides,
        length=fields.length,
        longest=LONGEST_SET,
        due=fields.due or default_due(viewer, now),
        zone=viewer.team.time_zone,
        samples=samples,
        players=sum(bool(set(m.positions) & set(positions)) for m in members),
    )


def default_due(viewer: Viewer, now: datetime) -> str:
    """Tomorrow at noon where the team is, as a browser's field for date and time has it."""
    local = now.astimezone(ZoneInfo(viewer.team.time_zone))
    return datetime.combine(local.date() + timedelta(days=1), time(12)).strftime(DUE_FORMAT)


def parse_due(text: str, viewer: Viewer) -> datetime:
    """A day and time as typed, where the team is. Raises: BadInput."""
    try:
        return datetime.strptime(text.strip()[:16], DUE_FORMAT).replace(tzinfo=ZoneInfo(viewer.team.time_zone))
    except ValueError:
        raise BadInput(
            Told("due: expected a day and time such as 2026-10-02T15:30, found {found!r}", found=text[:40])
        ) from None


def to_order(fields: OrderFields, viewer: Viewer, now: datetime) -> Order:
    """The order as typed. Raises: BadInput."""
    due = parse_due(fields.due, viewer)
    if due > now + timedelta(days=400):
        raise BadInput("due: expected a day within the next 400 days")
    return Order(
        fields.call, tuple(fields.positions), tuple(sorted(set(fields.stages))), tuple(fields.sides), fields.length, due
    )


def check_groups(order: Order, viewer: Viewer, playbook: Playbook) -> None:
    """A position coach assigns to his groups only. Raises: BadInput."""
    for position in order.positions:
        if not viewer.sees_group(playbook.group_of(position)):
            raise BadInput(Told("positions: expected positions of your groups only, found {found!r}", found=position))


@router.get("/coach/sets")
async def list_sets(request: Request) -> Response:
    """The sets sent, newest first, with who has opened and finished them."""
    parts, viewer = parts_of(request), viewer_of(request)
    with parts.store.read(viewer.team.id) as t:
        sets = t.rows(Assignment, order_by=(col(Assignment.created_at).desc(),), limit=100)
        opened = t.rows(PlayerSet)
        everyone = players(t)
    rows = [set_row(one, everyone, [o for o in opened if o.assignment_id == one.id], parts) for one in sets]
    return page(request, "coach/sets.html", sets=rows)


def set_row(one: Assignment, everyone: list[Member], opened: list[PlayerSet], parts: Parts) -> dict[str, Any]:
    """A set and its counts."""
    return {
        "set": one,
        "is_over": is_over(one, parts.now()),
        "players": sum(is_for(one, m) for m in everyone),
        "opened": len(opened),
        "finished": sum(o.finished_at is not None for o in opened),
    }


@router.get("/coach/sets/{set_id}")
async def show_set(request: Request, set_id: Id) -> Response:
    """A set: who has opened and finished it, and how it went."""
    parts, viewer = parts_of(request), viewer_of(request)
    playbook = await parts.playbooks.of(viewer.team)
    with parts.store.read(viewer.team.id) as t:
        one = t.get(Assignment, set_id, what="set")
        seen = seen_players(t, playbook, viewer)
        opened = t.rows(PlayerSet, col(PlayerSet.assignment_id) == set_id)
        members = [m for m in seen if is_for(one, m) or m.id in {o.member_id for o in opened}]
        lines = [player_line(t, one, member, playbook) for member in members]
    return page(request, "coach/set.html", **set_row(one, seen, opened, parts), lines=lines, zone=viewer.team.time_zone)


def player_line(t: TeamSession, one: Assignment, member: Member, playbook: Playbook) -> dict[str, Any]:
    """One player in a set."""
    done = progress(t, one, member.id)
    late = t.count(
        Answer,
        col(Answer.assignment_id) == one.id,
        col(Answer.member_id) == member.id,
        col(Answer.is_late).is_(True),
    )
    return {"member": member, "progress": done, "late": late, "group": (groups_of(member, playbook) or [""])[0]}


@router.post("/coach/sets/{set_id}/close")
async def close_set(request: Request, set_id: Id) -> Response:
    """Close a set now. Answers given stay; answers still on phones are kept and marked late."""
    parts, viewer = parts_of(request), viewer_of(request)
    now = parts.now()
    with parts.store.write(viewer.team.id) as t:
        one = t.get(Assignment, set_id, what="set")
        if one.closed_at is None:
            one.closed_at = now
            t.add(one)
            write_audit(t, viewer.member.id, "closed a set", one.id, now)
    return go(f"/coach/sets/{set_id}")


@router.post("/coach/sets/{set_id}/extend")
async def extend_set(request: Request, set_id: Id, form: Annotated[DueForm, Form()]) -> Response:
    """Give a set another due date; it is open again if it was over."""
    parts, viewer = parts_of(request), viewer_of(request)
    now, due = parts.now(), parse_due(form.due, viewer)
    if due <= now:
        raise BadInput("due: expected a day and time to come, found one that is past")
    with parts.store.write(viewer.team.id) as t:
        one = t.find(Assignment, set_id)
        if one is None:
            raise NotFound("There is no such set in your team.")
        one.due_at, one.closed_at = due, None
        t.add(one)
        write_audit(t, viewer.member.id, "extended a set", one.id, now)
    return go(f"/coach/sets/{set_id}")
