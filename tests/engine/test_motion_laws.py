"""The laws of the engine on generated snaps after a motion, jet sweeps and runs with a pass attached among them."""

import os
from functools import cache

import pytest

from quizgen.engine.verdict import RunAnswer, solve
from quizgen.football.errors import NoRule
from quizgen.football.formation import Role
from tests.engine import laws
from tests.engine.generate_motion import random_moved_situations
from tests.harness.seed import run_seed

SEED = run_seed()
COUNT = int(os.environ.get("GAPSOUND_TEST_LAWS", "1000")) * 3 // 5
LAWS = (
    laws.mirror_law,
    laws.lane_count_law,
    laws.soundness_law,
    laws.blockers_law,
    laws.phases_law,
    laws.ways_law,
    laws.one_blocker_law,
    laws.beaten_law,
    laws.hinge_law,
    laws.idle_law,
    laws.one_answer_law,
    laws.dive_law,
)


@cache
def pool() -> tuple[RunAnswer, ...]:
    """Solved snaps from a seed that changes with every run."""
    found: list[RunAnswer] = []
    for s in random_moved_situations(SEED):
        try:
            found.append(solve(s))
        except NoRule:
            continue
        if len(found) == COUNT:
            return tuple(found)
    raise AssertionError("the generator ended")


@pytest.mark.parametrize("law", LAWS, ids=lambda law: law.__name__)
def test_law(law) -> None:
    for answer in pool():
        problems = law(answer)
        assert not problems, f"seed {SEED}: {problems}\n{answer.situation}"


def test_the_names_of_things_decide_nothing() -> None:
    for answer in pool()[: COUNT // 3]:
        assert not laws.names_law(answer, SEED), answer.situation


def test_every_kind_comes_up_often() -> None:
    found = [answer.situation for answer in pool()]
    kinds = {s.formation.moved.motion.kind.value for s in found if s.formation.moved}
    assert kinds == {"jet", "orbit", "return", "short", "trade"}
    assert sum(s.play.carrier is Role.IN_MOTION for s in found) > 0.02 * len(found)
    assert sum(s.play.attached is not None for s in found) > 0.2 * len(found)
    rules = {
        s.rules.motion_rule(s.formation.moved.motion.kind, s.pressure.coverage).answer
        for s in found
        if s.formation.moved
    }
    assert len(rules) == 5


def test_the_man_read_and_the_one_who_has_the_other_phase_are_two() -> None:
    """He is never blocked; who keeps the throw fits no lane, and who has it for him fits none either."""
    for answer in pool():
        if answer.situation.play.attached is None:
            continue
        throw = next(fit for fit in answer.fits if fit.phase is not None and fit.phase.value == "throw")
        read = next(fit for fit in answer.fits if fit.is_read)
        assert not read.threats
        assert not throw.owns
        assert read.phase is not None
        assert read.phase.value in ("run", "throw")
