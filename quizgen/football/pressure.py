"""The defensive call: who rushes where and in what order, who drops, who supports the run. Knows no offense.

Every side is relative to the side the call goes to, so that one definition serves left and right.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from quizgen.football.coverage import Coverage
from quizgen.football.defense import DEFENSE_SIZE, Alignment
from quizgen.football.errors import FootballValueError
from quizgen.football.facts import FormationFact
from quizgen.football.formation import Formation
from quizgen.football.keys import slug
from quizgen.football.rules import Changes, OptionRule
from quizgen.football.sides import Gap, Letter, Side, Toward
from quizgen.football.terms import Term

OUTERMOST = "edge"


@dataclass(frozen=True, slots=True)
class CallGap:
    """A gap as a call names it; ``letter`` None means the outermost gap on that side, whatever the formation makes
    it."""

    toward: Toward
    letter: Letter | None

    def side(self, to: Side) -> Side:
        """The field side for a call to ``to``."""
        return self.toward.side(to)

    @property
    def word(self) -> str:
        """As the call says it: "to B", "away edge"."""
        return f"{self.toward.value} {self.letter.value if self.letter else OUTERMOST}"

    def gap(self, outermost: Gap) -> Gap:
        """The gap on the field, on the side of ``outermost``; a letter beyond it means that one."""
        if self.letter is None or self.letter.index >= outermost.letter.index:
            return outermost
        return Gap(outermost.side, self.letter)


class GoesTo(Term):
    """Which side a call goes to. Where there is no such side (no strength, two tight ends, the ball in the middle) it
    may go to both."""

    AS_CALLED = "as called", "to either side, as the coach says"
    TIGHT_END = "tight end", "to the side of the only tight end"
    STRENGTH = "strength", "to the strong side: by attached men, then receivers, then the back"
    PASSING_STRENGTH = "passing strength", "to the side with more receivers, then more attached men, then the back"
    FIELD = "field", "to the wide side, away from the hash on which the ball lies"
    BOUNDARY = "boundary", "to the short side, of the hash on which the ball lies"
    BACK = "back", "to the side of the back who stands off the middle"
    AWAY_FROM_BACK = "away from back", "to the other side than the back's"


class Path(Term):
    """How a rusher gets to his gap."""

    STRAIGHT = "straight", "into the gap he lines up on"
    SLANT = "slant", "one gap over"
    TWO_GAP_SLANT = "two-gap slant", "two gaps over"
    CROSS = "cross", "behind or in front of another rusher's path"
    LOOP = "loop", "around a lineman, second"
    LOOP_EDGE = "loop round the edge", "around the outermost rusher"
    HOLD = "hold", "stays where he is"


class RushPart(Term):
    """A rusher's part in the run and the pass."""

    GAP = "gap", "owns a gap"
    EDGE = "edge", "the outermost rusher: nothing gets outside him"
    CONTAIN = "contain", "keeps the quarterback in"
    TWO_GAP = "two-gap", "owns a gap on both sides of his blocker"


@dataclass(frozen=True, slots=True)
class Rush:
    """One rusher: entry gap, order (1 goes first), path, part. A two-gap player also owns ``second_gap``."""

    position: str
    gap: CallGap
    order: int = 1
    path: Path = Path.STRAIGHT
    part: RushPart = RushPart.GAP
    second_gap: CallGap | None = None

    def __post_init__(self) -> None:
        if not 1 <= self.order <= 6:
            raise FootballValueError("order", self.order, "a number from 1 to 6")
        if (self.part is RushPart.TWO_GAP) != (self.second_gap is not None):
            raise FootballValueError("second_gap", self.position, "a second gap exactly when the part is 'two-gap'")


class CoverJob(Term):
    """What a dropper does against the pass."""

    DEEP_THIRD = "deep third", "a third of the deep field"
    DEEP_HALF = "deep half", "a half of the deep field"
    DEEP_QUARTER = "deep quarter", "a quarter of the deep field"
    POST = "post", "the deep middle, free"
    FLAT = "flat", "the short zone outside"
    HOOK = "hook", "the short zone inside"
    SEAM = "seam", "the zone between the flat and the hook, carried deeper"
    MAN = "man", "one receiver or back, wherever he goes"

    @property
    def is_deep(self) -> bool:
        """Deep or free men count apart from the men under."""
        return self in (CoverJob.DEEP_THIRD, CoverJob.DEEP_HALF, CoverJob.DEEP_QUARTER, CoverJob.POST)


class RunJob(Term):
    """What a dropper does against the run."""

    FILL = "fill", "owns a gap of his own from linebacker depth"
    FORCE = "force", "from the outside in: the outermost lane on his side that nobody has"
    ALLEY = "alley", "from the inside out: any lane on his side that nobody has"
    FOLD = "fold", "a merged or vacated lane on his side"
    FREE = "free", "stays behind the ball; takes the lane nobody has"
    CUTBACK = "cutback", "an unowned lane on the back side"
    COVER = "cover", "pass first; no fit of his own"


@dataclass(frozen=True, slots=True)
class Drop:
    """One dropper: his coverage job and his run job. ``toward`` is the side of both (None: the middle or either side);
    ``gap`` is his own gap when his run job is to fill, ``man`` whom he covers when the coverage is man."""

    position: str
    cover: CoverJob
    run: RunJob
    toward: Toward | None = None
    gap: CallGap | None = None
    second_gap: CallGap | None = None
    man: str = ""

    def __post_init__(self) -> None:
        if (self.run is RunJob.FILL) != (self.gap is not None):
            raise FootballValueError("gap", self.position, "a gap exactly when the run job is 'fill'")
        if self.second_gap is not None and self.gap is None:
            raise FootballValueError("second_gap", self.position, "a first gap before a second one")
        if self.run in (RunJob.FORCE, RunJob.ALLEY, RunJob.FOLD) and self.toward is None:
            raise FootballValueError("toward", self.position, f"'to' or 'away' for the run job {self.run.value!r}")
        if (self.cover is CoverJob.MAN) != bool(self.man):
            raise FootballValueError("man", self.man, "whom he covers exactly when his coverage job is 'man'")


class Trigger(Term):
    """What a blocker does that makes two defenders exchange their gaps."""

    DOWN = "blocks down", "he blocks the man inside him"
    PULL = "pulls", "he leaves the line behind it"
    REACH = "reaches", "he goes for the far shoulder of the next man"


@dataclass(frozen=True, slots=True)
class Exchange:
    """Two positions trade gaps when a blocker does one of ``triggers`` (an end and the backer stacked behind him)."""

    first: str
    second: str
    blocker: str  # "guard", "tackle" or "end", on the first position's side
    triggers: tuple[Trigger, ...]


@dataclass(frozen=True, slots=True)
class Adjustment:
    """What a call changes where every fact of ``against`` holds: it checks to another call (``check``, its name), or
    some men line up elsewhere (``align``) or have another job (``rushes``, ``drops``), with another ``coverage`` where
    the numbers change."""

    against: tuple[FormationFact, ...]
    check: str = ""
    align: tuple[tuple[str, Alignment], ...] = ()
    rushes: tuple[Rush, ...] = ()
    drops: tuple[Drop, ...] = ()
    coverage: Coverage | None = None

    def __post_init__(self) -> None:
        if not self.against:
            raise FootballValueError("against", "nothing", "at least one fact of their formation")
        if bool(self.check) == bool(self.align or self.rushes or self.drops):
            raise FootballValueError("check", self.check, "either a call to check to or what changes in this one")
        jobs: tuple[Rush | Drop, ...] = (*self.rushes, *self.drops)
        names = [name for name, _ in self.align], [job.position for job in jobs]
        for key, some in zip(("align", "rush"), names, strict=True):
            twice = sorted({name for name in some if some.count(name) > 1})
            if twice:
                raise FootballValueError(key, ", ".join(twice), "each position once")

    def holds(self, formation: Formation, to: Side) -> bool:
        """Whether their formation has all of it when the call goes to ``to``."""
        return all(fact.holds(formation, to) for fact in self.against)


@dataclass(frozen=True, slots=True)
class Pressure:
    """A call: front, rushers, droppers, coverage.

    ``align`` overrides the front's alignments, ``rules`` the team's fit rules for everybody, ``by_position`` for one
    man, ``options`` the team's rules for options by name; ``conceded`` names gaps left open on purpose, ``peel`` says
    that the edge on the back's release side takes him, ``read`` names the men whom an option reads on the edge of
    either side where the look does not say, ``goes_to`` says to which side it goes, by the first word that names a side
    (none: to either, as called).
    Of the rows of ``adjust`` the first that holds against a formation counts; ``changed`` has this call as each row
    changes it, None for a row that checks to another one. ``show`` is where men who drop stand until the snap.

    Raises:
        FootballValueError: not eleven men, a position twice, or a coverage whose numbers don't add up.
    """

    name: str
    front: str
    rushes: tuple[Rush, ...]
    drops: tuple[Drop, ...]
    coverage: Coverage
    align: tuple[tuple[str, Alignment], ...] = ()
    conceded: tuple[CallGap, ...] = ()
    exchanges: tuple[Exchange, ...] = ()
    rules: Changes = ()
    by_position: tuple[tuple[str, Changes], ...] = ()
    options: tuple[tuple[str, OptionRule], ...] = ()
    peel: bool = False
    read: tuple[str, ...] = ()
    goes_to: tuple[GoesTo, ...] = ()
    adjust: tuple[Adjustment, ...] = ()
    show: tuple[tuple[str, Alignment], ...] = ()
    key: str = ""
    positions: tuple[str, ...] = field(init=False, repr=False)
    changed: tuple[Pressure | None, ...] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        names = [rush.position for rush in self.rushes] + [drop.position for drop in self.drops]
        twice = sorted({name for name in names if names.count(name) > 1})
        if twice:
            raise FootballValueError("rush/drop", ", ".join(twice), "each position once, rushing or dropping")
        if len(names) != DEFENSE_SIZE:
            raise FootballValueError("rush/drop", len(names), "eleven positions, each rushing or dropping")
        object.__setattr__(self, "positions", tuple(names))
        object.__setattr__(self, "key", self.key or slug(self.name))
        self._check_coverage()
        for name, _ in self.show:
            if self.find_rush(name) is not None:
                expected = "a man who drops (a rusher comes from where he stands: 'align' says where)"
                raise FootballValueError("show", name, expected)
        object.__setattr__(self, "changed", tuple(self._change(number) for number in range(len(self.adjust))))

    def _change(self, number: int) -> Pressure | None:
        row, where = self.adjust[number], f"adjust[{number + 1}]"
        if row.check:
            return None
        jobs: tuple[Rush | Drop, ...] = (*row.rushes, *row.drops)
        for name in (*(name for name, _ in row.align), *(job.position for job in jobs)):
            if name not in self.positions:
                raise FootballValueError(where, name, f"a man of this call: one of {', '.join(self.positions)}")
        new, old = {job.position: job for job in jobs}, tuple[Rush | Drop, ...]((*self.rushes, *self.drops))
        men = [new.get(job.position, job) for job in old]
        rushes = tuple(job for job in men if isinstance(job, Rush))
        owners = {job.position for job in men if job.gap is not None}
        try:
            return replace(
                self,
                rushes=rushes,
                drops=tuple(job for job in men if isinstance(job, Drop)),
                coverage=row.coverage or self.coverage,
                align=tuple({**dict(self.align), **dict(row.align)}.items()),
                exchanges=tuple(one for one in self.exchanges if {one.first, one.second} <= owners),
                show=tuple((name, place) for name, place in self.show if isinstance(self._job(name, new), Drop)),
                adjust=(),
            )
        except FootballValueError as error:
            raise FootballValueError(f"{where}.{error.key}", error.found, error.expected) from None

    def _job(self, name: str, new: Mapping[str, Rush | Drop]) -> Rush | Drop | None:
        return new.get(name) or self.find_rush(name) or self.find_drop(name)

    def _check_coverage(self) -> None:
        family = self.coverage
        deep = sum(drop.cover.is_deep for drop in self.drops)
        man = [drop.man for drop in self.drops if drop.cover is CoverJob.MAN]
        under = len(self.drops) - deep - len(man)
        for wanted, found, word in (
            (family.deep, deep, "deep"),
            (family.under, under, "under"),
            (family.man, len(man), "in man"),
        ):
            if wanted is not None and found != wanted:
                raise FootballValueError("coverage", f"{found} {word}", f"{wanted} {word} for {family.name!r}")
        lacking = [word for word in family.whom if word not in man]
        if lacking:
            raise FootballValueError(
                "coverage", f"nobody on {lacking[0]}", f"a man on {lacking[0]} for {family.name!r}"
            )
        others = [word for word in man if family.whom and word not in family.whom]
        if others:
            expected = f"men on {', '.join(family.whom)} only for {family.name!r}"
            raise FootballValueError("coverage", f"a man on {others[0]}", expected)

    def find_rush(self, position: str) -> Rush | None:
        """That position's rush, or None when he drops."""
        return next((rush for rush in self.rushes if rush.position == position), None)

    def find_drop(self, position: str) -> Drop | None:
        """That position's drop, or None when he rushes."""
        return next((drop for drop in self.drops if drop.position == position), None)

    def has_gap(self, position: str) -> bool:
        """Whether a position of this call owns a gap."""
        job = self.find_rush(position) or self.find_drop(position)
        return job is not None and job.gap is not None

    def changes(self, position: str) -> Changes:
        """The fit rules that this call has for that position alone."""
        return next((changes for name, changes in self.by_position if name == position), ())

    def find_option(self, name: str) -> OptionRule | None:
        """This call's own rule for an option, or None for the team's."""
        return next((rule for option, rule in self.options if option == name), None)
