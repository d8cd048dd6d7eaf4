"""An invented team's season: who is asked what and when, and what he taps, so that a first start shows a board worth
deciding from.

Pure and seeded: the same arguments give the same season, and no answer depends on the order in which reps are asked.
Knows nothing of football: the caller finds a rep for each planned one and says which of its choices are right, how each
wrong one relates to the right one (`relation`), and whether a blocker threatens to hook the player (`hooked`).

    season = DemoSeason(roster, calls, families, weeks=8, end=now, seed=7)
    for planned in season.plan():                       # in order of time
        rep = ...                                       # one of planned.call, .stage, .side for planned.position
        tapped = season.tap(planned, Seen(rep_id, right=("right B",), wrong=(Wrong("right A", "one gap in"), ...)))

The kinds of player, and what the board should show of them at the end of the season:
strong: *can* on most calls; middling: some of each; new: few answers, *not proven*; mixes gaps when hooked: his wrong
answers go to one gap, a confirmed confusion; one side: *not proven*, with the side named; faded: knew it, then silent.
"""

import random
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum

from server.mastery.values import DAY_S, LEFT, SIDES, STAGES

WEEK_DAYS = 7
SETS_ON_DAYS = (0, 2, 3)
REVIEW_ON = 2
REPS_IN_A_SET = 8
SECONDS_A_REP = 22.0
SLIP = 0.04
#: Longer than right answers a week apart hold.
SILENT_WEEKS = 6
NEW_WEEKS = 1
NEW_REPS = 4
OTHER_SIDE_SHARE = 0.05
#: How much easier (+) or harder (-) a stage is, as a change in the chance of knowing it.
STAGE_EASE = {1: 0.12, 2: 0.04, 3: -0.08, 4: -0.12, 5: -0.04}
#: A relation that all players choose a little more often than the others.
COMMON_SLIP = "one gap in"


class LearnerKind(StrEnum):
    """The kinds of learner in the season."""

    STRONG = "strong"
    MIDDLING = "middling"
    NEW = "new"
    MIXES = "mixes gaps when hooked"
    ONE_SIDE = "knows it from one side"
    FADED = "faded"


#: Kinds that never slip on what they know, so that nothing hides what they are there to show.
STEADY = (LearnerKind.ONE_SIDE, LearnerKind.FADED)


@dataclass(frozen=True, slots=True)
class RosterPlayer:
    """A player, by any id that the caller uses, and his position."""

    player: str
    position: str


@dataclass(frozen=True, slots=True)
class PlannedRep:
    """A rep to ask: the player, call, stage and side, and the time (seconds since 1970 UTC)."""

    player: str
    position: str
    call: str
    stage: int
    side: str
    at: float


@dataclass(frozen=True, slots=True)
class WrongChoice:
    """A wrong choice and its relation to the right one, in the caller's words."""

    answer: str
    relation: str = ""


@dataclass(frozen=True, slots=True)
class SeenRep:
    """What a player sees of a rep: its id, the right choices (any of them counts), the wrong ones, and the threat."""

    rep: str
    right: tuple[str, ...]
    wrong: tuple[WrongChoice, ...]
    hooked: bool = False

    def __post_init__(self) -> None:
        if not self.right:
            raise ValueError(f"rep {self.rep!r} has no right choice; expected at least one")


@dataclass(frozen=True)
class DemoSeason:
    """The whole season of a team.

    `calls` are in the order in which they are put in; `families` maps a call to its family (calls of one family are
    known alike); `end` is the time of the board, in seconds since 1970 UTC. `kinds` fixes the kind of some players; the
    seed deals the others: one of each special kind, two new ones, a third strong, the rest middling.
    """

    roster: Sequence[RosterPlayer]
    calls: Sequence[str]
    families: Mapping[str, str]
    weeks: int
    end: float
    seed: int
    kinds: Mapping[str, LearnerKind] = field(default_factory=dict)
    tempting: str = "one gap in"
    known_side: str = LEFT

    def __post_init__(self) -> None:
        if self.weeks < SILENT_WEEKS + 2:
            raise ValueError(f"weeks {self.weeks!r} of a season; expected {SILENT_WEEKS + 2} or more")
        object.__setattr__(self, "kinds", self._deal())

    def _deal(self) -> dict[str, LearnerKind]:
        kinds = dict(self.kinds)
        rest = [p.player for p in self.roster if p.player not in kinds]
        self._chance("deal").shuffle(rest)
        wanted = [LearnerKind.MIXES, LearnerKind.ONE_SIDE, LearnerKind.FADED, LearnerKind.NEW, LearnerKind.NEW]
        for kind in kinds.values():
            if kind in wanted:
                wanted.remove(kind)
        wanted += [LearnerKind.STRONG] * (len(rest) // 3)
        for i, player in enumerate(rest):
            kinds[player] = wanted[i] if i < len(wanted) else LearnerKind.MIDDLING
        return kinds

    def _chance(self, *about: object) -> random.Random:
        return random.Random("|".join(map(str, (self.seed, *about))))  # noqa: S311 (an invented season, no secret)

    @property
    def start(self) -> float:
        """Time of the first day, chosen so that the last set is within two days of the end."""
        return self.end - (WEEK_DAYS * (self.weeks - 1) + SETS_ON_DAYS[-1] + 1) * DAY_S

    def plan(self) -> Iterator[PlannedRep]:
        """All reps of the season in order of time."""
        sets = [
            (self._set_time(week, day, one.player), one, week, day)
            for week in range(self.weeks)
            for day in SETS_ON_DAYS
            for one in self.roster
            if self._answers_set(one.player, week, day)
        ]
        reps = [rep for at, one, week, day in sets for rep in self._set(one, week, day, at)]
        return iter(sorted(reps, key=lambda rep: (rep.at, rep.player)))

    def _set_time(self, week: int, day: int, player: str) -> float:
        return self.start + (WEEK_DAYS * week + day) * DAY_S + self._chance("time", week, day, player).uniform(0, 7200)

    def _answers_set(self, player: str, week: int, day: int) -> bool:
        kind = self.kinds[player]
        if kind is LearnerKind.NEW and (week < self.weeks - NEW_WEEKS or day != SETS_ON_DAYS[-1]):
            return False
        if kind is LearnerKind.FADED and week >= self.weeks - SILENT_WEEKS:
            return False
        missed = 0.0 if kind in (LearnerKind.FADED, LearnerKind.MIXES, LearnerKind.ONE_SIDE, LearnerKind.NEW) else 0.1
        return self._chance("there", week, day, player).random() >= missed

    def _put_in(self, call: str) -> int:
        """The week in which a call is put in: the first two at once, all of them within two thirds of the season.

        A player forgets a call only from that week on. Otherwise he would forget it before it was taught, and the share
        known at the end would depend on the level alone.
        """
        place = list(self.calls).index(call)
        return (
            0 if place < 2 else min((place - 1) * 2 * self.weeks // (3 * max(len(self.calls) - 2, 1)), self.weeks - 2)
        )

    def _set(self, one: RosterPlayer, week: int, day: int, at: float) -> Iterator[PlannedRep]:
        """One set: two calls in turn, the newest and the first every week, with stages opened week by week."""
        chance = self._chance("set", week, day, one.player)
        there = [call for call in self.calls if self._put_in(call) <= week]
        order = (week * len(SETS_ON_DAYS) + SETS_ON_DAYS.index(day)) * 2
        pair = [there[-1] if day == SETS_ON_DAYS[0] else there[order % len(there)], there[(order + 1) % len(there)]]
        if day == REVIEW_ON:
            pair = [there[0], pair[1] if pair[1] != there[0] else there[(order + 2) % len(there)]]
        for i in range(REPS_IN_A_SET):
            call = pair[i % 2]
            opened = STAGES[: 1 + min(week - self._put_in(call) + 1, len(STAGES) - 1)]
            side = SIDES[(i // 2 + day) % 2]
            if self.kinds[one.player] is LearnerKind.NEW and i >= NEW_REPS:
                return
            if self.kinds[one.player] is LearnerKind.ONE_SIDE and chance.random() >= OTHER_SIDE_SHARE:
                side = self.known_side
            yield PlannedRep(one.player, one.position, call, chance.choice(opened), side, at + SECONDS_A_REP * i)

    def knows(self, player: str, call: str, stage: int, side: str, at: float) -> bool:
        """Whether he knows this question at a time (what *can* and *can't* should find out)."""
        kind = self.kinds[player]
        week = (at - self.start) / DAY_S / WEEK_DAYS
        level = self._level(kind, player, call, week) + STAGE_EASE[stage]
        if kind is LearnerKind.ONE_SIDE:
            level = 1.12 if side == self.known_side else 0.0
        return self._chance("cell", player, call, stage, side).random() < level

    def _level(self, kind: LearnerKind, player: str, call: str, week: float) -> float:
        """How much of a call he knows, 0 to 1."""
        if kind is LearnerKind.NEW:
            return 0.35
        if kind is not LearnerKind.MIDDLING:
            return 1.12
        own = self._chance("own", player).uniform(-0.05, 0.05)
        family = self._chance("family", player, self.families.get(call, call)).choice((0.1, 0.25, 1.12, 1.12))
        return family + own + 0.1 * min(max(week, 0.0) / self.weeks, 1.0)

    def known_share(self, player: str, call: str, at: float, stage_mix: Mapping[int, float]) -> float:
        """The share of a call that he truly knows, each stage weighted by `stage_mix`, each side half.

        For one who mixes gaps when hooked it is what he knows when he is not hooked.
        """
        whole = sum(stage_mix.values())
        return sum(
            weight / whole / len(SIDES)
            for stage, weight in stage_mix.items()
            for side in SIDES
            if self.knows(player, call, stage, side, at)
        )

    def tap(self, planned: PlannedRep, seen: SeenRep) -> str:
        """The choice that he taps on a rep: a right one or a wrong one."""
        chance = self._chance("tap", planned.player, planned.at, seen.rep)
        tempted = [w.answer for w in seen.wrong if w.relation == self.tempting]
        if self.kinds[planned.player] is LearnerKind.MIXES and seen.hooked and tempted and chance.random() < 0.9:
            return tempted[0]
        if self.knows(planned.player, planned.call, planned.stage, planned.side, planned.at):
            if not seen.wrong or self.kinds[planned.player] in STEADY or chance.random() >= SLIP:
                return chance.choice(seen.right)
        elif not seen.wrong or chance.random() < self._luck(planned, seen):
            return chance.choice(seen.right)
        weights = [2.0 if w.relation == COMMON_SLIP else 1.0 for w in seen.wrong]
        return chance.choices([w.answer for w in seen.wrong], weights)[0]

    def _luck(self, planned: PlannedRep, seen: SeenRep) -> float:
        """The chance of guessing right; none for one who answers the side that he doesn't know by the one that he
        does."""
        if self.kinds[planned.player] is LearnerKind.ONE_SIDE:
            return 0.0
        return len(seen.right) / (len(seen.right) + len(seen.wrong))
