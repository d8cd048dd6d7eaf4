"""A team begins in the browser: the address that works once, then its words, the questions on which staffs differ, and
its players."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated

from fastapi import APIRouter, Form, Request
from pydantic import Field, StringConstraints
from starlette.responses import Response

from server.accounts.credentials import PASSPHRASE_MIN
from server.database.store import TeamSession
from server.errors import BadInput
from server.i18n.languages import language_of
from server.playbook.asks import ASKED, NUMBERINGS, asked_rules
from server.playbook.content_edits import MakeEdit
from server.playbook.workbench import field_edit, rename_edit, rows_of, rule_edit, word_edit
from server.reading.fields import Sent, Text
from server.routes.entry import with_session
from server.team.beginning import NewTeam, begin_team, find_invite, team_of_invite
from server.team.draft import install, load_draft, newest_number, store_edit
from server.team.starters import starter_names
from server.web.deps import AppServices, Services, SignedIn, device_of, services_of, viewer_of
from server.web.responses import page, redirect_to

router = APIRouter()
ZONES: tuple[str, ...] = (
    "America/New_York",
    "America/Chicago",
    "America/Denver",
    "America/Phoenix",
    "America/Los_Angeles",
)
ZONES += ("America/Anchorage", "Pacific/Honolulu", "America/Puerto_Rico", "America/Mexico_City", "Europe/Berlin", "UTC")
LETTERS = ("A", "B", "C", "D", "E")
NOTE = "set-up"

Short = Annotated[str, StringConstraints(max_length=60)]
Key = Annotated[str, StringConstraints(pattern=r"^[a-z0-9][a-z0-9-]{0,79}$")]


class BeginForm(Sent):
    """A new team and its first coach."""

    team: Short = ""
    time_zone: Short = "America/Chicago"
    starter: Short = ""
    owner: Short = ""
    passphrase: Annotated[str, StringConstraints(max_length=200)] = ""


class WordsForm(Sent):
    """The positions' names and letters, in the order of their keys; the gaps' words in the order of their letters."""

    keys: Annotated[list[Key], Field(max_length=30)]
    names: Annotated[list[Short], Field(max_length=30)]
    labels: Annotated[list[Short], Field(max_length=30)]
    words: Annotated[list[Short], Field(max_length=5)]


class AsksForm(Sent):
    """The answers on which staffs differ; empty leaves what is there."""

    edge: Text = ""
    pull_first: Text = ""
    pull_second: Text = ""
    numbering: Text = ""


@router.get("/begin/{token}")
def show_begin(request: Request, token: Text) -> Response:
    """The page that begins a team."""
    return begin_page(request, token, BeginForm())


def begin_page(request: Request, token: str, form: BeginForm, problem: str = "") -> Response:
    """The page; after a refusal with what was typed, but for the passphrase."""
    services = services_of(request)
    with services.store.read(team_of_invite(token)) as t:
        find_invite(t, token, services.now())
    return page(
        request,
        "player/begin.html",
        422 if problem else 200,
        token=token,
        form=form,
        problem=problem,
        starters=starter_names(),
        zones=ZONES,
        shortest=PASSPHRASE_MIN,
    )


@router.post("/begin/{token}")
def begin(request: Request, token: Text, form: Annotated[BeginForm, Form()], services: AppServices) -> Response:
    """Begin the team, and sign its owner in on this device."""
    new = NewTeam(form.team, form.time_zone, form.starter, form.owner, form.passphrase)
    football, now = services.playbooks.football, services.now()
    try:
        team, owner = services.writes.write(team_of_invite(token), lambda t: begin_team(t, football, token, new, now))
    except BadInput as refusal:
        return begin_page(request, token, form, refusal.message)
    session = services.sign_ins.sign_in_coach(team.id, owner.name, form.passphrase, device_of(request), now)
    return with_session(request, redirect_to("/coach/set-up/words"), session, services.settings.coach_session_days)


@router.get("/coach/set-up/words")
def show_words(request: Request) -> Response:
    """The positions' names and letters, and the words for gaps."""
    return words_page(request)


def words_page(request: Request, form: WordsForm | None = None, problem: str = "") -> Response:
    """The page; after a refusal with what was typed."""
    services, viewer = services_of(request), viewer_of(request)
    with services.store.read(viewer.team.id) as t:
        documents = load_draft(t).replayed.documents
    rows = rows_of(documents, "position")
    gaps = documents.get("rules.toml", {}).get("words", {}).get("gaps", {})
    positions = [(row["key"], row["name"], row["label"], row["group"]) for row in rows]
    if form is not None:
        typed = zip(positions, form.names, form.labels, strict=False)
        positions = [(one[0], name, label, one[3]) for one, name, label in typed]
    words = form.words if form else [gaps.get(letter, "") for letter in LETTERS]
    return page(
        request,
        "coach/set_up_words.html",
        422 if problem else 200,
        positions=positions,
        gaps=list(zip(LETTERS, words, strict=False)),
        problem=problem,
    )


@router.post("/coach/set-up/words")
def keep_words(
    request: Request, form: Annotated[WordsForm, Form()], services: AppServices, viewer: SignedIn
) -> Response:
    """Call positions and gaps what the team calls them."""
    with services.store.read(viewer.team.id) as t:
        rows = {row["key"]: row for row in rows_of(load_draft(t).replayed.documents, "position")}
    makes: list[MakeEdit] = []
    for key, label in zip(form.keys, form.labels, strict=False):
        if key in rows and label.strip() != rows[key]["label"]:
            makes.append(field_edit("position", key, "label", label.strip()))
    for key, name in zip(form.keys, form.names, strict=False):
        if key in rows and name.strip() != rows[key]["name"]:
            makes.append(rename_edit("position", key, name.strip()))
    makes += [word_edit(letter, word.strip()) for letter, word in zip(LETTERS, form.words, strict=False)]
    try:
        keep(services, viewer, makes)
    except BadInput as refusal:
        return words_page(request, form, language_of(request.scope).translate(refusal.message))
    return redirect_to("/coach/set-up/asks")


@router.get("/coach/set-up/asks")
def show_asks(request: Request, services: AppServices, viewer: SignedIn) -> Response:
    """The questions on which staffs differ, each answer drawn."""
    with services.store.read(viewer.team.id) as t:
        draft = load_draft(t)
    language = language_of(request.scope)
    rules = draft.replayed.documents.get("rules.toml", {}).get("rules", {})
    return page(
        request,
        "coach/set_up_asks.html",
        rules=asked_rules(draft.files, language.translate_template),
        numberings=NUMBERINGS,
        numbering=rules.get("numbering", NUMBERINGS[0]),
    )


@router.post("/coach/set-up/asks")
def keep_asks(form: Annotated[AsksForm, Form()], services: AppServices, viewer: SignedIn) -> Response:
    """Answer them for the whole team."""
    given = {rule: getattr(form, rule) for rule in (*ASKED, "numbering") if getattr(form, rule)}
    keep(services, viewer, [rule_edit(rule, value) for rule, value in given.items()])
    return redirect_to("/coach/roster/import")


def keep(services: Services, viewer: SignedIn, makes: Sequence[MakeEdit]) -> None:
    """Store these edits, and install them at once where nobody has drafted anything else: a team that begins has
    nobody yet who was asked about it. Raises: BadInput."""

    def store(t: TeamSession) -> None:
        was_empty = not load_draft(t).is_changed
        for make in makes:
            store_edit(t, viewer, make, newest_number(t), services.now(), anyway=True)
        if was_empty and load_draft(t).is_changed:
            install(t, services.playbooks.football, viewer, NOTE, newest_number(t), services.now())

    services.writes.write(viewer.team.id, store)
