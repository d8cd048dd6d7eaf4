"""Results as CSV: first a page with the number of rows and players; then the file. The download is logged."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request
from starlette.responses import Response

from server.accounts.members import write_audit
from server.database.store import TeamSession
from server.playbook.playbooks import Playbook
from server.progress.board import groups_of, seen_players
from server.progress.results_csv import CALLS_HEADER, ResultsFilter, answer_lines, call_rows, count_answers
from server.reading.csv_files import to_csv
from server.reading.fields import Text
from server.web.deps import AppServices, SignedIn, viewer_of
from server.web.responses import csv_file, page

router = APIRouter()
Kind = Annotated[str, Query(pattern="^(calls|answers)$")]


def chosen(request: Request, t: TeamSession, playbook: Playbook, call: str, group: str) -> ResultsFilter:
    """The results of the players that the coach sees, of one group and call if given. Raises: BadInput."""
    viewer = viewer_of(request)
    members = [m for m in seen_players(t, playbook, viewer) if not group or group in groups_of(m, playbook)]
    return ResultsFilter(members, playbook.check_call(call) if call else "")


@router.get("/coach/results")
def show_results(
    request: Request, services: AppServices, viewer: SignedIn, kind: Kind = "calls", call: Text = "", group: Text = ""
) -> Response:
    """How many rows, about how many players, a file would have."""
    playbook = services.playbooks.of(viewer.team)
    with services.store.read(viewer.team.id) as t:
        wanted = chosen(request, t, playbook, call, group)
        calls = 1 if call else len(playbook.calls)
        rows = count_answers(t, wanted) if kind == "answers" else len(wanted.members) * calls
    return page(
        request,
        "coach/results.html",
        kind=kind,
        call=wanted.call,
        group=group,
        calls=playbook.calls,
        group_names=list(dict.fromkeys(p.group for p in playbook.positions if viewer.sees_group(p.group))),
        rows=rows,
        players=len(wanted.members),
    )


@router.get("/coach/results.csv")
def results_file(
    request: Request, services: AppServices, viewer: SignedIn, kind: Kind = "calls", call: Text = "", group: Text = ""
) -> Response:
    """The file."""
    playbook, now = services.playbooks.of(viewer.team), services.now()
    names = services.playbooks.names_of(viewer.team)
    team_state = services.team_states.of(services.store, viewer.team.id, playbook)
    with services.store.read(viewer.team.id) as t:
        wanted = chosen(request, t, playbook, call, group)
        rows = list(call_rows(t, wanted, playbook, names, team_state, now)) if kind == "calls" else []
        count = len(rows) if kind == "calls" else count_answers(t, wanted)
    subject = f"{kind}: {count} rows about {len(wanted.members)} players"
    services.writes.write(viewer.team.id, lambda t: write_audit(t, viewer.member.id, "exported results", subject, now))
    if kind == "calls":
        return csv_file(to_csv(CALLS_HEADER, rows), "calls.csv")
    return csv_file(answer_lines(services.store, viewer.team, wanted, names, now), "answers.csv")
