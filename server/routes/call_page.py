"""A call as a coach edits it: the field is the form. Each form is one edit of the draft; the page that comes back shows
what it does."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from typing import Annotated, Any

from fastapi import APIRouter, Form, Path, Query, Request
from pydantic import BeforeValidator, Field, StringConstraints
from starlette.responses import Response

from server.accounts.permissions import HEADS
from server.database.store import TeamSession
from server.errors import BadInput, NotFound
from server.i18n.languages import language_of
from server.mastery.values import SIDES
from server.opponents.tendencies import find_next, runs_of
from server.playbook.content_edits import MakeEdit
from server.playbook.engine import CallSide
from server.playbook.workbench import (
    FieldAsked,
    add_call_edit,
    call_row,
    choices_of,
    field_edit,
    job_edit,
    men_of_call,
    nudge_edit,
    place_edit,
    remove_edit,
    rows_of,
    show_edit,
    what_hangs_on,
)
from server.reading.fields import Sent, Text
from server.routes.workbench import EditNumber, coach_names
from server.team.draft import Draft, EditClash, load_draft, newest_number, store_edit
from server.web.deps import AppServices, Services, SignedIn, services_of, viewer_of
from server.web.responses import address, page, redirect_to

router = APIRouter()
NUDGES = ("in", "out", "closer", "deeper")

NounKey = Annotated[str, StringConstraints(pattern=r"^[a-z0-9][a-z0-9-]{0,79}$")]
CallKey = Annotated[str, Path(pattern=r"^[a-z0-9][a-z0-9-]{0,79}$")]
SideOrNone = Annotated[str, StringConstraints(pattern="^(left|right)?$")]
Word = Annotated[str, StringConstraints(max_length=40)]
Yards = Annotated[float | None, BeforeValidator(lambda given: None if given == "" else given), Field(ge=-30, le=40)]
Anyway = Annotated[str, StringConstraints(pattern="^1?$")]


class Shown(Sent):
    """What of the call is shown: its side, the formation, a run and its side (empty: before the snap), the man."""

    to: SideOrNone = ""
    formation: Text = ""
    run: Text = ""
    run_to: SideOrNone = ""
    man: Annotated[str, StringConstraints(pattern=r"^([a-z0-9][a-z0-9-]{0,79})?$")] = ""
    kept: Anyway = ""

    def query(self, **other: str) -> dict[str, str]:
        """The page's own query, without what is empty."""
        asked = {"to": self.to, "formation": self.formation, "run": self.run, "run_to": self.run_to, "man": self.man}
        return {name: value for name, value in {**asked, **other}.items() if value}


class ManForm(Shown):
    """Where a man stands and what he does; ``action`` is "save" or which way he is nudged."""

    seen: EditNumber
    anyway: Anyway = ""
    action: Annotated[str, StringConstraints(pattern="^(save|front|in|out|closer|deeper)$")] = "save"
    stands_depth: Yards = None
    stands_on: Word = ""
    shade: Word = ""
    side: Word = ""
    out: Yards = None
    depth: Yards = None
    does: Annotated[str, StringConstraints(pattern="^(rush|drop)$")] = "drop"
    gap: Word = ""
    order: Word = ""
    path: Word = ""
    part: Word = ""
    second_gap: Word = ""
    cover: Word = ""
    job: Word = ""
    drop_side: Word = ""
    drop_gap: Word = ""
    drop_second_gap: Word = ""
    drop_man: Word = ""
    shows_on: Word = ""
    shows_side: Word = ""
    shows_depth: Yards = None

    def place(self) -> dict[str, Any]:
        """Where he stands as a row; a technique says the shade already."""
        on, is_technique = self.stands_on, not self.stands_on.startswith("on ")
        where: dict[str, Any] = (
            {"technique": on} if is_technique else {"on": on.removeprefix("on "), "shade": self.shade}
        )
        return _filled({**where, "side": self.side, "out": self.out or None, "depth": self.depth})

    def work(self) -> dict[str, Any]:
        """What he does as a row."""
        if self.does == "drop":
            given = {"cover": self.cover, "run": self.job, "side": self.drop_side, "gap": self.drop_gap}
            return _filled({**given, "second_gap": self.drop_second_gap, "man": self.drop_man})
        order = int(self.order) if self.order.isdigit() else self.order
        second = self.second_gap if self.part == "two-gap" else ""
        return _filled({"gap": self.gap, "order": order, "path": self.path, "part": self.part, "second_gap": second})

    def shown_place(self) -> dict[str, Any]:
        """The place that he shows as a row; empty when he shows none."""
        if not self.shows_on:
            return {}
        is_technique = not self.shows_on.startswith("on ")
        where = {"technique": self.shows_on} if is_technique else {"on": self.shows_on.removeprefix("on ")}
        return _filled({**where, "side": self.shows_side, "depth": self.shows_depth})


class CallForm(Shown):
    """A field of the call itself."""

    seen: EditNumber
    anyway: Anyway = ""
    field: Annotated[str, StringConstraints(pattern="^(front|coverage)$")]
    value: Text = ""


class NewCallForm(Sent):
    """A new call's name, and the call that it begins as a copy of."""

    name: Text
    like: NounKey


class RemoveForm(Sent):
    """A call to take out."""

    seen: EditNumber
    anyway: Anyway = ""


def _filled(row: dict[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in row.items() if value not in ("", None)}


@dataclass(frozen=True, slots=True)
class Opened:
    """A call of the draft as it is shown: its row, what is shown, and which formations the next opponent uses most."""

    key: str
    row: dict[str, Any]
    draft: Draft
    shown: Shown
    uses: Counter[str]


def open_call(t: TeamSession, services: Services, key: str, shown: Shown) -> Opened:
    """The call with a formation and a side chosen. Raises: NotFound."""
    draft = load_draft(t)
    try:
        row = dict(call_row(draft.replayed.documents, key))
    except BadInput:
        raise NotFound("There is no such call in your defense.") from None
    foe = find_next(t)
    uses: Counter[str] = Counter()
    for run in runs_of(foe) if foe else ():
        uses[run.formation] += round(run.snaps)
    formations = rows_of(draft.replayed.documents, "formation")
    known = {str(one["name"]): str(one["key"]) for one in formations}
    most = max(formations, key=lambda one: uses[str(one["key"])], default=None)
    formation = shown.formation if shown.formation in known else str(most["name"]) if most else ""
    chosen = shown.model_copy(
        update={"formation": formation, "to": shown.to or "right", "run_to": shown.run_to or "right"}
    )
    return Opened(key, row, draft, chosen, Counter({name: uses[key] for name, key in known.items()}))


@router.get("/coach/defense/calls/{call}")
def show_call(request: Request, call: CallKey, shown: Annotated[Shown, Query()]) -> Response:
    """The call on the field, with the man who is chosen beside it."""
    return call_page(request, call, shown)


def call_page(
    request: Request, call: str, shown: Shown, refusal: BadInput | None = None, typed: ManForm | None = None
) -> Response:
    """The page; after a refusal with why, and what was typed."""
    services, viewer = services_of(request), viewer_of(request)
    with services.store.read(viewer.team.id) as t:
        opened = open_call(t, services, call, shown)
    language, draft, here = language_of(request.scope), opened.draft, f"/coach/defense/calls/{call}"
    files, documents, name = draft.files, draft.replayed.documents, str(opened.row["name"])
    problems: list[str] = []
    field, sound, before = None, None, None
    men = {one.key: one for one in men_of_call(documents, call)}
    bench = services.workbench
    try:
        sides = bench.sides(files, name, opened.shown.formation)
        to = opened.shown.to if CallSide(opened.shown.to) in sides or not sides else sides[0].value
        opened.shown.to = to
        asked = FieldAsked(
            name,
            CallSide(to),
            opened.shown.formation,
            opened.shown.man,
            opened.shown.run,
            CallSide(opened.shown.run_to),
        )
        field = bench.field(files, asked, language.translate_template)
        sound = bench.sound(files, name, CallSide(to))
        if draft.is_changed:
            before = _installed_sound(services, viewer.team.id, call, CallSide(to))
    except BadInput as error:
        problems = [str(one) for one in error.details] or [language.translate(error.message)]
    own = men.get(opened.shown.man)
    if own is not None and typed is not None:  # nothing typed is lost
        own = replace(own, place=typed.place(), does=typed.does, job=typed.work(), shows=typed.shown_place())
    addresses = {key: address(here, **opened.shown.query(man=key)) for key in men}
    depths = {one.key: one for one in field.men} if field else {}
    return page(
        request,
        "coach/call_field.html",
        refusal.status if refusal else 200,
        call=opened.key,
        row=opened.row,
        shown=opened.shown,
        draft=draft,
        field=field,
        svg=field.drawn(addresses, opened.shown.man) if field else "",
        sound=sound,
        before=before,
        problems=problems,
        refused=language.translate(refusal.message) if refusal else "",
        men=list(men.values()),
        told=depths,
        own=own,
        addresses=addresses,
        choices=choices_of(documents),
        formations=[(str(one["name"]), opened.uses[str(one["name"])]) for one in rows_of(documents, "formation")],
        runs=[str(one["name"]) for one in rows_of(documents, "run")],
        fronts=[str(one["name"]) for one in rows_of(documents, "front")],
        calls=[(str(one["key"]), str(one["name"])) for one in rows_of(documents, "call")],
        sides=list(SIDES),
        own_last=draft.last_of(viewer.member.id),
        own_next=draft.next_of(viewer.member.id),
        back=address(here, **opened.shown.query()),
        may_change=viewer.role in HEADS,
    )


def _installed_sound(services: Services, team_id: str, call: str, to: CallSide) -> Any:
    """How often the call is sound as it is installed; None when it is new."""
    playbook = services.playbooks.of(services.store.find_team(team_id=team_id))  # type: ignore[arg-type]
    installed = next((one.name for one in playbook.team.pressures if one.key == call), None)
    return services.workbench.sound_of(playbook, installed, to) if installed else None


@router.post("/coach/defense/calls/{call}/men/{man}")
def change_man(
    request: Request,
    call: CallKey,
    man: CallKey,
    form: Annotated[ManForm, Form()],
    services: AppServices,
    viewer: SignedIn,
) -> Response:
    """Store what the man's form changes: where he stands, what he does, what he shows, each an edit of its own."""
    here = f"/coach/defense/calls/{call}"
    try:
        met = services.writes.write(viewer.team.id, lambda t: _store_man(t, services, viewer, call, man, form))
    except BadInput as refusal:
        return call_page(request, call, Shown(**form.query(man=man)), refusal, form)
    if met is not None:
        return both_page(request, met, f"{here}/men/{man}", form, address(here, **form.query(man=man), kept=1))
    return redirect_to(here, **form.query(man=man))


def _store_man(t: TeamSession, services: Services, viewer: Any, call: str, man: str, form: ManForm) -> EditClash | None:
    """Store the edits that the form makes; the first that meets another coach's is returned, and none is stored."""
    documents = load_draft(t).replayed.documents
    now = next((one for one in men_of_call(documents, call) if one.key == man), None)
    if now is None:
        raise NotFound("There is no such man in this call.")
    makes: list[MakeEdit] = []
    if form.action in NUDGES:
        makes = [nudge_edit(call, man, form.action, form.stands_depth or 0.0)]
    elif form.action == "front":
        makes = [place_edit(call, man, {})]
    else:
        if _differs(form.place(), now.place):
            makes.append(place_edit(call, man, form.place()))
        if form.does != now.does or _differs(form.work(), now.job):
            makes.append(job_edit(call, man, form.does, form.work()))
        if _differs(form.shown_place(), {name: value for name, value in now.shows.items() if name not in NOT_ASKED}):
            makes.append(show_edit(call, man, form.shown_place()))
    seen = form.seen
    for make in makes:
        stored = store_edit(t, viewer, make, seen, services.now(), anyway=bool(form.anyway))
        if isinstance(stored, EditClash):
            return stored
    return None


#: What the file may say of the place that a man shows and the page does not ask: it stays until another is chosen.
NOT_ASKED = frozenset({"shade", "out"})
#: What a row may leave out, and what it then means.
DEFAULTS = {"order": 1, "path": "straight", "part": "gap", "shade": "head-up", "out": 0}


def _differs(one: dict[str, Any], other: Any) -> bool:
    """Whether two rows say something else; what is left at its default says nothing."""
    plain = [
        {k: str(v) if k == "technique" else v for k, v in row.items() if DEFAULTS.get(k) != v} for row in (one, other)
    ]
    return plain[0] != plain[1]


@router.post("/coach/defense/calls/{call}/field")
def change_call(
    request: Request, call: CallKey, form: Annotated[CallForm, Form()], services: AppServices, viewer: SignedIn
) -> Response:
    """Change the call's front, coverage or side."""
    here = f"/coach/defense/calls/{call}"
    make = field_edit("call", call, form.field, form.value)
    try:
        met = services.writes.write(
            viewer.team.id, lambda t: store_edit(t, viewer, make, form.seen, services.now(), anyway=bool(form.anyway))
        )
    except BadInput as refusal:
        return call_page(request, call, Shown(**form.query()), refusal)
    if isinstance(met, EditClash):
        return both_page(request, met, f"{here}/field", form, here)
    return redirect_to(here, **form.query())


@router.post("/coach/defense/calls")
def add_call(
    request: Request, form: Annotated[NewCallForm, Form()], services: AppServices, viewer: SignedIn
) -> Response:
    """Add a call to the draft as a copy of another, and open it."""
    make, name = add_call_edit(form.name.strip(), form.like), form.name.strip()

    def add(t: TeamSession) -> str:
        store_edit(t, viewer, make, newest_number(t), services.now())
        rows = rows_of(load_draft(t).replayed.documents, "call")
        return next(str(one["key"]) for one in rows if one["name"] == name)

    try:
        key = services.writes.write(viewer.team.id, add)
    except BadInput as refusal:
        return call_page(request, form.like, Shown(), refusal)
    return redirect_to(f"/coach/defense/calls/{key}")


@router.get("/coach/defense/calls/{call}/remove")
def show_remove(request: Request, call: CallKey, services: AppServices, viewer: SignedIn) -> Response:
    """What hangs on a call, before it is taken out."""
    with services.store.read(viewer.team.id) as t:
        opened = open_call(t, services, call, Shown())
    hangs = what_hangs_on(opened.draft.replayed.documents, "call", call)
    return page(request, "coach/call_remove.html", call=call, row=opened.row, hangs=hangs, draft=opened.draft)


@router.post("/coach/defense/calls/{call}/remove")
def remove_call(
    request: Request, call: CallKey, form: Annotated[RemoveForm, Form()], services: AppServices, viewer: SignedIn
) -> Response:
    """Take a call out of the draft."""
    make = remove_edit("call", call)
    met = services.writes.write(
        viewer.team.id, lambda t: store_edit(t, viewer, make, form.seen, services.now(), anyway=bool(form.anyway))
    )
    here = f"/coach/defense/calls/{call}"
    if isinstance(met, EditClash):
        return both_page(request, met, f"{here}/remove", form, here)
    return redirect_to("/coach/defense/install")


def both_page(request: Request, met: EditClash, action: str, form: Sent, back: str) -> Response:
    """Another coach changed the same: both values, and the choice."""
    services, viewer = services_of(request), viewer_of(request)
    with services.store.read(viewer.team.id) as t:
        names = coach_names(t)
    sent = {name: value for name, value in form.model_dump().items() if value not in ("", None) and name != "anyway"}
    return page(request, "coach/both.html", 409, met=met, names=names, action=action, sent=sent, back=back)
