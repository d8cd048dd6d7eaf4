"""What a coach may conclude about a player and a call, with the evidence: state, P(can), six parts, raw counts.

Knows nothing of how a page words or draws it. `now` is in seconds since 1970 UTC, at or after the last answer. Settings
affect only what is read out here.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from server.mastery.cells import (
    CELLS,
    DESIGN,
    PRIOR_VARIANCE,
    TeamCells,
    cell_moments,
    cell_shares,
    forget,
    known,
    p_can,
)
from server.mastery.judging import MissingForCan, Tally, missing_for_can, state_of, tally_of
from server.mastery.model import Belief, PartKind, Vector, keys_of_call
from server.mastery.replay import CallAnswer, MasteryState, PartOf, spacing_of
from server.mastery.values import LEFT, RIGHT, SIDES, STAGES, MasteryError, State, TeamSettings

_NO_BELIEF = Belief()
_NO_TEAM = TeamCells(np.zeros(()), np.zeros(()))
_PART_INDEXES: dict[PartKind, list[int]] = {
    PartKind.PLAYER: [0],
    PartKind.FAMILY: [1],
    PartKind.STAGE: [2, 3, 4, 5, 6],
    PartKind.CALL: [7],
    PartKind.CALL_STAGE: [8, 9, 10, 11, 12],
    PartKind.CALL_SIDE: [13, 14],
}


@dataclass(frozen=True, slots=True)
class AnswerCount:
    """A player's answers on a call at a stage from a side, and how many were right."""

    stage: int
    side: str
    right: int
    answered: int


@dataclass(frozen=True, slots=True)
class EstimatePart:
    """One of the six parts of an estimate.

    `mean` and `sd` are log odds relative to the team's average, `prior_sd` is `sd` before any answer, `points` is how
    much the part changes the chance of knowing (-1 to 1; negative: it lowers it).
    """

    kind: PartKind
    mean: float
    sd: float
    prior_sd: float
    points: float


@dataclass(frozen=True, slots=True)
class Estimate:
    """State and figures for a player and a call: one cell of the board.

    `chance` is the expected share of the call's situations that he knows, `chance_sd` its error bar; `answered` and
    `right` count all his answers; `last_at` is None when there is none. With `stage` or `side` set, everything is
    limited to that stage and side.
    """

    player: str
    call: str
    stage: int | None
    side: str | None
    state: State
    p_can: float
    chance: float
    chance_sd: float
    tally: Tally
    short: tuple[MissingForCan, ...]

    @property
    def answered(self) -> int:
        """Number of his answers."""
        return self.tally.answered

    @property
    def right(self) -> int:
        """Number of right ones."""
        return self.tally.right

    @property
    def last_at(self) -> float | None:
        """Time of the last own answer in seconds; None when there is none."""
        return self.tally.last_at

    @property
    def sharp_until(self) -> float | None:
        """Until when (seconds) his last right answer holds; None without one."""
        return self.tally.spacing.sharp_until()

    @property
    def open_sides(self) -> tuple[str, ...]:
        """Sides without an answer, or where the last one was wrong."""
        return tuple(
            s for s, short in ((LEFT, MissingForCan.LEFT), (RIGHT, MissingForCan.RIGHT)) if short in self.short
        )


@dataclass(frozen=True, slots=True)
class CallReadout:
    """An estimate with its evidence: counts by stage and side, the six parts, and how hard the call is for the team.

    `side_chance` is the chance of knowing it from each side; `team` is the team's log odds of a right answer.
    """

    estimate: Estimate
    counts: tuple[AnswerCount, ...]
    parts: tuple[EstimatePart, ...]
    side_chance: tuple[tuple[str, float], ...]
    team: float

    @property
    def state(self) -> State:
        """The state."""
        return self.estimate.state

    @property
    def p_can(self) -> float:
        """P(can)."""
        return self.estimate.p_can

    @property
    def last_at(self) -> float | None:
        """Time of the last own answer in seconds; None when there is none."""
        return self.estimate.last_at

    def by_side(self, side: str) -> tuple[int, int]:
        """(right, answered) from a side, over all stages."""
        own = [c for c in self.counts if c.side == side]
        return sum(c.right for c in own), sum(c.answered for c in own)


def parts_now(state: MasteryState, player: str, calls: Sequence[str], now: float) -> tuple[Vector, Vector, TeamCells]:
    """Mean (n, 15) and covariance (n, 15, 15) of the parts behind calls at `now`, and how hard the calls are by cell.

    Raises: MasteryError when `now` is before his last answer.
    """
    mean, cov = _own_parts(state, player, calls, now)
    return mean, cov, state.difficulty_of(calls)


def _own_parts(state: MasteryState, player: str, calls: Sequence[str], now: float) -> tuple[Vector, Vector]:
    belief = state.beliefs.get(player, _NO_BELIEF)
    last = now if belief.at is None else belief.at
    if now < last:
        raise MasteryError(f"asked for a readout at {now}, before the player's last answer at {last}")
    positions = {call: state.position_of(player, call) for call in calls}
    groups = [keys_of_call(at, call, state.families.family_of(at, call)) for call, at in positions.items()]
    records = (state.record_of(player, call) for call in calls)
    slower = [spacing_of(one.shown, state.rules).slower(state.rules) if one else 1.0 for one in records]
    return forget(*belief.gather(groups), (now - last) / np.array(slower))


def cell_chances(
    state: MasteryState, player: str, calls: Sequence[str], now: float
) -> dict[tuple[str, int, str], float]:
    """Chance of knowing each call at each stage from each side at `now` (seconds). `calls` must not be empty."""
    theta, cov = cell_moments(*parts_now(state, player, calls, now))
    chance, _ = known(theta, np.diagonal(cov, axis1=1, axis2=2))
    return {(call, *cell): float(chance[i, j]) for i, call in enumerate(calls) for j, cell in enumerate(CELLS)}


def board(
    state: MasteryState,
    players: Iterable[str],
    calls: Sequence[str],
    now: float,
    settings: TeamSettings,
    stage: int | None = None,
    side: str | None = None,
) -> dict[tuple[str, str], Estimate]:
    """Estimates of all these players and calls; limited to a stage or side when given.

    For one side, *can* needs right answers from that side on as many days as it otherwise needs for the whole call, the
    last one right.
    """
    return Reading(calls, settings, stage, side).board(state, players, now)


@dataclass(slots=True)
class _Read:
    """A player's cached figures until he answers again: theta of the cells without the team's difficulty, its
    covariance, and the tallies."""

    answers: int
    positions: list[str]
    at: float
    theta: Vector
    cov: Vector
    tallies: list[Tally]


class Reading:
    """A board that is refreshed repeatedly from one state. For players without a new answer, only what others' answers
    and the time changed is recomputed. Gives the same result as `board`; don't mutate that result."""

    __slots__ = ("_figures", "_result", "_result_key", "calls", "part", "settings")

    def __init__(
        self, calls: Sequence[str], settings: TeamSettings, stage: int | None = None, side: str | None = None
    ) -> None:
        self.calls = tuple(calls)
        self.settings = settings
        self.part: PartOf = (stage, side)
        self._figures: dict[str, _Read] = {}
        self._result_key: tuple[object, ...] = ()
        self._result: dict[tuple[str, str], Estimate] = {}

    def board(self, state: MasteryState, players: Iterable[str], now: float) -> dict[tuple[str, str], Estimate]:
        """Estimates of these players on all calls."""
        everyone = list(dict.fromkeys(players))
        if not everyone or not self.calls:
            return {}
        key = (state.answers, now, everyone, [self._positions(state, player) for player in everyone])
        if self._result_key != key:
            self._result = self._compute(state, everyone, now)
            self._result_key = key
        return self._result

    def _compute(self, state: MasteryState, everyone: list[str], now: float) -> dict[tuple[str, str], Estimate]:
        read = [self._figures_of(state, player, now) for player in everyone]
        team = state.difficulty_of(self.calls)
        theta = (np.stack([one.theta for one in read]) + team.mean).reshape(-1, len(CELLS))
        cov = (np.stack([one.cov for one in read]) + team.cov).reshape(-1, len(CELLS), len(CELLS))
        rules, shares = self.settings.rules, cell_shares(self.settings.weights(self.part[0]), self.part[1])
        figures = zip(*(one.tolist() for one in p_can(theta, cov, shares, rules.known_share)), strict=True)
        pairs = ((player, call) for player in everyone for call in self.calls)
        tallies = (tally for one in read for tally in one.tallies)
        found = {}
        for pair, tally, (p, chance, sd) in zip(pairs, tallies, figures, strict=True):
            short = tuple(missing_for_can(tally, p, now, rules))
            judged = state_of(tally, p, short, now, rules)
            found[pair] = Estimate(*pair, *self.part, judged, p, chance, sd, tally, short)
        return found

    def _positions(self, state: MasteryState, player: str) -> list[str]:
        return [state.position_of(player, call) for call in self.calls]

    def _figures_of(self, state: MasteryState, player: str, now: float) -> _Read:
        positions = self._positions(state, player)
        answers = sum(len(record.shown) for record in state.records.get(player, {}).values())
        cached = self._figures.get(player)
        is_same = cached is not None and (cached.answers, cached.positions) == (answers, positions)
        if cached is None or not is_same or cached.at != now:
            if cached is not None and is_same:
                tallies = cached.tallies
            else:
                records = (state.record_of(player, call) for call in self.calls)
                tallies = [tally_of(record, self.part, self.settings) for record in records]
            mean, cov = _own_parts(state, player, self.calls, now)
            theta, spread = cell_moments(mean, cov, _NO_TEAM)
            self._figures[player] = cached = _Read(answers, positions, now, theta, spread, tallies)
        return cached


def readout(
    state: MasteryState,
    player: str,
    call: str,
    now: float,
    settings: TeamSettings,
    stage: int | None = None,
    side: str | None = None,
) -> CallReadout:
    """Everything known about a player and a call; limited to a stage or side when given.

    Raises: MasteryError when `now` is before his last answer, or for an unknown stage or side.
    """
    if stage is not None and stage not in STAGES:
        raise MasteryError(f"stage {stage!r} is not one of 1 to 5")
    if side is not None and side not in SIDES:
        raise MasteryError(f"side {side!r} is not left or right")
    estimate = board(state, [player], [call], now, settings, stage, side)[player, call]
    mean, cov, team = parts_now(state, player, [call], now)
    record = state.record_of(player, call)
    weights = settings.weights(stage)
    chance, _ = known(*_theta_and_variance(mean, cov, team))
    by_side = [float(np.dot(weights, chance[0, i::2])) for i in range(2)]
    return CallReadout(
        estimate,
        tuple(_counts(record.select(stage, side) if record else [])),
        tuple(_parts(mean[0], cov[0], team, cell_shares(weights, side))),
        tuple(zip(SIDES, by_side, strict=True)),
        float(cell_shares(weights, side) @ team.mean[0]),
    )


def _theta_and_variance(mean: Vector, cov: Vector, team: TeamCells) -> tuple[Vector, Vector]:
    theta, spread = cell_moments(mean, cov, team)
    return theta, np.diagonal(spread, axis1=1, axis2=2)


def _counts(shown: list[CallAnswer]) -> Iterable[AnswerCount]:
    for stage in STAGES:
        for side in SIDES:
            own = [s.right for s in shown if s.stage == stage and s.side == side]
            if own:
                yield AnswerCount(stage, side, sum(own), len(own))


def _parts(mean: Vector, cov: Vector, team: TeamCells, shares: Vector) -> Iterable[EstimatePart]:
    """The six parts, weighted over stages and sides like the estimate."""
    share = shares @ DESIGN
    theta, variance = _theta_and_variance(mean[None], cov[None], team)
    whole = float(known(theta, variance)[0][0] @ shares)
    for kind, indexes in _PART_INDEXES.items():
        lever = share[indexes]
        block = cov[np.ix_(indexes, indexes)]
        without = mean.copy()
        without[indexes] = 0.0
        theta, _ = _theta_and_variance(without[None], cov[None], team)
        rest = float(known(theta, variance)[0][0] @ shares)
        yield EstimatePart(
            kind,
            float(lever @ mean[indexes]),
            float(np.sqrt(lever @ block @ lever)),
            float(np.sqrt(lever * lever @ PRIOR_VARIANCE[indexes])),
            whole - rest,
        )


def not_there_yet(
    state: MasteryState,
    players: Iterable[str],
    calls: Sequence[str],
    now: float,
    settings: TeamSettings,
    stage: int | None = None,
    side: str | None = None,
) -> list[Estimate]:
    """Estimates that are not *can*: *can't* first, then by call weight times (1 - P(can)).

    Limited to a stage or side when given.
    """
    return worst_first(board(state, players, calls, now, settings, stage, side).values(), settings)


def worst_first(cells: Iterable[Estimate], settings: TeamSettings) -> list[Estimate]:
    """These estimates without the *can* ones, in the order of `not_there_yet`."""

    def order(cell: Estimate) -> tuple[bool, float, str, str]:
        urgency = settings.call_weight(cell.call) * (1.0 - cell.p_can)
        return cell.state is not State.CANNOT, -urgency, cell.player, cell.call

    return sorted((cell for cell in cells if cell.state is not State.CAN), key=order)
