"""What a coach may conclude about a player and a call, with the evidence: state, P(can), six parts, raw counts.

Must not know: how the page words or draws it. Settings change only what is read out here. `now` is in seconds since
1970 UTC and lies at or after the last answer.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from server.mastery.cells import CELLS, DESIGN, PRIOR_VARIANCE, cell_moments, cell_shares, forget, known, p_can
from server.mastery.model import Belief, PartKind, Vector, keys_of_call
from server.mastery.replay import MasteryState, PartOf, Record, Shown, last_right
from server.mastery.values import DAY_S, SIDES, STAGES, MasteryError, Side, State, TeamSettings

_NO_BELIEF = Belief()
_PLACES: dict[PartKind, list[int]] = {
    PartKind.PLAYER: [0],
    PartKind.FAMILY: [1],
    PartKind.STAGE: [2, 3, 4, 5, 6],
    PartKind.CALL: [7],
    PartKind.CALL_STAGE: [8, 9, 10, 11, 12],
    PartKind.CALL_SIDE: [13, 14],
}


class Short(StrEnum):
    """What is still missing for *can*."""

    ESTIMATE = "not sure enough"
    FEW_ANSWERS = "too few recent answers"
    LEFT = "last answer from the left not right"
    RIGHT = "last answer from the right not right"
    OLD = "last answer too long ago"


@dataclass(frozen=True, slots=True)
class Count:
    """Own answers on the call at a stage from a side, and how many were right."""

    stage: int
    side: Side
    right: int
    answered: int


@dataclass(frozen=True, slots=True)
class Part:
    """One of the six parts of an estimate.

    `mean` and `sd` are log odds against the team's average, `prior_sd` what `sd` is without any answer, `points` how
    much the part moves the chance of knowing, in 0 to 1 (negative: it lowers it).
    """

    kind: PartKind
    mean: float
    sd: float
    prior_sd: float
    points: float


@dataclass(frozen=True, slots=True)
class Estimate:
    """State and figures of a player and a call, enough for a cell of the board.

    `chance` is the expected share of the call's situations that he knows and `chance_sd` its error bar; `answered`
    and `right` count all his own answers; `last_at` is None when he has given none. With `stage` or `side` set, all
    of it is of that stage, from that side.
    """

    player: str
    call: str
    stage: int | None
    side: Side | None
    state: State
    p_can: float
    chance: float
    chance_sd: float
    answered: int
    right: int
    last_at: float | None
    short: tuple[Short, ...]

    @property
    def open_sides(self) -> tuple[Side, ...]:
        """Sides from which his last answer was not right, or that he has not answered from."""
        return tuple(s for s, short in ((Side.LEFT, Short.LEFT), (Side.RIGHT, Short.RIGHT)) if short in self.short)


@dataclass(frozen=True, slots=True)
class CallReadout:
    """An estimate with its evidence: counts by stage and side, the six parts, and how hard the call is for the team.

    `side_chance` is the chance of knowing from each side; `team` is the team's log odds of a right answer.
    """

    estimate: Estimate
    counts: tuple[Count, ...]
    parts: tuple[Part, ...]
    side_chance: tuple[tuple[Side, float], ...]
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

    def by_side(self, side: Side) -> tuple[int, int]:
        """Right and answered from a side, over all stages."""
        own = [c for c in self.counts if c.side is side]
        return sum(c.right for c in own), sum(c.answered for c in own)


def parts_now(state: MasteryState, player: str, calls: Sequence[str], now: float) -> tuple[Vector, Vector, Vector]:
    """Mean (n, 15) and covariance (n, 15, 15) of the parts behind calls at `now`, and team difficulty (n, 5).

    Raises: MasteryError when `now` lies before his last answer.
    """
    belief = state.beliefs.get(player, _NO_BELIEF)
    last = now if belief.at is None else belief.at
    if now < last:
        raise MasteryError(f"asked for a readout at {now}, before the player's last answer at {last}")
    position = state.positions.get(player, "")
    groups = [keys_of_call(call, state.families.family_of(position, call)) for call in calls]
    mean, cov = forget(*belief.gather(groups), np.full(len(groups), now - last))
    return mean, cov, np.array([state.difficulty_of(call) for call in calls])


def cell_chances(
    state: MasteryState, player: str, calls: Sequence[str], now: float
) -> dict[tuple[str, int, Side], float]:
    """Chance of knowing each call (one at least) at each stage from each side, at `now` (seconds)."""
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
    side: Side | None = None,
) -> dict[tuple[str, str], Estimate]:
    """Estimates of all these players and calls; of one stage, from one side, when it is named.

    From one side, *can* asks for as many answers from that side as for the whole call, and the last one there right.
    """
    everyone = list(dict.fromkeys(players))
    if not everyone or not calls:
        return {}
    blocks = [parts_now(state, player, calls, now) for player in everyone]
    mean, cov, team = (np.concatenate([b[i] for b in blocks]) for i in range(3))
    shares = cell_shares(settings.weights(stage), side)
    above, chance, sd = p_can(*cell_moments(mean, cov, team), shares, settings.rules.known_share)
    pairs = [(player, call) for player in everyone for call in calls]
    cells = {}
    for pair, p, q, s in zip(pairs, above.tolist(), chance.tolist(), sd.tolist(), strict=True):
        record = state.records.get(pair[0], {}).get(pair[1])
        cells[pair] = _estimate(state, pair, (stage, side), record, (p, q, s), now, settings)
    return cells


def _estimate(
    state: MasteryState,
    pair: tuple[str, str],
    part: PartOf,
    record: Record | None,
    figures: tuple[float, float, float],
    now: float,
    settings: TeamSettings,
) -> Estimate:
    shown = record.of(*part) if record else []
    p = figures[0]
    short = tuple(_short_of(shown, part[1], p, now, state.answers, settings))
    return Estimate(
        *pair,
        *part,
        _state_of(record, shown, p, short, part, now, settings),
        *figures,
        answered=len(shown),
        right=sum(s.right for s in shown),
        last_at=shown[-1].at if shown else None,
        short=short,
    )


def _short_of(
    shown: list[Shown], side: Side | None, p: float, now: float, team_answers: int, settings: TeamSettings
) -> Iterable[Short]:
    rules = settings.rules
    if p < rules.can_at:
        yield Short.ESTIMATE
    needed = rules.can_answers_new_team if team_answers < rules.new_team_answers else rules.can_answers
    if len(shown) < needed or now - shown[-needed].at > rules.recent_days * DAY_S:
        yield Short.FEW_ANSWERS
    for one, short in zip(SIDES, (Short.LEFT, Short.RIGHT), strict=True):
        if side in (None, one) and not last_right(shown, one):
            yield short
    if shown and now - shown[-1].at > rules.fresh_days * DAY_S:
        yield Short.OLD


def _state_of(
    record: Record | None,
    shown: list[Shown],
    p: float,
    short: tuple[Short, ...],
    part: PartOf,
    now: float,
    settings: TeamSettings,
) -> State:
    rules = settings.rules
    if not short:
        return State.CAN
    if p <= rules.cannot_at and len(shown) >= rules.cannot_answers:
        recent = now - shown[-rules.cannot_answers].at <= rules.recent_days * DAY_S
        if recent and not all(s.right for s in shown[-rules.last_few :]):
            return State.CANNOT
    proof = record.proofs.get(part) if record else None
    if proof is not None:
        shares = cell_shares(settings.weights(part[0]), part[1])
        then, _, _ = p_can(proof.theta[None], proof.cov[None], shares, rules.known_share)
        if then[0] >= rules.can_at:
            return State.FADED
    return State.NOT_PROVEN


def readout(
    state: MasteryState,
    player: str,
    call: str,
    now: float,
    settings: TeamSettings,
    stage: int | None = None,
    side: Side | None = None,
) -> CallReadout:
    """Everything known about a player and a call; about one stage of it, from one side, when it is named.

    Raises: MasteryError when `now` lies before his last answer or there is no such stage or side.
    """
    if stage is not None and stage not in STAGES:
        raise MasteryError(f"stage {stage!r} is not one of 1 to 5")
    if side is not None and side not in SIDES:
        raise MasteryError(f"side {side!r} is not left or right")
    estimate = board(state, [player], [call], now, settings, stage, side)[player, call]
    mean, cov, team = parts_now(state, player, [call], now)
    record = state.records.get(player, {}).get(call)
    weights = settings.weights(stage)
    chance, _ = known(*_theta_and_variance(mean, cov, team))
    by_side = [float(np.dot(weights, chance[0, i::2])) for i in range(2)]
    return CallReadout(
        estimate,
        tuple(_counts(record.of(stage, side) if record else [])),
        tuple(_parts(mean[0], cov[0], team[0], cell_shares(weights, side))),
        tuple(zip(SIDES, by_side, strict=True)),
        float(np.dot(weights, team[0])),
    )


def _theta_and_variance(mean: Vector, cov: Vector, team: Vector) -> tuple[Vector, Vector]:
    theta, spread = cell_moments(mean, cov, team)
    return theta, np.diagonal(spread, axis1=1, axis2=2)


def _counts(shown: list[Shown]) -> Iterable[Count]:
    for stage in STAGES:
        for side in SIDES:
            own = [s.right for s in shown if s.stage == stage and s.side is side]
            if own:
                yield Count(stage, side, sum(own), len(own))


def _parts(mean: Vector, cov: Vector, team: Vector, shares: Vector) -> Iterable[Part]:
    """Each part as it enters the call: weighted over stages and sides as the estimate is."""
    share = shares @ DESIGN
    theta, variance = _theta_and_variance(mean[None], cov[None], team[None])
    whole = float(known(theta, variance)[0][0] @ shares)
    for kind, places in _PLACES.items():
        lever = share[places]
        block = cov[np.ix_(places, places)]
        without = mean.copy()
        without[places] = 0.0
        theta, _ = _theta_and_variance(without[None], cov[None], team[None])
        rest = float(known(theta, variance)[0][0] @ shares)
        yield Part(
            kind,
            float(lever @ mean[places]),
            float(np.sqrt(lever @ block @ lever)),
            float(np.sqrt(lever * lever @ PRIOR_VARIANCE[places])),
            whole - rest,
        )


def not_there_yet(
    state: MasteryState,
    players: Iterable[str],
    calls: Sequence[str],
    now: float,
    settings: TeamSettings,
    stage: int | None = None,
    side: Side | None = None,
) -> list[Estimate]:
    """Those who cannot yet be said to know a call: *can't* first, then the rest by weight times (1 - P(can)).

    Of one stage, from one side, when it is named.
    """
    cells = board(state, players, calls, now, settings, stage, side).values()

    def order(cell: Estimate) -> tuple[bool, float, str, str]:
        urgency = settings.call_weight(cell.call) * (1.0 - cell.p_can)
        return cell.state is not State.CANNOT, -urgency, cell.player, cell.call

    return sorted((cell for cell in cells if cell.state is not State.CAN), key=order)
