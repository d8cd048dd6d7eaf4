"""The scene: everything one picture shows, in yards, as one frozen value that checks itself.

Why it exists: it is the whole interface of the drawing room. Build a `Scene`, hand it to `quizgen.drawing.svg`. All the
values it is made of can be imported from here. What it must not know: football rules, pixels, SVG.

A scene that is a question (it has taps) must not show an answer: no tone, no band state but PLAIN. This is checked, so
what is sent before a player answers can't give it away.

>>> line = tuple(Blocker(name, x, 0.0) for name, x in (("left-guard", -1.6), ("right-guard", 1.6)))
>>> will = Defender("will", 0.0, -4.5, "W", is_own=True)
>>> scene = Scene(title="Your gap", description="Two guards, you between them.", blockers=line, defenders=(will,))
>>> scene.span_x(Span.between("left-guard", None))
(-1.6, None)
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace

from quizgen.drawing.values import (
    Band,
    BandState,
    Blocker,
    Captions,
    Defender,
    End,
    HeldBall,
    Key,
    Mark,
    MarkKind,
    Motion,
    Note,
    OnHalf,
    OnMan,
    OnTrack,
    Point,
    SceneError,
    ScreenHalf,
    Span,
    Symbol,
    Tap,
    Target,
    Tone,
    Track,
    TrackPhase,
    Window,
)

__all__ = [
    "Scene",
    "SceneError",
    "Blocker",
    "Defender",
    "Symbol",
    "Track",
    "Point",
    "TrackPhase",
    "End",
    "Tone",
    "Band",
    "BandState",
    "Span",
    "Tap",
    "Target",
    "OnMan",
    "OnHalf",
    "OnTrack",
    "ScreenHalf",
    "Note",
    "Mark",
    "MarkKind",
    "Motion",
    "Key",
    "Window",
    "HeldBall",
    "Captions",
]


NO_CAPTIONS = Captions()


@dataclass(frozen=True, slots=True)
class Scene:
    """One picture. ``title`` names it, ``description`` says in words what it shows, for those who can't see it.

    ``window`` None: the drawing room crops by itself, so that everything that is tapped or moves is in the picture.
    ``over`` is a picture of the same snap that this one takes the place of: it is then cropped and scaled as that one
    is, so that nobody who stands still jumps when one follows the other; who is farther out comes in from its edge.
    ``hash_xs`` are the x of the hash marks in yards, () for none. ``snap_s`` is when the ball is snapped, in seconds
    after the picture begins: later than 0 where somebody moves before it. ``shows_all`` keeps everybody in the crop.

    Raises:
        SceneError: the parts don't fit together.
    """

    title: str
    description: str
    blockers: tuple[Blocker, ...] = ()
    defenders: tuple[Defender, ...] = ()
    tracks: tuple[Track, ...] = ()
    bands: tuple[Band, ...] = ()
    taps: tuple[Tap, ...] = ()
    notes: tuple[Note, ...] = ()
    marks: tuple[Mark, ...] = ()
    motions: tuple[Motion, ...] = ()
    window: Window | None = None
    hash_xs: tuple[float, ...] = ()
    snap_s: float = 0.0
    over: Scene | None = None
    ball: HeldBall | None = None
    captions: Captions = NO_CAPTIONS
    shows_all: bool = False

    def __post_init__(self) -> None:
        for where, words in (("title", self.title), ("description", self.description)):
            if not words.strip() or not words.isprintable():
                raise SceneError(f"scene {where}", words, "words, printable, not empty")
        self._check_unique()
        self._check_references()
        self._check_motions()
        if self.taps:
            self._check_shows_no_answer()

    def _check_unique(self) -> None:
        ids: tuple[tuple[str, Iterable[str]], ...] = (
            ("men", [man.id for man in self.men]),
            ("tracks", [track.id for track in self.tracks]),
            ("bands", [band.id for band in self.bands]),
            ("taps", [tap.id for tap in self.taps]),
            ("motions", [motion.of for motion in self.motions]),
        )
        for what, names in ids:
            twice = [name for name, times in Counter(names).items() if times > 1]
            if twice:
                raise SceneError(f"scene {what}", twice[0], "every id only once")
        own = [man.id for man in self.defenders if man.is_own]
        if len(own) > 1:
            raise SceneError("scene defenders", own, "at most one own man")

    def _check_references(self) -> None:
        men = {man.id for man in self.men}
        tracks = {track.id for track in self.tracks}
        for band in self.bands:
            self._check_span(f"band {band.id}", band.span)
        for tap in self.taps:
            if isinstance(tap.target, Span):
                self._check_span(f"tap {tap.id}", tap.target)
            elif isinstance(tap.target, OnTrack) and tap.target.of not in tracks:
                raise SceneError(f"tap {tap.id}: target", tap.target.of, "the id of a track of this scene")
            elif isinstance(tap.target, OnMan | OnHalf) and tap.target.of not in men:
                raise SceneError(f"tap {tap.id}: target", tap.target.of, "the id of a man of this scene")
        for note in self.notes:
            if isinstance(note.at, str) and note.at not in men:
                raise SceneError(f"note {note.text!r}: at", note.at, "a point or the id of a man of this scene")
        named = [(f"mark {mark.kind.value}: of", mark.of) for mark in self.marks]
        named += [(f"track {track.id}: of", track.of) for track in self.tracks if track.of]
        named += [("ball holders", holder) for _, holder in (self.ball.holders if self.ball else ())]
        for where, name in named:
            if name not in men:
                raise SceneError(where, name, "the id of a man of this scene")

    def _check_span(self, where: str, span: Span) -> None:
        blockers = {man.id for man in self.blockers}
        for man in (span.left, span.right):
            if man is not None and man not in blockers:
                raise SceneError(f"{where}: span", man, "the id of a blocker of this scene")

    def _check_motions(self) -> None:
        places = {man.id: (man.x, man.y) for man in self.men}
        for motion in self.motions:
            start = (motion.keys[0].x, motion.keys[0].y)
            if motion.of not in places:
                raise SceneError("motion of", motion.of, "the id of a man of this scene")
            if places[motion.of] != start:
                raise SceneError(f"motion of {motion.of}: first key", start, f"where he stands, {places[motion.of]}")

    def _check_shows_no_answer(self) -> None:
        toned = [track.id for track in self.tracks if track.tone is not Tone.NEUTRAL]
        toned += [note.text for note in self.notes if note.tone is not Tone.NEUTRAL]
        toned += [band.id for band in self.bands if band.state is not BandState.PLAIN]
        toned += [mark.of for mark in self.marks if mark.kind in (MarkKind.RIGHT, MarkKind.MISSED)]
        if toned:
            raise SceneError("scene with taps", toned, "nothing marked right, wrong or open before the answer")
        for tap in self.taps:
            if isinstance(tap.target, Span):
                x_from, x_to = self.span_x(tap.target)
                if x_from is not None and x_to is not None and not x_from < x_to:
                    raise SceneError(f"tap {tap.id}: span", (x_from, x_to), "a left edge left of the right edge")

    @property
    def men(self) -> tuple[Blocker | Defender, ...]:
        """Everybody in the scene, blockers first."""
        return (*self.blockers, *self.defenders)

    @property
    def end_s(self) -> float:
        """When the last motion ends and the last band or note has come, in seconds after the snap; 0 for a still."""
        times = [motion.keys[-1].t_s for motion in self.motions]
        times += [band.from_s for band in self.bands] + [note.from_s for note in self.notes]
        return max(times, default=0.0)

    def find_own(self) -> Defender | None:
        """The player's own man, or None when the scene has none."""
        return next((man for man in self.defenders if man.is_own), None)

    def man(self, man_id: str) -> Blocker | Defender:
        """The man of that id; raises KeyError when there is none."""
        for man in self.men:
            if man.id == man_id:
                return man
        raise KeyError(man_id)

    def span_x(self, span: Span, t_s: float = 0.0) -> tuple[float | None, float | None]:
        """The edges of a stretch ``t_s`` seconds after the snap, in yards; None: open on that side."""
        edges = []
        for man, x in ((span.left, span.x_from), (span.right, span.x_to)):
            edges.append(x if man is None else self.place(man, t_s).x)
        return edges[0], edges[1]

    def place(self, man_id: str, t_s: float = 0.0) -> Point:
        """Where a man is ``t_s`` seconds after the snap, in yards; raises KeyError when there is no such man."""
        for motion in self.motions:
            if motion.of == man_id:
                return motion.at(t_s)
        man = self.man(man_id)
        return Point(man.x, man.y)

    def holder(self, t_s: float) -> str:
        """Who has the ball ``t_s`` seconds after the snap; only where there is one."""
        assert self.ball is not None
        return [man for from_s, man in self.ball.holders if from_s <= t_s][-1]

    def times_s(self, man_id: str) -> tuple[float, ...]:
        """The times of a man's keys, in seconds after the snap; only 0 when he does not move."""
        return next((tuple(key.t_s for key in motion.keys) for motion in self.motions if motion.of == man_id), (0.0,))

    def at(self, t_s: float) -> Scene:
        """The still ``t_s`` seconds after the snap: everybody in his place then, what is not shown yet left out."""
        places = {man.id: self.place(man.id, t_s) for man in self.men}
        return replace(
            self,
            blockers=tuple(replace(man, x=places[man.id].x, y=places[man.id].y) for man in self.blockers),
            defenders=tuple(replace(man, x=places[man.id].x, y=places[man.id].y) for man in self.defenders),
            bands=tuple(replace(band, from_s=0.0, to_s=None) for band in self.bands if band.is_shown(t_s)),
            notes=tuple(replace(note, from_s=0.0) for note in self.notes if note.from_s <= t_s),
            ball=None if self.ball is None else HeldBall(((0.0, self.holder(t_s)),)),
            motions=(),
        )

    def mirrored(self) -> Scene:
        """The same scene with left and right swapped; words and ids stay as they are."""
        return replace(
            self,
            blockers=tuple(replace(man, x=-man.x, was=_mirrored_or_none(man.was)) for man in self.blockers),
            defenders=tuple(replace(man, x=-man.x, was=_mirrored_or_none(man.was)) for man in self.defenders),
            marks=tuple(replace(mark, half=_mirrored_half(mark.half)) for mark in self.marks),
            tracks=tuple(replace(track, points=tuple(map(_mirrored_point, track.points))) for track in self.tracks),
            bands=tuple(replace(band, span=_mirrored_span(band.span)) for band in self.bands),
            taps=tuple(replace(tap, target=_mirrored_target(tap.target)) for tap in self.taps),
            notes=tuple(
                replace(note, at=note.at if isinstance(note.at, str) else _mirrored_point(note.at))
                for note in self.notes
            ),
            motions=tuple(motion.mirrored() for motion in self.motions),
            window=None if self.window is None else _mirrored_window(self.window),
            hash_xs=tuple(-x for x in reversed(self.hash_xs)),
            over=None if self.over is None else self.over.mirrored(),
        )


def _mirrored_point(point: Point) -> Point:
    return Point(-point.x, point.y)


def _mirrored_or_none(point: Point | None) -> Point | None:
    return None if point is None else _mirrored_point(point)


def _mirrored_half(half: ScreenHalf | None) -> ScreenHalf | None:
    if half is None:
        return None
    return ScreenHalf.RIGHT if half is ScreenHalf.LEFT else ScreenHalf.LEFT


def _mirrored_window(window: Window) -> Window:
    return Window(-window.x_to, -window.x_from, window.y_from, window.y_to)


def _mirrored_span(span: Span) -> Span:
    return Span(
        left=span.right,
        right=span.left,
        x_from=None if span.x_to is None else -span.x_to,
        x_to=None if span.x_from is None else -span.x_from,
    )


def _mirrored_target(target: Target) -> Target:
    if isinstance(target, Span):
        return _mirrored_span(target)
    if isinstance(target, OnHalf):
        half = _mirrored_half(target.half)
        assert half is not None
        return OnHalf(target.of, half)
    return target
