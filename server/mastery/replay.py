"""The running state of a team, computed from its stored answers alone.

Replaying all answers and updating answer by answer give the same state to the last bit, since both run this code.
Answers are processed in order of time, then in the order given. Knows nothing of how answers are stored or what is read
out of the state.
"""

from collections.abc import Iterable, Mapping, Sequence
from copy import copy
from dataclasses import dataclass, field
from itertools import product

import numpy as np

from server.mastery.cells import TeamCells, cell_moments, forget, team_keys_of_call
from server.mastery.model import (
    Belief,
    Difficulty,
    Vector,
    guess_chance,
    keys_of,
    keys_of_call,
    team_keys_of,
)
from server.mastery.values import (
    DAY_S,
    SIDES,
    AnswerFact,
    Families,
    MasteryError,
    StateRules,
    TeamSettings,
    from_families,
)

#: A pause that ends a sitting. Within one, a question of a call, stage and kind that was answered before is a repeat.
SITTING_S = 30 * 60.0
#: How often a repeat is right only because its answer was shown minutes ago, in another guise at most. With this share
#: a right repeat moves an estimate by less than a quarter of what a first answer does; a wrong one still counts.
REPEAT_SHOWN = 0.75
#: A position and a call.
Job = tuple[str, str]
#: A part of a call: one stage, one side, both, or (None, None) the whole call.
PartOf = tuple[int | None, str | None]


@dataclass(frozen=True, slots=True)
class CallAnswer:
    """One of a player's answers on a call, reduced to what the states need (`at` in seconds).

    `is_proof`: it counts as a whole answer, so that a right one shows that he knew it that day.
    """

    at: float
    day: int
    stage: int
    side: str
    kind: str
    snap: str
    right: bool
    is_proof: bool


@dataclass(frozen=True, slots=True)
class Proof:
    """The belief about a call's fifteen parts, and its difficulty by cell, when the answers last sufficed for *can*
    (`at` in seconds). It separates forgetting from mistakes.

    A wrong answer deletes the proof of every part of the call it belongs to, and replaces the others with the belief
    after it, so that *faded* means "by time alone".
    """

    mean: Vector
    cov: Vector
    team: TeamCells
    at: float

    def cells(self, now: float, slower: float) -> tuple[Vector, Vector]:
        """Theta of the ten cells (1, 10) and its covariance (1, 10, 10) at `now`, as if he had not answered since;
        he forgets `slower` times as slowly."""
        mean, cov = forget(self.mean[None], self.cov[None], np.array([(now - self.at) / slower]))
        return cell_moments(mean, cov, self.team)


@dataclass(slots=True)
class Record:
    """A player's answers on one call at one position, oldest first, and the proofs of the whole call and its parts."""

    shown: list[CallAnswer] = field(default_factory=list)
    proofs: dict[PartOf, Proof] = field(default_factory=dict)

    def select(self, stage: int | None, side: str | None) -> list[CallAnswer]:
        """His answers at a stage and from a side; None means any."""
        if stage is None and side is None:
            return self.shown
        return [s for s in self.shown if stage in (None, s.stage) and side in (None, s.side)]

    def is_repeat(self, answer: AnswerFact) -> bool:
        """Whether the same question of this call was answered before in the same sitting."""
        last = answer.at
        for one in reversed(self.shown):
            if last - one.at > SITTING_S:
                return False
            last = one.at
            if answer.kind and (one.stage, one.kind) == (answer.stage, answer.kind):
                return True
        return False


@dataclass(frozen=True, slots=True)
class Spacing:
    """How right answers are spread over days: how many days had one, and how long the last of them holds."""

    days: int
    fresh_days: float
    last_right_at: float | None

    def slower(self, rules: StateRules) -> float:
        """How many times as slowly he forgets as after right answers on one day."""
        return self.fresh_days / rules.fresh_days[0]

    def sharp_until(self) -> float | None:
        """Until when (seconds) the last right answer holds; None without one."""
        return None if self.last_right_at is None else self.last_right_at + self.fresh_days * DAY_S


def spacing_of(shown: Iterable[CallAnswer], rules: StateRules) -> Spacing:
    """The spacing of these answers, oldest first.

    Being right again after at least half of the time that the last right answer holds makes the next one hold longer;
    being right many times in a day doesn't. A wrong answer starts it again.
    """
    days, level, counted, last = set(), 0, None, None
    for one in shown:
        if not one.right:
            level, counted = 0, None
            continue
        last = one.at
        if not one.is_proof:
            continue
        days.add(one.day)
        if counted is None:
            counted = one.day
        elif one.day - counted >= rules.fresh_days[level] / 2:
            level, counted = min(level + 1, len(rules.fresh_days) - 1), one.day
    return Spacing(len(days), rules.fresh_days[level], last)


def last_right(shown: list[CallAnswer], side: str) -> bool:
    """Whether the last of these answers from a side was right; False when there is none."""
    return next((s.right for s in reversed(shown) if s.side == side), False)


def counts_suffice(shown: list[CallAnswer], side: str | None, rules: StateRules) -> bool:
    """Whether the answers (not the estimate) sufficed for *can* right after the last one: right ones on enough days,
    and the last from each side right (or from `side`, when given)."""
    if len({one.day for one in shown if one.right and one.is_proof}) < rules.can_days:
        return False
    return all(last_right(shown, one) for one in SIDES if side in (None, one))


class MasteryState:
    """Everything learned from a team's answers so far. Change it only through `update`, and not at all once others read
    it: `with_answers` gives another."""

    __slots__ = ("answers", "beliefs", "difficulty", "families", "last_at", "playing", "positions", "records", "rules")

    def __init__(self, rules: StateRules, families: Families) -> None:
        self.rules = rules
        self.families = families
        self.answers = 0
        self.last_at: float | None = None
        self.difficulty = Difficulty()
        self.beliefs: dict[str, Belief] = {}
        self.records: dict[str, dict[Job, Record]] = {}
        self.positions: dict[str, str] = {}
        self.playing: Mapping[str, Mapping[str, Sequence[str]]] = {}

    def update(self, answer: AnswerFact) -> float:
        """Process one answer; return the predicted chance that it would be right.

        Raises: MasteryError when the answer is older than the team's last one (replay instead).
        """
        if self.last_at is not None and answer.at < self.last_at:
            raise MasteryError(
                f"an answer at {answer.at} comes after one at {self.last_at}; replay the answers in order of time"
            )
        family = self.families.family_of(answer.position, answer.call)
        own = self.records.setdefault(answer.player, {})
        record = own.setdefault((answer.position, answer.call), Record())
        guess, is_repeat = guess_chance(answer.choices, answer.guess), record.is_repeat(answer)
        if is_repeat:
            guess += (1.0 - guess) * REPEAT_SHOWN
        belief = self.beliefs.setdefault(answer.player, Belief())
        belief.forget_until(answer.at)
        slots = belief.slots_for(keys_of(answer.position, answer.call, family, answer.stage, answer.side))
        keys = team_keys_of(answer.call, answer.stage, answer.side)
        theta = self.difficulty.theta(keys)
        update = belief.answer(slots, theta, guess, answer.right, answer.weight)
        self.difficulty.move(keys, answer.player, update)
        self.answers += 1
        self.last_at = answer.at
        self.positions[answer.player] = answer.position
        self._record(answer, record, family, belief, answer.weight == 1.0 and not is_repeat)
        return update.predicted

    def position_of(self, player: str, call: str) -> str:
        """The position that a player's cell on a call is about: of those that he plays now, the one that he last
        answered for, or the first; where nobody said what he plays, that of his last answer."""
        now = self.playing.get(player, {}).get(call)
        if not now:
            return self.positions.get(player, "")
        own = self.records.get(player, {})
        asked = [(own[position, call].shown[-1].at, position) for position in now if (position, call) in own]
        return max(asked)[1] if asked else now[0]

    def record_of(self, player: str, call: str) -> Record | None:
        """A player's record on a call at his position; None without answers. Proof doesn't pass from one position to
        another: what he has to do there is another job."""
        return self.records.get(player, {}).get((self.position_of(player, call), call))

    def with_positions(self, playing: Mapping[str, Mapping[str, Sequence[str]]]) -> "MasteryState":
        """The same state, read for the positions that players play now: {player: {call: positions}}."""
        state = copy(self)
        state.playing = playing
        return state

    def with_answers(self, answers: Sequence[AnswerFact]) -> "MasteryState":
        """The state after these answers too; this one stays as it is, for those who read it meanwhile. What is known of
        players who gave none of them is shared.

        Raises: as `update` does.
        """
        after = copy(self)
        after.difficulty = self.difficulty.copy({one.player for one in answers})
        after.positions, after.beliefs, after.records = dict(self.positions), dict(self.beliefs), dict(self.records)
        for player in {one.player for one in answers} & set(self.beliefs):
            after.beliefs[player] = self.beliefs[player].copy()
            own = self.records[player].items()
            after.records[player] = {call: Record(list(one.shown), dict(one.proofs)) for call, one in own}
        for one in answers:
            after.update(one)
        return after

    def _record(self, answer: AnswerFact, record: Record, family: str, belief: Belief, is_proof: bool) -> None:
        shown = (answer.stage, answer.side, answer.kind, answer.snap, answer.right, is_proof)
        record.shown.append(CallAnswer(answer.at, answer.on_day, *shown))
        parts = list(product((None, answer.stage), (None, answer.side)))
        if answer.right:
            proven = [p for p in parts if counts_suffice(record.select(*p), p[1], self.rules)]
        else:
            for part in parts:
                record.proofs.pop(part, None)
            proven = list(record.proofs)
        if proven:
            mean, cov = belief.gather([keys_of_call(answer.position, answer.call, family)])
            proof = Proof(mean[0], cov[0], self.difficulty_of([answer.call]), answer.at)
            record.proofs.update(dict.fromkeys(proven, proof))

    def difficulty_of(self, calls: Sequence[str]) -> TeamCells:
        """How hard these calls are for the team by cell (log odds)."""
        means, covs = [], []
        for call in calls:
            keys, design = team_keys_of_call(call)
            mean, variance = np.array([self.difficulty.part(key) for key in keys]).T
            means.append(design @ mean)
            covs.append((design * variance) @ design.T)
        return TeamCells(np.array(means), np.array(covs))


def replay(
    answers: Iterable[AnswerFact], settings: TeamSettings, families: Families | Mapping[str, str]
) -> MasteryState:
    """The state after these answers, processed in order of time (equal times in the order given)."""
    state = MasteryState(settings.rules, from_families(families))
    for answer in sorted(answers, key=lambda a: a.at):
        state.update(answer)
    return state
