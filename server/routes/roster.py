"""The roster: team code, PINs shown once for printing, import and export as CSV, removing and restoring players."""

from __future__ import annotations

import io
from typing import Annotated

import segno
from fastapi import APIRouter, File, Form, Request, UploadFile
from pydantic import AfterValidator, Field, StringConstraints
from starlette.responses import Response

from server.accounts.credentials import make_code
from server.accounts.members import bring_back, remove_member, removed_players, write_audit
from server.database.erasing_table import Erasing
from server.database.store import TeamSession
from server.database.tables import AccountRole, Member
from server.errors import BadInput, NotFound, Refusal
from server.i18n.lazy_text import LazyText
from server.playbook.playbooks import Playbook
from server.progress.board import groups_of, seen_players
from server.reading.csv_files import decode, parse_csv
from server.reading.fields import Id, Sent, storable
from server.reading.pasted import to_csv_text
from server.team.install import rewrite_roster_file
from server.team.roster_csv import Others, Plan, Use, apply_plan, make_plan, propose, write_roster
from server.web.deps import AppServices, SignedIn, is_https, services_of, viewer_of
from server.web.responses import csv_file, page, redirect_to

router = APIRouter()
#: Bytes of a file's text: as much as the form that carries it can hold.
TEXT_MAX = 60_000


class CodesForm(Sent):
    """The players who get a new PIN."""

    players: Annotated[list[Id], Field(min_length=1, max_length=200)]


class RosterForm(Sent):
    """A roster file after the preview: its text, a use for each column, and what to do with players it doesn't have."""

    text: Annotated[str, StringConstraints(max_length=60_000), AfterValidator(storable)]
    use: Annotated[
        list[Annotated[str, StringConstraints(pattern="^(number|name|positions|nothing)$")]], Field(max_length=60)
    ] = Field(default_factory=list)
    others: Annotated[str, StringConstraints(pattern="^(stay|go)$")] = "stay"
    digest: Annotated[str, StringConstraints(pattern="^[0-9a-f]{0,64}$")] = ""
    action: Annotated[str, StringConstraints(pattern="^(look|take)$")] = "look"


@router.get("/coach/roster")
def roster(
    request: Request,
    services: AppServices,
    viewer: SignedIn,
    tick: Annotated[str, StringConstraints(pattern="^(all)?$")] = "",
) -> Response:
    """The players, and the team's address as a QR code; all ticked for a new PIN, or those who have none."""
    playbook = services.playbooks.of(viewer.team)
    is_head = viewer.role in (AccountRole.OWNER, AccountRole.COACH)
    with services.store.read(viewer.team.id) as t:
        members = seen_players(t, playbook, viewer)
        removed = removed_players(t) if is_head else []
        erasing = t.find(Erasing)
    lines = [
        {"member": m, "group": (groups_of(m, playbook) or [""])[0], "has_pin": bool(m.secret_hash)} for m in members
    ]
    link = team_link(request, viewer.team.join_code)
    return page(
        request,
        "coach/roster.html",
        lines=lines,
        link=link,
        qr=qr_svg(link),
        may_issue=is_head,
        ticks_all=bool(tick),
        removed=removed,
        erasing=erasing if erasing and erasing.state else None,
    )


@router.post("/coach/roster/codes")
def new_codes(request: Request, form: Annotated[CodesForm, Form()]) -> Response:
    """Give these players new PINs, on a sheet to print. It is shown only once."""
    return code_sheet(request, list(dict.fromkeys(form.players)))


def code_sheet(request: Request, player_ids: list[str]) -> Response:
    """A printed sheet of new PINs."""
    services, viewer = services_of(request), viewer_of(request)
    issued = services.sign_ins.new_pins(viewer, player_ids, services.now())
    link = team_link(request, viewer.team.join_code)
    return page(request, "print/codes.html", issued=issued, link=link, qr=qr_svg(link))


@router.post("/coach/roster/team-code")
def new_team_code(services: AppServices, viewer: SignedIn) -> Response:
    """Make a new team code; the old one ends, phones stay signed in."""

    def change(t: TeamSession) -> None:
        team = t.team()
        team.join_code = make_code()
        t.session.add(team)
        write_audit(t, viewer.member.id, "new team code", "", services.now())

    services.writes.write(viewer.team.id, change)
    return redirect_to("/coach/roster")


@router.get("/coach/roster/roster.csv")
def roster_file(services: AppServices, viewer: SignedIn) -> Response:
    """The players that this coach sees as a CSV file."""
    playbook = services.playbooks.of(viewer.team)

    def export(t: TeamSession) -> list[Member]:
        members = seen_players(t, playbook, viewer)
        write_audit(t, viewer.member.id, "exported the roster", f"{len(members)} players", services.now())
        return members

    members = services.writes.write(viewer.team.id, export)
    return csv_file(write_roster(members, services.playbooks.names_of(viewer.team)), "roster.csv")


@router.get("/coach/roster/import")
def import_roster(request: Request) -> Response:
    """The page to choose a roster file."""
    return import_page(request)


@router.post("/coach/roster/import")
def preview_roster(
    request: Request,
    services: AppServices,
    viewer: SignedIn,
    file: Annotated[UploadFile | None, File()] = None,
    pasted: Annotated[str, Form(max_length=TEXT_MAX)] = "",
) -> Response:
    """What an uploaded file, or what was pasted, would change; nothing is changed."""
    playbook = services.playbooks.of(viewer.team)
    text = ""
    try:
        text = check_text_size(to_csv_text(pasted) if pasted.strip() else decode(file.file.read() if file else b""))
        sheet = parse_csv(text)
        uses = propose(sheet)
        with services.store.read(viewer.team.id) as t:
            plan = make_plan(t, sheet, uses, Others.STAY, playbook.positions)
    except Refusal as refusal:
        return import_page(request, text, problem=refusal.message)
    return import_page(request, text, plan=plan)


def check_text_size(text: str) -> str:
    """The text, if the form can carry it. Raises: BadInput."""
    if len(text.encode()) > TEXT_MAX:
        raise BadInput(LazyText("the file: expected at most {most} kB of text, found more", most=TEXT_MAX // 1000))
    return text


@router.post("/coach/roster/import/take")
def take_roster_file(
    request: Request, form: Annotated[RosterForm, Form()], services: AppServices, viewer: SignedIn
) -> Response:
    """Preview the file with other columns, or import it, all or nothing; new players' PINs are printed at once."""
    playbook = services.playbooks.of(viewer.team)

    def take(t: TeamSession) -> tuple[Plan, list[str] | None]:
        """The plan and the players added; None when the roster was changed since the preview."""
        plan = plan_of(t, form, playbook)
        if plan.digest != form.digest:
            return plan, None
        added = [member.id for member in apply_plan(t, plan, services.now())]
        counts = f"{len(plan.added)} added, {len(plan.changed)} changed, {len(plan.removed)} removed"
        write_audit(t, viewer.member.id, "imported the roster", counts, services.now())
        return plan, added

    try:
        if form.action == "look":
            with services.store.read(viewer.team.id) as t:
                plan = plan_of(t, form, playbook)
            return import_page(request, form.text, plan=plan)
        plan, added = services.writes.write(viewer.team.id, take)
    except BadInput as refusal:
        return import_page(request, form.text, uses=form.use, problem=refusal.message)
    if added is None:
        message = LazyText("The roster was changed since you looked. This is what the file would do now.")
        return import_page(request, form.text, plan=plan, problem=message)
    return code_sheet(request, added) if added else redirect_to("/coach/roster")


def plan_of(t: TeamSession, form: RosterForm, playbook: Playbook) -> Plan:
    """What the form's file would do. Raises: BadInput."""
    uses = [Use(use) for use in form.use]
    return make_plan(t, parse_csv(form.text), uses, Others(form.others), playbook.positions)


def import_page(
    request: Request, text: str = "", *, plan: Plan | None = None, uses: list[str] | None = None, problem: str = ""
) -> Response:
    """The import page: choose a file, or map its columns and see the changes."""
    header: tuple[str, ...] = ()
    samples: tuple[tuple[str, ...], ...] = ()
    if text:
        try:
            sheet = parse_csv(text)
        except Refusal:
            text = ""
        else:
            header, samples = sheet.header, tuple(line.cells for line in sheet.lines[:3])
            if not uses or len(uses) != len(header):
                uses = list(plan.uses if plan else propose(sheet))
    return page(
        request,
        "coach/roster_import.html",
        422 if problem else 200,
        problem=problem,
        text=text,
        plan=plan,
        header=header,
        samples=samples,
        uses=uses or [],
    )


@router.post("/coach/roster/{player_id}/remove")
def remove_player(player_id: Id, services: AppServices, viewer: SignedIn) -> Response:
    """Remove a player from the roster: his number is free, his phone signed out; his answers stay."""

    def remove(t: TeamSession) -> None:
        member = find_on_roster(t, player_id, is_removed=False)
        remove_member(t, member, services.now())
        rewrite_roster_file(t)
        write_audit(t, viewer.member.id, "removed a player", member.id, services.now())

    services.writes.write(viewer.team.id, remove)
    return redirect_to("/coach/roster")


@router.post("/coach/roster/{player_id}/bring-back")
def bring_player_back(player_id: Id, services: AppServices, viewer: SignedIn) -> Response:
    """Put a removed player back; he needs a new PIN."""

    def put_back(t: TeamSession) -> None:
        member = find_on_roster(t, player_id, is_removed=True)
        bring_back(t, member)
        rewrite_roster_file(t)
        write_audit(t, viewer.member.id, "brought a player back", member.id, services.now())

    services.writes.write(viewer.team.id, put_back)
    return redirect_to("/coach/roster")


def find_on_roster(t: TeamSession, player_id: str, *, is_removed: bool) -> Member:
    """A player on the roster, or a removed one. Raises: NotFound."""
    member = t.find(Member, player_id)
    if member is None or member.role != AccountRole.PLAYER or (member.removed_at is not None) != is_removed:
        raise NotFound("There is no such player in your team.")
    return member


def team_link(request: Request, code: str) -> str:
    """The address for phones to open."""
    return f"{base_address(request)}/team/{code}"


def base_address(request: Request) -> str:
    """The server's own address, as phones reach it."""
    public = services_of(request).settings.public_url
    scheme = "https" if is_https(request) else "http"
    return public or f"{scheme}://{request.url.netloc}"


def qr_svg(link: str) -> str:
    """An address as a QR code, in SVG without styles."""
    out = io.BytesIO()
    segno.make(link, error="m").save(
        out, kind="svg", xmldecl=False, svgns=True, omitsize=True, svgclass="qr", lineclass=None
    )
    return out.getvalue().decode()
