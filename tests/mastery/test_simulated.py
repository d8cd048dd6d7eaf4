"""The model on simulated learners with other laws than its own. Long form: tests/bench/mastery_report.py."""

from collections.abc import Callable

import numpy as np
import pytest

from server.mastery.readout import board
from server.mastery.replay import MasteryState
from server.mastery.values import DAY_S, Families, State, StateRules, TeamSettings
from tests.bench.mastery_baselines import plain_beta, plain_tracing
from tests.bench.mastery_checks import check_everyone, planted_confusions
from tests.bench.mastery_days import FAMILY as FAMILY_OF_DAYS
from tests.bench.mastery_days import WEEKS, DaysTeam, Seen, by_need
from tests.bench.mastery_days import season as days_season
from tests.bench.mastery_scores import score
from tests.bench.mastery_sims import CALLS, FAMILY, KNOWN_SHARE, GradedTeam, QuestionBitsTeam, Team, play, season

SETTINGS = TeamSettings()
END = 71 * DAY_S


@pytest.mark.parametrize(("make", "loss"), [(QuestionBitsTeam, 0.610), (GradedTeam, 0.54)])
def test_predicts_better_than_plain_counts_and_knowledge_tracing(
    make: Callable[[np.random.Generator], Team], loss: float
) -> None:
    rng = np.random.default_rng(11)
    team = make(rng)
    facts, _ = play(team, season(rng))
    state = MasteryState(StateRules(), Families(by_call=FAMILY))
    ours = score([state.update(fact) for fact in facts], [fact.right for fact in facts])
    assert ours.log_loss <= loss
    assert ours.log_loss < plain_beta(facts).log_loss
    assert ours.log_loss < plain_tracing(facts).log_loss
    assert ours.calibration <= 0.03
    cells = board(state, [f"p{i}" for i in range(60)], CALLS, END, SETTINGS)
    pairs = [(cells[f"p{i}", c].p_can, i, j) for i in range(60) for j, c in enumerate(CALLS)]
    lowest = sorted(pairs)[: len(pairs) // 10]
    cannot = [team.share_known(i, j, END) < KNOWN_SHARE for _, i, j in lowest]
    assert np.mean(cannot) >= 0.85  # 120 calls of one team; the report covers eight teams
    verdicts = [c.sure.right for c in check_everyone(team, state, END, SETTINGS, seed=2) if c.sure is not None]
    assert len(verdicts) >= 30
    assert np.mean(verdicts) >= 0.80  # about 35 sessions of one team


def test_planted_confusions_are_found_and_few_others() -> None:
    planted, found, confirmed, false = planted_confusions(teams=20, misses=5)
    assert found / planted >= 0.70
    assert false / confirmed <= 0.06


def test_with_a_short_memory_can_is_true_and_most_who_know_it_are_shown() -> None:
    """Players who answer from what they were shown minutes ago, with layoffs, jumps, habits, sides and a clicker. Long
    form: the report."""
    team = DaysTeam(np.random.default_rng(5))
    state = MasteryState(StateRules(), Families(by_call=FAMILY_OF_DAYS))
    seen = [one for one in days_season(team, state, by_need) if isinstance(one, Seen)]
    can = [one.is_known for one in seen if one.state is State.CAN]
    cannot = [not one.is_known for one in seen if one.state is State.CANNOT]
    known_at_the_end = [one.state is State.CAN for one in seen if one.week == WEEKS and one.is_known]
    assert len(can) >= 200
    assert np.mean(can) >= 0.90
    assert len(cannot) >= 60
    assert np.mean(cannot) >= 0.90  # one team; the report covers several
    assert np.mean(known_at_the_end) >= 0.60
