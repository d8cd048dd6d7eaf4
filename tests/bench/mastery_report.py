"""The long report on mastery: how well it predicts, decides and finds confusions, and how fast, against targets.

Run from the top folder: python -m tests.bench.mastery_report [teams]. It only prints. With the default of eight teams
of each of three simulators it takes about two and a half minutes of one core.
"""

import sys
from collections.abc import Callable, Sequence
from statistics import mean

import numpy as np
from scipy.stats import binomtest

from server.mastery.readout import board
from server.mastery.replay import MasteryState
from server.mastery.values import DAY_S, AnswerFact, Families, State, TeamSettings
from tests.bench.mastery_baselines import (
    best_beta,
    best_tracing,
    fitted_logistic,
    item_mean,
    plain_beta,
    plain_filter,
    plain_filter_of,
    plain_tracing,
)
from tests.bench.mastery_checks import CheckResult, Verdict, check_everyone, planted_confusions
from tests.bench.mastery_data import (
    ability_answers,
    item_mean_ability,
    predict_ability,
    predict_trials,
    predict_verbal,
    trial_answers,
    verbal_answers,
)
from tests.bench.mastery_days import FAMILY as FAMILY_OF_DAYS
from tests.bench.mastery_days import WEEKS, DaysTeam, Seen, by_chance, by_need
from tests.bench.mastery_days import season as days_season
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
            ("plain person + item filter", plain_filter_of(facts)),
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
        rows.append(at_least(f"{name}: state can, truly can", mean(can), 0.90, interval(sum(can), len(can))))
    if cannot:
        rows.append(
            at_least(f"{name}: state can't, truly can't", mean(cannot), 0.95, interval(sum(cannot), len(cannot)))
        )
    return rows


def _sessions(name: str, checks: list[CheckResult]) -> list[Row]:
    """Check sessions at the end of a season on one random call each; how many nine reps decide is information."""
    made: list[Verdict] = [c.decided for c in checks if c.decided is not None]
    right = sum(verdict.right for verdict in made)
    what = f"{name}: check session"
    return [
        told(f"{what} left open after nine", 1.0 - len(made) / len(checks), f"of {len(checks)}"),
        told(f"{what}, verdict right", right / max(len(made), 1), interval(right, len(made))),
    ]


def interval(count: int, of: int) -> str:
    """The 95 % interval of a share by Wilson's score."""
    if not of:
        return "of none"
    found = binomtest(count, of).proportion_ci(method="wilson")
    return f"{found.low:.3f} to {found.high:.3f}, of {of}"


def short_memory(teams: int) -> list[Row]:
    """Players who forget within minutes what they were only shown: states each Friday, and what the picker gains."""
    rows, shares = [], {}
    for label, pick in (("chance draws", by_chance), ("what each needs", by_need)):
        seen: list[Seen] = []
        answers: list[tuple[float, bool, float]] = []
        ends = []
        for seed in range(teams):
            state = MasteryState(SETTINGS.rules, Families(by_call=FAMILY_OF_DAYS))
            own = list(days_season(DaysTeam(np.random.default_rng(seed)), state, pick))
            seen += [one for one in own if isinstance(one, Seen)]
            answers += [one for one in own if not isinstance(one, Seen)]
            ends.append(mean(one.share for one in own if isinstance(one, Seen) and one.week == WEEKS))
        shares[label] = np.array(ends)
        scores = score([one[0] for one in answers], [one[1] for one in answers])
        can = [one.is_known for one in seen if one.state is State.CAN]
        cannot = [not one.is_known for one in seen if one.state is State.CANNOT]
        known = [one.state is State.CAN for one in seen if one.week == WEEKS and one.is_known]
        what = f"short memory, {label}"
        rows += [
            at_most(f"{what}: calibration error", scores.calibration, 0.03, f"log loss {scores.log_loss:.4f}"),
            at_least(f"{what}: can, truly", mean(can), 0.90, interval(sum(can), len(can))),
            at_least(f"{what}: can't, truly", mean(cannot), 0.95, interval(sum(cannot), len(cannot))),
            at_least(f"{what}: of those who know it, shown can in week six", mean(known), 0.60, f"of {len(known)}"),
        ]
    gain = shares["what each needs"] - shares["chance draws"]
    off = 1.96 * float(gain.std(ddof=1)) / len(gain) ** 0.5
    spread = f"{gain.mean() - off:.3f} to {gain.mean() + off:.3f}, {teams} teams"
    rows.append(at_least("share known in week six, what each needs over chance", float(gain.mean()), 0.03, spread))
    return rows


def real() -> list[Row]:
    """The three sets of real answers, ours beside simpler models."""
    ability, trials, verbal = predict_ability(0.05), predict_trials(50), predict_verbal()
    plain = plain_filter([(one.person, one.item, one.right) for one in ability_answers()])
    facts = {"learning trials": list(trial_answers(2)), "verbal aggression": verbal_answers()}
    plain_verbal = plain_filter_of(facts["verbal aggression"])
    beside = "target: that of the plain filter"
    rows = [
        at_most("ability: log loss", ability.log_loss, plain.log_loss, beside),
        at_least("ability: AUC", ability.auc, 0.770),
        at_most("ability: calibration error", ability.calibration, 0.02),
        told("ability: mean of each item so far", item_mean_ability().log_loss),
        at_most("learning trials: log loss", trials.log_loss, 0.5121),
        at_least("learning trials: AUC", trials.auc, 0.80),
        at_most("learning trials: calibration error", trials.calibration, 0.03),
        at_most("verbal aggression: log loss", verbal.log_loss, plain_verbal.log_loss, beside),
        at_most("verbal aggression: calibration error", verbal.calibration, 0.03),
    ]
    for name, own in facts.items():
        for label, scores in (
            ("plain person + item filter", plain_filter_of(own)),
            ("logistic on counts, fitted to half", fitted_logistic(own)),
            ("Beta count, fitted", best_beta(own)),
            ("knowledge tracing, fitted", best_tracing(own)),
        ):
            rows.append(told(f"{name}: {label}", scores.log_loss))
    return rows


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
    rows += short_memory(max(teams // 2, 2))
    rows += found_confusions(100)
    rows += speed()
    show(rows)


if __name__ == "__main__":
    main()
