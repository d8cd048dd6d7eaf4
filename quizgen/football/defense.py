"""The defense before the snap: positions, alignments by technique, fronts. Knows no call and no play.

Alignments are stored as (landmark, shade), never as a number: the number a coach says is read and printed by his team's
numbering, since numberings differ (source: Bryant 1960, ch. 4, fig. 1, for the order 0 1 2 3 4 5 7 6 9 8 from the
inside out; the second numbering, three to a man, from a published high-school playbook, 2010-11).
"""

from __future__ import annotations

from dataclasses import dataclass

from quizgen.football.errors import FootballValueError
from quizgen.football.keys import slug
from quizgen.football.sides import Toward
from quizgen.football.terms import Term

SHADE_YD = 0.45
WIDE_SHADE_YD = 1.2
DEFENSE_SIZE = 11


class PlayerClass(Term):
    """Who a man is by build and training; decides his default reaction and speed."""

    LINEMAN = "lineman", "a down lineman: quick off the ball, the slowest runner"
    EDGE = "edge", "an end or stand-up rusher: quick off the ball, runs better than a lineman"
    BACKER = "backer", "reads before he goes, at a backer's pace"
    SAFETY = "safety", "reads longer from depth, and runs well"
    CORNER = "corner", "reads longest, and runs well"


@dataclass(frozen=True, slots=True)
class Position:
    """A position under the team's own name.

    ``label`` is what a diagram shows (one to three characters); ``group`` the room he meets with; ``mirrors`` the
    position that takes over his job when the call goes to the other side (None: he flips with the call).
    """

    name: str
    label: str
    group: str
    player_class: PlayerClass
    mirrors: str | None = None
    key: str = ""

    def __post_init__(self) -> None:
        if not self.name.strip():
            raise FootballValueError("name", self.name, "a position name")
        if not 1 <= len(self.label) <= 3:
            raise FootballValueError("label", self.label, "one to three characters for the diagram")
        object.__setattr__(self, "key", self.key or slug(self.name))


class Landmark(Term):
    """What a defender lines up on. ``END`` and ``WING`` without such a man mean the place where he would stand."""

    CENTER = "center", "the center"
    GUARD = "guard", "the guard"
    TACKLE = "tackle", "the tackle"
    END = "end", "the end, or the place where he would stand"
    WING = "wing", "the wing, or the place where he would stand"
    LAST = "last man", "the last attached blocker on that side"
    NUMBER_ONE = "number one", "the widest receiver on that side"
    NUMBER_TWO = "number two", "the next receiver inside him"
    MIDDLE = "middle", "the middle of the formation"


class Shade(Term):
    """Where on his landmark a man lines up, from the inside out."""

    INSIDE = "inside", "on his landmark's inside shoulder"
    HEAD = "head-up", "nose to nose with his landmark"
    OUTSIDE = "outside", "on his landmark's outside shoulder"
    WIDE = "wide", "clear outside him"

    @property
    def out_yd(self) -> float:
        """Yards outward from the landmark."""
        return {"inside": -SHADE_YD, "head-up": 0.0, "outside": SHADE_YD, "wide": WIDE_SHADE_YD}[self.value]


class Numbering(Term):
    """How a staff numbers techniques."""

    ONE_TO_NINE = "0 1 2 3 4 5 7 6 9 8", "the common numbering of techniques, from the inside out"
    THREE_A_MAN = "three a man", "three numbers for each blocker from the tackle outward"


# Technique numbers in each numbering, from the inside out. A trailing i is the inside shade of that man.
TECHNIQUES: dict[Numbering, dict[str, tuple[Landmark, Shade]]] = {
    # source: Bryant 1960, ch. 4, fig. 1 (order from the inside out); 1, 2i and 6i as common practice reads them.
    Numbering.ONE_TO_NINE: {
        "0": (Landmark.CENTER, Shade.HEAD),
        "1": (Landmark.CENTER, Shade.OUTSIDE),
        "2i": (Landmark.GUARD, Shade.INSIDE),
        "2": (Landmark.GUARD, Shade.HEAD),
        "3": (Landmark.GUARD, Shade.OUTSIDE),
        "4i": (Landmark.TACKLE, Shade.INSIDE),
        "4": (Landmark.TACKLE, Shade.HEAD),
        "5": (Landmark.TACKLE, Shade.OUTSIDE),
        "7": (Landmark.END, Shade.INSIDE),
        "6": (Landmark.END, Shade.HEAD),
        "9": (Landmark.END, Shade.OUTSIDE),
        "8": (Landmark.END, Shade.WIDE),
    },
    # source: a published high-school playbook, 2010-11: three numbers to a man from the guard out.
    Numbering.THREE_A_MAN: {
        "0": (Landmark.CENTER, Shade.HEAD),
        "1": (Landmark.GUARD, Shade.INSIDE),
        "2": (Landmark.GUARD, Shade.HEAD),
        "3": (Landmark.GUARD, Shade.OUTSIDE),
        "4": (Landmark.TACKLE, Shade.INSIDE),
        "5": (Landmark.TACKLE, Shade.HEAD),
        "6": (Landmark.TACKLE, Shade.OUTSIDE),
        "7": (Landmark.END, Shade.INSIDE),
        "8": (Landmark.END, Shade.HEAD),
        "9": (Landmark.END, Shade.OUTSIDE),
    },
}


@dataclass(frozen=True, slots=True)
class Alignment:
    """A place before the snap: a landmark on the call's side or away from it, a shade, yards further out, a depth in
    yards.

    ``toward`` is ignored on the center head-up and in the middle.
    """

    landmark: Landmark
    toward: Toward
    shade: Shade = Shade.HEAD
    out_yd: float = 0.0
    depth_yd: float = 1.0

    def __post_init__(self) -> None:
        if not 0.3 <= self.depth_yd <= 40:
            raise FootballValueError("depth", self.depth_yd, "yards off the line between 0.3 and 40")


def parse_technique(text: str, numbering: Numbering) -> tuple[Landmark, Shade]:
    """The landmark and shade of a technique number in a team's numbering; ten times the number (10, 20, 30) is the
    same spot at linebacker depth.

    Raises:
        FootballValueError: the numbering has no such technique.
    """
    table = TECHNIQUES[numbering]
    number = text.strip().lower()
    if number not in table and number.endswith("0") and number[:-1] in table:
        number = number[:-1]
    if number not in table:
        raise FootballValueError("technique", text, f"one of {', '.join(table)}")
    return table[number]


@dataclass(frozen=True, slots=True)
class Spot:
    """One position's place in a front; ``down`` is a man with his hand on the ground."""

    position: str
    alignment: Alignment
    down: bool = False


@dataclass(frozen=True, slots=True)
class Front:
    """Where all eleven line up, as seen from the side the call goes to."""

    name: str
    spots: tuple[Spot, ...]
    key: str = ""

    def __post_init__(self) -> None:
        if len(self.spots) != DEFENSE_SIZE:
            raise FootballValueError("spots", len(self.spots), "eleven positions")
        names = [spot.position for spot in self.spots]
        twice = sorted({name for name in names if names.count(name) > 1})
        if twice:
            raise FootballValueError("spots", ", ".join(twice), "each position once")
        object.__setattr__(self, "key", self.key or slug(self.name))

    def spot(self, position: str) -> Spot:
        """The spot of that position; raises KeyError where the front has none."""
        for spot in self.spots:
            if spot.position == position:
                return spot
        raise KeyError(position)

    @property
    def down_count(self) -> int:
        """How many men have a hand on the ground."""
        return sum(spot.down for spot in self.spots)
