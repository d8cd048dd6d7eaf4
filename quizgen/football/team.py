"""Everything one team brings, and one situation taken from it. Knows no files and no engine."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Protocol, TypeVar

from quizgen.football.at_snap import at_snap
from quizgen.football.calling import Adjusted, PlayedCall, check_side, play_call
from quizgen.football.coverage import Coverage
from quizgen.football.defense import Front, Position
from quizgen.football.errors import UnknownName
from quizgen.football.formation import Formation
from quizgen.football.opponent import AcceptedLack, ChartedOpponent
from quizgen.football.pressure import Pressure
from quizgen.football.rules import TeamRules, Words
from quizgen.football.scheme import Play, Protection, Scheme
from quizgen.football.sides import Ball, Side


class Named(Protocol):
    """Anything with a name."""

    @property
    def name(self) -> str:
        """The name by which a coach asks for it."""
        ...


T = TypeVar("T", bound=Named)


def find_named(kind: str, name: str, things: Iterable[T]) -> T:
    """The thing of that name, upper and lower case alike.

    Raises:
        UnknownName: there is none.
    """
    known = tuple(things)
    for thing in known:
        if thing.name.casefold() == name.strip().casefold():
            return thing
    raise UnknownName(kind, name, tuple(thing.name for thing in known))


@dataclass(frozen=True, slots=True)
class TeamPlayer:
    """A player as little as the product needs of him: number, first name or nickname, positions."""

    number: int
    name: str
    positions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class TeamBook:
    """One team's defense, opponents and words; cross-checked by the content room that builds it.

    ``formations`` already hold the mirrored twins of formations that name one; ``coverages`` are the team's own,
    beside the shipped ones; ``snap_formations`` are what may stand there at the snap: each formation as it is set, and
    after each of its motions.
    """

    name: str
    positions: tuple[Position, ...]
    fronts: tuple[Front, ...]
    pressures: tuple[Pressure, ...]
    formations: tuple[Formation, ...]
    schemes: tuple[Scheme, ...]
    protections: tuple[Protection, ...] = ()
    rules: TeamRules = field(default_factory=TeamRules)
    words: Words = field(default_factory=Words)
    roster: tuple[TeamPlayer, ...] = ()
    time_zone: str = "UTC"
    season_end: str = ""
    about: Mapping[str, str] = field(default_factory=dict)
    coverages: tuple[Coverage, ...] = ()
    opponents: tuple[ChartedOpponent, ...] = ()
    accepted: tuple[AcceptedLack, ...] = ()
    snap_formations: tuple[Formation, ...] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        measures = self.rules.measures
        moved = (at_snap(one, motion, measures) for one in self.formations for motion in one.motions)
        object.__setattr__(self, "snap_formations", (*self.formations, *moved))

    def position(self, name: str) -> Position:
        """The position of that name; raises UnknownName."""
        return find_named("position", name, self.positions)

    def front(self, name: str) -> Front:
        """The front of that name; raises UnknownName."""
        return find_named("front", name, self.fronts)

    def pressure(self, name: str) -> Pressure:
        """The call of that name; raises UnknownName."""
        return find_named("call", name, self.pressures)

    def formation(self, name: str) -> Formation:
        """The formation of that name as it may stand at the snap; raises UnknownName."""
        return find_named("formation", name, self.snap_formations)

    def after_motion(self, formation: str, motion: str) -> Formation:
        """The formation after one of its motions; without a name as it is set. Raises UnknownName."""
        found = self.formation(formation)
        if not motion:
            return found
        own = find_named("motion", motion, found.motions)
        return self.formation(f"{found.name}, {own.name}")

    def played(self, pressure: Pressure, to: Side, formation: Formation, ball: Ball | None = None) -> PlayedCall:
        """What a call to a side becomes against a formation."""
        return play_call(pressure, to, formation, self.pressure, ball)

    def opponent(self, name: str) -> ChartedOpponent:
        """The opponent of that name; raises UnknownName."""
        return find_named("opponent", name, self.opponents)

    def play(self, name: str) -> Play:
        """The scheme or protection of that name; raises UnknownName."""
        plays: tuple[Play, ...] = (*self.schemes, *self.protections)
        return find_named("play", name, plays)


@dataclass(frozen=True, slots=True)
class Situation:
    """One snap: the team's rules, a call to a side as it is played, a formation, a run to a side; ``adjusted`` says
    what was called, where that is not what is played."""

    rules: TeamRules
    positions: tuple[Position, ...]
    front: Front
    pressure: Pressure
    to: Side
    formation: Formation
    play: Scheme
    play_to: Side
    adjusted: Adjusted | None = None

    @property
    def called(self) -> tuple[str, Side]:
        """The call that was made, and its side."""
        return (self.adjusted.call, self.adjusted.to) if self.adjusted else (self.pressure.name, self.to)


@dataclass(frozen=True, slots=True)
class PassSituation:
    """One pass: the team's rules, a call to a side as it is played, a formation, a protection whose center turns to
    ``turn_to``; ``adjusted`` says what was called, where that is not what is played."""

    rules: TeamRules
    positions: tuple[Position, ...]
    front: Front
    pressure: Pressure
    to: Side
    formation: Formation
    protection: Protection
    turn_to: Side
    adjusted: Adjusted | None = None

    @property
    def called(self) -> tuple[str, Side]:
        """The call that was made, and its side."""
        return (self.adjusted.call, self.adjusted.to) if self.adjusted else (self.pressure.name, self.to)


def may_be_run(formation: Formation, play: Play) -> bool:
    """Whether this play is one of those that the motion of this formation, if there is one, is used with."""
    names = formation.moved.motion.used_with if formation.moved else ()
    return not names or play.name in names


def situation(
    team: TeamBook,
    call: str,
    to: Side,
    formation: str,
    play: str,
    play_to: Side,
    ball: Ball | None = None,
    motion: str = "",
) -> Situation:
    """The situation of those names; without a ``motion`` nobody moves before the snap.

    Raises:
        UnknownName: one of the names is not the team's, or the play is a protection.
        WrongSide: the call's own rule does not let it go to that side.
    """
    pressure, found = team.pressure(call), team.after_motion(formation, motion)
    check_side(pressure, to, found, ball)
    scheme = find_named("play", play, team.schemes)
    played = team.played(pressure, to, found, ball)
    front = team.front(played.pressure.front)
    return Situation(
        team.rules, team.positions, front, played.pressure, played.to, found, scheme, play_to, played.adjusted
    )


def pass_situation(
    team: TeamBook,
    call: str,
    to: Side,
    formation: str,
    protection: str,
    turn_to: Side,
    ball: Ball | None = None,
    motion: str = "",
) -> PassSituation:
    """The pass of those names; without a ``motion`` nobody moves before the snap.

    Raises:
        UnknownName: one of the names is not the team's, or the protection is a run.
        WrongSide: the call's own rule does not let it go to that side.
    """
    pressure, offense = team.pressure(call), team.after_motion(formation, motion)
    check_side(pressure, to, offense, ball)
    found = find_named("protection", protection, team.protections)
    played = team.played(pressure, to, offense, ball)
    front = team.front(played.pressure.front)
    return PassSituation(
        team.rules, team.positions, front, played.pressure, played.to, offense, found, turn_to, played.adjusted
    )
