"""What would mend a call that is short: the smallest changes of the call itself that make more of its snaps sound.

Tried one by one, then two together among the best: the edge's rule (box, spill), the rules for pulls, the run jobs of
the droppers, one step of alignment, an exchange, who is the second rusher. Each is solved anew on every snap, so what
it costs elsewhere is said beside what it gains. Nothing is changed here: a coach does that, or doesn't.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, fields, replace
from itertools import combinations, product

from quizgen.engine.shared_work import SharedWork
from quizgen.engine.verdict import solve
from quizgen.football.calling import PlayedCall, play_call
from quizgen.football.defense import TECHNIQUES, Alignment, Front, Numbering
from quizgen.football.errors import CannotRun, FootballValueError, NoRule
from quizgen.football.pressure import CoverJob, Drop, Exchange, Pressure, RunJob, Rush, RushPart, Trigger
from quizgen.football.rules import EdgeRule, FitRules, PullFirst, PullSecond, TeamRules
from quizgen.football.sides import Side
from quizgen.football.team import Situation, TeamBook
from quizgen.football.terms import Term

PAIRED = 15
STEP_YD = 1.0
BACKER_DEPTH_YD = 2.5
BLOCKERS = ("guard", "tackle", "end")
# Who has a third or a half of the deep field does not come up first (common practice).
DEEP = (CoverJob.DEEP_THIRD, CoverJob.DEEP_HALF)
LATE_JOBS = (RunJob.FREE, RunJob.CUTBACK, RunJob.COVER)
NEEDS_SIDE = (RunJob.FORCE, RunJob.ALLEY, RunJob.FOLD)


@dataclass(frozen=True, slots=True)
class WeightedSnap:
    """A situation and how often it is met."""

    situation: Situation
    weight: float = 1.0


@dataclass(frozen=True, slots=True)
class NewRule:
    """A man goes by another rule: ``name`` is its field in FitRules."""

    position: str
    name: str
    rule: Term


@dataclass(frozen=True, slots=True)
class NewJob:
    """A dropper has another run job."""

    position: str
    was: RunJob
    job: RunJob


@dataclass(frozen=True, slots=True)
class NewPlace:
    """A man lines up one step from where he does; the technique is None where he is on no numbered one."""

    position: str
    was: Alignment
    place: Alignment
    technique: str | None


@dataclass(frozen=True, slots=True)
class NewOrder:
    """Of two rushers the second one goes first."""

    first: str
    second: str


CallChange = NewRule | NewJob | NewPlace | NewOrder | Exchange


@dataclass(frozen=True, slots=True)
class ContentChange:
    """One value of a team's files: where it stands, what it is now (empty: nothing), what it would be; and ``what``
    that does to the call."""

    file: str
    key: str
    before: str
    after: str
    what: CallChange


@dataclass(frozen=True, slots=True)
class Mending:
    """Changes of a call, the call with them, the snaps that they make sound (``won``) and short (``lost``), the weight
    of either, and the weight of those that are sound without them."""

    changes: tuple[ContentChange, ...]
    pressure: Pressure
    won: tuple[WeightedSnap, ...]
    lost: tuple[WeightedSnap, ...]
    gains: float
    costs: float
    sound_before: float

    @property
    def net(self) -> float:
        """What is left of the gains."""
        return self.gains - self.costs

    @property
    def sound_after(self) -> float:
        """The weight of the snaps that are sound with the changes."""
        return self.sound_before + self.gains - self.costs


@dataclass(frozen=True, slots=True)
class MendingStep:
    """One thing that may be changed, and how; ``apply`` raises FootballValueError where the call can't have it."""

    change: ContentChange
    apply: Callable[[Pressure], Pressure]


def steps(pressure: Pressure, front: Front, rules: TeamRules) -> list[MendingStep]:
    """Every single change that is tried, in a fixed order."""
    return [
        *_edges(pressure, rules),
        *_pulls(pressure, rules),
        *_run_jobs(pressure),
        *_alignments(pressure, front, rules.numbering),
        *_exchanges(pressure),
        *_second_rushers(pressure),
    ]


def _step(
    pressure: Pressure, key: str, before: str, after: str, what: CallChange, apply: Callable[[Pressure], Pressure]
) -> MendingStep:
    return MendingStep(ContentChange("pressures.toml", f"pressure[{pressure.name}].{key}", before, after, what), apply)


def _with_rule(pressure: Pressure, position: str, name: str, value: Term) -> Pressure:
    own = dict(pressure.by_position)
    changes = {**dict(own.get(position, ())), name: value}
    own[position] = tuple((one.name, changes[one.name]) for one in fields(FitRules) if one.name in changes)
    return replace(pressure, by_position=tuple(own.items()))


def _edges(pressure: Pressure, rules: TeamRules) -> Iterator[MendingStep]:
    for rush in pressure.rushes:
        if rush.part in (RushPart.EDGE, RushPart.CONTAIN):
            yield from _rule_steps(pressure, rules, rush.position, "edge", EdgeRule)


def _pulls(pressure: Pressure, rules: TeamRules) -> Iterator[MendingStep]:
    for rush in pressure.rushes:
        if rush.order == 1:
            yield from _rule_steps(pressure, rules, rush.position, "pull_first", PullFirst)
        else:
            yield from _rule_steps(pressure, rules, rush.position, "pull_second", PullSecond)
    for drop in pressure.drops:
        if drop.gap is not None:
            yield from _rule_steps(pressure, rules, drop.position, "pull_backer", PullSecond)


def _rule_steps(
    pressure: Pressure, rules: TeamRules, position: str, name: str, words: type[Term]
) -> Iterator[MendingStep]:
    now = getattr(rules.for_man(position, pressure.rules, pressure.changes(position)), name)
    for value in words:
        if value is not now:
            key = f"by_position.{position}.{name}"
            what = NewRule(position, name, value)
            yield _step(pressure, key, now.value, value.value, what, _rule_setter(position, name, value))


def _rule_setter(position: str, name: str, value: Term) -> Callable[[Pressure], Pressure]:
    return lambda call: _with_rule(call, position, name, value)


def _run_jobs(pressure: Pressure) -> Iterator[MendingStep]:
    trading = {name for one in pressure.exchanges for name in (one.first, one.second)}
    for drop in pressure.drops:
        for job in RunJob:
            if job in (drop.run, RunJob.FILL) or drop.position in trading:
                continue
            if (job in NEEDS_SIDE and drop.toward is None) or (drop.cover in DEEP and job not in LATE_JOBS):
                continue
            key, what = f"drop[{drop.position}].run", NewJob(drop.position, drop.run, job)
            yield _step(pressure, key, drop.run.value, job.value, what, _run_setter(drop.position, job))


def _run_setter(position: str, job: RunJob) -> Callable[[Pressure], Pressure]:
    def changed(drop: Drop) -> Drop:
        return replace(drop, run=job, gap=None, second_gap=None) if drop.position == position else drop

    return lambda call: replace(call, drops=tuple(map(changed, call.drops)))


def _alignments(pressure: Pressure, front: Front, numbering: Numbering) -> Iterator[MendingStep]:
    own = dict(pressure.align)
    for spot in front.spots:
        now = own.get(spot.position, spot.alignment)
        for place in _next_places(now, numbering):
            yield _step(
                pressure,
                f"align[{spot.position}]",
                _words(now, numbering),
                _words(place, numbering),
                NewPlace(spot.position, now, place, _technique(place, numbering)),
                _align_setter(spot.position, place),
            )


def _next_places(now: Alignment, numbering: Numbering) -> Iterator[Alignment]:
    """One technique in or out for a man on one, a yard in or out for others; a yard up or back for men off the line."""
    techniques = list(TECHNIQUES[numbering].values())
    if (now.landmark, now.shade) in techniques and not now.out_yd:
        at = techniques.index((now.landmark, now.shade))
        for other in (at - 1, at + 1):
            if 0 < other < len(techniques):
                landmark, shade = techniques[other]
                yield replace(now, landmark=landmark, shade=shade)
    else:
        yield replace(now, out_yd=now.out_yd - STEP_YD)
        yield replace(now, out_yd=now.out_yd + STEP_YD)
    if now.depth_yd >= BACKER_DEPTH_YD:
        yield replace(now, depth_yd=now.depth_yd - STEP_YD)
        yield replace(now, depth_yd=now.depth_yd + STEP_YD)


def _words(place: Alignment, numbering: Numbering) -> str:
    """An alignment as a coach writes it."""
    number = _technique(place, numbering)
    on = f"technique {number}" if number else f"{place.landmark.value}, {place.shade.value}"
    out = f", {place.out_yd:g} yd out" if place.out_yd else ""
    return f"{on}, {place.toward.value}{out}, {place.depth_yd:g} yd deep"


def _technique(place: Alignment, numbering: Numbering) -> str | None:
    names = {spot: name for name, spot in TECHNIQUES[numbering].items()}
    return names.get((place.landmark, place.shade))


def _align_setter(position: str, place: Alignment) -> Callable[[Pressure], Pressure]:
    return lambda call: replace(call, align=(*(one for one in call.align if one[0] != position), (position, place)))


def _exchanges(pressure: Pressure) -> Iterator[MendingStep]:
    """A man who goes first and one behind him on the same side trade gaps, each with one gap and in no other trade."""
    trading = {name for one in pressure.exchanges for name in (one.first, one.second)}
    first = [one for one in pressure.rushes if one.order == 1]
    second: list[Rush | Drop] = [one for one in pressure.rushes if one.order > 1]
    second += [one for one in pressure.drops if one.gap is not None]
    for one, other in product(first, second):
        if one.second_gap or other.second_gap or {one.position, other.position} & trading:
            continue
        if other.gap is None or one.gap.toward is not other.gap.toward:
            continue
        for blocker, trigger in product(BLOCKERS, Trigger):
            trade = Exchange(one.position, other.position, blocker, (trigger,))
            words = f"{one.position} and {other.position} when the {blocker} {trigger.value}"
            yield _step(
                pressure, f"exchange[{one.position}, {other.position}]", "", words, trade, _exchange_adder(trade)
            )


def _exchange_adder(trade: Exchange) -> Callable[[Pressure], Pressure]:
    return lambda call: replace(call, exchanges=(*call.exchanges, trade))


def _second_rushers(pressure: Pressure) -> Iterator[MendingStep]:
    """Two rushers to the same side trade their places in the order."""
    for one, other in combinations(pressure.rushes, 2):
        if one.order != other.order and one.gap.toward is other.gap.toward:
            key = f"rush[{one.position}, {other.position}].order"
            orders = {one.position: other.order, other.position: one.order}
            before, after = f"{one.order}, {other.order}", f"{other.order}, {one.order}"
            names = sorted(orders, key=lambda name: orders[name])
            yield _step(pressure, key, before, after, NewOrder(names[0], names[1]), _order_setter(orders))


def _order_setter(orders: dict[str, int]) -> Callable[[Pressure], Pressure]:
    return lambda call: replace(
        call, rushes=tuple(replace(rush, order=orders.get(rush.position, rush.order)) for rush in call.rushes)
    )


Watch = Callable[[Sequence[tuple[MendingStep, ...]]], Iterable[tuple[MendingStep, ...]]]


def mend(
    team: TeamBook,
    call: str,
    snaps: Sequence[WeightedSnap],
    *,
    paired: int = PAIRED,
    watch: Watch = iter,
    tell: Callable[[Mending], None] = lambda _: None,
) -> list[Mending]:
    """What would mend a call on these snaps of it, the best first: single changes that gain more than they cost, and
    pairs of the ``paired`` best that do more than either. ``watch`` is given what will be tried, and gives it
    back one by one, to say how far it is; ``tell`` each that is found, at once. Snaps that the formation can't run are
    left out.

    Raises:
        UnknownName: the team has no such call.
        NoRule: the rules do not cover the call as it is.
    """
    pressure = team.pressure(call)
    tried = _Trial.of(team, pressure, snaps)
    if not tried.short:
        return []
    single = [(one,) for one in steps(pressure, team.front(pressure.front), team.rules)]
    found = {}
    for changed in watch(single):
        if mending := tried.find_mending(changed):
            found[changed] = mending
            tell(mending)
    best = sorted(found, key=lambda changed: rank(found[changed]))[:paired]
    pairs = [(*one, *other) for one, other in combinations(best, 2) if one[0].change.key != other[0].change.key]
    for changed in watch(pairs):
        mending = tried.find_mending(changed)
        if mending and mending.net > max(found[(one,)].net for one in changed):
            found[changed] = mending
            tell(mending)
    return sorted(found.values(), key=rank)


def rank(mending: Mending) -> tuple[float, int, float]:
    """The most that is left first, then the fewer changes, then the lower costs."""
    return -mending.net, len(mending.changes), mending.costs


@dataclass(frozen=True, slots=True)
class _Trial:
    """The snaps of a call, those that it is short and sound on, and the work that all its variants share."""

    team: TeamBook
    pressure: Pressure
    short: tuple[WeightedSnap, ...]
    sound: tuple[WeightedSnap, ...]
    shared: SharedWork

    @classmethod
    def of(cls, team: TeamBook, pressure: Pressure, snaps: Sequence[WeightedSnap]) -> _Trial:
        """The snaps as they are."""
        shared = SharedWork()
        short: list[WeightedSnap] = []
        sound: list[WeightedSnap] = []
        for one in snaps:
            try:
                (sound if solve(one.situation, shared).sound else short).append(one)
            except CannotRun:
                continue
        return cls(team, pressure, tuple(short), tuple(sound), shared)

    def find_mending(self, changed: tuple[MendingStep, ...]) -> Mending | None:
        """What these changes do; None where the call can't have them or they gain no more than they cost."""
        pressure = self.pressure
        try:
            for one in changed:
                pressure = one.apply(pressure)
        except FootballValueError:
            return None
        if any(not pressure.has_gap(name) for one in pressure.exchanges for name in (one.first, one.second)):
            return None  # one change takes the gap that the other one trades
        variant = _Variant(self.team, pressure, self.shared.for_another_call(), {})
        won = tuple(one for one in self.short if variant.is_sound(one.situation))
        gains = sum(one.weight for one in won)
        if not gains:
            return None
        lost, costs = [], 0.0
        for snap in self.sound:
            if not variant.is_sound(snap.situation):
                lost.append(snap)
                costs += snap.weight
                if costs >= gains:
                    return None
        before = sum(one.weight for one in self.sound)
        changes = tuple(one.change for one in changed)
        return Mending(changes, pressure, won, tuple(lost), gains, costs, before)


@dataclass(frozen=True, slots=True)
class _Variant:
    """A changed call, with what it is against each formation once it is adjusted or checked."""

    team: TeamBook
    pressure: Pressure
    shared: SharedWork
    played: dict[tuple[Side, str], PlayedCall]

    def is_sound(self, s: Situation) -> bool:
        """Whether it is sound on a snap of the call; one that no rule covers is not."""
        to = s.called[1]
        key = to, s.formation.name
        if key not in self.played:
            self.played[key] = play_call(self.pressure, to, s.formation, self.team.pressure)
        played = self.played[key]
        front = self.team.front(played.pressure.front)
        try:
            changed = replace(s, front=front, pressure=played.pressure, to=played.to, adjusted=played.adjusted)
            return solve(changed, self.shared).sound
        except NoRule:
            return False


def mending_values(mending: Mending) -> dict[str, object]:
    """One mending as JSON-ready values; the keys are a stable interface."""
    return {
        "changes": [{"file": one.file, "key": one.key, "from": one.before, "to": one.after} for one in mending.changes],
        "gains": mending.gains,
        "costs": mending.costs,
        "sound_before": mending.sound_before,
        "sound_after": mending.sound_after,
    }
