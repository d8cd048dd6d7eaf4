"""Check sessions and planted confusions with simulated players, for the report and for short tests."""

import random
from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from server.mastery.confusions import Certainty, Scope, confusions
from server.mastery.picker import CHECK_MAX, Asked, RepOption, next_check_rep
from server.mastery.readout import board
from server.mastery.replay import MasteryState
from server.mastery.values import SIDES, STAGES, AnswerFact, State, TeamSettings
from tests.bench.mastery_sims import CALLS, KNOWN_SHARE, Ask, Team, fact_of


class Verdict(NamedTuple):
    """A verdict after some reps: whether it is true of the player then, and whether it was true before the session,
    since its feedback may teach him."""

    reps: int
    right: bool
    right_before: bool


@dataclass(slots=True)
class CheckResult:
    """When P(can) passed .90 or .10, and when the state was decided (None: not in nine reps)."""

    sure: Verdict | None = None
    decided: Verdict | None = None


def options_of(call: str) -> list[RepOption]:
    """Two pictures of each stage and side of a call."""
    return [
        RepOption(f"{call}/{s}/{side}/{n}", f"{call}/{s}/{side}/{n}", call, s, side, "track", f"formation {n}")
        for s in STAGES
        for side in SIDES
        for n in (1, 2)
    ]


def check_everyone(
    team: Team, state: MasteryState, at: float, settings: TeamSettings, seed: int, players: int = 60
) -> Iterator[CheckResult]:
    """A check session for each player on one random call; the state learns from it."""
    rng = random.Random(seed)
    for player in range(players):
        yield _check(team, state, player, rng.randrange(len(CALLS)), at + 3600.0 * player, settings, rng)


def _check(
    team: Team, state: MasteryState, player: int, call: int, at: float, settings: TeamSettings, rng: random.Random
) -> CheckResult:
    name, options = CALLS[call], options_of(CALLS[call])
    asked: list[Asked] = []
    before = team.share_known(player, call, at) >= KNOWN_SHARE
    found = CheckResult()
    for count in range(CHECK_MAX + 1):
        now = at + 20.0 * count
        cell = board(state, [f"p{player}"], [name], now, settings)[f"p{player}", name]
        known = team.share_known(player, call, now) >= KNOWN_SHARE
        if found.sure is None and not 0.10 < cell.p_can < 0.90:
            can = cell.p_can >= 0.90
            found.sure = Verdict(count, can == known, can == before)
        if cell.state in (State.CAN, State.CANNOT):
            can = cell.state is State.CAN
            found.decided = Verdict(count, can == known, can == before)
        option = next_check_rep(state, f"p{player}", name, options, asked, now, settings, rng)
        if option is None:
            break
        ask = Ask(now, player, call, option.stage - 1, SIDES.index(option.side), 6)
        right = rng.random() < team.chance(ask)
        team.learn(ask, right)
        state.update(fact_of(ask, right))
        asked.append(Asked(option, right))
    return found


def planted_confusions(teams: int, misses: int, players: int = 60, planted: int = 6) -> tuple[int, int, int, int]:
    """Planted, found, all confirmed, and false among the confirmed, over teams with mistakes of their own.

    Each of six right gaps has a very uneven team profile of wrong answers. A planted player sends 90 % of his misses on
    one call and gap to one wrong gap; all other misses follow the profile.
    """
    total = np.zeros(4, dtype=int)
    gaps = [f"gap {i}" for i in range(6)]
    for seed in range(teams):
        rng = np.random.default_rng(seed)
        profile = {r: dict(zip((g for g in gaps if g != r), rng.dirichlet([1.0] * 5), strict=True)) for r in gaps}
        facts, truth = [], set()
        for player in range(players):
            for call in CALLS[:16]:
                right = gaps[int(rng.integers(6))]
                wrong = list(profile[right])
                share = np.array(list(profile[right].values()))
                count = int(rng.poisson(1.0))
                if player < planted and call == CALLS[0]:
                    habit = wrong[int(rng.integers(5))]
                    truth.add((f"p{player}", call, right, habit))
                    count, share = misses, np.array([0.9 if g == habit else 0.025 for g in wrong])
                facts.extend(
                    AnswerFact(f"p{player}", call, 1, SIDES[0], 6, False, 0.0, str(chosen), right, "", "backer")
                    for chosen in rng.choice(wrong, size=count, p=share)
                )
        sure = {
            (c.who, c.call, c.right_answer, c.chosen)
            for c in confusions(facts)
            if c.scope is Scope.PLAYER_CALL and c.certainty is Certainty.CONFIRMED
        }
        total += [len(truth), len(truth & sure), len(sure), len(sure - truth)]
    return int(total[0]), int(total[1]), int(total[2]), int(total[3])
