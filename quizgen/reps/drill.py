"""Which reps are worth asking: those whose answer the call decides. Must not know: players, answers given, words.

A player who ignores the call can still answer by the picture: the lane he stands in, his usual gap, what the same
picture asks on most other calls. Every call is looked at against the same offenses, one formation for each play to each
side, and each rep gets a weight: again and again, those that a rule without the call gets right too often lose some, so
that in the end no such rule is right much more often than by chance, as far as the calls differ at all. How often the
best rule is still right is the call-blind rate of a kind and position: the guess rate in mastery.

Rejected: only reps whose answer differs from the commonest one (a rule then takes the second commonest); weights by how
rare an answer is in its picture (the lane he stands in stays right in two of three).
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import prod

import numpy as np
from numpy.typing import NDArray

from quizgen.football.sides import Gap, Side
from quizgen.reps.catalogue import Catalogue, guise_of
from quizgen.reps.choices import lane_key
from quizgen.reps.ids import Setup
from quizgen.reps.kinds import AnyKind
from quizgen.reps.mixing import mixed
from quizgen.reps.snap import PassSnap, Snap

FORMATIONS_ON_AIR = 12
CALLS_COMPARED = 6
SPARE, AT_LEAST = 0.05, 0.35
"""What a rule may get right: so much over chance, or so much; five points under what the bench holds."""
ROUNDS, STEP = 100, 0.5
DEMOTE = 5
RARELY = 0.02
SELDOM = 0.001
"""No rep weighs less: a set can be of nothing else, as one on a man's stage whose answer never changes."""
FEW = 12
"""Fewer reps than that of a position say nothing of their own: the kind's rate is taken."""

FIXED_RULES = ("first", "middle", "last", "stands", "nearest", "stay", "usual", "outermost")

Offense = tuple[str, str, str]
Vector = NDArray[np.float64]
Numbers = NDArray[np.int64]
Answer = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class DrillRep:
    """A rep worth choosing from, by what finds it again; ``weight`` is how often it is drawn beside the others of its
    kind, 1 on average."""

    setup: str
    kind: str
    position: str
    guise: str
    weight: float


@dataclass(frozen=True, slots=True)
class Drill:
    """The reps to choose from, and the call-blind rate by kind and position's key ("" for the kind)."""

    reps: tuple[DrillRep, ...]
    rates: Mapping[str, Mapping[str, float]]


@dataclass(slots=True)
class _Seen:
    setup: Setup
    kind: AnyKind
    position: str
    guise: str
    answer: Answer
    chance: float
    stands: tuple[float, float]
    hits: tuple[str, ...]


def drill(catalogue: Catalogue, watch: Callable[[Iterable[Setup]], Iterable[Setup]] = iter) -> Drill:
    """What is worth asking of a team's calls. ``watch`` is given the setups and gives them back one by one, so that the
    caller can let others work in between."""
    seen = _look(catalogue, watch)
    by_kind: dict[str, list[_Seen]] = defaultdict(list)
    for one in seen:
        by_kind[one.kind.id].append(one)
    keys = {"": "", **{position.name: position.key for position in catalogue.team.positions}}
    rates, reps = {}, []
    for kind, some in by_kind.items():
        whole = _Kind(some)
        weights = whole.weigh()
        rates[kind] = {keys[name]: rate for name, rate in whole.rates(weights).items()}
        reps += [
            DrillRep(one.setup.digest, kind, one.position, one.guise, max(round(weight, 3), SELDOM))
            for one, weight in zip(some, weights.tolist(), strict=True)
        ]
    return Drill(tuple(reps), rates)


def _look(catalogue: Catalogue, watch: Callable[[Iterable[Setup]], Iterable[Setup]]) -> list[_Seen]:
    """Every rep against the sample of offenses."""
    wanted, usual = _sample(catalogue), _usual_gaps(catalogue)
    found = []
    for setup in watch([setup for setup in mixed(catalogue.setups.values()) if _offense(setup) in wanted]):
        snap = catalogue.find_listed(setup)
        for kind, position in catalogue.asked(setup) if snap is not None else ():
            assert snap is not None
            found.append(_see(setup, snap, kind, position, usual.get(position)))
    return found


def _offense(setup: Setup) -> Offense:
    return setup.formation.key, setup.play.key if setup.play else "", setup.play_to.value if setup.play_to else ""


def _sample(catalogue: Catalogue) -> set[Offense]:
    """One formation for each play to each side, as unlike as can be, and some on air."""
    chosen: dict[tuple[str, str], set[Offense]] = defaultdict(set)
    formations: Counter[str] = Counter()
    options: dict[tuple[str, str], dict[Offense, Setup]] = defaultdict(dict)
    for setup in mixed(catalogue.setups.values()):
        offense = _offense(setup)
        options[offense[1:]].setdefault(offense, setup)
    for play, some in options.items():
        most = FORMATIONS_ON_AIR if not play[0] else 1
        for offense in sorted(some, key=lambda one: formations[one[0]]):
            if len(chosen[play]) < most and catalogue.find_listed(some[offense]) is not None:
                chosen[play].add(offense)
                formations[offense[0]] += 1
    return set().union(*chosen.values())


def _usual_gaps(catalogue: Catalogue) -> Mapping[str, Gap]:
    """The gap that each position has on most calls, for a call to the right."""
    gaps: dict[str, Counter[Gap]] = defaultdict(Counter)
    asked = set()
    for setup in catalogue.setups.values():
        if setup.play is None and setup.to is Side.RIGHT and setup.pressure.key not in asked:
            snap = catalogue.find_listed(setup)
            if isinstance(snap, Snap):
                asked.add(setup.pressure.key)
                for fit in snap.answer.fits:
                    gaps[fit.man.position].update(fit.man.gaps[:1])
    return {position: counts.most_common(1)[0][0] for position, counts in gaps.items() if counts}


def _see(setup: Setup, snap: Snap | PassSnap, kind: AnyKind, position: str, usual: Gap | None) -> _Seen:
    parts = kind.decisions(snap, position)  # type: ignore[arg-type]
    choices = [[choice.key for choice in part.choices] for part in parts]
    right = [{choice.key for choice in part.choices if choice.id in part.right} for part in parts]
    men = snap.answer.men if isinstance(snap, PassSnap) else [fit.man for fit in snap.answer.fits]
    x, depth = next(man for man in men if man.position == position).stands
    stands = (round(2 * x) / 2, round(2 * depth) / 2)
    guesses: dict[str, list[str]] = {
        "first": [keys[0] for keys in choices],
        "middle": [keys[len(keys) // 2] for keys in choices],
        "last": [keys[-1] for keys in choices],
    }
    for rule, key in _lane_guesses(setup, snap, stands[0], usual, {key for keys in choices for key in keys}).items():
        guesses[rule] = [key if key in keys else keys[len(keys) // 2] for keys in choices]
    hits = tuple(rule for rule, keys in guesses.items() if all(k in r for k, r in zip(keys, right, strict=True)))
    chance = prod(len(r) / len(keys) for r, keys in zip(right, choices, strict=True))
    answer = tuple(min(keys) for keys in right)
    return _Seen(setup, kind, position, guise_of(kind, setup, snap, position), answer, chance, stands, hits)


def _lane_guesses(
    setup: Setup, snap: Snap | PassSnap, x: float, usual: Gap | None, shown: set[str]
) -> Mapping[str, str]:
    """Where a man goes who looks at the picture alone, as lanes; none where lanes are no choices."""
    if isinstance(snap, PassSnap):
        return {}
    lanes = [lane for lane in snap.answer.lanes if lane_key(lane) in shown]
    if not lanes:
        return {}
    gaps = setup.formation.gaps
    before = gaps[sum(player.x < x for player in setup.formation.surface)]
    if usual is not None and setup.to is Side.LEFT:
        usual = usual.mirrored
    found = {
        "stands": next((lane for lane in lanes if lane.x_from <= x <= lane.x_to), None),
        "nearest": min(lanes, key=lambda lane: abs(lane.middle_x - x)),
        "stay": next((lane for lane in lanes if before in lane.gaps), None),
        "usual": next((lane for lane in lanes if usual in lane.gaps), None),
        "outermost": lanes[0] if x < 0 else lanes[-1],
    }
    return {rule: lane_key(lane) for rule, lane in found.items() if lane is not None}


class _Kind:
    """The reps of one kind as arrays, and which of them each rule without the call gets right."""

    def __init__(self, seen: Sequence[_Seen]) -> None:
        self.positions = sorted({one.position for one in seen})
        self.position = np.array([self.positions.index(one.position) for one in seen])
        self.chance = np.array([one.chance for one in seen])
        answers = _numbers(one.answer for one in seen)
        self.fixed = [np.array([rule in one.hits for one in seen], dtype=float) for rule in FIXED_RULES]
        self.learned = []
        for groups in _groups(seen):
            group = _numbers(groups)
            pair = _numbers(zip(group.tolist(), answers.tolist(), strict=True))
            group_of_pair = np.zeros(pair.max() + 1, dtype=int)
            group_of_pair[pair] = group
            self.learned.append((pair, group_of_pair))
            self.fixed.append(self._hits(np.ones(len(seen)), pair, group_of_pair))

    @staticmethod
    def _hits(weight: Vector, pair: Numbers, group_of_pair: Numbers) -> Vector:
        """Where the answer that is right most often in its group is right."""
        totals = np.bincount(pair, weight)
        order = np.lexsort((-np.arange(len(totals)), totals))  # of equal ones the first
        best = np.zeros(group_of_pair.max() + 1, dtype=int)
        best[group_of_pair[order]] = order
        hits: Vector = (best[group_of_pair[pair]] == pair).astype(float)
        return hits

    def hits(self, weight: Vector) -> list[Vector]:
        """For each rule, 1 where it is right; learned rules know the weights."""
        return [*self.fixed, *(self._hits(weight, *one) for one in self.learned)]

    def shares(self, weight: Vector, value: Vector) -> Vector:
        """The mean of a value for each position."""
        return np.bincount(self.position, weight * value) / np.bincount(self.position, weight)

    def weigh(self) -> Vector:
        """Weights that leave no rule more than its share, over all positions and for each: the mean over rounds in
        which each rule that gets too much right takes weight from what it gets right."""
        weight, total = np.ones(len(self.position)), np.zeros(len(self.position))
        bound = max(float(self.chance.mean()) + SPARE, AT_LEAST)
        for _ in range(ROUNDS):
            loss = np.zeros(len(weight))
            for hit in self.hits(total if total.any() else weight):
                whole = max(float(weight @ hit / weight.sum()) - bound, 0.0)
                own = np.maximum(self.shares(weight, hit) - bound, 0.0)
                loss += hit * (2.0 * whole + own[self.position])
            weight = np.maximum(weight * np.exp(-STEP * loss), RARELY)
            weight /= weight.mean()
            total += weight
        weight = total / ROUNDS
        # Every position is asked equally much, so one whose answer hardly changes is asked other kinds instead.
        own = np.max([self.shares(weight, hit) for hit in self.hits(weight)], axis=0)
        weight *= np.minimum(1.0, bound / own)[self.position] ** DEMOTE
        found: Vector = weight / weight.mean()
        return found

    def rates(self, weight: Vector) -> dict[str, float]:
        """The best rule's share, for the kind ("") and for each position by name."""
        hits = self.hits(weight)
        found = {"": max(float(weight @ hit / weight.sum()) for hit in hits)}
        by_position = np.max([self.shares(weight, hit) for hit in hits], axis=0)
        enough = np.bincount(self.position) >= FEW
        for name, rate, is_enough in zip(self.positions, by_position.tolist(), enough.tolist(), strict=True):
            found[name] = rate if is_enough else found[""]
        return {name: round(rate, 3) for name, rate in found.items()}


def _numbers(values: Iterable[Hashable]) -> Numbers:
    """Each value as a number, equal ones as the same."""
    known: dict[Hashable, int] = {}
    return np.array([known.setdefault(value, len(known)) for value in values])


def _groups(seen: Sequence[_Seen]) -> list[list[Hashable]]:
    """What each learned rule goes by: the same picture over six calls (he stands alike, where six are left), the
    position, the position and the play."""
    calls: dict[Hashable, set[str]] = defaultdict(set)
    for one in seen:
        calls[one.position, _offense(one.setup), one.stands].add(one.setup.pressure.key)
    pictures: list[Hashable] = []
    for one in seen:
        key = (one.position, _offense(one.setup))
        pictures.append((*key, one.stands) if len(calls[(*key, one.stands)]) >= CALLS_COMPARED else key)
    plays: list[Hashable] = [(one.position, *_offense(one.setup)[1:]) for one in seen]
    return [pictures, [one.position for one in seen], plays]
