"""Every rep of a team, made when it is asked for. Must not know: players, answers given, time.

A rep's id is cheap to work out without solving anything, so a rep is found again by its id alone.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property, lru_cache
from itertools import islice, product
from typing import NamedTuple, cast

from quizgen.engine.alignment import line_up
from quizgen.engine.protection import solve_pass
from quizgen.engine.verdict import solve
from quizgen.football.calling import call_sides
from quizgen.football.defense import Front
from quizgen.football.errors import CannotRun, GapsoundError, NoRule, UnknownName
from quizgen.football.formation import Formation
from quizgen.football.pressure import Pressure
from quizgen.football.scheme import Play, Protection, Scheme
from quizgen.football.sides import Gap, Side
from quizgen.football.team import PassSituation, Situation, TeamBook, may_be_run
from quizgen.reps.ids import REP_HEX, SETUP_HEX, Setup, SetupIds, guise_id, job_id, picture_id, rep_id
from quizgen.reps.kind import Question, RepKind
from quizgen.reps.kinds import KINDS, AnyKind
from quizgen.reps.miss import answered
from quizgen.reps.mixing import mixed, shuffled
from quizgen.reps.rep import Rep, RepKeys, Stage, room
from quizgen.reps.snap import ON_AIR, Ground, PassSnap, Snap, stage_of
from quizgen.reps.wording import Say, Wording, as_is

SNAPS_KEPT = 256
SETUPS_AT_ONCE = 32

Given = Mapping[str, Mapping[str, frozenset[Gap]]]


class UnknownRep(GapsoundError):
    """No rep of this team has that id."""

    def __init__(self, rep: str) -> None:
        self.rep = rep
        super().__init__(f"rep: expected the id of a rep of this team, found {rep!r}")


class RepCell(NamedTuple):
    """What reps are counted by."""

    kind: str
    stage: Stage
    position: str
    call: str
    to: Side


@dataclass(frozen=True, slots=True)
class Counts:
    """How many reps there are in each cell, and the setups that have none: the formation cannot run the play, or the
    engine has no rule (with its message)."""

    reps: Counter[RepCell]
    cannot_run: int
    no_rule: Mapping[str, str]

    @property
    def total(self) -> int:
        """All reps."""
        return self.reps.total()


@dataclass(frozen=True, slots=True)
class Filter:
    """Which reps are wanted; None takes all. ``schemes`` names runs and protections; with it nothing on air comes."""

    positions: Collection[str] | None = None
    calls: Collection[str] | None = None
    stages: Collection[int] | None = None
    sides: Collection[Side] | None = None
    kinds: Collection[str] | None = None
    schemes: Collection[str] | None = None
    formations: Collection[str] | None = None

    def takes(self, setup: Setup) -> bool:
        """Whether a setup can have wanted reps at all."""
        if self.calls is not None and setup.pressure.name not in self.calls:
            return False
        if self.sides is not None and setup.to not in self.sides:
            return False
        if self.formations is not None and setup.formation.name not in self.formations:
            return False
        if self.schemes is not None and (setup.play is None or setup.play.name not in self.schemes):
            return False
        if self.stages is not None and setup_stage(setup) not in self.stages:
            return False
        return self.kinds is None or any(KINDS[kind].ground is ground_of(setup) for kind in self.kinds)


def ground_of(setup: Setup) -> Ground:
    """What a setup is asked on."""
    if setup.play is None:
        return Ground.AIR
    return Ground.PASS if isinstance(setup.play, Protection) else Ground.RUN


def setup_stage(setup: Setup) -> Stage:
    """Where a setup stands in the teaching order."""
    if setup.play is None:
        return Stage.TRACK
    return stage_of(setup.play) if isinstance(setup.play, Scheme) else Stage.PASS


@dataclass
class Catalogue:
    """All reps of one team. ``say`` turns the sentences' templates into another language's; ids do not change with it.

    Solved snaps are kept for a while, never more than ``snaps_kept``.
    """

    team: TeamBook
    say: Say = as_is
    snaps_kept: int = SNAPS_KEPT
    no_rule: dict[str, str] = field(default_factory=dict, init=False)
    _gaps: dict[tuple[str, Side, str], Given] = field(default_factory=dict, init=False, repr=False)
    _firsts: dict[tuple[object, ...], str] = field(default_factory=dict, init=False, repr=False)

    def __post_init__(self) -> None:
        self.wording = Wording(self.team.words, self.say)
        self._solved = lru_cache(maxsize=max(self.snaps_kept, SETUPS_AT_ONCE))(self._solve)

    @cached_property
    def setups(self) -> Mapping[str, Setup]:
        """Every setup of the team by its digest: each call to each side that its rule lets it go to against each
        formation, on air and against every play to each side; those that cannot be run are among them."""
        ids, team = SetupIds(self.team), self.team
        plays: tuple[Play, ...] = (*team.schemes, *team.protections)
        found = []
        for pressure, to, formation in product(team.pressures, Side, team.snap_formations):
            if to not in call_sides(pressure, formation):
                continue
            played = team.played(pressure, to, formation)
            call = (pressure, to, played, team.front(played.pressure.front), formation)
            if formation.moved is None:  # on air nobody moves
                found.append(ids.setup(*call, None, None))
            run = [play for play in plays if may_be_run(formation, play)]
            found += [ids.setup(*call, play, side) for play, side in product(run, Side)]
        return {setup.digest: setup for setup in found}

    def said_by(self, say: Say) -> Catalogue:
        """The same reps in another language; what has been worked out about setups is shared."""
        other = Catalogue(self.team, say, self.snaps_kept)
        other.__dict__["setups"], other._gaps = self.setups, self._gaps
        return other

    @cached_property
    def _in_order(self) -> Mapping[str | None, list[Setup]]:
        """All setups, well mixed, and those of each call by its name, since most questions are about one."""
        found: dict[str | None, list[Setup]] = {None: mixed(self.setups.values())}
        for setup in found[None]:
            found.setdefault(setup.pressure.name, []).append(setup)
        return found

    def wanted(self, wanted: Filter, seed: str = "") -> list[Setup]:
        """The setups that can have wanted reps, well mixed; each ``seed`` gives another order.

        Raises:
            UnknownName: the team has no such position, call, scheme or formation, or there is no such kind, stage or
                side.
        """
        self._check(wanted)
        call = next(iter(wanted.calls)) if wanted.calls is not None and len(wanted.calls) == 1 else None
        setups = mixed(self.setups.values(), seed) if seed else self._in_order.get(call, [])
        return [setup for setup in setups if wanted.takes(setup)]

    @cached_property
    def _call_keys(self) -> Mapping[str, str]:
        return {pressure.name: pressure.key for pressure in self.team.pressures}

    def find_snap(self, setup: Setup) -> Snap | PassSnap | None:
        """The solved setup, or None where the formation cannot run the play.

        Raises:
            NoRule: the engine has no rule for it.
        """
        return self._solved(setup.digest)

    def _solve(self, digest: str) -> Snap | PassSnap | None:
        setup, team = self.setups[digest], self.team
        played = setup.played
        before = (team.rules, team.positions, setup.front, played.pressure, played.to, setup.formation)
        try:
            if isinstance(setup.play, Protection):
                passing = PassSituation(*before, setup.play, setup.play_to or setup.to, played.adjusted)
                return PassSnap(digest, solve_pass(passing), self.wording)
            running = Situation(*before, setup.play or ON_AIR, setup.play_to or setup.to, played.adjusted)
            given = self._given(setup.front, played.to, setup.formation)
            elsewhere = _without(given, {setup.pressure.name, played.pressure.name})
            return Snap(
                digest, ground_of(setup), solve(running), self.wording, setup.pressure, elsewhere, self._call_keys
            )
        except CannotRun:
            return None

    def _given(self, front: Front, to: Side, formation: Formation) -> Given:
        """What each call from a front to a side gives each position: {call: {position: gaps}}."""
        key = (front.name, to, formation.name)
        if key not in self._gaps:
            found = {}
            for pressure in self.team.pressures:
                if to in call_sides(pressure, formation):
                    played = self.team.played(pressure, to, formation)
                    if played.pressure.front == front.name and played.to is to:
                        found[pressure.name] = _gaps_of(self.team, front, played.pressure, to, formation)
            self._gaps[key] = found
        return self._gaps[key]

    @property
    def solved_count(self) -> int:
        """How many solved snaps are kept at the moment."""
        return self._solved.cache_info().currsize

    def find_listed(self, setup: Setup) -> Snap | PassSnap | None:
        """The solved setup for a listing: one without a rule is noted and left out."""
        if setup.digest in self.no_rule:
            return None
        try:
            return self.find_snap(setup)
        except NoRule as error:
            self.no_rule[setup.digest] = str(error)
            return None

    def _check(self, wanted: Filter) -> None:
        team = self.team
        plays: tuple[Play, ...] = (*team.schemes, *team.protections)
        known = {
            "position": (wanted.positions, tuple(p.name for p in team.positions)),
            "call": (wanted.calls, tuple(p.name for p in team.pressures)),
            "scheme": (wanted.schemes, tuple(p.name for p in plays)),
            "formation": (wanted.formations, tuple(f.name for f in team.snap_formations)),
            "kind": (wanted.kinds, tuple(KINDS)),
            "stage": (wanted.stages, tuple(int(stage) for stage in Stage)),
            "side": (wanted.sides, tuple(Side)),
        }
        for what, (asked, has) in known.items():
            for name in asked or ():
                if name not in has:
                    raise UnknownName(what, str(name), tuple(str(one) for one in has))

    def asked(self, setup: Setup, wanted: Filter | None = None) -> list[tuple[AnyKind, str]]:
        """The kinds and positions that a setup is asked for, in an order of its own; none where it has no snap."""
        wanted = wanted or Filter()
        named = wanted.positions
        positions = [spot.position for spot in setup.front.spots if named is None or spot.position in named]
        snap = self.find_listed(setup) if positions else None
        if snap is None:
            return []
        pairs = [
            (kind, position)
            for kind in KINDS.values()
            if kind.ground is snap.ground and (wanted.kinds is None or kind.id in wanted.kinds)
            for position in positions
            if self._has(kind, setup, snap, position)
        ]
        return shuffled(pairs, setup.digest, lambda pair: f"{pair[0].id}|{pair[1]}")

    def _has(self, kind: AnyKind, setup: Setup, snap: Snap | PassSnap, position: str) -> bool:
        """Whether a kind asks that position about a snap; one that is the same before any formation, only about one."""
        if not asks(kind, snap, position):
            return False
        return not kind.is_once or self._first_of(kind, setup, position) == setup.digest

    def _first_of(self, kind: AnyKind, setup: Setup, position: str) -> str:
        """The one setup, in which a call is asked a kind that is once; a mirrored call in the mirrored one."""
        key = (kind.id, position, *_called(setup))
        if key not in self._firsts:
            same = sorted((one for one in self.setups.values() if _called(one) == key[2:]), key=_shape)
            snaps = ((one.digest, self.find_listed(one)) for one in same)
            self._firsts[key] = next(digest for digest, snap in snaps if snap and asks(kind, snap, position))
        return self._firsts[key]

    def reps(
        self,
        *,
        positions: Collection[str] | None = None,
        calls: Collection[str] | None = None,
        stages: Collection[int] | None = None,
        sides: Collection[Side] | None = None,
        kinds: Collection[str] | None = None,
        schemes: Collection[str] | None = None,
        formations: Collection[str] | None = None,
        seed: str = "",
    ) -> Iterator[Rep]:
        """The reps wanted, one by one, always in the same order (another for each ``seed``), the first few as unlike as
        can be. Setups that the engine has no rule for are left out and noted in ``no_rule``.

        Raises:
            UnknownName: as ``wanted``.
        """
        wanted = Filter(positions, calls, stages, sides, kinds, schemes, formations)
        return self._listed(self.wanted(wanted, seed), wanted)

    def _listed(self, found: Sequence[Setup], wanted: Filter) -> Iterator[Rep]:
        setups = iter(found)
        while some := list(islice(setups, SETUPS_AT_ONCE)):
            rows: dict[str, list[tuple[AnyKind, str]]] = {}
            number, is_left = 0, True
            while is_left:
                is_left = False
                for setup in some:
                    if setup.digest not in rows:
                        rows[setup.digest] = self.asked(setup, wanted)
                    row = rows[setup.digest]
                    if number < len(row):
                        is_left = True
                        kind, position = row[number]
                        snap = self.find_snap(setup)
                        assert snap is not None  # it has just been asked
                        yield make(kind, setup, snap, position)
                number += 1

    def rep(self, rep_id_: str) -> Rep:
        """The rep of that id.

        Raises:
            UnknownRep: the team has no such rep.
            NoRule: the engine has no rule for its situation.
        """
        setup = self.setups.get(rep_id_[:SETUP_HEX])
        if setup is None or len(rep_id_) != REP_HEX:
            raise UnknownRep(rep_id_)
        snap = self.find_snap(setup)
        for kind in KINDS.values():
            for spot in setup.front.spots:
                if rep_id(setup.digest, kind.id, spot.position) != rep_id_:
                    continue
                if snap is not None and kind.ground is snap.ground and self._has(kind, setup, snap, spot.position):
                    return make(kind, setup, snap, spot.position)
        raise UnknownRep(rep_id_)

    def counts(
        self,
        *,
        positions: Collection[str] | None = None,
        calls: Collection[str] | None = None,
        stages: Collection[int] | None = None,
        sides: Collection[Side] | None = None,
        kinds: Collection[str] | None = None,
        schemes: Collection[str] | None = None,
        formations: Collection[str] | None = None,
        watch: Callable[[Sequence[Setup]], Iterable[Setup]] = iter,
    ) -> Counts:
        """How many reps ``reps`` would give with the same filter, by cell. Every setup wanted is solved, none drawn;
        ``watch`` is given the setups and gives them back one by one, to say how far it is.

        Raises:
            UnknownName: as ``wanted``.
        """
        wanted = Filter(positions, calls, stages, sides, kinds, schemes, formations)
        found: Counter[RepCell] = Counter()
        cannot_run, no_rule = 0, {}
        for setup in watch(self.wanted(wanted)):
            snap, pairs = self.find_listed(setup), self.asked(setup, wanted)
            if setup.digest in self.no_rule:
                no_rule[setup.digest] = self.no_rule[setup.digest]
            elif snap is None:
                cannot_run += 1
            stage = setup_stage(setup)
            found.update(RepCell(kind.id, stage, position, setup.pressure.name, setup.to) for kind, position in pairs)
        return Counts(found, cannot_run, no_rule)


def _called(setup: Setup) -> tuple[object, ...]:
    """A call with its side, as called and as played, and the play; not the formation."""
    played = setup.played
    return setup.pressure.key, setup.to, played.pressure.key, played.to, setup.play.key if setup.play else None


def _shape(setup: Setup) -> list[tuple[float, float, str]]:
    """Where their men stand toward the call's side: sorts formations alike for a call and its mirror."""
    return sorted((round(p.x * setup.to.sign, 3), p.y, p.role.value) for p in setup.formation.players)


def _gaps_of(
    team: TeamBook, front: Front, pressure: Pressure, to: Side, formation: Formation
) -> Mapping[str, frozenset[Gap]]:
    """The gaps that a call gives to each position before the snap; none where the men can't line up to it."""
    try:
        men = line_up(Situation(team.rules, team.positions, front, pressure, to, formation, ON_AIR, to))
    except NoRule:
        return {}
    return {man.position: frozenset(man.gaps) for man in men}


def _without(given: Given, calls: Collection[str]) -> Mapping[str, frozenset[Gap]]:
    """The gaps that other calls than these give, by position."""
    found: dict[str, frozenset[Gap]] = {}
    for name, gaps in given.items():
        for position, some in gaps.items() if name not in calls else ():
            found[position] = found.get(position, frozenset()) | some
    return found


def asks(kind: AnyKind, snap: Snap | PassSnap, position: str) -> bool:
    """Whether a kind has something to ask that position about a snap on its own ground."""
    if isinstance(snap, PassSnap):
        return cast("RepKind[PassSnap]", kind).asks(snap, position)
    return cast("RepKind[Snap]", kind).asks(snap, position)


def _question(kind: AnyKind, snap: Snap | PassSnap, position: str) -> Question:
    if isinstance(snap, PassSnap):
        return cast("RepKind[PassSnap]", kind).build(snap, position)
    return cast("RepKind[Snap]", kind).build(snap, position)


def make(kind: AnyKind, setup: Setup, snap: Snap | PassSnap, position: str) -> Rep:
    """The rep of a kind that asks a position about a snap."""
    question = _question(kind, snap, position)
    keys = _keys(kind, setup, snap, position, question)
    adjusted = "" if kind.tells_change else snap.adjusted_head
    made = snap.answer.situation.adjusted
    if (
        made is not None
        and not made.check
        and room(question.parts, adjusted, snap.wording.length) < snap.wording.length(question.because)
    ):
        adjusted = ""  # "Changed here" is worth less than one lesson's length
    return Rep(
        id=rep_id(setup.digest, kind.id, position),
        kind=kind.id,
        stage=setup_stage(setup),
        position=position,
        call=setup.pressure.name,
        to=setup.to,
        formation=setup.formation.name,
        play=setup.play.name if setup.play else None,
        play_to=setup.play_to,
        stem=question.stem,
        parts=question.parts,
        because=f"{adjusted}{question.because}",
        picture=picture_id(setup.digest, position),
        guise=guise_of(kind, setup, snap, position),
        scene=question.scene,
        moved=answered(question.moved, question.scene, {one for part in question.parts for one in part.right}),
        keys=keys,
    )


def guise_of(kind: AnyKind, setup: Setup, snap: Snap | PassSnap, position: str) -> str:
    """Equal for reps that ask the same thing from another side or formation."""
    own, written_for = _key_of(snap, position), _written_for(snap, position)
    play = setup.play.key if setup.play else ""
    toward = "" if setup.play_to is None else "same" if setup.play_to is setup.to else "other"
    against = (setup.played.adjusted.words,) if setup.played.adjusted else ()
    return guise_id(kind.id, own, written_for, setup.pressure.key, play, toward, *against)


def _keys(kind: AnyKind, setup: Setup, snap: Snap | PassSnap, position: str, question: Question) -> RepKeys:
    play = setup.play.key if setup.play else None
    play_to = setup.play_to.value if setup.play_to else None
    own = _key_of(snap, position)
    call, formation = setup.pressure.key, setup.formation.key
    right = [[choice.key for choice in part.choices if choice.id in part.right] for part in question.parts]
    job = job_id(kind.id, (own, call, setup.to.value, formation, play, play_to), right)
    return RepKeys(own, call, formation, play, job)


def _key_of(snap: Snap | PassSnap, position: str) -> str:
    return next(one.key for one in snap.answer.situation.positions if one.name == position)


def _written_for(snap: Snap | PassSnap, position: str) -> str:
    """Whose job, as the call is written, the position does on this side: he may trade it with his mirror."""
    men = snap.answer.men if isinstance(snap, PassSnap) else tuple(fit.man for fit in snap.answer.fits)
    man = next(man for man in men if man.position == position)
    job = man.rush or man.drop
    return _key_of(snap, job.position if job else position)
