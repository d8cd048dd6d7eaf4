"""The long report on mastery: how well it predicts, decides and finds confusions, and how fast it is.

Run from the top folder: PYTHONPATH=. python tests/bench/mastery_report.py [teams]. It only prints.
"""

import random
import sys
import time
from collections.abc import Callable
from statistics import mean

import numpy as np
from mastery_baselines import best_beta, best_tracing, plain_beta, plain_tracing
from mastery_checks import CheckResult, check_everyone, planted_confusions
from mastery_data import item_mean_ability, predict_ability, predict_trials
from mastery_scores import Scores, score
from mastery_sims import CALLS, FAMILY, KNOWN_SHARE, GradedTeam, QuestionBitsTeam, SharedBitsTeam, Team, play, season
from rich.console import Console
from rich.table import Table

from server.mastery.readout import board
from server.mastery.replay import MasteryState, replay
from server.mastery.values import DAY_S, SIDES, AnswerFact, Families, State, TeamSettings

SETTINGS = TeamSettings()
END = 71 * DAY_S
PLAYERS = [f"p{i}" for i in range(60)]
console = Console(width=120)


def _table(title: str, columns: list[str], rows: list[list[str]]) -> None:
    table = Table(title=title, title_justify="left")
    for column in columns:
        table.add_column(column)
    for row in rows:
        table.add_row(*row)
    console.print(table)


def _scores(name: str, scores: Scores) -> list[str]:
    return [name, f"{scores.log_loss:.4f}", f"{scores.auc:.4f}", f"{scores.calibration:.4f}", f"{scores.answers:.0f}"]


def _season(make: Callable[[np.random.Generator], Team], seed: int) -> tuple[Team, list[AnswerFact], list[float]]:
    rng = np.random.default_rng(seed)
    team = make(rng)
    facts, chances = play(team, season(rng))
    return team, facts, chances


def simulated(name: str, make: Callable[[np.random.Generator], Team], teams: int) -> None:
    """Predictions, states and check sessions on teams of one simulator."""
    ours: list[Scores] = []
    others: dict[str, list[Scores]] = {}
    pairs: list[tuple[float, State, bool]] = []
    checks: list[CheckResult] = []
    for seed in range(teams):
        team, facts, chances = _season(make, seed)
        right = [fact.right for fact in facts]
        state = MasteryState(SETTINGS.rules, Families(by_call=FAMILY))
        ours.append(score([state.update(fact) for fact in facts], right))
        for label, scores in (
            ("knowledge tracing", plain_tracing(facts)),
            ("knowledge tracing, fitted to these answers", best_tracing(facts)),
            ("Beta count", plain_beta(facts)),
            ("Beta count, fitted to these answers", best_beta(facts)),
            ("the simulator's own chances", score(chances, right)),
        ):
            others.setdefault(label, []).append(scores)
        cells = board(state, PLAYERS, CALLS, END, SETTINGS)
        for i, player in enumerate(PLAYERS):
            for j, call in enumerate(CALLS):
                cell = cells[player, call]
                pairs.append((cell.p_can, cell.state, team.share_known(i, j, END) >= KNOWN_SHARE))
        checks.extend(check_everyone(team, state, END, SETTINGS, seed))
    rows = [
        _scores(label, Scores(*(mean(v) for v in zip(*map(_tuple, many), strict=True))))
        for label, many in (("ours", ours), *others.items())
    ]
    _table(f"{name}: predictions, mean of {teams} teams", ["model", "log loss", "AUC", "calibration", "answers"], rows)
    _decisions(name, pairs, checks)


def _tuple(scores: Scores) -> tuple[float, float, float, float]:
    return scores.log_loss, scores.auc, scores.calibration, scores.answers


def _share(flags: list[bool]) -> str:
    return f"{mean(flags):.3f} of {len(flags)}" if flags else "none"


def _decisions(name: str, pairs: list[tuple[float, State, bool]], checks: list[CheckResult]) -> None:
    lowest = sorted(pairs, key=lambda p: p[0])[: len(pairs) // 10]
    rows = [
        ["calls truly known at the end", _share([known for _, _, known in pairs])],
        ["lowest tenth of P(can): truly can't", _share([not known for _, _, known in lowest])],
        ["state can: truly can", _share([known for _, state, known in pairs if state is State.CAN])],
        ["state can't: truly can't", _share([not known for _, state, known in pairs if state is State.CANNOT])],
    ]
    for label, reps, right in (
        ("P(can) past .90 or .10", [c.sure_at for c in checks], [c.sure_right for c in checks]),
        ("state can or can't", [c.decided_at for c in checks], [c.decided_right for c in checks]),
    ):
        counts = sorted(r if r is not None else 99 for r in reps)
        middle, high = counts[len(counts) // 2], counts[int(0.8 * len(counts))]
        told = [r for r in right if r is not None]
        undecided = mean(r is None for r in reps)
        rows.append([f"check session, {label}: median, 80th percentile of reps (99: open)", f"{middle}, {high}"])
        rows.append([f"check session, {label}: right; left open", f"{_share(told)}; {undecided:.3f}"])
    _table(f"{name}: decisions", ["question", "answer"], rows)


def real() -> None:
    """The two sets of real answers."""
    rows = [
        _scores("ability, least guessing (.05)", predict_ability(0.05)),
        _scores("ability, guessing of eight choices", predict_ability(1 / 8)),
        _scores("ability, guessing of six choices", predict_ability(1 / 6)),
        _scores("ability, mean of each item so far", item_mean_ability()),
        _scores("learning trials, guessing of twenty choices", predict_trials(20)),
        _scores("learning trials, guessing of six choices", predict_trials(6)),
        _scores("learning trials, guessing of two choices", predict_trials(2)),
    ]
    _table("Real answers", ["data", "log loss", "AUC", "calibration", "answers"], rows)


def found_confusions(teams: int) -> None:
    """Planted confusions found, and the false share of all confirmed ones."""
    rows = []
    for misses in (3, 5, 8):
        planted, found, confirmed, false = planted_confusions(teams, misses)
        rows.append(
            [str(misses), f"{found / planted:.3f} of {planted}", f"{false / max(confirmed, 1):.3f} of {confirmed}"]
        )
    _table("Confusions, 90 % of a player's misses to one gap", ["misses", "found", "false share"], rows)


def speed() -> None:
    """Seconds on this machine: only ratios carry over to another."""
    rng = random.Random(1)
    facts = [
        AnswerFact(
            rng.choice(PLAYERS),
            rng.choice(CALLS),
            rng.randrange(1, 6),
            rng.choice(SIDES),
            6,
            rng.random() < 0.6,
            60.0 * i,
        )
        for i in range(18_000)
    ]
    start = time.perf_counter()
    state = replay(facts, SETTINGS, FAMILY)
    replayed = time.perf_counter() - start
    start = time.perf_counter()
    board(state, PLAYERS, CALLS, facts[-1].at, SETTINGS)
    boarded = time.perf_counter() - start
    last = [
        AnswerFact(f.player, f.call, f.stage, f.side, 6, f.right, facts[-1].at + 60.0 * i)
        for i, f in enumerate(facts[-500:])
    ]
    times = []
    for fact in last:
        start = time.perf_counter()
        state.update(fact)
        times.append(time.perf_counter() - start)
    times.sort()
    rows = [
        ["replay of 18,000 answers", f"{replayed:.2f} s"],
        ["one answer, median and 99th percentile", f"{1e3 * times[250]:.3f} ms, {1e3 * times[495]:.3f} ms"],
        ["board of 60 players and 20 calls", f"{1e3 * boarded:.1f} ms"],
    ]
    _table("Speed", ["what", "time"], rows)


def main() -> None:
    """The whole report."""
    teams = int(sys.argv[1]) if len(sys.argv) > 1 else 8
    real()
    simulated("Bits by question", QuestionBitsTeam, teams)
    simulated("Bits shared by questions", SharedBitsTeam, teams)
    simulated("Graded skill", GradedTeam, teams)
    found_confusions(teams)
    speed()


if __name__ == "__main__":
    main()
