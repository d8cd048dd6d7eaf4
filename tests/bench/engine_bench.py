"""Speed of the gap engine: a situation of the demo's table beside one board drawing of a well-known chess library,
cost by stage, growth with the number of schemes.

Run: python -m tests.bench.engine_bench. It prints; it asserts nothing. Compare the ratios, not the seconds: the table
is worked out in slices, each beside a few boards, because a shared machine changes its speed within seconds.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import islice
from time import perf_counter

import chess
import chess.svg

from quizgen.content import load_team_dir
from quizgen.engine.fits import fit_all, threaten
from quizgen.engine.mending import WeightedSnap, mend
from quizgen.engine.movement import PLAY_SIDE
from quizgen.engine.reads import claims
from quizgen.engine.report import check_situations, row_values, situations
from quizgen.engine.shared_work import SharedWork
from quizgen.engine.verdict import solve
from quizgen.football.errors import CannotRun
from quizgen.football.team import Situation
from server.commands.football import demo_team_dir

SLICE = 200
BOARDS = 5


def seconds(work: Callable[[], object]) -> float:
    """Seconds that one run of ``work`` takes."""
    start = perf_counter()
    work()
    return perf_counter() - start


def stages(sample: list[Situation]) -> dict[str, float]:
    """Seconds by stage over situations whose play goes to the right; each stage runs alone on the results before it."""
    found: dict[str, float] = dict.fromkeys(
        ("line-up", "movement and lanes", "reads", "fits and support", "threats", "whole"), 0.0
    )
    for s in sample:
        shared = SharedWork()
        start = perf_counter()
        lineup = shared.lineup(s)
        marks = [perf_counter()]
        surface = shared.surface(s, lineup)
        marks.append(perf_counter())
        owners = claims(s, lineup.men, surface)
        marks.append(perf_counter())
        placed = fit_all(s, lineup.men, surface, owners, frozenset())
        marks.append(perf_counter())
        threaten(placed, surface.lanes)
        marks.append(perf_counter())
        for name, begin, end in zip(found, [start, *marks], marks, strict=False):
            found[name] += end - begin
        found["whole"] += seconds(lambda s=s: solve(s))  # type: ignore[misc]
    return found


def runnable(sample: list[Situation]) -> list[Situation]:
    """The situations whose formation can run the play."""
    kept = []
    for s in sample:
        try:
            solve(s)
        except CannotRun:
            continue
        kept.append(s)
    return kept


def table_beside_boards(wanted: list[Situation]) -> tuple[int, float, float]:
    """Rows of the table, seconds for a row, seconds for a board: the two take turns."""
    rows, table_s, boards_s, boards = 0, 0.0, 0.0, 0
    found = (row_values(answer) for answer in check_situations(wanted))
    left = True
    while left:
        start = perf_counter()
        some = sum(1 for _ in islice(found, SLICE))
        table_s += perf_counter() - start
        boards_s += seconds(lambda: [chess.svg.board(chess.Board()) for _ in range(BOARDS)])
        rows, boards, left = rows + some, boards + BOARDS, some == SLICE
    return rows, table_s / rows, boards_s / boards


def mending_seconds(call: str) -> tuple[int, float, float]:
    """Snaps of an opponent of ten plays, each from four formations to both sides; seconds for single changes of a call
    against them, and for pairs among the fifteen best."""
    team = load_team_dir(demo_team_dir())
    part = replace(team, schemes=team.schemes[:10], formations=team.formations[:4])
    snaps = [WeightedSnap(answer.situation) for answer in check_situations(situations(part, call=call))]
    singles_s = seconds(lambda: mend(part, call, snaps, paired=0))
    return len(snaps), singles_s, seconds(lambda: mend(part, call, snaps)) - singles_s


def main() -> None:
    """Print the report."""
    team = load_team_dir(demo_team_dir())
    everything = list(situations(team))
    rows, row_s, board_s = table_beside_boards(everything)
    print(f"demo table: {len(everything)} situations tried, {rows} rows, {1 / row_s:.0f} rows a second")
    for call in ("Moraine", "Drumlin"):
        count, singles_s, pairs_s = mending_seconds(call)
        print(f"what would mend {call} on {count} snaps: single changes {singles_s:.2f} s, pairs {pairs_s:.2f} s")
    print(f"a row {row_s * 1e6:.0f} us, a board {board_s * 1e6:.0f} us: {row_s / board_s:.3f}x")
    to_right = [s for s in everything if s.play_to is PLAY_SIDE]
    sample = runnable(to_right[:: max(1, len(to_right) // 1500)])
    cost = stages(sample)
    for name, spent in cost.items():
        print(f"  {name:18} {spent / len(sample) * 1e6:7.0f} us  {spent / cost['whole']:.2f} of the whole")
    base = None
    for count in (5, 10, 20):
        part = replace(team, schemes=team.schemes[:count])
        wanted = list(situations(part))
        per = seconds(lambda wanted=wanted: list(check_situations(wanted))) / len(wanted)  # type: ignore[misc]
        base = base or per
        print(f"  {count:3} schemes: {len(wanted):6} situations, {per / base:.2f} of the cost a situation at 5 schemes")


if __name__ == "__main__":
    main()
