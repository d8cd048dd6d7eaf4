"""The engine against published facts on reads and fits: one man's job a row.

source: named in each row, with situation and expectation (block, edge and option facts here; block, count and option
rows of tests/page_solver, to which the page solver is held as well). What is expected never comes from our engine.

Facts that no row holds, and why: how a man uses hands and feet within his job (F4, F7, F33, F78, F79); where the ball
goes (F48); a front's or call's own design, which a coach writes down as the gaps of his call (F10, F47, F52, F68, F89);
what a man does when his first job is done (the second duties of F58, F62, F67); a swap of run and pass by flow (F69)
and draw duty (F81); the yards of a field (F83). F84 to F90 are sides of calls, adjustments and motion, not
fits. F15 and F60 are told in words only: tests/engine/test_team_rules.py.
"""

from __future__ import annotations

import pytest

from quizgen.engine.verdict import solve
from tests.outside import block_facts, edge_facts, option_facts
from tests.outside.expecting import failures
from tests.page_solver import block_rows, count_rows, option_rows
from tests.page_solver.row import Row

ROWS = (*block_rows.ROWS, *count_rows.ROWS, *option_rows.ROWS, *block_facts.ROWS, *edge_facts.ROWS, *option_facts.ROWS)


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row.key)
def test_a_published_fact_holds(row: Row) -> None:
    assert not failures(row, solve), row.source
