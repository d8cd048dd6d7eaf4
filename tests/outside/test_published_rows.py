"""The engine against the published facts on reads and fits that the page solver is held to as well.

source: named in each row (tests/page_solver/block_rows, count_rows, option_rows), with situation and expectation. A row
asserts the men its source speaks of and nobody else. What is expected never comes from our engine.
"""

from __future__ import annotations

import pytest

from quizgen.engine.reads import Read
from quizgen.engine.verdict import RunAnswer, solve
from tests.page_solver import block_rows, count_rows, option_rows
from tests.page_solver.row import Row
from tests.page_solver.snaps import snap

ROWS = (*block_rows.ROWS, *count_rows.ROWS, *option_rows.ROWS)


def holds(line: str, answer: RunAnswer) -> bool:
    """Whether one expectation of a row holds (see the head of ``tests.page_solver.row``)."""
    words = line.split()
    lanes = answer.lanes
    if words == ["sound"]:
        return answer.sound
    if words[0] == "open":
        return len(answer.open) == int(words[1])
    if words[0] == "lanes":
        return sum(1 for lane in lanes if lane.side and lane.side.value == words[1]) == int(words[2])
    if words[0] == "parts":
        return len([lane for lane in lanes if f"{words[1]} {words[2]}" in lane.name]) == int(words[3])
    fit = next(one for one in answer.fits if line.startswith(f"{one.man.position} "))
    rest = line.removeprefix(f"{fit.man.position} ")
    plain = {
        "is read": fit.is_read,
        "on the hip": fit.read is Read.HIP,
        "over the top": fit.read is Read.OVER_THE_TOP or (fit.read is Read.SCRAPE and not fit.owns),
    }
    if rest in plain:
        return plain[rest]
    what, value = rest.split(" ", 1)
    own = lanes[fit.lanes[0]] if fit.owns else None
    found = {
        "lane": own.name if own else "none",
        "side": own.side.value if own and own.side else "none",
        "threat": " + ".join(m.player.word for m in fit.threats) or "nobody",
        "lost": lanes[fit.lost_to].name if fit.lost_to is not None else "nowhere",
        "phase": fit.phase.value if fit.phase else "none",
        "owns": ", ".join(lanes[index].name for index in fit.lanes) if fit.owns else "",
    }
    return found[what] == value


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row.key)
def test_a_published_fact_holds(row: Row) -> None:
    answer = solve(
        snap(
            row.defenders,
            row.formation,
            row.scheme,
            row.play_to,
            rules=row.rules,
            exchanges=row.exchanges,
            concede=row.concede,
        )
    )
    failed = [line for line in row.expected.splitlines() if not holds(line, answer)]
    assert not failed, (row.source, failed)
