"""What leaves for other programs, in open standards: questions (QTI), answers (xAPI), due sets (iCalendar, CSV)."""

from __future__ import annotations

from zoneinfo import ZoneInfo

from fastapi import APIRouter, Request
from starlette.responses import Response, StreamingResponse

from server.accounts.members import write_audit
from server.database.tables import KeptRep, Purpose
from server.i18n.languages import language_of
from server.playbook.playbooks import Playbook
from server.playbook.question_package import PACKAGE_TYPE, make_package
from server.progress.board import seen_players
from server.progress.results_csv import count_answers
from server.progress.xapi import statement_lines
from server.reading.csv_files import to_csv
from server.reading.fields import Text
from server.routes.results import chosen
from server.routes.roster import base_address, team_link
from server.sets.set_names import name_of_set
from server.sets.set_report import every_sent
from server.web.calendar_reply import calendar_of
from server.web.deps import AppServices, Services, SignedIn
from server.web.responses import csv_file

router = APIRouter()
#: Reps of a position, stage and side in a package of questions.
OF_CELL = 2
SETS_HEADER = ("Set", "Reps", "Check", "Sent", "Due", "Players", "Opened", "Finished")


@router.get("/coach/call/questions.zip")
def questions(request: Request, services: AppServices, viewer: SignedIn, name: Text = "", group: Text = "") -> Response:
    """A call's questions as a QTI 3.0 package, of a group's positions if given."""
    playbook = services.playbooks.of(viewer.team)
    call = playbook.check_call(name)
    positions = [p.key for p in playbook.positions if viewer.sees_group(p.group) and group in ("", p.group)]
    language = language_of(request.scope)
    reps = questions_of(services, playbook, viewer.team.id, call, positions)
    title = f"{viewer.team.name}: {services.playbooks.names_of(viewer.team).call(call)}"
    package = make_package(playbook.translated(reps, language), title, language.code)
    return attachment(package, PACKAGE_TYPE, f"{call}-questions.zip")


def questions_of(
    services: Services, playbook: Playbook, team_id: str, call: str, positions: list[str]
) -> list[KeptRep]:
    """The first reps of each position, stage and side, drawn in portions, so that other requests come between."""
    found: list[KeptRep] = []
    for position in positions:
        for stage in sorted(playbook.stages_of(call).get(position, ())):
            for side in ("left", "right"):
                ids = [rep.id for rep in playbook.pool(call, [position], [stage], [side])[:OF_CELL]]
                found.extend(playbook.snapshots(team_id, ids, services.now()))
    return found


@router.get("/coach/results.xapi.json")
def statements(
    request: Request, services: AppServices, viewer: SignedIn, call: Text = "", group: Text = ""
) -> Response:
    """Answers as xAPI statements, by number and without names; logged as the CSV file is."""
    playbook, now = services.playbooks.of(viewer.team), services.now()
    with services.store.read(viewer.team.id) as t:
        wanted = chosen(request, t, playbook, call, group)
        count = count_answers(t, wanted)
    subject = f"xAPI: {count} rows about {len(wanted.members)} players"
    services.writes.write(viewer.team.id, lambda t: write_audit(t, viewer.member.id, "exported results", subject, now))
    lines = statement_lines(services.store, viewer.team, wanted, base_address(request), now)
    return StreamingResponse(
        lines,
        media_type="application/json",
        headers={"Content-Disposition": 'attachment; filename="answers.xapi.json"'},
    )


@router.get("/coach/sets-due.ics")
def due_sets(request: Request, services: AppServices, viewer: SignedIn) -> Response:
    """All sets that are still to do, as one calendar file."""
    playbook = services.playbooks.of(viewer.team)
    with services.store.read(viewer.team.id) as t:
        rows = every_sent(t, viewer, playbook, seen_players(t, playbook, viewer), services.now())
    due = [row.set for row in rows if not row.is_over and row.set.closed_at is None]
    return calendar_of(request, due, team_link(request, viewer.team.join_code), "sets-due.ics")


@router.get("/coach/sets.csv")
def sets_table(request: Request, services: AppServices, viewer: SignedIn) -> Response:
    """All sets with how many opened and finished them; no player."""
    playbook, zone = services.playbooks.of(viewer.team), ZoneInfo(viewer.team.time_zone)
    names, language = services.playbooks.names_of(viewer.team), language_of(request.scope)
    with services.store.read(viewer.team.id) as t:
        rows = every_sent(t, viewer, playbook, seen_players(t, playbook, viewer), services.now())
    lines = [
        (
            *(
                name_of_set(names, language, row.set),
                row.set.length,
                "yes" if row.set.purpose == Purpose.CHECK else "no",
            ),
            *(f"{at.astimezone(zone):%Y-%m-%d %H:%M}" for at in (row.set.created_at, row.set.due_at)),
            *(row.players, row.opened, row.finished),
        )
        for row in rows
    ]
    return csv_file(to_csv(SETS_HEADER, lines), "sets.csv")


def attachment(content: bytes, kind: str, name: str) -> Response:
    """A file to keep."""
    return Response(content, media_type=kind, headers={"Content-Disposition": f'attachment; filename="{name}"'})
