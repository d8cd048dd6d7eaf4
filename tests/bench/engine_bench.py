"""Speed of the gap engine: situations per second on one core, cost by stage, growth with the number of schemes.

Run: python -m tests.bench.engine_bench. It prints; it asserts nothing. Compare the ratios, not the seconds.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from time import perf_counter

from quizgen.content import load_team_dir
from quizgen.engine.alignment import line_up
from quizgen.engine.fits import fit_all
from quizgen.engine.lanes import lanes
from quizgen.engine.movement import PLAY_SIDE, aim_gap, move
from quizgen.engine.reads import claims
from quizgen.engine.report import check_situations, row_values, situations
from quizgen.engine.verdict import solve
from quizgen.football.errors import CannotRun
from quizgen.football.team import Situation
from server.commands.football import demo_team_dir


def seconds(work: Callable[[], object]) -> float:
    """Seconds that one run of ``work`` takes."""
    start = perf_counter()
    work()
    return perf_counter() - start


def stages(sample: list[Situation]) -> dict[str, float]:
    """Seconds by stage over situations whose play goes to the right; each stage runs alone on the results before it."""
    found: dict[str, float] = dict.fromkeys(("line-up", "movement", "lanes", "reads", "fits and support", "whole"), 0.0)
    for s in sample:
        start = perf_counter()
        men = line_up(s)
        marks = [perf_counter()]
        moves = move(s, men)
        marks.append(perf_counter())
        found_lanes = lanes(s.formation, moves)
        marks.append(perf_counter())
        owners = claims(s, men, moves, found_lanes)
        marks.append(perf_counter())
        aim_x = next(lane.middle_x for lane in found_lanes if aim_gap(s) in lane.gaps)
        fit_all(s, men, found_lanes, owners, aim_x, frozenset())
        marks.append(perf_counter())
        for name, begin, end in zip(found, [start, *marks], marks, strict=False):
            found[name] += end - begin
        found["whole"] += seconds(lambda s=s: solve(s))  # type: ignore[misc]
    return found


def runnable(sample: list[Situation]) -> list[Situation]:
    """The situations whose formation can run the play to the right."""
    kept = []
    for s in sample:
        if s.play_to is PLAY_SIDE:
            try:
                solve(s)
            except CannotRun:
                continue
            kept.append(s)
    return kept


def main() -> None:
    """Print the report."""
    team = load_team_dir(demo_team_dir())
    everything = list(situations(team))
    took = seconds(lambda: [row_values(answer) for answer in check_situations(everything)])
    rows = sum(1 for _ in check_situations(everything))
    print(f"demo table: {len(everything)} situations tried, {rows} rows, {took:.2f} s, {rows / took:.0f} rows a second")
    sample = runnable(everything[:: max(1, len(everything) // 1500)])
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
