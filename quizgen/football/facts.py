"""Facts of a formation by name: what a call may be adjusted against. Knows no call, no play and no defender.

Each fact is defined in the line that works it out. Some hold for a side ("trips"), others for the whole formation
("empty"). The words are the trade's; where staffs draw the line elsewhere the meaning beside the word says where it is
drawn here (common practice unless a test names its source).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from quizgen.football.formation import Formation, OffensivePlayer, Role
from quizgen.football.sides import Side, Toward
from quizgen.football.terms import Term

BUNCH_YD = 4.0
GUN_YD = 3.0
OFFSET_YD = 0.5


class Fact(Term):
    """What a formation may have, on a side or as a whole."""

    TRIPS = "trips", "three receivers or more on that side; an attached end and a wing count among them"
    QUADS = "quads", "four receivers or more on that side, counted like trips"
    BUNCH = "bunch", "three receivers on that side within 4 yards of one another"
    TWINS = "twins", "two receivers on that side, both split"
    TIGHT_END = "tight end", "an end is attached on that side"
    NUB = "nub", "an end is attached on that side and nobody is split outside him"
    OPEN = "open", "nobody is attached beyond the tackle on that side"
    WING = "wing", "a man is attached off the line on that side"
    UNBALANCED = "unbalanced", "that side has at least two more men on the line than the other, split ones counted"
    BACK = "back", "the back (the tailback, else the fullback) stands off the middle to that side"
    STRENGTH = "strength", "that side is strong: by attached men, then receivers, then the back; a tie is no strength"
    PASSING_STRENGTH = (
        "passing strength",
        "that side has more receivers; where they are equal, by attached men, then the back",
    )
    EMPTY = "empty", "nobody is in the backfield but the quarterback"
    ONE_BACK = "one back", "one man is in the backfield beside the quarterback"
    TWO_BACKS = "two backs", "two men are in the backfield beside the quarterback"
    THREE_BACKS = "three backs", "three men are in the backfield beside the quarterback"
    NO_TIGHT_END = "no tight end", "no end is attached on either side"
    TWO_TIGHT_ENDS = "two tight ends", "an end is attached on both sides"
    BALANCED = "balanced", "neither side is strong"
    GUN = "gun", "the quarterback stands 3 yards deep or deeper"
    UNDER_CENTER = "under center", "the quarterback stands less than 3 yards deep"


def backs(formation: Formation) -> tuple[OffensivePlayer, ...]:
    """The men in the backfield beside the quarterback: those who are no part of the line and no receiver."""
    wide = {man.key for side in Side for man in formation.receivers(side)}
    return tuple(
        man
        for man in formation.players
        if not man.attached and not man.on_line and man.role is not Role.QUARTERBACK and man.key not in wide
    )


def back_side(formation: Formation) -> Side | None:
    """The side of the back who stands off the middle; None where he stands behind the ball or there is none."""
    for role in (Role.TAILBACK, Role.FULLBACK):
        men = [man for man in backs(formation) if man.role is role]
        if men:
            x = sum(man.x for man in men)
            return None if abs(x) < OFFSET_YD else Side.RIGHT if x > 0 else Side.LEFT
    return None


def _more(formation: Formation, count: Callable[[Formation, Side], int]) -> Side | None:
    left, right = (count(formation, side) for side in Side)
    return None if left == right else Side.RIGHT if right > left else Side.LEFT


def _attached(formation: Formation, side: Side) -> int:
    return len(formation.on_side(side))


def _receivers(formation: Formation, side: Side) -> int:
    return len(formation.receivers(side))


def _on_line(formation: Formation, side: Side) -> int:
    return sum(man.on_line and man.x * side.sign > 0 for man in formation.players)


def strength(formation: Formation) -> Side | None:
    """The strong side: more attached men, then more receivers, then the back; None where all three are even."""
    return _more(formation, _attached) or _more(formation, _receivers) or back_side(formation)


def passing_strength(formation: Formation) -> Side | None:
    """The side with more receivers, then more attached men, then the back; None where all three are even."""
    return _more(formation, _receivers) or _more(formation, _attached) or back_side(formation)


def has_tight_end(formation: Formation, side: Side) -> bool:
    """Whether an end is attached on that side."""
    return any(man.role is Role.END for man in formation.on_side(side))


def tight_end_side(formation: Formation) -> Side | None:
    """The side of the only tight end; None where there is none, or one on both sides."""
    sides = [side for side in Side if has_tight_end(formation, side)]
    return sides[0] if len(sides) == 1 else None


def _is_bunch(formation: Formation, side: Side) -> bool:
    x = sorted(man.x for man in formation.receivers(side))
    return any(third - first <= BUNCH_YD for first, third in zip(x, x[2:], strict=False))


def _is_twins(formation: Formation, side: Side) -> bool:
    men = formation.receivers(side)
    return len(men) == 2 and not any(man.attached for man in men)


def _is_nub(formation: Formation, side: Side) -> bool:
    return has_tight_end(formation, side) and all(man.attached for man in formation.receivers(side))


def _is_open(formation: Formation, side: Side) -> bool:
    return all(man.role.is_interior for man in formation.on_side(side))


def _has_wing(formation: Formation, side: Side) -> bool:
    return any(not man.on_line for man in formation.on_side(side))


OF_A_SIDE: Mapping[Fact, Callable[[Formation, Side], bool]] = MappingProxyType(
    {
        Fact.TRIPS: lambda f, side: _receivers(f, side) >= 3,
        Fact.QUADS: lambda f, side: _receivers(f, side) >= 4,
        Fact.BUNCH: _is_bunch,
        Fact.TWINS: _is_twins,
        Fact.TIGHT_END: has_tight_end,
        Fact.NUB: _is_nub,
        Fact.OPEN: _is_open,
        Fact.WING: _has_wing,
        Fact.UNBALANCED: lambda f, side: _on_line(f, side) >= _on_line(f, side.other) + 2,
        Fact.BACK: lambda f, side: back_side(f) is side,
        Fact.STRENGTH: lambda f, side: strength(f) is side,
        Fact.PASSING_STRENGTH: lambda f, side: passing_strength(f) is side,
    }
)
OF_THE_WHOLE: Mapping[Fact, Callable[[Formation], bool]] = MappingProxyType(
    {
        Fact.EMPTY: lambda f: len(backs(f)) == 0,
        Fact.ONE_BACK: lambda f: len(backs(f)) == 1,
        Fact.TWO_BACKS: lambda f: len(backs(f)) == 2,
        Fact.THREE_BACKS: lambda f: len(backs(f)) == 3,
        Fact.NO_TIGHT_END: lambda f: not any(has_tight_end(f, side) for side in Side),
        Fact.TWO_TIGHT_ENDS: lambda f: all(has_tight_end(f, side) for side in Side),
        Fact.BALANCED: lambda f: strength(f) is None,
        Fact.GUN: lambda f: _quarterback_yd(f) >= GUN_YD,
        Fact.UNDER_CENTER: lambda f: _quarterback_yd(f) < GUN_YD,
    }
)


def _quarterback_yd(formation: Formation) -> float:
    return next(man.y for man in formation.players if man.role is Role.QUARTERBACK)


@dataclass(frozen=True, slots=True)
class FormationFact:
    """A fact as a call names it: "trips to" (on the side the call goes to), "trips away", "trips" (on either side)."""

    fact: Fact
    toward: Toward | None = None

    @property
    def word(self) -> str:
        """As the call says it."""
        return f"{self.fact.value} {self.toward.value}" if self.toward else self.fact.value

    def holds(self, formation: Formation, to: Side) -> bool:
        """Whether it is so when the call goes to ``to``."""
        of_a_side = OF_A_SIDE.get(self.fact)
        if of_a_side is None:
            return OF_THE_WHOLE[self.fact](formation)
        sides = tuple(Side) if self.toward is None else (self.toward.side(to),)
        return any(of_a_side(formation, side) for side in sides)


def parse_fact(words: str) -> FormationFact:
    """Read "trips to" or "empty"; the words have been checked."""
    for toward in Toward:
        if words.endswith(f" {toward.value}"):
            return FormationFact(Fact(words.removesuffix(f" {toward.value}")), toward)
    return FormationFact(Fact(words))
