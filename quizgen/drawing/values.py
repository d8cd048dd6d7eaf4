"""The small values a scene is made of: men, tracks, bands, taps, notes, marks, motion. They check themselves.

Why it exists: whoever builds a picture says in yards what stands where, and never thinks of pixels. What it must not
know: football rules, pixels, SVG, right answers that nobody told it to show.

``x`` runs in yards from the center, positive to the right of the screen, which is the defense's right. ``y`` runs in
yards from the line of scrimmage, positive into the offense's backfield, which is the top of the screen.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, replace
from enum import Enum
from itertools import pairwise

FARTHEST_YD = 60.0
"""No man, point or edge may be farther than this from the center: a field is 53 yd 1 ft wide."""
ID = re.compile(r"[A-Za-z0-9_.-]{1,24}")


class SceneError(ValueError):
    """A scene was given a value it cannot draw: ``where`` it stands, what was ``found``, what was ``expected``."""

    def __init__(self, where: str, found: object, expected: str) -> None:
        self.where = where
        self.found = found
        self.expected = expected
        super().__init__(f"{where}: expected {expected}, found {found!r}")


class Symbol(Enum):
    """How an offensive man is drawn (source: common practice): a circle, the center a square."""

    CIRCLE = "circle"
    SQUARE = "square"


class TrackPhase(Enum):
    """First movement is a solid line; what comes second is dashed."""

    FIRST = "first"
    SECOND = "second"


class End(Enum):
    """How a track ends: an arrow for a path, a T for a block (source: common practice), or plainly."""

    ARROW = "arrow"
    T = "t"
    PLAIN = "plain"


class Tone(Enum):
    """What a line, note or mark says about an answer already given; NEUTRAL says nothing."""

    NEUTRAL = "neutral"
    RIGHT = "right"
    WRONG = "wrong"


class BandState(Enum):
    """What a gap band shows: only where the gap is (PLAIN), his gap (RIGHT), his miss (WRONG), nobody's gap (OPEN)."""

    PLAIN = "plain"
    RIGHT = "right"
    WRONG = "wrong"
    OPEN = "open"


class ScreenHalf(Enum):
    """The left or right half of a man, as the defense sees him."""

    LEFT = "left"
    RIGHT = "right"


class MarkKind(Enum):
    """A sign on a man: EYES (the man he watches), FREE (nobody blocks him), READ (left unblocked on purpose),
    RIGHT (the man who is the answer), MISSED (the man he took, and should not have)."""

    EYES = "eyes"
    FREE = "free"
    READ = "read"
    RIGHT = "right"
    MISSED = "missed"


def _check_number(where: str, value: float | None, *, low: float = -FARTHEST_YD, high: float = FARTHEST_YD) -> None:
    if value is not None and not (math.isfinite(value) and low <= value <= high):
        raise SceneError(where, value, f"a number from {low:g} to {high:g}")


def _check_words(where: str, words: str, *, shortest: int, longest: int) -> None:
    if not (shortest <= len(words) <= longest and words.isprintable() and words == words.strip()):
        expected = f"{shortest} to {longest} printable characters on one line, with no blank at either end"
        raise SceneError(where, words, expected)


def _check_id(where: str, value: str) -> None:
    if not ID.fullmatch(value):
        raise SceneError(where, value, "an id of 1 to 24 letters, digits, '-', '_' or '.'")


@dataclass(frozen=True, slots=True)
class Blocker:
    """A man of the offense at (x, y) yards; ``label`` is drawn inside his symbol, at most two letters. ``was`` is where
    he stood before, shown as a dashed ring."""

    id: str
    x: float
    y: float
    symbol: Symbol = Symbol.CIRCLE
    label: str = ""
    is_puller: bool = False
    is_dim: bool = False
    was: Point | None = None

    def __post_init__(self) -> None:
        _check_id("blocker id", self.id)
        _check_number(f"blocker {self.id}: x", self.x)
        _check_number(f"blocker {self.id}: y", self.y)
        _check_words(f"blocker {self.id}: label", self.label, shortest=0, longest=2)


@dataclass(frozen=True, slots=True)
class Defender:
    """A man of the defense at (x, y) yards, drawn as his position name of one to three letters.

    ``is_own`` makes him the player's own man: a solid shape of its own, heavier than anything else in the picture.
    ``was`` is where he stood before, shown as a dashed ring.
    """

    id: str
    x: float
    y: float
    label: str
    is_own: bool = False
    is_dim: bool = False
    was: Point | None = None

    def __post_init__(self) -> None:
        _check_id("defender id", self.id)
        _check_number(f"defender {self.id}: x", self.x)
        _check_number(f"defender {self.id}: y", self.y)
        _check_words(f"defender {self.id}: label", self.label, shortest=1, longest=3)
        if self.is_own and self.is_dim:
            raise SceneError(f"defender {self.id}: is_dim", True, "false for the player's own man")


@dataclass(frozen=True, slots=True)
class Point:
    """A place on the field, in yards."""

    x: float
    y: float

    def __post_init__(self) -> None:
        _check_number("point x", self.x)
        _check_number("point y", self.y)


@dataclass(frozen=True, slots=True)
class Track:
    """A path through at least two points, in yards; ``order`` is the number drawn at its start.

    ``is_scout``: only the offense's view shows it, on cards from which its scout team runs the play. ``is_curved``
    rounds it, as a puller runs. With End.T it is a block. ``of`` is the man whose way it is: where he moves, it grows
    as he runs it. ``is_ball``: it is the way of the man with the ball.
    """

    id: str
    points: tuple[Point, ...]
    phase: TrackPhase = TrackPhase.FIRST
    end: End = End.ARROW
    order: int | None = None
    tone: Tone = Tone.NEUTRAL
    is_curved: bool = False
    is_own: bool = False
    is_scout: bool = False
    of: str = ""
    is_ball: bool = False

    def __post_init__(self) -> None:
        _check_id("track id", self.id)
        if len(self.points) < 2:
            raise SceneError(f"track {self.id}: points", self.points, "at least two points")
        if any(a == b for a, b in pairwise(self.points)):
            raise SceneError(f"track {self.id}: points", self.points, "no point twice in a row")
        if self.order is not None and not 1 <= self.order <= 11:
            raise SceneError(f"track {self.id}: order", self.order, "a number from 1 to 11, or None")


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch of the line of scrimmage, from its left edge to its right edge.

    Each edge is a blocker's id (the edge is his ``x`` and moves with him), or an ``x`` in yards, or neither: then the
    stretch is open to the side line on that side.
    """

    left: str | None = None
    right: str | None = None
    x_from: float | None = None
    x_to: float | None = None

    def __post_init__(self) -> None:
        for edge, man, x in (("left", self.left, self.x_from), ("right", self.right, self.x_to)):
            _check_number(f"span {edge} edge", x)
            if man is not None and x is not None:
                raise SceneError(f"span {edge} edge", (man, x), "a blocker or a number of yards, not both")
        if self.left is not None and self.left == self.right:
            raise SceneError("span", self.left, "two different blockers")
        if self.x_from is not None and self.x_to is not None and not self.x_from < self.x_to:
            raise SceneError("span", (self.x_from, self.x_to), "a left edge left of the right edge")

    @classmethod
    def between(cls, left: str | None, right: str | None) -> Span:
        """The stretch between two blockers, by id; None: open on that side."""
        return cls(left=left, right=right)

    @classmethod
    def of_yards(cls, x_from: float | None, x_to: float | None) -> Span:
        """The stretch between two places, in yards; None: open on that side."""
        return cls(x_from=x_from, x_to=x_to)


@dataclass(frozen=True, slots=True)
class OnMan:
    """A blocker or a defender, by id, as the thing that is tapped."""

    of: str


@dataclass(frozen=True, slots=True)
class OnHalf:
    """One half of a man or of the block he makes, as the thing that is tapped."""

    of: str
    half: ScreenHalf


@dataclass(frozen=True, slots=True)
class OnTrack:
    """A track, by id, as the thing that is tapped; the target sits at its end."""

    of: str


Target = Span | OnMan | OnHalf | OnTrack


@dataclass(frozen=True, slots=True)
class Tap:
    """Something the player may tap. ``id`` is the opaque choice id; it must not tell which choice is right.

    ``label`` says it in words (for a screen reader and the native radio beside it), ``mark`` is the short text drawn on
    it, ``words`` are at most two lines that name it in the picture. ``part`` counts the questions of a rep that asks
    for more than one tap. ``is_chosen`` shows it as tapped.
    """

    id: str
    label: str
    target: Target
    mark: str = ""
    part: int = 1
    is_chosen: bool = False
    words: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        _check_id("tap id", self.id)
        if len(self.words) > 2:
            raise SceneError(f"tap {self.id}: words", self.words, "at most two lines")
        for line in self.words:
            _check_words(f"tap {self.id}: words", line, shortest=1, longest=12)
        _check_words(f"tap {self.id}: label", self.label, shortest=1, longest=80)
        _check_words(f"tap {self.id}: mark", self.mark, shortest=0, longest=4)
        if not 1 <= self.part <= 4:
            raise SceneError(f"tap {self.id}: part", self.part, "a number from 1 to 4")


@dataclass(frozen=True, slots=True)
class Band:
    """A gap laid over the line, ``label`` drawn in it, shown from ``from_s`` to ``to_s`` (None: to the end).

    ``number`` stands on its corner in place of a sign, where gaps are counted."""

    id: str
    span: Span
    label: str = ""
    state: BandState = BandState.PLAIN
    from_s: float = 0.0
    to_s: float | None = None
    number: int | None = None

    def __post_init__(self) -> None:
        _check_id("band id", self.id)
        _check_words(f"band {self.id}: label", self.label, shortest=0, longest=12)
        _check_number(f"band {self.id}: from_s", self.from_s, low=0.0, high=60.0)
        _check_number(f"band {self.id}: to_s", self.to_s, low=0.0, high=60.0)
        if self.to_s is not None and self.to_s <= self.from_s:
            raise SceneError(f"band {self.id}: to_s", self.to_s, f"a time after {self.from_s:g} s, or None")

    def is_shown(self, t_s: float) -> bool:
        """Whether the band is to be seen ``t_s`` seconds after the snap."""
        return self.from_s <= t_s and (self.to_s is None or t_s < self.to_s)


@dataclass(frozen=True, slots=True)
class Note:
    """A few words at a point, or beside a man whom they follow; shown from ``from_s`` on."""

    text: str
    at: Point | str
    tone: Tone = Tone.NEUTRAL
    from_s: float = 0.0

    def __post_init__(self) -> None:
        _check_words("note text", self.text, shortest=1, longest=32)
        _check_number(f"note {self.text!r}: from_s", self.from_s, low=0.0, high=60.0)


@dataclass(frozen=True, slots=True)
class Mark:
    """A sign on a man, by id, or (RIGHT and MISSED) on one half of him."""

    kind: MarkKind
    of: str
    half: ScreenHalf | None = None


@dataclass(frozen=True, slots=True)
class HeldBall:
    """Who has the ball, by id: ``holders`` are (second, man) from the first on; with the center it lies on the ground
    in front of him."""

    holders: tuple[tuple[float, str], ...]

    def __post_init__(self) -> None:
        times = [t_s for t_s, _ in self.holders]
        if not times or times[0] != 0.0 or any(a >= b for a, b in pairwise(times)):
            raise SceneError("ball holders", times, "at least one, times growing, the first 0")


@dataclass(frozen=True, slots=True)
class Captions:
    """The few words of the picture itself: its lower corners, and the key to the signs of an answer; "" for none.
    ``answer`` stands in place of ``yours`` where the answer is somebody else's."""

    left: str = ""
    right: str = ""
    yours: str = ""
    tapped: str = ""
    answer: str = ""

    def __post_init__(self) -> None:
        for words in (self.left, self.right, self.yours, self.tapped, self.answer):
            _check_words("captions", words, shortest=0, longest=24)


@dataclass(frozen=True, slots=True)
class Key:
    """Where a man is ``t_s`` seconds after the snap, in yards."""

    t_s: float
    x: float
    y: float

    def __post_init__(self) -> None:
        _check_number("key time", self.t_s, low=0.0, high=60.0)
        _check_number("key x", self.x)
        _check_number("key y", self.y)


@dataclass(frozen=True, slots=True)
class Motion:
    """How one man moves: keys in order of time, the first at 0 s where he stands; between keys he moves evenly."""

    of: str
    keys: tuple[Key, ...]

    def __post_init__(self) -> None:
        times = [key.t_s for key in self.keys]
        if len(times) < 2 or times[0] != 0.0 or any(a >= b for a, b in pairwise(times)):
            raise SceneError(f"motion of {self.of}: times", times, "at least two times, growing, the first 0")

    def at(self, t_s: float) -> Point:
        """His place ``t_s`` seconds after the snap, in yards; before the first and after the last key he stands."""
        before = self.keys[0]
        for after in self.keys[1:]:
            if t_s < after.t_s:
                share = max(0.0, t_s - before.t_s) / (after.t_s - before.t_s)
                return Point(before.x + share * (after.x - before.x), before.y + share * (after.y - before.y))
            before = after
        return Point(before.x, before.y)

    def mirrored(self) -> Motion:
        """The same motion with left and right swapped."""
        return Motion(self.of, tuple(replace(key, x=-key.x) for key in self.keys))


@dataclass(frozen=True, slots=True)
class Window:
    """The part of the field that is shown, in yards."""

    x_from: float
    x_to: float
    y_from: float
    y_to: float

    def __post_init__(self) -> None:
        for edge, value in (
            ("x_from", self.x_from),
            ("x_to", self.x_to),
            ("y_from", self.y_from),
            ("y_to", self.y_to),
        ):
            _check_number(f"window {edge}", value)
        if self.x_to - self.x_from < 4.0 or self.y_to - self.y_from < 3.0:
            raise SceneError("window", (self.x_from, self.x_to, self.y_from, self.y_to), "at least 4 by 3 yards")
