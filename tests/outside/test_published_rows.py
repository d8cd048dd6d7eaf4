"""The engine against published facts on reads and fits: one man's job a row.

source: named in each row, with situation and expectation (block, edge and option facts here; block, count and option
rows of tests/page_solver, to which the page solver is held as well). What is expected never comes from our engine.
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
