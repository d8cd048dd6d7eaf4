"""Three different simulated teams, to see how the model does on learners that it was not made from.

`QuestionBitsTeam`: every question (call, stage, side) is known or not; known ones are lost at a constant hazard,
feedback makes unknown ones known. `SharedBitsTeam`: the bits belong to the call, its sides and the stages, and a
question is known when all its bits are, so that one lost bit takes a whole call with it. In both, a fifth to a sixth of
calls are known at the end. `GradedTeam`: every question has a skill that grows less with each rep and fades by a power
law of time; 40 to 60 % of calls known. None shares a formula with the model. A season: 70 days, a set a week, calls put
in over the first five weeks.
"""

import math
from dataclasses import dataclass, field

import numpy as np

from server.mastery.values import DAY_S, DEFAULT_STAGE_MIX, SIDES, STAGES, AnswerFact

CALLS = tuple(f"call {i + 1}" for i in range(20))
FAMILY = {call: f"family {i // 3}" for i, call in enumerate(CALLS)}
KNOWN_SHARE = 0.80
SLIP = 0.05
#: How often feedback makes a missing bit known, after a right answer and after a wrong one.
GAIN_RIGHT, GAIN_WRONG = 0.10, 0.25
#: Half of each stage's share of a game, one entry per cell; a fact about the invented opponent.
CELL_SHARE = np.repeat([DEFAULT_STAGE_MIX[s] for s in STAGES], 2) / 2.0


@dataclass(frozen=True, slots=True)
class Ask:
    """A rep to ask: time (s), player and call (indices), stage (0 to 4), side (0 or 1), number of choices."""

    at: float
    player: int
    call: int
    stage: int
    side: int
    choices: int


def put_in_by(day: int) -> int:
    """How many calls are put in by a day: four at first, all twenty after five weeks."""
    return min(len(CALLS), 4 + 16 * day // 35)


#: When each call is put in (s); no player forgets it before.
PUT_IN_AT = np.array([next(d for d in range(0, 70, 7) if put_in_by(d) > i) * DAY_S for i in range(len(CALLS))])


def season(rng: np.random.Generator, players: int = 60, days: int = 70) -> list[Ask]:
    """About 82 reps per player: a set a week of seven to ten reps on two of the calls put in so far."""
    asks = []
    for day in range(0, days, 7):
        put_in = put_in_by(day)
        for player in range(players):
            if rng.random() < 0.06:
                continue
            at = (day + int(rng.integers(0, 6))) * DAY_S + float(rng.integers(50_000, 70_000))
            calls = rng.choice(put_in, size=2, replace=False)
            for i in range(int(rng.integers(7, 11))):
                stage = int(rng.choice(5, p=[0.30, 0.25, 0.15, 0.15, 0.15]))
                asks.append(
                    Ask(at + 20.0 * i, player, int(calls[i % 2]), stage, int(rng.integers(2)), int(rng.integers(4, 8)))
                )
    return sorted(asks, key=lambda a: a.at)


#: Spread of how prone players are: by player, call, family, stage and side of a call.
BITS_SPREAD = (0.9, 1.2, 0.4, 0.6, 0.7)
GRADED_SPREAD = (1.0, 1.2, 0.4, 0.5, 0.7)


def _prone(
    rng: np.random.Generator, players: int, sds: tuple[float, float, float, float, float]
) -> tuple[np.ndarray, np.ndarray]:
    """How prone each player is to know each question: (players, calls, stages, sides), in log odds, mean 0.

    And the part of it that all players of the team share: (calls, stages).
    """
    player, call, family, stage, side = sds
    n = len(CALLS)
    own = rng.normal(0, player, (players, 1, 1, 1))
    shared = rng.normal(0, 0.4, (1, n, 1, 1)) + rng.normal(0, 0.4, (1, 1, 5, 1))
    own = own + rng.normal(0, family, (players, (n + 2) // 3))[:, [i // 3 for i in range(n)], None, None]
    own = own + rng.normal(0, call, (players, n, 1, 1)) + rng.normal(0, stage, (players, 1, 5, 1))
    return own + rng.normal(0, side, (players, n, 1, 2)) + shared, shared[0, :, :, 0]


@dataclass
class QuestionBitsTeam:
    """Known or not, question by question."""

    rng: np.random.Generator
    players: int = 60
    hazard_days: float = 240.0
    level: float = 1.7
    scale: float = 4.0
    known: np.ndarray = field(init=False)
    shared: np.ndarray = field(init=False)
    seen_at: np.ndarray = field(init=False)

    def __post_init__(self) -> None:
        prone, self.shared = _prone(self.rng, self.players, BITS_SPREAD)
        prone = self.scale * prone + self.level
        self.known = self.rng.random(prone.shape) < 1.0 / (1.0 + np.exp(-prone))
        self.seen_at = np.tile(PUT_IN_AT, (self.players, 1))

    def settle(self, player: int, call: int, at: float) -> None:
        """Forget by hazard since the call was last looked at."""
        days = (at - self.seen_at[player, call]) / DAY_S
        self.seen_at[player, call] = at
        lost = self.rng.random((5, 2)) < 1.0 - math.exp(-days / self.hazard_days)
        self.known[player, call] &= ~lost

    def chance(self, ask: Ask) -> float:
        """The true chance of a right answer now."""
        self.settle(ask.player, ask.call, ask.at)
        return 1.0 - SLIP if self.known[ask.player, ask.call, ask.stage, ask.side] else 1.0 / ask.choices

    def learn(self, ask: Ask, right: bool) -> None:
        """Feedback makes this question known some of the time, its mirror and the call's other ones less often."""
        self.known[ask.player, ask.call] |= self.rng.random((5, 2)) < self.gains(ask, right)

    @staticmethod
    def gains(ask: Ask, right: bool) -> np.ndarray:
        """How often this feedback makes each unknown question of the call known."""
        gain = GAIN_RIGHT if right else GAIN_WRONG
        chances = np.full((5, 2), gain / 4)
        chances[ask.stage] = gain / 2
        chances[ask.stage, ask.side] = gain
        return chances

    def share_known(self, player: int, call: int, at: float) -> float:
        """The share of a game's situations on this call that he knows."""
        self.settle(player, call, at)
        return float(self.known[player, call].ravel() @ CELL_SHARE)


#: How likely each kind of bit is known at the start (log odds), and how many days it lasts on average.
BITS = {"call": (1.0, 75.0), "side": (2.8, 120.0), "stage": (3.4, 480.0)}
STAGE_EASE = np.array([1.0, 0.5, -0.3, -0.5, -0.2])
ABLE_SD, FAMILY_SD = 0.9, 0.6


@dataclass
class SharedBitsTeam:
    """Bits of knowledge, each known or not; a question is known when all its bits are.

    A question needs the call's bit, the bit of the call from that side, and the player's bit of the stage.
    """

    rng: np.random.Generator
    players: int = 60
    bits: dict[str, np.ndarray] = field(init=False)
    shared: np.ndarray = field(init=False)
    seen_at: np.ndarray = field(init=False)

    def __post_init__(self) -> None:
        n, rng = len(CALLS), self.rng
        able = rng.normal(0, ABLE_SD, (self.players, 1))
        family = rng.normal(0, FAMILY_SD, (self.players, (n + 2) // 3))[:, [i // 3 for i in range(n)]]
        self.shared = rng.normal(0, 0.6, n)
        shift = {
            "call": able + family + self.shared,
            "side": (able + np.zeros((1, n)))[:, :, None] + np.zeros((1, 1, 2)),
            "stage": able + STAGE_EASE,
        }
        self.bits = {kind: rng.random(x.shape) < 1 / (1 + np.exp(-x - BITS[kind][0])) for kind, x in shift.items()}
        self.seen_at = np.tile(PUT_IN_AT, (self.players, 1))

    def settle(self, player: int, call: int, at: float) -> None:
        """Forget by hazard since the call was last looked at (the stages' bits: a twentieth each time, by call)."""
        days = (at - self.seen_at[player, call]) / DAY_S
        self.seen_at[player, call] = at
        for kind, (_, lasts) in BITS.items():
            place: tuple[int, ...] = (player,) if kind == "stage" else (player, call)
            share = 1 / len(CALLS) if kind == "stage" else 1.0
            lost = self.rng.random(self.bits[kind][place].shape) < 1.0 - math.exp(-days * share / lasts)
            self.bits[kind][place] &= ~lost

    def _cells(self, player: int, call: int) -> np.ndarray:
        stages, sides = self.bits["stage"][player], self.bits["side"][player, call]
        return self.bits["call"][player, call] & stages[:, None] & sides[None, :]

    def chance(self, ask: Ask) -> float:
        """The true chance of a right answer now."""
        self.settle(ask.player, ask.call, ask.at)
        return 1.0 - SLIP if self._cells(ask.player, ask.call)[ask.stage, ask.side] else 1.0 / ask.choices

    def learn(self, ask: Ask, right: bool) -> None:
        """Feedback on a question makes each of its missing bits known some of the time."""
        gain = GAIN_RIGHT if right else GAIN_WRONG
        for kind, place in (
            ("call", (ask.player, ask.call)),
            ("side", (ask.player, ask.call, ask.side)),
            ("stage", (ask.player, ask.stage)),
        ):
            self.bits[kind][place] |= self.rng.random() < gain

    def share_known(self, player: int, call: int, at: float) -> float:
        """The share of a game's situations on this call that he knows."""
        self.settle(player, call, at)
        return float(self._cells(player, call).ravel() @ CELL_SHARE)


@dataclass
class GradedTeam:
    """A skill for every question, fed by reps and fading by a power law."""

    rng: np.random.Generator
    players: int = 60
    decay: float = 0.5
    level: float = 1.6
    scale: float = 1.3
    prone: np.ndarray = field(init=False)
    shared: np.ndarray = field(init=False)
    reps: dict[tuple[int, int], list[tuple[float, int, int]]] = field(init=False)

    def __post_init__(self) -> None:
        prone, self.shared = _prone(self.rng, self.players, GRADED_SPREAD)
        self.prone = self.scale * prone + self.level
        self.reps = {}

    def fed(self, player: int, call: int, at: float) -> np.ndarray:
        """What reps have added to his skill at each question of a call, without what has faded."""
        traces = np.zeros((5, 2))
        for when, stage, side in self.reps.get((player, call), ()):
            fresh = (1.0 + (at - when) / DAY_S) ** -self.decay
            traces += 0.15 * fresh
            traces[stage] += 0.35 * fresh
            traces[:, side] += 0.15 * fresh
            traces[stage, side] += 0.35 * fresh
        return np.asarray(0.9 * np.log1p(traces))

    def _skills(self, player: int, call: int, at: float) -> np.ndarray:
        return self.prone[player, call] + self.fed(player, call, at)

    def chance(self, ask: Ask) -> float:
        """The true chance of a right answer now."""
        skill = self._skills(ask.player, ask.call, ask.at)[ask.stage, ask.side]
        guess = 1.0 / ask.choices
        return float(guess + (1.0 - guess - SLIP) / (1.0 + math.exp(-skill)))

    def learn(self, ask: Ask, right: bool) -> None:
        """Every rep leaves a trace, right or wrong."""
        self.reps.setdefault((ask.player, ask.call), []).append((ask.at, ask.stage, ask.side))

    def share_known(self, player: int, call: int, at: float) -> float:
        """The expected share of a game's situations on this call that he gets right without guessing."""
        return float((1.0 / (1.0 + np.exp(-self._skills(player, call, at)))).ravel() @ CELL_SHARE)


Team = QuestionBitsTeam | SharedBitsTeam | GradedTeam


def fact_of(ask: Ask, right: bool) -> AnswerFact:
    """The stored answer to an ask."""
    side: str = SIDES[ask.side]
    return AnswerFact(f"p{ask.player}", CALLS[ask.call], ask.stage + 1, side, ask.choices, right, ask.at)


def play(team: Team, asks: list[Ask]) -> tuple[list[AnswerFact], list[float]]:
    """A season answered by a team: the answers, and the true chance before each."""
    facts, chances = [], []
    for ask in asks:
        chance = team.chance(ask)
        right = bool(team.rng.random() < chance)
        team.learn(ask, right)
        facts.append(fact_of(ask, right))
        chances.append(chance)
    return facts, chances
