"""The running state of a team, computed from its stored answers alone.

Replaying all answers and updating answer by answer give the same state to the last bit, since both run this code.
Answers are processed in order of time, then in the order given. Knows nothing of how answers are stored or what is read
out of the state.
"""

from collections.abc import Iterable, Mapping, Sequence
from copy import copy
from dataclasses import dataclass, field
from itertools import product
from typing import Any

import numpy as np

from server.mastery.cells import cell_moments, forget
from server.mastery.model import Belief, Difficulty, Step, Vector, guess_chance, keys_of, keys_of_call
from server.mastery.values import (
    DAY_S,
    SIDES,
    STAGES,
    AnswerFact,
    Families,
    MasteryError,
    StateRules,
    TeamSettings,
    from_families,
)

FORMAT = 3

#: A part of a call: one stage, one side, both, or (None, None) the whole call.
PartOf = tuple[int | None, str | None]


@dataclass(frozen=True, slots=True)
class CallAnswer:
    """One of a player's answers on a call, reduced to what the states need (`at` in seconds)."""

    at: float
    stage: int
    side: str
    right: bool


@dataclass(frozen=True, slots=True)
class Proof:
    """The belief about a call's fifteen parts, and its difficulty by stage, when the answers last sufficed for *can*
    (`at` in seconds). It separates forgetting from mistakes.

    A wrong answer deletes the proof of every part of the call it belongs to, and replaces the others with the belief
    after it, so that *faded* means "by time alone".
    """

    mean: Vector
    cov: Vector
    team: Vector
    at: float

    def cells(self, now: float) -> tuple[Vector, Vector]:
        """Theta of the ten cells (1, 10) and its covariance (1, 10, 10) at `now`, as if he had not answered since."""
        mean, cov = forget(self.mean[None], self.cov[None], np.array([now - self.at]))
        return cell_moments(mean, cov, self.team[None])


@dataclass(slots=True)
class Record:
    """A player's answers on one call, oldest first, and the proofs of the whole call and of its parts."""

    shown: list[CallAnswer] = field(default_factory=list)
    proofs: dict[PartOf, Proof] = field(default_factory=dict)

    def select(self, stage: int | None, side: str | None) -> list[CallAnswer]:
        """His answers at a stage and from a side; None means any."""
        if stage is None and side is None:
            return self.shown
        return [s for s in self.shown if stage in (None, s.stage) and side in (None, s.side)]


def last_right(shown: list[CallAnswer], side: str) -> bool:
    """Whether the last of these answers from a side was right; False when there is none."""
    return next((s.right for s in reversed(shown) if s.side == side), False)


def counts_suffice(shown: list[CallAnswer], side: str | None, team_answers: int, rules: StateRules) -> bool:
    """Whether the answers (not the estimate) sufficed for *can* right after the last one: enough recent ones, and the
    last from each side right (or from `side`, when given)."""
    # One side needs as many answers as the whole call. Rejected: half as many a side (two right of two would do).
    needed = rules.can_answers_new_team if team_answers < rules.new_team_answers else rules.can_answers
    if len(shown) < needed or shown[-1].at - shown[-needed].at > rules.recent_days * DAY_S:
        return False
    return all(last_right(shown, one) for one in SIDES if side in (None, one))


class MasteryState:
    """Everything learned from a team's answers so far. Change it only through `update`, and not at all once others read
    it: `with_answers` gives another."""

    __slots__ = ("answers", "beliefs", "difficulty", "families", "last_at", "positions", "records", "rules")

    def __init__(self, rules: StateRules, families: Families) -> None:
        self.rules = rules
        self.families = families
        self.answers = 0
        self.last_at: float | None = None
        self.difficulty = Difficulty()
        self.beliefs: dict[str, Belief] = {}
        self.records: dict[str, dict[str, Record]] = {}
        self.positions: dict[str, str] = {}

    def update(self, answer: AnswerFact) -> float:
        """Process one answer; return the predicted chance that it would be right.

        Raises: MasteryError when the answer is older than the team's last one (replay instead).
        """
        if self.last_at is not None and answer.at < self.last_at:
            raise MasteryError(
                f"an answer at {answer.at} comes after one at {self.last_at}; replay the answers in order of time"
            )
        family = self.families.family_of(answer.position, answer.call)
        belief = self.beliefs.setdefault(answer.player, Belief())
        belief.forget_until(answer.at)
        slots = belief.slots_for(keys_of(answer.call, family, answer.stage, answer.side))
        theta = self.difficulty.theta(answer.call, answer.stage)
        predicted = belief.answer(slots, theta, guess_chance(answer.choices), answer.right).predicted
        self.difficulty.move(answer.call, answer.stage, float(answer.right) - predicted)
        self.answers += 1
        self.last_at = answer.at
        self._record(answer, family, belief)
        return predicted

    def with_answers(self, answers: Sequence[AnswerFact]) -> "MasteryState":
        """The state after these answers too; this one stays as it is, for those who read it meanwhile. What is known of
        players who gave none of them is shared.

        Raises: as `update` does.
        """
        after = copy(self)
        after.difficulty = self.difficulty.copy()
        after.positions, after.beliefs, after.records = dict(self.positions), dict(self.beliefs), dict(self.records)
        for player in {one.player for one in answers} & set(self.beliefs):
            after.beliefs[player] = self.beliefs[player].copy()
            own = self.records[player].items()
            after.records[player] = {call: Record(list(one.shown), dict(one.proofs)) for call, one in own}
        for one in answers:
            after.update(one)
        return after

    def _record(self, answer: AnswerFact, family: str, belief: Belief) -> None:
        self.positions[answer.player] = answer.position
        records = self.records.setdefault(answer.player, {})
        record = records.setdefault(answer.call, Record())
        record.shown.append(CallAnswer(answer.at, answer.stage, answer.side, answer.right))
        parts = list(product((None, answer.stage), (None, answer.side)))
        if answer.right:
            proven = [p for p in parts if counts_suffice(record.select(*p), p[1], self.answers, self.rules)]
        else:
            for part in parts:
                record.proofs.pop(part, None)
            proven = list(record.proofs)
        if proven:
            mean, cov = belief.gather([keys_of_call(answer.call, family)])
            proof = Proof(mean[0], cov[0], self.difficulty_of(answer.call), answer.at)
            record.proofs.update(dict.fromkeys(proven, proof))

    def difficulty_of(self, call: str) -> Vector:
        """Team difficulty of a call at stages 1 to 5 (log odds)."""
        return np.array([self.difficulty.theta(call, stage) for stage in STAGES])

    def to_dict(self) -> dict[str, Any]:
        """The state as plain values that JSON preserves exactly; without rules and families."""
        return {
            "format": FORMAT,
            "answers": self.answers,
            "last_at": self.last_at,
            "positions": dict(self.positions),
            "mu": _step_to_list(self.difficulty.mu),
            "calls": {call: _step_to_list(step) for call, step in self.difficulty.calls.items()},
            "stages": {str(stage): _step_to_list(step) for stage, step in self.difficulty.stages.items()},
            "beliefs": {player: belief.to_dict() for player, belief in self.beliefs.items()},
            "records": {
                player: {call: _record_to_dict(record) for call, record in calls.items()}
                for player, calls in self.records.items()
            },
        }

    @classmethod
    def from_dict(
        cls, data: Mapping[str, Any], settings: TeamSettings, families: Families | Mapping[str, str]
    ) -> "MasteryState":
        """The state from `to_dict`.

        Raises: MasteryError when it has another format.
        """
        if data.get("format") != FORMAT:
            raise MasteryError(f"stored mastery state has format {data.get('format')!r}; expected {FORMAT}: replay")
        state = cls(settings.rules, from_families(families))
        state.answers, state.last_at = data["answers"], data["last_at"]
        state.positions = dict(data["positions"])
        state.difficulty.mu = Step(*data["mu"])
        state.difficulty.calls = {call: Step(*step) for call, step in data["calls"].items()}
        state.difficulty.stages = {int(stage): Step(*step) for stage, step in data["stages"].items()}
        state.beliefs = {player: Belief.from_dict(belief) for player, belief in data["beliefs"].items()}
        state.records = {
            player: {call: _record_from_dict(record) for call, record in calls.items()}
            for player, calls in data["records"].items()
        }
        return state


def replay(
    answers: Iterable[AnswerFact], settings: TeamSettings, families: Families | Mapping[str, str]
) -> MasteryState:
    """The state after these answers, processed in order of time (equal times in the order given)."""
    state = MasteryState(settings.rules, from_families(families))
    for answer in sorted(answers, key=lambda a: a.at):
        state.update(answer)
    return state


def _step_to_list(step: Step) -> list[float]:
    return [step.value, step.answers]


def _record_to_dict(record: Record) -> dict[str, Any]:
    return {
        "shown": [[s.at, s.stage, s.side, s.right] for s in record.shown],
        "proofs": [
            [*part, p.mean.tolist(), p.cov.tolist(), p.team.tolist(), p.at] for part, p in record.proofs.items()
        ],
    }


def _record_from_dict(data: Mapping[str, Any]) -> Record:
    return Record(
        [CallAnswer(at, stage, side, right) for at, stage, side, right in data["shown"]],
        {
            (stage, side): Proof(np.array(mean), np.array(cov), np.array(team), at)
            for stage, side, mean, cov, team, at in data["proofs"]
        },
    )
