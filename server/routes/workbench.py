"""The draft of a team's defense: what installing it would do, undo and redo, the versions that were installed."""

from __future__ import annotations

from typing import Annotated
from urllib.parse import parse_qsl, urlsplit

from fastapi import APIRouter, File, Form, Query, Request, UploadFile
from pydantic import Field, StringConstraints
from sqlmodel import col
from starlette.responses import Response

from server.accounts.permissions import HEADS
from server.database.draft_tables import ContentVersion
from server.database.store import TeamSession
from server.database.tables import AccountRole, Member
from server.errors import BadInput, Outdated
from server.i18n.languages import language_of
from server.playbook.content_edits import compare_files
from server.reading.fields import Sent, Text
from server.team.archive import ARCHIVE_MAX, take_archive, unzipped, write_archive
from server.team.draft import NOTE_MAX, bring_back, discard, install, load_draft, redo, undo
from server.team.draft_preview import Preview, preview
from server.team.versions import versions
from server.web.deps import AppServices, SignedIn, services_of, viewer_of
from server.web.responses import page, redirect_to

router = APIRouter()
EditNumber = Annotated[int, Field(ge=0, le=10_000_000)]
INSTALL = "/coach/defense/install"


class InstallForm(Sent):
    """A word for the staff, and the number of the draft that the page counted."""

    note: Annotated[str, StringConstraints(max_length=NOTE_MAX)] = ""
    seen: EditNumber


class EditForm(Sent):
    """One edit, by its number."""

    number: EditNumber


class BackForm(Sent):
    """Where to go on after undo or redo."""

    back: Annotated[str, StringConstraints(pattern="^(/coach/defense[A-Za-z0-9/?=&%+._-]*)?$", max_length=300)] = ""

    def go_back(self) -> Response:
        """The way back."""
        found = urlsplit(self.back or INSTALL)
        return redirect_to(found.path, **dict(parse_qsl(found.query)))


class ComparedVersions(Sent):
    """Two versions to compare; 0 for the draft."""

    a: EditNumber | None = None
    b: EditNumber | None = None
    installed: Text = ""


@router.get(INSTALL)
def show_install(request: Request) -> Response:
    """What installing the draft would do."""
    return install_page(request)


def install_page(request: Request, refusal: BadInput | Outdated | None = None, note: str = "") -> Response:
    """The page; after a refusal with why, counted anew."""
    services, viewer = services_of(request), viewer_of(request)
    with services.store.read(viewer.team.id) as t:
        draft, names = load_draft(t), coach_names(t)
        newest = t.first(ContentVersion, order_by=(col(ContentVersion.number).desc(),))
        is_player = (col(Member.role) == AccountRole.PLAYER.value, col(Member.removed_at).is_(None))
        players = t.count(Member, *is_player)
    found = Preview()
    if draft.is_changed:
        playbook = services.playbooks.of(viewer.team)
        found = preview(services.store, playbook, viewer.team.id, draft, services.now())
    language = language_of(request.scope)
    return page(
        request,
        "coach/install.html",
        refusal.status if refusal else 200,
        draft=draft,
        names=names,
        found=found,
        problem=language.translate(refusal.message) if refusal else "",
        note=note,
        version=(newest.number if newest else 0) + 1,
        players=players,
        own_last=draft.last_of(viewer.member.id),
        own_next=draft.next_of(viewer.member.id),
        may_change=viewer.role in HEADS,
    )


@router.post(INSTALL)
def install_draft(
    request: Request, form: Annotated[InstallForm, Form()], services: AppServices, viewer: SignedIn
) -> Response:
    """Make the draft what players are asked about."""
    football, now = services.playbooks.football, services.now()
    try:
        services.writes.write(viewer.team.id, lambda t: install(t, football, viewer, form.note, form.seen, now))
    except (BadInput, Outdated) as refusal:
        return install_page(request, refusal, form.note)
    return redirect_to("/coach/defense/versions", installed=1)


@router.post("/coach/defense/draft/undo")
def undo_edit(form: Annotated[BackForm, Form()], services: AppServices, viewer: SignedIn) -> Response:
    """Take back the coach's own last edit."""
    services.writes.write(viewer.team.id, lambda t: undo(t, viewer))
    return form.go_back()


@router.post("/coach/defense/draft/redo")
def redo_edit(form: Annotated[BackForm, Form()], services: AppServices, viewer: SignedIn) -> Response:
    """Make the edit again that he took back."""
    services.writes.write(viewer.team.id, lambda t: redo(t, viewer))
    return form.go_back()


@router.post("/coach/defense/draft/take-out")
def take_out(form: Annotated[EditForm, Form()], services: AppServices, viewer: SignedIn) -> Response:
    """Take one edit out of the draft."""
    services.writes.write(viewer.team.id, lambda t: discard(t, form.number))
    return redirect_to(INSTALL)


@router.get("/coach/defense/versions")
def show_versions(
    request: Request, fields: Annotated[ComparedVersions, Query()], services: AppServices, viewer: SignedIn
) -> Response:
    """What was installed, the newest first, and what differs between two of them."""
    with services.store.read(viewer.team.id) as t:
        found, names, draft = versions(t), coach_names(t), load_draft(t)
    numbers = [one.number for one in found]
    a = fields.a if fields.a in numbers else numbers[min(1, len(numbers) - 1)] if numbers else None
    b = fields.b if fields.b in numbers else numbers[0] if numbers else None
    files = {one.number: one.files for one in found}
    differs = compare_files(files[a], files[b]) if a is not None and b is not None else ()
    return page(
        request,
        "coach/versions.html",
        versions=found,
        names=names,
        a=a,
        b=b,
        differs=differs,
        is_changed=draft.is_changed,
        installed=fields.installed,
        may_change=viewer.role in HEADS,
    )


@router.post("/coach/defense/versions/bring-back")
def bring_version_back(form: Annotated[EditForm, Form()], services: AppServices, viewer: SignedIn) -> Response:
    """Put an older version into the draft."""
    services.writes.write(viewer.team.id, lambda t: bring_back(t, viewer, form.number, services.now()))
    return redirect_to(INSTALL)


@router.get("/coach/defense/archive.zip")
def archive(services: AppServices, viewer: SignedIn) -> Response:
    """Everything of the team as one archive of TOML files."""
    playbook, now = services.playbooks.of(viewer.team), services.now()
    data = services.writes.write(viewer.team.id, lambda t: write_archive(t, playbook, viewer, now))
    headers = {"Content-Disposition": 'attachment; filename="team.zip"'}
    return Response(data, media_type="application/zip", headers=headers)


@router.post("/coach/defense/archive")
def take_in_archive(
    services: AppServices, viewer: SignedIn, file: Annotated[UploadFile | None, File()] = None
) -> Response:
    """Put an archive's content into the draft, where it can be looked at."""
    files = unzipped(file.file.read(ARCHIVE_MAX + 1) if file else b"")
    services.writes.write(viewer.team.id, lambda t: take_archive(t, viewer, files, services.now()))
    return redirect_to(INSTALL)


def coach_names(t: TeamSession) -> dict[str, str]:
    """What the team's coaches are called, those who are gone too."""
    return {one.id: one.name for one in t.rows(Member, col(Member.role) != AccountRole.PLAYER.value)}
