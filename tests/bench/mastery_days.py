"""A simulated team whose players forget within minutes what they were only shown, and are asked eight reps a day.

Every question (call, stage, side) has a strength in long-term memory that decides what he knows on Friday. Feedback
also leaves a trace that fades within about a quarter of an hour and answers the same call and stage meanwhile, from
either side. A strength grows most when a rep comes after days, hardly within one sitting. Besides: jumps (a meeting
makes a call clear), layoffs (weeks away), habits (a wrong rule at one stage), calls known from one side only, and a
clicker who doesn't read. Shares no formula with the model.
"""

import math
import random
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np

from server.mastery.picker import Asked, RepOption, next_rep
from server.mastery.readout import board
from server.mastery.replay import MasteryState
from server.mastery.values import DAY_S, DEFAULT_STAGE_MIX, SIDES, STAGES, AnswerFact, State, TeamSettings

CALLS = tuple(f"call {i + 1}" for i in range(8))
FAMILY = {call: f"family {i // 2}" for i, call in enumerate(CALLS)}
PLAYERS = 30
WEEKS = 6
REPS = 8
SLIP = 0.03
SHORT_S = 15 * 60.0
KNOWN_SHARE = 0.80
CELL_SHARE = np.repeat([DEFAULT_STAGE_MIX[s] for s in STAGES], 2) / 2.0
#: The kinds of question at each stage, three of which fit any snap.
KINDS = 3
Pick = Callable[["DaysTeam", MasteryState, int, list[Asked], float], RepOption]


class Seen(NamedTuple):
    """A state shown on a Friday, P(can), and whether he truly knows the call then."""

    week: int
    state: State
    p_can: float
    chance: float
    is_known: bool
    share: float


@dataclass
class DaysTeam:
    """The players' memories; `rng` decides everything."""

    rng: np.random.Generator
    strength: np.ndarray = field(init=False)
    touched: np.ndarray = field(init=False)
    short: dict[tuple[int, int, int], float] = field(default_factory=dict)
    away: dict[int, tuple[int, int]] = field(default_factory=dict)
    pair: np.ndarray = field(init=False)

    def __post_init__(self) -> None:
        rng, n = self.rng, len(CALLS)
        able = rng.normal(0.0, 1.2, (PLAYERS, 1, 1, 1))
        shared = rng.normal(0.0, 0.4, (1, n, 1, 1)) + np.array([0.8, 0.3, -0.3, -0.5, -0.2]).reshape(1, 1, 5, 1)
        call, side = rng.normal(0.0, 1.0, (PLAYERS, n, 1, 1)), rng.normal(0.0, 0.8, (PLAYERS, n, 1, 2))
        habit = -2.5 * (rng.random((PLAYERS, 1, 5, 1)) < 0.10)
        self.strength = able + shared + call + side + habit + rng.normal(0.0, 0.4, (PLAYERS, n, 5, 2))
        self.touched = np.zeros((PLAYERS, n, 5, 2))
        for player in range(PLAYERS):
            if rng.random() < 0.2:
                start = int(rng.integers(5, 30))
                self.away[player] = (start, start + int(rng.integers(7, 18)))

    def is_clicker(self, player: int) -> bool:
        """One player in thirty taps without reading."""
        return player == 0

    def is_away(self, player: int, day: int) -> bool:
        """Whether he misses that day."""
        first, last = self.away.get(player, (0, 0))
        return first <= day < last

    def now(self, player: int, call: int, at: float) -> np.ndarray:
        """Strengths of a call's questions, faded since each was last practiced."""
        days = (at - self.touched[player, call]) / DAY_S
        return np.asarray(self.strength[player, call] - 0.45 * np.log1p(days / 7.0))

    def chance(self, player: int, call: int, stage: int, side: int, choices: int, at: float) -> float:
        """The chance of a right answer."""
        if self.is_clicker(player):
            return 1.0 / choices
        knows = 1.0 / (1.0 + math.exp(-2.0 * float(self.now(player, call, at)[stage, side])))
        shown = math.exp(-(at - self.short.get((player, call, stage), -math.inf)) / SHORT_S)
        knows = knows + (1.0 - knows) * 0.9 * shown
        return 1.0 / choices + (1.0 - 1.0 / choices - SLIP) * knows

    def learn(self, player: int, call: int, stage: int, side: int, right: bool, at: float) -> None:
        """Feedback: a short trace, and long-term strength by how long ago the question was last practiced."""
        self.short[player, call, stage] = at
        if self.is_clicker(player):
            return
        days = (at - self.touched[player, call, stage, side]) / DAY_S
        gain = (0.9 if right else 0.7) * min(1.0, 0.05 + days / 3.0)
        own = self.now(player, call, at)
        self.strength[player, call, stage, side] = own[stage, side] + gain
        self.touched[player, call, stage, side] = at
        self.strength[player, call, stage, 1 - side] += 0.5 * gain
        self.strength[player, call] += 0.15 * gain

    def jump(self) -> None:
        """A meeting makes some calls clear to some players."""
        clear = self.rng.random((PLAYERS, len(CALLS), 1, 1)) < 0.04
        self.strength += 1.5 * clear

    def share_known(self, player: int, call: int, at: float) -> float:
        """The share of a game's situations on this call that he knows, with nothing fresh in mind."""
        if self.is_clicker(player):
            return 0.0
        return float((1.0 / (1.0 + np.exp(-2.0 * self.now(player, call, at)))).ravel() @ CELL_SHARE)


def _options(call: str) -> list[RepOption]:
    places = [(s, side, k, n) for s in STAGES for side in SIDES for k in range(KINDS) for n in range(3)]
    return [
        RepOption(f"{call}/{s}/{side}/{k}/{n}", f"{call}/{s}/{side}/{k}/{n}", call, s, side, f"{s}.{k}", f"look {n}")
        for s, side, k, n in places
    ]


OPTIONS = {call: _options(call) for call in CALLS}


def by_chance(team: DaysTeam, _: MasteryState, player: int, asked: list[Asked], at: float) -> RepOption:
    """Two calls a set, stages by how often they come up, sides evenly."""
    rng = team.rng
    if not asked:
        team.pair = rng.choice(CALLS, 2, replace=False)
    call = str(team.pair[len(asked) % 2])
    seen = {one.option.rep for one in asked}
    cell = rng.choice(10, p=CELL_SHARE)
    return next(
        o
        for o in sorted(OPTIONS[call], key=lambda _: rng.random())
        if o.rep not in seen and (o.stage, o.side) == (STAGES[cell // 2], SIDES[cell % 2])
    )


def by_need(team: DaysTeam, state: MasteryState, player: int, asked: list[Asked], at: float) -> RepOption:
    """What each needs: the picker over all calls."""
    every = [option for call in CALLS for option in OPTIONS[call]]
    rng = random.Random(int(team.rng.integers(1 << 30)))
    settings = TeamSettings()
    rep = next_rep(state, f"p{player}", every, asked, at, settings, rng, length=REPS, opened_by_coach=STAGES)
    assert rep is not None
    return rep


def season(team: DaysTeam, state: MasteryState, pick: Pick) -> Iterator[Seen | tuple[float, bool, float]]:
    """Six weeks of eight reps a day: each answer as (predicted, right, its true chance), each Friday's states."""
    rng = team.rng
    names = [f"p{player}" for player in range(PLAYERS)]
    for week in range(WEEKS):
        meeting = 7 * week + int(rng.integers(0, 5))
        for day in range(7 * week, 7 * week + 5):
            if day == meeting:
                team.jump()
            for player in range(PLAYERS):
                if team.is_away(player, day) or rng.random() < 0.1:
                    continue
                at = day * DAY_S + 50_000.0 + 200.0 * player
                asked: list[Asked] = []
                for place in range(REPS):
                    now = at + 20.0 * place
                    option = pick(team, state, player, asked, now)
                    place_of = CALLS.index(option.call), option.stage - 1, SIDES.index(option.side)
                    choices = int(rng.integers(4, 8))
                    chance = team.chance(player, *place_of, choices, now)
                    right = bool(rng.random() < chance)
                    team.learn(player, *place_of, right, now)
                    asked.append(Asked(option, right))
                    fact = AnswerFact(
                        names[player],
                        option.call,
                        option.stage,
                        option.side,
                        choices,
                        right,
                        now,
                        kind=option.kind,
                        snap=option.guise + option.side,
                    )
                    yield state.update(fact), right, chance
        end = (7 * week + 4) * DAY_S + 80_000.0
        cells = board(state, names, CALLS, end, TeamSettings())
        for (name, call), cell in cells.items():
            share = team.share_known(int(name[1:]), CALLS.index(call), end)
            yield Seen(week + 1, cell.state, cell.p_can, cell.chance, share >= KNOWN_SHARE, share)
