"""A team's answers and sets as files of open standards, for the command line: no names, nothing a page would refuse."""

from __future__ import annotations

from datetime import datetime

from sqlmodel import col

from server.database.store import Store
from server.database.tables import NOT_SENT, Assignment, Member, Team
from server.i18n.languages import SOURCE, language
from server.playbook.noun_names import read_names
from server.progress.results_csv import ResultsFilter
from server.progress.xapi import statement_lines
from server.sets.calendar_files import calendar_file
from server.sets.set_names import title_of_set


def statements_of_team(store: Store, team: Team, base: str, now: datetime) -> bytes:
    """All answers of all players as xAPI statements, those of removed players among them."""
    with store.read(team.id) as t:
        wanted = ResultsFilter(t.rows(Member, col(Member.number).is_not(None)))
    return b"".join(statement_lines(store, team, wanted, base, now))


def calendar_of_team(store: Store, team: Team, base: str, now: datetime) -> bytes:
    """All sets that are still to do as a calendar file."""
    with store.read(team.id) as t:
        names = read_names(t)
        open_sets = (
            col(Assignment.purpose).not_in(NOT_SENT),
            col(Assignment.due_at) > now,
            col(Assignment.closed_at).is_(None),
        )
        due = t.rows(Assignment, *open_sets, order_by=(col(Assignment.due_at), col(Assignment.id)))
    titled = [(one, title_of_set(names, language(SOURCE), one)) for one in due]
    return calendar_file(titled, f"{base}/team/{team.join_code}", now)
