"""How often a player who ignores the call is right, per kind and position, on what the picker really draws.

Run: python -m tests.bench.call_blind, with the project installed (about three minutes). Every position of the demo
opens a set on every call; each rep drawn is answered by rules that see the picture and the words but not the call.
"Commonest" gives the commonest answer to the same picture over the team's calls (six or more; where he stands the same
if six are left then). "Position", "play" and "stem" give the choice that is right most often for his position, for it
and the play, for it and the words of the stem without the call; they are found on half of the formations and measured
on the other half. Exit code 1 when a kind is over its bound: chance and ten points, or 40 %, whichever is more.
"""

from __future__ import annotations

import argparse
import random
import sys
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from math import prod
from pathlib import Path

from quizgen.engine.lanes import Lane
from quizgen.football.sides import Gap, Side
from quizgen.reps.catalogue import Catalogue, asks, make
from quizgen.reps.ids import REP_HEX, SETUP_HEX, Setup
from quizgen.reps.kinds import KINDS, AnyKind
from quizgen.reps.rep import Rep, RepPart
from quizgen.reps.snap import PassSnap, Snap
from server.database.tables import Assignment, Member, Purpose
from server.mastery.replay import MasteryState
from server.mastery.values import SIDES, STAGES, Families, StateRules, TeamSettings
from server.playbook.engine import Engine
from server.playbook.playbooks import Playbook, read_playbook
from server.sets.set_layout import plan

DEMO = Path(__file__).parents[2] / "seed_content" / "tarrow_falls"
LENGTH = 8
CALLS_COMPARED = 6
SPARE, AT_LEAST = 0.10, 0.40
LANE = "lane:"

Answer = tuple[str, ...]
"""One choice's key for each part."""


def read_demo() -> Playbook:
    """The demo's playbook, without a database, as a server has it once it is prepared."""
    files = {path.name: path.read_text("utf-8") for path in sorted(DEMO.glob("*.toml"))}
    playbook = read_playbook(Engine(), files)
    playbook.prepare()
    return playbook


def drawn(playbook: Playbook, seeds: int, calls: Sequence[str] | None = None) -> Counter[str]:
    """The ids of the reps that sets on each call give each position, and how often each is drawn."""
    found: Counter[str] = Counter()
    state, settings = MasteryState(StateRules(), Families()), TeamSettings()
    for call in calls or playbook.calls:
        for position in playbook.positions:
            if not playbook.has_job(call, [position.key]):
                continue
            pool = playbook.pool(call, [position.key], STAGES, SIDES)
            for seed in range(seeds):
                member = Member(id=f"m{seed}", team_id="t")
                order = Assignment(
                    id=f"{call}-{position.key}",
                    team_id="t",
                    call=call,
                    stages=list(STAGES),
                    sides=list(SIDES),
                    length=LENGTH,
                    purpose=Purpose.REPS,
                )
                found.update(rep.id for rep, _ in plan(pool, member, state, settings, order, 0.0))
    return found


@dataclass(frozen=True)
class Seen:
    """A rep as a player sees it; it is made, with its words, only where these are asked for."""

    setup: Setup
    kind: AnyKind
    position: str
    snap: Snap | PassSnap

    @cached_property
    def rep(self) -> Rep:
        """The whole of it."""
        return make(self.kind, self.setup, self.snap, self.position)

    @cached_property
    def parts(self) -> tuple[RepPart, ...]:
        """Its decisions, without words."""
        return self.kind.decisions(self.snap, self.position)  # type: ignore[arg-type]

    @cached_property
    def picture(self) -> tuple[str, ...]:
        """What is asked of whom on what the offense does."""
        setup = self.setup
        play_to = setup.play_to.value if setup.play_to else ""
        return self.kind.id, self.position, setup.formation.key, setup.play.key if setup.play else "", play_to

    @cached_property
    def stands(self) -> tuple[float, float]:
        """Where he stands before the snap, to half a yard."""
        men = self.snap.answer.men if isinstance(self.snap, PassSnap) else [fit.man for fit in self.snap.answer.fits]
        man = next(man for man in men if man.position == self.position)
        return tuple(round(2 * value) / 2 for value in man.stands)  # type: ignore[return-value]

    @cached_property
    def choices(self) -> tuple[tuple[str, ...], ...]:
        """The keys of the choices of each part, from left to right."""
        return tuple(tuple(choice.key for choice in part.choices) for part in self.parts)

    @cached_property
    def right(self) -> tuple[frozenset[str], ...]:
        """The keys that are right."""
        return tuple(frozenset(c.key for c in part.choices if c.id in part.right) for part in self.parts)

    @cached_property
    def first_right(self) -> Answer:
        """One right answer, always the same of several."""
        return tuple(min(keys) for keys in self.right)

    @property
    def chance(self) -> float:
        """How often a blind tap on each part is right."""
        return prod(len(right) / len(keys) for right, keys in zip(self.right, self.choices, strict=True))

    @property
    def stem(self) -> str:
        """The words of the stem without the call."""
        return self.rep.stem.replace(f"{self.rep.call} {self.rep.to.value}", "").strip()

    def is_right(self, answer: Answer | None) -> bool:
        """Whether these keys are right."""
        if answer is None or len(answer) != len(self.right):
            return False
        return all(key in keys for key, keys in zip(answer, self.right, strict=True))

    def lane_at(self, x: float) -> str | None:
        """The lane over a place; None where he doesn't choose lanes."""
        if isinstance(self.snap, PassSnap):
            return None
        return next((f"{LANE}{lane.name}" for lane in self.snap.answer.lanes if lane.x_from <= x <= lane.x_to), None)

    def lane_of(self, gap: Gap) -> str | None:
        """The lane that a gap is in now."""
        if isinstance(self.snap, PassSnap):
            return None
        return next((f"{LANE}{lane.name}" for lane in self.snap.answer.lanes if gap in lane.gaps), None)

    @property
    def lanes(self) -> tuple[Lane, ...]:
        """The lanes, from left to right; none against a pass."""
        return () if isinstance(self.snap, PassSnap) else self.snap.answer.lanes


class Demo:
    """The demo's catalogue, with each rep made at most once."""

    def __init__(self, catalogue: Catalogue) -> None:
        self.catalogue = catalogue
        self._seen: dict[tuple[str, str, str], Seen | None] = {}
        self._alike: dict[tuple[str, str, str], list[Setup]] = defaultdict(list)
        for setup in catalogue.setups.values():
            self._alike[self._offense(setup)].append(setup)
        self._kinds = {}
        self._usual: dict[str, Gap | None] = {}

    @staticmethod
    def _offense(setup: Setup) -> tuple[str, str, str]:
        return (
            setup.formation.key,
            setup.play.key if setup.play else "",
            setup.play_to.value if setup.play_to else "",
        )

    def find(self, setup: Setup, kind: AnyKind, position: str) -> Seen | None:
        """The rep of that kind for a position; None where it has none."""
        key = (setup.digest, kind.id, position)
        if key not in self._seen:
            snap = self.catalogue.find_listed(setup)
            is_asked = (
                snap is not None
                and kind.ground is snap.ground
                and any(spot.position == position for spot in setup.front.spots)
                and asks(kind, snap, position)
            )
            self._seen[key] = Seen(setup, kind, position, snap) if is_asked and snap is not None else None
        return self._seen[key]

    def of_id(self, rep_id: str) -> Seen:
        """The rep of an id."""
        assert len(rep_id) == REP_HEX
        rep = self.catalogue.rep(rep_id)
        found = self.find(self.catalogue.setups[rep_id[:SETUP_HEX]], KINDS[rep.kind], rep.position)
        assert found is not None
        return found

    def same_picture(self, one: Seen) -> list[Seen]:
        """The reps that ask the same of the same position against the same offense, over all calls."""
        found = (self.find(setup, one.kind, one.position) for setup in self._alike[self._offense(one.setup)])
        return [other for other in found if other is not None]

    def usual_gap(self, position: str) -> Gap | None:
        """The gap that a position has on most calls, for a call to the right; None for a man without."""
        if position not in self._usual:
            gaps: Counter[Gap] = Counter()
            for setup in self.catalogue.setups.values():
                if setup.play is None and setup.to is Side.RIGHT:
                    snap = self.catalogue.find_listed(setup)
                    fit = snap.find_fit(position) if isinstance(snap, Snap) else None
                    gaps.update(fit.man.gaps[:1] if fit else ())
            self._usual[position] = gaps.most_common(1)[0][0] if gaps else None
        return self._usual[position]


Rule = Callable[[Seen], Answer | None]


def commonest(demo: Demo, one: Seen) -> Answer | None:
    """The commonest answer to the same picture over six calls or more; None where there are fewer."""
    group = demo.same_picture(one)
    close = [other for other in group if other.stands == one.stands]
    for some in (close, group):
        if len({other.setup.pressure.key for other in some}) >= CALLS_COMPARED:
            counts = Counter(answer for other in some for answer in {other.first_right})
            return counts.most_common(1)[0][0]
    return None


def _on_lanes(pick: Callable[[Seen], str | None]) -> Rule:
    """A rule for lanes: that lane where a part has it among its choices, the middle choice elsewhere."""

    def rule(one: Seen) -> Answer | None:
        key = pick(one)
        if not any(choice.startswith(LANE) for keys in one.choices for choice in keys):
            return None
        return tuple(key if key in keys else keys[len(keys) // 2] for keys in one.choices)  # type: ignore[misc]

    return rule


def _nearest(one: Seen) -> str | None:
    shown = [lane for lane in one.lanes if any(f"{LANE}{lane.name}" in keys for keys in one.choices)]
    if not shown:
        return None
    return f"{LANE}{min(shown, key=lambda lane: abs(lane.middle_x - one.stands[0])).name}"


def _outermost(one: Seen) -> str | None:
    shown = [f"{LANE}{lane.name}" for lane in one.lanes]
    shown = [key for key in shown if any(key in keys for keys in one.choices)]
    if not shown:
        return None
    return shown[0] if one.stands[0] < 0 else shown[-1]


def _stay(one: Seen) -> str | None:
    """The gap in front of him before the snap, wherever it is now."""
    formation = one.setup.formation
    xs = [player.x for player in formation.surface]
    place = sum(x < one.stands[0] for x in xs)
    return one.lane_of(formation.gaps[place])


def fixed_rules(demo: Demo) -> Mapping[str, Rule]:
    """Rules that need nothing learned."""

    def usual(one: Seen) -> str | None:
        gap = demo.usual_gap(one.position)
        if gap is None:
            return None
        return one.lane_of(gap if one.setup.to is Side.RIGHT else gap.mirrored)

    return {
        "stands": _on_lanes(lambda one: one.lane_at(one.stands[0])),
        "nearest": _on_lanes(_nearest),
        "usual gap": _on_lanes(usual),
        "stay": _on_lanes(_stay),
        "outermost": _on_lanes(_outermost),
        "first": lambda one: tuple(keys[0] for keys in one.choices),
        "middle": lambda one: tuple(keys[len(keys) // 2] for keys in one.choices),
        "last": lambda one: tuple(keys[-1] for keys in one.choices),
    }


def learned_rules() -> Mapping[str, Callable[[Seen], tuple[str, ...]]]:
    """What each learned rule goes by."""

    def play(one: Seen) -> tuple[str, ...]:
        return one.kind.id, one.position, *one.picture[3:]

    return {
        "position": lambda one: (one.kind.id, one.position),
        "play": play,
        "stem": lambda one: (one.kind.id, one.position, one.stem),
    }


def learn(seen: Iterable[tuple[Seen, int]], by: Callable[[Seen], tuple[str, ...]]) -> dict[tuple[str, ...], Answer]:
    """The answer that is right most often, by what the rule goes by."""
    counts: dict[tuple[str, ...], Counter[Answer]] = defaultdict(Counter)
    for one, times in seen:
        counts[by(one)][one.first_right] += times
    return {key: answers.most_common(1)[0][0] for key, answers in counts.items()}


def halves(seen: Sequence[tuple[Seen, int]]) -> Iterator[tuple[list[tuple[Seen, int]], list[tuple[Seen, int]]]]:
    """The reps on half of the formations and the others, and the other way round."""
    names = sorted({one.setup.formation.key for one, _ in seen})
    random.Random(1).shuffle(names)
    chosen = set(names[::2])
    first = [pair for pair in seen if pair[0].setup.formation.key in chosen]
    rest = [pair for pair in seen if pair[0].setup.formation.key not in chosen]
    yield first, rest
    yield rest, first


@dataclass
class Rates:
    """Of a kind, or of a kind for a position: how much was drawn, chance, and the share each rule gets right."""

    times: int = 0
    chance: float = 0.0
    right: Counter[str] = None  # type: ignore[assignment]
    tried: Counter[str] = None  # type: ignore[assignment]
    ids: set[str] = None  # type: ignore[assignment]

    def __post_init__(self) -> None:
        self.right, self.tried, self.ids = Counter(), Counter(), set()

    def add(self, rule: str, times: int, *, is_right: bool) -> None:
        """Count answers of a rule."""
        self.tried[rule] += times
        self.right[rule] += times * is_right

    def share(self, rule: str) -> float | None:
        """The share that a rule gets right of what it can answer."""
        return self.right[rule] / self.tried[rule] if self.tried[rule] else None

    @property
    def best(self) -> tuple[float, str]:
        """The best rule's share, and its name; a rule counts that can answer half of what is drawn."""
        answered = [rule for rule, tried in self.tried.items() if 2 * tried >= self.times]
        return max(((self.right[rule] / self.tried[rule], rule) for rule in answered), default=(0.0, "none"))

    @property
    def bound(self) -> float:
        """What the best rule may get: ten points over chance, or 40 %."""
        return max(self.chance / self.times + SPARE, AT_LEAST) if self.times else AT_LEAST


def measure(demo: Demo, ids: Mapping[str, int]) -> dict[tuple[str, str], Rates]:
    """The rates of each kind ("" for the position) and of each kind and position."""
    seen = [(demo.of_id(rep_id), times) for rep_id, times in sorted(ids.items())]
    found: dict[tuple[str, str], Rates] = defaultdict(Rates)
    for one, times in seen:
        for rates in (found[one.kind.id, ""], found[one.kind.id, one.position]):
            rates.times += times
            rates.chance += times * one.chance
            rates.ids.add(one.rep.id)

    def count(one: Seen, times: int, rule: str, answer: Answer | None) -> None:
        for rates in (found[one.kind.id, ""], found[one.kind.id, one.position]):
            rates.add(rule, times, is_right=one.is_right(answer))

    rules = fixed_rules(demo)
    for one, times in seen:
        answer = commonest(demo, one)
        if answer is not None:
            count(one, times, "commonest", answer)
        for name, rule in rules.items():
            if (given := rule(one)) is not None:
                count(one, times, name, given)
    for name, by in learned_rules().items():
        for known, others in halves(seen):
            answers = learn(known, by)
            for one, times in others:
                count(one, times, name, answers.get(by(one)))
    return found


def table(rates: Mapping[tuple[str, str], Rates], *, by_position: bool) -> list[str]:
    """The table, a row a kind (and position)."""
    rules = ["commonest", *fixed_rules_names(), *learned_rules()]
    rows = [f"{'kind':14}{'position':13}{'drawn':>6}{'reps':>5}{'chance':>7}{'bound':>6}{'best':>6} by{'':11}"]
    rows[0] += "".join(f"{rule[:9]:>10}" for rule in rules)
    for kind in KINDS:
        for (name, position), one in sorted(rates.items()):
            if name != kind or (position and not by_position):
                continue
            best, by = one.best
            row = f"{kind:14}{position or 'all':13}{one.times:6}{len(one.ids):5}{one.chance / one.times:7.0%}"
            row += f"{one.bound:6.0%}{best:6.0%} {'!' if best > one.bound else ' '}{by:12}"
            shares = (one.share(rule) for rule in rules)
            rows.append(row + "".join("         -" if share is None else f"{share:10.0%}" for share in shares))
    return rows


def fixed_rules_names() -> tuple[str, ...]:
    """The rules that need nothing learned."""
    return ("stands", "nearest", "usual gap", "stay", "outermost", "first", "middle", "last")


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seeds", type=int, default=4, help="sets of each position on each call")
    parser.add_argument("--positions", action="store_true", help="a row for each position too")
    wanted = parser.parse_args()
    playbook = read_demo()
    ids = drawn(playbook, wanted.seeds)
    demo = Demo(playbook.catalogue)
    rates = measure(demo, ids)
    print("\n".join(table(rates, by_position=wanted.positions)))
    over = [kind for (kind, position), one in rates.items() if not position and one.best[0] > one.bound]
    print(f"{ids.total()} reps drawn, {len(ids)} different; over the bound: {', '.join(over) or 'no kind'}")
    return 1 if over else 0


if __name__ == "__main__":
    sys.exit(main())
