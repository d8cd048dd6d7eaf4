"""Coaches' accounts, for the owner: the list, a new account, a new passphrase, removing an account."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request
from pydantic import AfterValidator, Field, StringConstraints
from sqlmodel import col
from starlette.responses import Response

from server.accounts.credentials import hash_passphrase, make_passphrase, passphrase_problems
from server.accounts.members import add_coach, remove_member, write_audit
from server.accounts.permissions import COACHES
from server.accounts.sessions import end_sessions
from server.database.store import TeamSession
from server.database.tables import AccountRole, Member
from server.errors import BadInput, NotFound
from server.i18n.lazy_text import LazyText
from server.playbook.playbooks import Playbook
from server.reading.fields import Id, Sent, Text, storable
from server.web.deps import AppServices, SignedIn, services_of, viewer_of
from server.web.responses import page, redirect_to

router = APIRouter()


class CoachAccountForm(Sent):
    """A new coach: name, role, and a passphrase; if empty, one is made."""

    name: Annotated[str, StringConstraints(max_length=60), AfterValidator(storable)] = ""
    role: Annotated[str, StringConstraints(pattern="^(owner|coach|position coach)$")] = "coach"
    groups: Annotated[list[Text], Field(max_length=30)] = Field(default_factory=list)
    passphrase: Text = ""


class PassphraseForm(Sent):
    """A new passphrase; if empty, one is made."""

    passphrase: Text = ""


@router.get("/coach/coaches")
def coaches(request: Request) -> Response:
    """The coaches with an account."""
    return coaches_page(request)


def coaches_page(
    request: Request, *, problem: str = "", form: CoachAccountForm | None = None, made: tuple[str, str] | None = None
) -> Response:
    """The page, with the name and passphrase just made, which are shown only once."""
    services, viewer = services_of(request), viewer_of(request)
    playbook = services.playbooks.of(viewer.team)
    with services.store.read(viewer.team.id) as t:
        is_coach = (col(Member.role) != AccountRole.PLAYER.value, col(Member.removed_at).is_(None))
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


def hash_typed_or_new(typed: str) -> tuple[str, str]:
    """The typed passphrase, or a new one if none was typed, and its hash. Raises: BadInput."""
    passphrase = typed or make_passphrase()
    if problems := passphrase_problems(passphrase):
        raise BadInput(problems[0])
    return passphrase, hash_passphrase(passphrase)


def check_groups(form: CoachAccountForm, playbook: Playbook) -> list[str]:
    """The groups of a new account. Raises: BadInput when they don't fit its role."""
    if (form.role == AccountRole.POSITION_COACH) != bool(form.groups):
        raise BadInput(LazyText("groups: expected one or more for a position coach, none for others"))
    known = groups_of_team(playbook)
    if lost := [group for group in form.groups if group not in known]:
        raise BadInput(
            LazyText("groups: expected some of {known}, found {found!r}", known=", ".join(known), found=lost[0])
        )
    return list(dict.fromkeys(form.groups))


@router.post("/coach/coaches")
def new_coach(
    request: Request, form: Annotated[CoachAccountForm, Form()], services: AppServices, viewer: SignedIn
) -> Response:
    """Add an account; its passphrase is shown only once."""
    try:
        groups = check_groups(form, services.playbooks.of(viewer.team))
        passphrase, secret_hash = hash_typed_or_new(form.passphrase)

        def add(t: TeamSession) -> Member:
            coach = add_coach(t, form.name, AccountRole(form.role), secret_hash, services.now())
            coach.groups = groups
            t.add(coach)
            write_audit(t, viewer.member.id, "added a coach", coach.id, services.now())
            return coach

        coach = services.writes.write(viewer.team.id, add)
    except BadInput as refusal:
        return coaches_page(request, problem=refusal.message, form=form)
    return coaches_page(request, made=(coach.name, passphrase))


@router.post("/coach/coaches/{coach_id}/passphrase")
def new_passphrase(
    request: Request, coach_id: Id, form: Annotated[PassphraseForm, Form()], services: AppServices, viewer: SignedIn
) -> Response:
    """Give a coach a new passphrase, shown only once; he is signed out everywhere."""
    try:
        passphrase, secret_hash = hash_typed_or_new(form.passphrase)
    except BadInput as refusal:
        return coaches_page(request, problem=refusal.message)

    def change(t: TeamSession) -> Member:
        coach = find_coach(t, coach_id)
        coach.secret_hash = secret_hash
        t.add(coach)
        end_sessions(t, coach.id)
        write_audit(t, viewer.member.id, "new passphrase for a coach", coach.id, services.now())
        return coach

    coach = services.writes.write(viewer.team.id, change)
    return coaches_page(request, made=(coach.name, passphrase))


@router.post("/coach/coaches/{coach_id}/remove")
def remove_coach(request: Request, coach_id: Id, services: AppServices, viewer: SignedIn) -> Response:
    """Remove an account; its coach is signed out everywhere. Nobody can remove his own, so the last owner stays."""
    if coach_id == viewer.member.id:
        return coaches_page(request, problem=LazyText("Your own account can only be taken away by another owner."))

    def remove(t: TeamSession) -> None:
        find_coach(t, viewer.member.id)  # when two owners remove each other at once, the second is gone by now
        coach = find_coach(t, coach_id)
        remove_member(t, coach, services.now())
        write_audit(t, viewer.member.id, "removed a coach", coach.id, services.now())

    services.writes.write(viewer.team.id, remove)
    return redirect_to("/coach/coaches")


def find_coach(t: TeamSession, coach_id: str) -> Member:
    """A coach with an account. Raises: NotFound."""
    member = t.find(Member, coach_id)
    if member is None or member.role not in COACHES or member.removed_at is not None:
        raise NotFound("There is no such coach in your team.")
    return member
