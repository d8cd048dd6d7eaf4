"""The engine and the slow solver agree on generated snaps and on the teams that ship with the product.

The long run, with seeds and counts, is tests/bench/agreement_report.py.
"""

from itertools import islice

import pytest
from hypothesis import HealthCheck, given, settings

from quizgen.engine.verdict import solve
from quizgen.football.errors import NoRule
from quizgen.football.team import Situation
from tests.second_solver.compare import differences, find_answer
from tests.second_solver.demo import demo_situations, team_dirs
from tests.second_solver.generate import random_situations, situations
from tests.second_solver.solver import solve_slowly

SEED = 20261125
COUNT = 1_500
EVERY_DEMO = 7


def words(s: Situation) -> str:
    """A situation in a line."""
    play = f"{s.play.name} to {s.play_to.value}"
    return f"{s.pressure.name} to {s.to.value}, {s.formation.name}, {play}"


def test_agrees_on_random_snaps() -> None:
    found = {k: d for k, s in enumerate(random_situations(SEED, COUNT)) if (d := differences(s))}
    assert not found, f"seed {SEED}: {len(found)} of {COUNT} differ, first {next(iter(found.items()))}"


def test_random_snaps_are_worth_comparing() -> None:
    """Most are solved by both; sound and unsound calls, merged and split lanes all come up often."""
    answers = [find_answer(solve_slowly, s) for s in random_situations(SEED, COUNT)]
    solved = [a for a in answers if isinstance(a, dict)]
    merged = [a for a in solved if any(len(lane["gaps"]) > 1 for lane in a["lanes"])]
    split = [a for a in solved if any(lane["parts"] > 1 for lane in a["lanes"])]
    sound = sum(a["sound"] for a in solved)
    # The others have no rule: options without an end man to read among them, which both solvers refuse.
    assert len(solved) > 0.55 * COUNT
    assert min(len(merged), len(split), sound, len(solved) - sound) > 0.1 * COUNT


@pytest.mark.skipif(not team_dirs(), reason="no team ships with the product yet")
def test_agrees_on_a_sample_of_the_demo() -> None:
    found = [(words(s), d) for s in islice(demo_situations(), 0, None, EVERY_DEMO) if (d := differences(s))]
    assert not found, f"{len(found)} differ, first {found[0]}"


@settings(max_examples=150, suppress_health_check=[HealthCheck.large_base_example, HealthCheck.too_slow])
@given(situations())
def test_agrees_on_snaps_that_shrink(s: Situation) -> None:
    assert differences(s) == []


def test_a_wrong_answer_is_noticed() -> None:
    """The comparison itself: a snap solved with the play to the other side differs from the right one in words."""
    from tests.second_solver import compare

    s = next(s for s in random_situations(SEED, 50) if is_solved(s))
    theirs = solve_slowly(s)
    theirs["sound"] = not theirs["sound"]
    assert any(text.startswith("sound") for text in compare.verdict_differences(solve(s), theirs))
    theirs["lanes"][0]["x_to"] += 0.5
    assert compare.lane_differences(solve(s), theirs)


def is_solved(s: Situation) -> bool:
    """Whether the rules cover it."""
    try:
        solve(s)
    except NoRule:
        return False
    return True
