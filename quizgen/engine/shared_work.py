"""What many situations share, worked out once: the eleven of a call against a formation, and the offense's surface.

A ``SharedWork`` is handed from one situation to the next by who asks for many. It changes no answer, only how often
the same thing is worked out.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, fields
from functools import cached_property
from operator import attrgetter

from quizgen.engine.alignment import Man, line_up
from quizgen.engine.crossing import waits
from quizgen.engine.movement import AtTheLine
from quizgen.engine.surface import Surface, surface
from quizgen.football.errors import CannotRun
from quizgen.football.formation import Formation
from quizgen.football.rules import Timing
from quizgen.football.team import Situation

# What a line-up may depend on, and a surface: everything in a situation but these. A field that is added to Situation
# counts for both until somebody says otherwise here.
NOT_BEFORE_THE_SNAP = frozenset({"play", "play_to"})
DEFENSE = frozenset({"rules", "positions", "front", "pressure", "to", "adjusted"})
_before_the_snap = attrgetter(*(f.name for f in fields(Situation) if f.name not in NOT_BEFORE_THE_SNAP))
_offense = attrgetter(*(f.name for f in fields(Situation) if f.name not in DEFENSE))

Key = tuple[object, ...]


@dataclass(frozen=True)
class Lineup:
    """The eleven of a call on the field against a formation, from left to right, and what follows before any play is
    known."""

    men: tuple[Man, ...]
    formation: Formation
    timing: Timing

    @classmethod
    def of(cls, men: Iterable[Man], formation: Formation, timing: Timing) -> Lineup:
        """The same men from left to right."""
        return cls(tuple(sorted(men, key=lambda man: (man.x, man.depth_yd))), formation, timing)

    @cached_property
    def at_the_line(self) -> AtTheLine:
        """What the blockers find."""
        return AtTheLine.of(self.men)

    @cached_property
    def waits(self) -> dict[str, float]:
        """Seconds that rushers lose where their paths cross, by position."""
        return waits(self.men, self.formation, self.timing)

    @cached_property
    def mirrored(self) -> Lineup:
        """The same turned round."""
        return Lineup.of((man.mirrored for man in reversed(self.men)), self.formation.mirrored, self.timing)


class SharedWork:
    """Line-ups and surfaces by what decides them. Values are told apart by identity, and kept, so that an identity
    stays theirs."""

    def __init__(self) -> None:
        self._lineups: dict[Key, tuple[Situation, Lineup]] = {}
        self._surfaces: dict[Key, tuple[Situation, Surface | str]] = {}

    def for_another_call(self) -> SharedWork:
        """Work that shares the surfaces and has line-ups of its own, which go when it goes."""
        other = SharedWork()
        other._surfaces = self._surfaces
        return other

    def lineup(self, s: Situation) -> Lineup:
        """The eleven of a situation; raises NoRule as ``line_up``."""
        key = tuple(map(id, _before_the_snap(s)))
        kept = self._lineups.get(key)
        if kept is None:
            kept = self._lineups[key] = s, Lineup.of(line_up(s), s.formation, s.rules.timing)
        return kept[1]

    def surface(self, s: Situation, lineup: Lineup) -> Surface:
        """The surface of a situation whose play goes to the right; raises as ``surface`` does."""
        front = lineup.at_the_line.asked_by(s.play)
        key = (*map(id, _offense(s)), id(s.rules.timing), front.held, front.first)
        kept = self._surfaces.get(key)
        if kept is None:
            kept = self._surfaces[key] = s, _surface_or_lack(s, front)
        found = kept[1]
        if isinstance(found, str):
            raise CannotRun(s.pressure.name, s.front.name, s.play.name, found)
        return found


def _surface_or_lack(s: Situation, front: AtTheLine) -> Surface | str:
    """The surface, or which man the formation lacks for the play."""
    try:
        return surface(s, front)
    except CannotRun as error:
        return error.missing
