"""Where a call is short: against every run from every formation, or against one opponent; what is accepted of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated

from fastapi import APIRouter, Form, Query, Request
from pydantic import StringConstraints
from starlette.responses import Response

from server.accounts.permissions import HEADS
from server.database.tables import Opponent
from server.errors import BadInput
from server.i18n.languages import language_of
from server.mastery.values import SIDES
from server.opponents.acceptances import WHY_MAX, AcceptedLine, accept, check_why, load_accepted, take_back
from server.opponents.tendencies import find_opponent, opponents, runs_of
from server.playbook.charted import AcceptedSnap, to_opponent
from server.playbook.engine import CallSide
from server.playbook.mending_jobs import MendingAsked
from server.playbook.noun_names import NounKind
from server.playbook.playbooks import Playbook
from server.reading.fields import Id, Sent, Text
from server.team.defense import to_table
from server.web.deps import AppServices, SignedIn, services_of, viewer_of
from server.web.responses import page, redirect_to

if TYPE_CHECKING:
    from server.playbook.engine import AcceptedLack, ChartedOpponent

router = APIRouter()
BOTH = "both"
MENDINGS_SHOWN = 20

OpponentId = Annotated[str, StringConstraints(pattern=r"^[A-Za-z0-9_-]{0,64}$")]
CallGoes = Annotated[str, StringConstraints(pattern="^(left|right|both)?$")]


class SoundFields(Sent):
    """A call, its side (empty: both against an opponent, else right), and the opponent (empty: everything)."""

    call: Text
    to: CallGoes = ""
    against: OpponentId = ""


class MendFields(SoundFields):
    """What would mend a call, and which of it to show (empty: all)."""

    show: Annotated[str, StringConstraints(pattern="^(one|two|free)?$")] = ""


class AcceptForm(Sent):
    """A run that a call is short against, at the call or away from it, as the page shows it, and why it is accepted."""

    call: Text
    to: CallGoes = ""
    against: Id
    play: Text
    at: Annotated[str, StringConstraints(pattern="^(call|away)$")] = "call"
    why: Text = ""


@dataclass(frozen=True, slots=True)
class Against:
    """A call against an opponent as it is asked for: by name, its side (None: both), and what is accepted of it."""

    playbook: Playbook
    call: str
    to: CallSide | None
    opponent: Opponent
    foes: list[Opponent]
    lines: list[AcceptedLine]

    @property
    def asked(self) -> tuple[str, CallSide | None, ChartedOpponent, list[AcceptedLack]]:
        """What quizgen is asked."""
        foe = to_opponent(self.playbook, self.opponent.name, self.opponent.key, runs_of(self.opponent))
        return self.call, self.to, foe, [lack for line in self.lines for lack in line.lacks]


def gather(request: Request, fields: SoundFields | AcceptForm) -> Against:
    """Load a call against an opponent. Raises: BadInput, NotFound."""
    services, viewer = services_of(request), viewer_of(request)
    playbook = services.playbooks.of(viewer.team)
    key = playbook.check_call(fields.call)
    to = CallSide(fields.to) if fields.to in SIDES else None
    with services.store.read(viewer.team.id) as t:
        foe = find_opponent(t, fields.against)
        return Against(
            playbook, playbook.name(NounKind.CALL, key), to, foe, opponents(t), load_accepted(t, playbook, key)
        )


@router.get("/coach/defense/sound")
def show_sound(
    request: Request, fields: Annotated[SoundFields, Query()], services: AppServices, viewer: SignedIn
) -> Response:
    """Where a call is short: against an opponent, or against every run from every formation."""
    if fields.against:
        return show_against(request, gather(request, fields))
    playbook = services.playbooks.of(viewer.team)
    key = playbook.check_call(fields.call)
    name, to = playbook.name(NounKind.CALL, key), fields.to if fields.to in SIDES else "right"
    held = playbook.ask(
        lambda catalogue: playbook.football.sound_table(catalogue, name, CallSide(to)), language_of(request.scope)
    )
    with services.store.read(viewer.team.id) as t:
        foes, lines = opponents(t), load_accepted(t, playbook, key)
    return page(
        request,
        "coach/sound.html",
        call=name,
        calls=[one.name for one in playbook.team.pressures],
        to=to,
        sides=list(SIDES),
        table=to_table(held),
        rule=playbook.football.side_rule(playbook.team, name, CallSide(to)),
        foes=foes,
        lines=lines,
        may_accept=viewer.role in HEADS,
    )


def show_against(
    request: Request, found: Against, form: AcceptForm | None = None, refusal: BadInput | None = None
) -> Response:
    """A call against an opponent; after a refusal with what was typed."""
    playbook = found.playbook
    say = language_of(request.scope).translate_template
    held = playbook.football.hold_against(playbook.team, say, *found.asked)
    rules = [
        (side, playbook.football.side_rule(playbook.team, found.call, CallSide(side)))
        for side in ([found.to.value] if found.to else SIDES)
    ]
    return page(
        request,
        "coach/sound_against.html",
        refusal.status if refusal else 200,
        problem=refusal.message if refusal else "",
        form=form,
        call=found.call,
        calls=[one.name for one in playbook.team.pressures],
        to=found.to.value if found.to else BOTH,
        sides=list(SIDES),
        rules=[(side, rule) for side, rule in rules if rule[0]],
        opponent=found.opponent,
        foes=found.foes,
        held=held,
        lines=[(line, sum(held.accepted.get(lack, 0.0) for lack in line.lacks)) for line in found.lines],
        may_accept=viewer_of(request).role in HEADS,
        why_max=WHY_MAX,
    )


@router.get("/coach/defense/mend")
def show_mend(
    request: Request, fields: Annotated[MendFields, Query()], services: AppServices, viewer: SignedIn
) -> Response:
    """What would mend a call against an opponent, as far as it is worked out; the first look starts that."""
    found = gather(request, fields)
    playbook, say = found.playbook, language_of(request.scope).translate_template
    call, to, foe, _ = found.asked
    job = services.mendings.of(playbook, MendingAsked(viewer.team.id, viewer.team.content_hash, call, to, foe))
    rows = playbook.football.say_mendings(playbook.team, say, list(job.found)) if job else []
    shown = {
        "": rows,
        "one": [row for row in rows if len(row.changes) == 1],
        "two": [row for row in rows if len(row.changes) > 1],
        "free": [row for row in rows if not row.costs],
    }
    is_done = job is not None and job.seconds is not None
    held = playbook.football.hold_against(playbook.team, say, *found.asked) if is_done and not rows else None
    return page(
        request,
        "coach/mend.html",
        call=call,
        to=to.value if to else BOTH,
        sides=list(SIDES),
        opponent=found.opponent,
        job=job,
        is_done=is_done,
        tried=[*(job.tried if job else ()), 0, 0],
        problem=job.problem if job else "",
        best=rows[0] if rows else None,
        counts={which: len(some) for which, some in shown.items()},
        show=fields.show,
        rows=shown[fields.show][:MENDINGS_SHOWN],
        held=held,
        may_edit=viewer.role in HEADS,
        why_max=WHY_MAX,
    )


@router.post("/coach/defense/accepted")
def accept_run(
    request: Request, form: Annotated[AcceptForm, Form()], services: AppServices, viewer: SignedIn
) -> Response:
    """Accept everything that a run finds short now, with a reason."""
    found = gather(request, form)
    playbook, now = found.playbook, services.now()
    try:
        why = check_why(form.why)
        short = playbook.football.short_snaps(playbook.team, *found.asked, (form.play, form.at == "call"))
        snaps = [
            AcceptedSnap(
                playbook.check_call(one.call),
                one.to.value,
                playbook.find_key(NounKind.FORMATION, one.formation) or one.formation,
                playbook.find_key(NounKind.PLAY, one.play) or one.play,
                one.play_to.value,
                why,
                one.lack,
            )
            for one in short
        ]
        services.writes.write(viewer.team.id, lambda t: accept(t, viewer.member.id, snaps, now))
    except BadInput as refusal:
        return show_against(request, found, form, refusal)
    return redirect_to("/coach/defense/sound", call=found.call, to=form.to, against=form.against)


@router.post("/coach/defense/accepted/{accepted_id}/undo")
def undo(accepted_id: Id, form: Annotated[SoundFields, Form()], services: AppServices, viewer: SignedIn) -> Response:
    """No longer accept what was accepted together; back to the page it was on."""
    services.writes.write(viewer.team.id, lambda t: take_back(t, viewer.member.id, accepted_id, services.now()))
    return redirect_to("/coach/defense/sound", call=form.call, to=form.to, against=form.against)
