"""Coaches' accounts, for the owner: who has one, a new one, a new passphrase, an account taken away."""

from __future__ import annotations

import asyncio
from typing import Annotated

from fastapi import APIRouter, Form, Request
from sqlmodel import col
from starlette.responses import Response

from server.inputs import CoachAccountForm, Id, PassphraseForm
from server.parts import parts_of, viewer_of
from server.people import COACHES, add_coach, end_sessions, remove_member, write_audit
from server.playbooks import Playbook
from server.problems import BadInput, NotFound, Refusal
from server.replies import go, page
from server.security import hash_passphrase, make_passphrase, problems_of_passphrase
from server.store import TeamSession
from server.tables import Member, Role
from server.told import Told

router = APIRouter()


@router.get("/coach/coaches")
async def coaches(request: Request) -> Response:
    """Everybody with a coach's account."""
    return await coaches_page(request)


async def coaches_page(
    request: Request, *, problem: str = "", form: CoachAccountForm | None = None, made: tuple[str, str] | None = None
) -> Response:
    """The page, with a new account's or new passphrase's name and words, shown this once."""
    parts, viewer = parts_of(request), viewer_of(request)
    playbook = await parts.playbooks.of(viewer.team)
    with parts.store.read(viewer.team.id) as t:
        is_coach = (col(Member.role) != Role.PLAYER.value, col(Member.removed_at).is_(None))
        members = t.rows(Member, *is_coach, order_by=(col(Member.created_at), col(Member.id)))
    return page(
        request,
        "coach/coaches.html",
        422 if problem else 200,
        coaches=members,
        groups=groups_of_team(playbook),
        form=form or CoachAccountForm(),
        problem=problem,
        made=made,
    )


def groups_of_team(playbook: Playbook) -> list[str]:
    """The team's position groups, in its order."""
    return list(dict.fromkeys(position.group for position in playbook.positions))


async def take_passphrase(typed: str) -> tuple[str, str]:
    """The passphrase typed, or one made where none was, and its hash. Raises: BadInput."""
    passphrase = typed or make_passphrase()
    if problems := problems_of_passphrase(passphrase):
        raise BadInput(problems[0])
    return passphrase, await asyncio.to_thread(hash_passphrase, passphrase)


def check_groups(form: CoachAccountForm, playbook: Playbook) -> list[str]:
    """The groups of a new account. Raises: BadInput where they don't go with its role."""
    if (form.role == Role.POSITION_COACH) != bool(form.groups):
        raise BadInput(Told("groups: expected one or more for a position coach, none for others"))
    known = groups_of_team(playbook)
    if lost := [group for group in form.groups if group not in known]:
        raise BadInput(Told("groups: expected some of {known}, found {found!r}", known=", ".join(known), found=lost[0]))
    return list(dict.fromkeys(form.groups))


@router.post("/coach/coaches")
async def new_coach(request: Request, form: Annotated[CoachAccountForm, Form()]) -> Response:
    """A new account; its passphrase is shown this once."""
    parts, viewer = parts_of(request), viewer_of(request)
    try:
        groups = check_groups(form, await parts.playbooks.of(viewer.team))
        passphrase, secret_hash = await take_passphrase(form.passphrase)
        with parts.store.write(viewer.team.id) as t:
            coach = add_coach(t, form.name, Role(form.role), secret_hash, parts.now())
            coach.groups = groups
            t.add(coach)
            write_audit(t, viewer.member.id, "added a coach", coach.id, parts.now())
    except Refusal as refusal:
        return await coaches_page(request, problem=refusal.message, form=form)
    return await coaches_page(request, made=(coach.name, passphrase))


@router.post("/coach/coaches/{coach_id}/passphrase")
async def new_passphrase(request: Request, coach_id: Id, form: Annotated[PassphraseForm, Form()]) -> Response:
    """Another passphrase for a coach, shown this once; he is signed out everywhere."""
    parts, viewer = parts_of(request), viewer_of(request)
    try:
        passphrase, secret_hash = await take_passphrase(form.passphrase)
    except BadInput as refusal:
        return await coaches_page(request, problem=refusal.message)
    with parts.store.write(viewer.team.id) as t:
        coach = find_coach(t, coach_id)
        coach.secret_hash = secret_hash
        t.add(coach)
        end_sessions(t, coach.id)
        write_audit(t, viewer.member.id, "new passphrase for a coach", coach.id, parts.now())
    return await coaches_page(request, made=(coach.name, passphrase))


@router.post("/coach/coaches/{coach_id}/remove")
async def remove_coach(request: Request, coach_id: Id) -> Response:
    """Take an account away; he is signed out everywhere. One's own stays, so that a team never loses its last owner."""
    parts, viewer = parts_of(request), viewer_of(request)
    if coach_id == viewer.member.id:
        return await coaches_page(request, problem=Told("Your own account can only be taken away by another owner."))
    with parts.store.write(viewer.team.id) as t:
        find_coach(t, viewer.member.id)  # of two owners who remove each other at once the second is no more
        coach = find_coach(t, coach_id)
        remove_member(t, coach, parts.now())
        write_audit(t, viewer.member.id, "removed a coach", coach.id, parts.now())
    return go("/coach/coaches")


def find_coach(t: TeamSession, coach_id: str) -> Member:
    """A coach with an account. Raises: NotFound."""
    member = t.find(Member, coach_id)
    if member is None or member.role not in COACHES or member.removed_at is not None:
        raise NotFound("There is no such coach in your team.")
    return member
