"""The long report on mastery: how well it predicts, decides and finds confusions, and how fast, against targets.

Run from the top folder: python -m tests.bench.mastery_report [teams]. It only prints. With the default of eight teams
of each of three simulators it takes about two and a half minutes of one core.
"""

import sys
from collections.abc import Callable, Sequence
from statistics import mean

import numpy as np

from server.mastery.readout import board
from server.mastery.replay import MasteryState
from server.mastery.values import DAY_S, AnswerFact, Families, State, TeamSettings
from tests.bench.mastery_baselines import best_beta, best_tracing, item_mean, plain_beta, plain_tracing
from tests.bench.mastery_checks import CheckResult, Verdict, check_everyone, planted_confusions
from tests.bench.mastery_data import item_mean_ability, predict_ability, predict_trials, trial_answers
from tests.bench.mastery_oracles import oracle_of
from tests.bench.mastery_scores import Scores, score
from tests.bench.mastery_sims import (
    CALLS,
    FAMILY,
    KNOWN_SHARE,
    GradedTeam,
    QuestionBitsTeam,
    SharedBitsTeam,
    Team,
    fact_of,
    season,
)
from tests.bench.mastery_speed import speed
from tests.bench.mastery_table import Row, at_least, at_most, show, told

SETTINGS = TeamSettings()
END = 71 * DAY_S
PLAYERS = [f"p{i}" for i in range(60)]
OPEN = 99  # reps of a session without a decision
Make = Callable[[np.random.Generator], Team]


def played(make: Make, seed: int) -> tuple[Team, list[AnswerFact], list[float], list[float]]:
    """A season of a team: the team, its answers, the true chance of each, and the oracle's prediction of it."""
    rng = np.random.default_rng(seed)
    team = make(rng)
    asks = season(rng)
    oracle = oracle_of(team, np.random.default_rng(1000 + seed))
    facts, chances, foreseen = [], [], []
    for ask in asks:
        chance = team.chance(ask)
        right = bool(team.rng.random() < chance)
        foreseen.append(oracle.predict(ask, right))
        team.learn(ask, right)
        facts.append(fact_of(ask, right))
        chances.append(chance)
    return team, facts, chances, foreseen


def simulated(name: str, make: Make, teams: int, loss_target: float) -> list[Row]:
    """Predictions, states and check sessions on teams of one simulator."""
    ours: list[Scores] = []
    floors: list[Scores] = []
    hidden: list[Scores] = []
    others: dict[str, list[Scores]] = {}
    pairs: list[tuple[float, State, bool]] = []
    checks: list[CheckResult] = []
    for seed in range(teams):
        team, facts, chances, foreseen = played(make, seed)
        right = [fact.right for fact in facts]
        state = MasteryState(SETTINGS.rules, Families(by_call=FAMILY))
        ours.append(score([state.update(fact) for fact in facts], right))
        floors.append(score(foreseen, right))
        hidden.append(score(chances, right))
        for label, scores in (
            ("mean of each question so far", item_mean(facts)),
            ("Beta count", plain_beta(facts)),
            ("Beta count, fitted to these answers", best_beta(facts)),
            ("knowledge tracing", plain_tracing(facts)),
            ("knowledge tracing, fitted to these answers", best_tracing(facts)),
        ):
            others.setdefault(label, []).append(scores)
        cells = board(state, PLAYERS, CALLS, END, SETTINGS)
        for i, player in enumerate(PLAYERS):
            for j, call in enumerate(CALLS):
                cell = cells[player, call]
                pairs.append((cell.p_can, cell.state, team.share_known(i, j, END) >= KNOWN_SHARE))
        checks.extend(check_everyone(team, state, END, SETTINGS, seed))
    return [
        *_predictions(name, ours, floors, hidden, others, loss_target),
        *_decisions(name, pairs),
        *_sessions(name, checks),
    ]


def _loss(many: Sequence[Scores]) -> float:
    return mean(one.log_loss for one in many)


def _predictions(
    name: str,
    ours: list[Scores],
    floors: list[Scores],
    hidden: list[Scores],
    others: dict[str, list[Scores]],
    loss_target: float,
) -> list[Row]:
    loss = _loss(ours)
    rows = [
        at_most(f"{name}: log loss", loss, loss_target, f"AUC {mean(s.auc for s in ours):.3f}"),
        at_most(f"{name}: calibration error", mean(s.calibration for s in ours), 0.03),
        told(
            f"{name}: oracle that knows the law, not the players",
            _loss(floors),
            f"ours above it by {loss - _loss(floors):.4f}",
        ),
        told(f"{name}: who knows every hidden state", _loss(hidden), f"ours above it by {loss - _loss(hidden):.4f}"),
    ]
    for label, many in others.items():
        rows.append(told(f"{name}: {label}", _loss(many), f"ours ahead by {_loss(many) - loss:.4f}"))
    return rows


def _decisions(name: str, pairs: list[tuple[float, State, bool]]) -> list[Row]:
    lowest = sorted(pairs, key=lambda p: p[0])[: len(pairs) // 10]
    can = [known for _, state, known in pairs if state is State.CAN]
    cannot = [not known for _, state, known in pairs if state is State.CANNOT]
    rows = [
        told(f"{name}: calls truly known at the end", mean(known for _, _, known in pairs), f"of {len(pairs)}"),
        at_least(f"{name}: lowest tenth of P(can) truly can't", mean(not known for _, _, known in lowest), 0.90),
    ]
    if can:
        rows.append(told(f"{name}: state can, truly can", mean(can), f"of {len(can)}"))
    if cannot:
        rows.append(told(f"{name}: state can't, truly can't", mean(cannot), f"of {len(cannot)}"))
    return rows


def _sessions(name: str, checks: list[CheckResult]) -> list[Row]:
    rows = []
    for label, verdicts in (
        ("P(can) past .90 or .10", [c.sure for c in checks]),
        ("state can or can't", [c.decided for c in checks]),
    ):
        made: list[Verdict] = [v for v in verdicts if v is not None]
        counts = sorted([v.reps for v in made] + [OPEN] * (len(verdicts) - len(made)))
        spread = " ".join(f"{n}:{counts.count(n)}" for n in sorted(set(counts)))
        what = f"{name}: check session, {label}"
        rows.append(at_most(f"{what}: median of reps", counts[len(counts) // 2], 4, spread, digits=0))
        rows.append(at_most(f"{what}: 80th percentile", counts[int(0.8 * len(counts))], 9, digits=0))
        before = mean(v.right_before for v in made)
        rows.append(
            at_least(
                f"{what}: right", mean(v.right for v in made), 0.93, f"of {len(made)}; of him before it {before:.3f}"
            )
        )
    return rows


def real() -> list[Row]:
    """The two sets of real answers."""
    ability, trials = predict_ability(0.05), predict_trials(6)
    eight = predict_ability(1 / 8)
    item = item_mean_ability().log_loss
    traced = best_tracing(list(trial_answers(2))).log_loss
    return [
        at_most("ability: log loss", ability.log_loss, 0.572, f"with eight choices {eight.log_loss:.4f}"),
        at_least("ability: AUC", ability.auc, 0.770, f"with eight choices {eight.auc:.4f}"),
        at_most("ability: calibration error", ability.calibration, 0.02),
        told("ability: mean of each item so far", item, f"ours ahead by {item - ability.log_loss:.4f}"),
        at_most("learning trials: log loss", trials.log_loss, 0.5121, "two choices: " + _short(predict_trials(2))),
        at_least("learning trials: AUC", trials.auc, 0.80),
        told("learning trials: knowledge tracing, fitted", traced, f"ours ahead by {traced - trials.log_loss:.4f}"),
    ]


def _short(scores: Scores) -> str:
    return f"{scores.log_loss:.4f}"


def found_confusions(teams: int) -> list[Row]:
    """Planted confusions found, and the false share of all confirmed ones."""
    rows = []
    for misses in (4, 5, 8):
        planted, found, confirmed, false = planted_confusions(teams, misses)
        share, untrue = found / planted, false / max(confirmed, 1)
        what = f"confusions, {misses} misses, 90 % to one gap"
        if misses == 5:
            rows.append(at_least(f"{what}: found", share, 0.70, f"of {planted}"))
            rows.append(at_most(f"{what}: false share", untrue, 0.06, f"of {confirmed}"))
        else:
            rows.append(told(f"{what}: found", share, f"of {planted}; false share {untrue:.3f} of {confirmed}"))
    return rows


def main() -> None:
    """The whole report."""
    teams = int(sys.argv[1]) if len(sys.argv) > 1 else 8
    rows = real()
    rows += simulated("bits by question", QuestionBitsTeam, teams, 0.610)
    rows += simulated("shared bits", SharedBitsTeam, teams, 0.610)
    rows += simulated("graded", GradedTeam, teams, 0.497)
    rows += found_confusions(100)
    rows += speed()
    show(rows)


if __name__ == "__main__":
    main()
