"""The pictures of a snap: before the answer only what the question needs, after it the whole play.

Must not know: pixels, or which kind of rep asks. Before the answer nothing is marked: no owner's track, no band.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from itertools import pairwise
from math import hypot

from quizgen.drawing.scene import (
    Band,
    BandState,
    Captions,
    End,
    HeldBall,
    Key,
    Mark,
    Motion,
    Point,
    Scene,
    Tap,
    Tone,
    Track,
    TrackPhase,
)
from quizgen.engine.crossing import crossings
from quizgen.engine.fits import Fit
from quizgen.engine.reads import GONE, Read
from quizgen.engine.timing import turn_point
from quizgen.engine.what_if import Loss
from quizgen.football.formation import OffensivePlayer, Role
from quizgen.football.scheme import Place
from quizgen.football.sides import Side
from quizgen.reps.cast import BEFORE_S, STEP_YD, Cast, goes_somewhere
from quizgen.reps.choices import band_id
from quizgen.reps.miss import BEATEN
from quizgen.reps.rep import RepPart
from quizgen.reps.snap import Ground, Snap
from quizgen.reps.wording import Wording, to_say

FIT_YD = 0.75
OVER_THE_TOP_YD = 2.0
SHORT_OF_LINE_YD = 1.0
CARRIER_Y_YD = 2.4
CARRIER_SHOWN_Y_YD = 3.2
SNEAK_Y_YD = 1.0
SNAP_S = 0.3
MESH_SHARE = 0.4
DEEP_MESH_SHARE = 0.6
DEEP_Y_YD = 5.0
MESH_YD = 0.9
MESH_Y_YD = 2.3
SET_S = 0.2
PURSUIT_YD = 2.2
PURSUIT_S = 1.4
FAKE_OUT_YD = 2.0
FAKE_Y_YD = 2.2
FAKE_S = 1.2


def cast_of(snap: Snap) -> Cast:
    """The men of a snap with their ids."""
    answer = snap.answer
    return Cast(answer.situation.formation, tuple(fit.man for fit in answer.fits))


def lane_taps(
    snap: Snap, part: RepPart, number: int = 1, only: Sequence[int] | None = None, *, named: bool = False
) -> tuple[Tap, ...]:
    """One tap for each lane (``only`` some, where given), under the ids of a part made by ``choices.lane_part``;
    ``named`` has its name in it, where that gives nothing away."""
    cast = cast_of(snap)
    shown = [lane for index, lane in enumerate(snap.answer.lanes) if only is None or index in only]
    return tuple(
        Tap(
            choice.id,
            choice.label,
            cast.span(lane),
            part=number,
            words=tuple(snap.wording.band(lane).split(maxsplit=1)) if named else (),
        )
        for choice, lane in zip(part.choices, shown, strict=False)  # after the lanes, the ways of having none
    )


def question(snap: Snap, own: str, taps: tuple[Tap, ...], marks: tuple[Mark, ...] = ()) -> Scene:
    """The picture before the answer: on air the line-up; otherwise the blockers where they get to, their ways behind
    them, and the defense still where it lines up. ``own`` is empty where nobody is the reader's own man."""
    cast = cast_of(snap)
    on_air = snap.ground is Ground.AIR
    moves = snap.answer.moves
    carrier = None if on_air else carrier_of(snap)
    return Scene(
        title=title(snap),
        description=describe(snap, own),
        blockers=cast.before() if on_air else cast.at_fit(moves),
        defenders=cast.defenders(own),
        tracks=(
            *cast.motion_tracks(),
            *(() if on_air else cast.block_tracks(moves)),
            *(_ball_track(cast, carrier, shown_way(snap, carrier), End.ARROW) if carrier is not None else ()),
        ),
        taps=taps,
        marks=marks,
        ball=cast.ball((0.0, carrier)),
        captions=captions(snap.wording),
    )


def captions(w: Wording) -> Captions:
    """The words that every picture has."""
    sides = w.phrase("our left"), w.phrase("our right")
    return Captions(*sides, w.phrase("yours"), w.phrase("your tap"), w.phrase("the answer"))


def carrier_of(snap: Snap) -> OffensivePlayer | None:
    """The man who gets the ball, where he is there and blocks nobody."""
    s = snap.answer.situation
    carrier = s.formation.find(s.play.carrier)
    if carrier is None or any(m.player.key == carrier.key for m in snap.answer.moves):
        return None
    return carrier


def shown_way(snap: Snap, carrier: OffensivePlayer, to_y: float = CARRIER_SHOWN_Y_YD) -> tuple[Point, ...]:
    """The way of the man with the ball behind his line, toward the gap that the play aims at."""
    start, aim = Point(carrier.x, carrier.y), snap.answer.aim_x
    end = Point(aim, min(to_y, carrier.y) if carrier.y > to_y + 0.5 else SNEAK_Y_YD)
    if start == end:
        return ()
    return start, Point(start.x + 0.55 * (aim - start.x), start.y + 0.3 * (end.y - start.y)), end


def _ball_track(cast: Cast, carrier: OffensivePlayer, way: tuple[Point, ...], end: End) -> tuple[Track, ...]:
    if not way:
        return ()
    man = cast.blocker_id(carrier)
    return (Track(f"ball-{man}", way, end=end, is_curved=True, of=man, is_ball=True),)


def moved(
    snap: Snap,
    own: str,
    right: Iterable[int] = (),
    opened: Iterable[int] = (),
    *,
    ends_in: int | None = None,
    lost: Loss | None = None,
    marks: tuple[Mark, ...] = (),
) -> Scene:
    """The picture after the answer: the snap in motion, every lane named, owners on their ways; ``right`` lanes marked
    as his, ``opened`` ones as nobody's.

    ``ends_in`` adds his way to the lane that he ends up in when he is beaten; with ``lost`` a man goes where he ends up
    instead of to his lane.
    """
    cast = cast_of(snap)
    fits = [_after_loss(fit, lost) for fit in snap.answer.fits if fit.owns or _pursues(fit)]
    on_air = snap.ground is Ground.AIR
    carrier = None if on_air else carrier_of(snap)
    ways = () if carrier is None else shown_way(snap, carrier, CARRIER_Y_YD)
    passer = snap.answer.situation.formation.find(Role.QUARTERBACK)
    scene = Scene(
        title=title(snap),
        description=describe(snap, own),
        blockers=cast.before(snap.answer.moves),
        defenders=cast.defenders(own),
        tracks=(
            *cast.motion_tracks(),
            *cast.block_tracks(snap.answer.moves),
            *_fit_tracks(cast, snap, fits, own, lost.position if lost else ""),
            *_late_tracks(cast, snap, own),
            *(_beaten_track(snap, own, ends_in) if ends_in is not None else ()),
            *_fake_tracks(snap),
            *(_ball_track(cast, carrier, ways, End.PLAIN) if carrier is not None else ()),
            *_scout_tracks(cast, snap),
        ),
        bands=_bands(cast, snap, frozenset(right), frozenset(opened)),
        marks=marks,
        motions=(
            *_block_motions(cast, snap),
            *_carry(cast, snap, carrier, passer, ways),
            *_fake_motions(snap),
            *_fit_motions(cast, snap, fits),
            *_late_motions(cast, snap, own),
        ),
        ball=cast.ball(
            (SNAP_S, passer),
            *(((_mesh_s(snap, carrier), carrier),) if carrier is not None and carrier is not passer else ()),
        )
        if not on_air
        else cast.ball(),
        captions=captions(snap.wording),
    )
    return _with_motion_before(scene, cast)


def numbered(scene: Scene) -> Scene:
    """The scene with its marked gaps counted from left to right."""
    numbers = iter(range(1, len(scene.bands) + 1))
    bands = (band if band.state is BandState.PLAIN else replace(band, number=next(numbers)) for band in scene.bands)
    return replace(scene, bands=tuple(bands))


def _pursues(fit: Fit) -> bool:
    """Whether a man without a lane of his own comes last to one."""
    return bool(fit.lanes) and not fit.owns


def _ball_s(snap: Snap) -> float:
    """When the ball is at the line, in seconds after the snap."""
    s = snap.answer.situation
    found = s.play.ball_s if s.play.ball_s is not None else s.rules.timing.ball_s.get(s.play.family)
    return 2.4 if found is None else found


def _with_motion_before(scene: Scene, cast: Cast) -> Scene:
    """The moving picture with the motion before the snap ahead of it: the snap comes ``BEFORE_S`` seconds later."""
    before = cast.motions_before()
    if not before:
        return scene
    (entry,) = before
    start = entry.keys[0]
    after = {motion.of: motion.keys for motion in scene.motions}
    motions = []
    for man in scene.men:
        first = entry.keys if man.id == entry.of else (Key(0.0, man.x, man.y),)
        rest = tuple(replace(key, t_s=key.t_s + BEFORE_S) for key in after.get(man.id, ()))
        keys = (*first, *(rest[1:] if man.id == entry.of else rest))
        if len(keys) > 1:
            motions.append(Motion(man.id, keys))
    return replace(
        scene,
        blockers=tuple(replace(one, x=start.x, y=start.y) if one.id == entry.of else one for one in scene.blockers),
        bands=tuple(replace(band, from_s=band.from_s + BEFORE_S if band.from_s else 0.0) for band in scene.bands),
        motions=tuple(motions),
        ball=_later(scene.ball),
        snap_s=BEFORE_S,
    )


def _later(ball: HeldBall | None) -> HeldBall | None:
    """Who has the ball, ``BEFORE_S`` seconds later."""
    if ball is None:
        return None
    return HeldBall(tuple((at_s + BEFORE_S if at_s else 0.0, man) for at_s, man in ball.holders))


def _faker(snap: Snap) -> OffensivePlayer | None:
    """The man in jet or orbit motion who does not get the ball and blocks nobody; None where there is none."""
    s = snap.answer.situation
    man = s.formation.find(Role.IN_MOTION)
    if man is None or s.play.carrier is Role.IN_MOTION or snap.ground is Ground.AIR:
        return None
    return None if any(m.player.key == man.key for m in snap.answer.moves) else man


def _fake_way(snap: Snap, man: OffensivePlayer) -> tuple[Point, ...]:
    """Where he goes when he fakes: on, outside the last attached man."""
    assert man.side is not None  # he goes to a side
    last = snap.answer.situation.formation.on_side(man.side)[-1]
    return Point(man.x, man.y), Point(last.x + man.side.sign * FAKE_OUT_YD, FAKE_Y_YD)


def _fake_tracks(snap: Snap) -> tuple[Track, ...]:
    man = _faker(snap)
    if man is None:
        return ()
    of = cast_of(snap).blocker_id(man)
    return (Track(f"fake-{of}", _fake_way(snap, man), end=End.PLAIN, of=of),)


def _fake_motions(snap: Snap) -> tuple[Motion, ...]:
    man = _faker(snap)
    return (Motion(cast_of(snap).blocker_id(man), keys_of(_fake_way(snap, man), 0.0, FAKE_S)),) if man else ()


def _scout_tracks(cast: Cast, snap: Snap) -> tuple[Track, ...]:
    """What a scout team must see besides: who goes straight ahead, and where the ball goes."""
    if snap.ground is Ground.AIR:
        return ()
    s, moves = snap.answer.situation, snap.answer.moves
    carrier = s.formation.find(s.play.carrier)
    ball = (
        (cast.carrier_track(carrier, snap.answer.aim_x),)
        if carrier is not None and not any(m.player.key == carrier.key for m in moves)
        else ()
    )
    return (*cast.straight_tracks(moves), *ball)


def _after_loss(fit: Fit, lost: Loss | None) -> Fit:
    """The man who lost his lane in the lane that he ends up in; everybody else as he was."""
    if lost is None or lost.position != fit.man.position or lost.lane is None:
        return fit
    return replace(fit, lane=lost.lane, lanes=(lost.lane,), read=Read.KEEP, left_lane=None)


def _bands(cast: Cast, snap: Snap, right: frozenset[int], opened: frozenset[int]) -> tuple[Band, ...]:
    bands = []
    for index, lane in enumerate(snap.answer.lanes):
        state = BandState.RIGHT if index in right else BandState.OPEN if index in opened else BandState.PLAIN
        arrived = [m.at_s for m in (lane.left, lane.right) if m is not None and m.word]
        label = snap.wording.band(lane)
        bands.append(Band(band_id(index), cast.span(lane), label, state, from_s=max(arrived, default=0.0)))
    return tuple(bands)


def _fit_tracks(cast: Cast, snap: Snap, fits: Iterable[Fit], own: str, loser: str) -> tuple[Track, ...]:
    timed = _timed_men(snap) if snap.ground is Ground.AIR else frozenset()
    return tuple(track for fit in fits for track in _tracks(cast, snap, fit, own, loser, timed))


def _timed_men(snap: Snap) -> frozenset[str]:
    """The rushers whose order matters: who comes second or later, and whom he crosses. The others carry no number."""
    s = snap.answer.situation
    men = {fit.man.position: fit.man for fit in snap.answer.fits}
    found = crossings(tuple(men.values()), s.formation, s.rules.timing)
    crossing = {name for c in found if men[c.first].order != men[c.second].order for name in (c.first, c.second)}
    return frozenset(crossing | {name for name, man in men.items() if man.rush and man.order > 1})


def _tracks(cast: Cast, snap: Snap, fit: Fit, own: str, loser: str, timed: frozenset[str]) -> tuple[Track, ...]:
    is_own = fit.man.position == own
    tone = Tone.WRONG if fit.man.position == loser else Tone.RIGHT if is_own else Tone.NEUTRAL
    order = fit.man.order if fit.man.position in timed else None
    man = cast.defender_id(fit.man.position)
    points = fit_way(snap, fit, fit.lanes[0])
    return (Track(f"{man}-0", points, order=order, tone=tone, is_curved=len(points) > 2, is_own=is_own, of=man),)


def _beaten_track(snap: Snap, own: str, ends_in: int) -> tuple[Track, ...]:
    fit = snap.answer.fit(own)
    start = Point(snap.answer.lanes[fit.lanes[0]].middle_x, -FIT_YD)
    end = Point(snap.answer.lanes[ends_in].middle_x, -FIT_YD)
    return (Track(BEATEN, (start, end), TrackPhase.SECOND),)


def fit_way(snap: Snap, fit: Fit, index: int) -> tuple[Point, ...]:
    """A defender's way to a lane in yards: up to the line, for who comes last short of it; a man who goes over the top
    starts for the gap that he leaves; one who shows another place bails first."""
    lane = snap.answer.lanes[index]
    start = Point(fit.man.stands[0], -fit.man.stands[1])
    end = Point(lane.middle_x, -FIT_YD if fit.man.gaps else -SHORT_OF_LINE_YD)
    if _pursues(fit):
        end = Point(lane.middle_x, -PURSUIT_YD)
    if fit.man.shows is not None:
        x, depth_yd = turn_point(fit.man, snap.answer.situation.rules.timing.read[fit.man.player_class])
        bail = Point(x, -depth_yd)
        return (start, bail, end) if bail != start else (start, end)
    if fit.read in GONE and fit.left_lane is not None:
        left = snap.answer.lanes[fit.left_lane].middle_x
        turn = Point(fit.man.x + 0.5 * (left - fit.man.x), -max(OVER_THE_TOP_YD, 0.6 * fit.man.depth_yd))
        if turn not in (start, end):
            return start, turn, end
    return (start, end) if start != end else (start, Point(end.x, end.y + 0.1))


def _fit_motions(cast: Cast, snap: Snap, fits: Iterable[Fit]) -> tuple[Motion, ...]:
    timing, ball_s = snap.answer.situation.rules.timing, _ball_s(snap)
    found = []
    for fit in fits:
        points = fit_way(snap, fit, fit.lanes[0])
        straight = hypot(points[-1].x - points[0].x, fit.man.depth_yd)
        pace = (timing.rush if fit.man.rush else timing.read)[fit.man.player_class]
        if fit.clock is None or not fit.owns:
            wait_s, end_s = ball_s, ball_s + min(PURSUIT_S, straight / pace.speed_yd_s)
        else:
            wait_s = 0.05 if fit.man.shows else max(0.05, fit.clock.at_s - straight / pace.speed_yd_s)
            end_s = max(fit.clock.at_s, wait_s + 0.1)
        found.append(Motion(cast.defender_id(fit.man.position), keys_of(points, wait_s, end_s)))
    return tuple(found)


def _late_way(snap: Snap, own: str) -> tuple[Point, ...]:
    """The way of his own man where he is pass first: toward the ball, once it is over the line; else none."""
    fit = snap.find_fit(own)
    if fit is None or fit.lanes or fit.owns or snap.ground is Ground.AIR:
        return ()
    start = Point(fit.man.stands[0], -fit.man.stands[1])
    goal = Point(snap.answer.aim_x, -PURSUIT_YD)
    away = hypot(goal.x - start.x, goal.y - start.y)
    pace = snap.answer.situation.rules.timing.read[fit.man.player_class]
    share = min(1.0, PURSUIT_S * pace.speed_yd_s / away) if away else 0.0
    if not share:
        return ()
    return start, Point(start.x + share * (goal.x - start.x), start.y + share * (goal.y - start.y))


def _late_tracks(cast: Cast, snap: Snap, own: str) -> tuple[Track, ...]:
    if not (way := _late_way(snap, own)):
        return ()
    man = cast.defender_id(own)
    return (Track(f"{man}-late", way, tone=Tone.RIGHT, is_own=True, of=man),)


def _late_motions(cast: Cast, snap: Snap, own: str) -> tuple[Motion, ...]:
    way, ball_s = _late_way(snap, own), _ball_s(snap)
    return (Motion(cast.defender_id(own), keys_of(way, ball_s, ball_s + PURSUIT_S)),) if way else ()


def _block_motions(cast: Cast, snap: Snap) -> tuple[Motion, ...]:
    """Every blocker for as long as his way takes him; who is timed by the play gets there when it says."""
    speed = snap.answer.situation.rules.timing.puller_yd_s
    found = []
    for m in snap.answer.moves:
        points = cast.way(m)
        if m.rule.place is Place.AWAY or points[0] == points[-1]:
            continue
        length = sum(hypot(b.x - a.x, b.y - a.y) for a, b in pairwise(points))
        takes_s = SET_S + length / speed
        end_s = min(takes_s, m.at_s) if m.in_line and m.at_s > 0 else m.at_s if m.at_s > 0 else takes_s
        found.append(Motion(cast.blocker_id(m.player), keys_of(points, 0.0, end_s)))
    return tuple(found)


def keys_of(points: tuple[Point, ...], wait_s: float, end_s: float) -> tuple[Key, ...]:
    """Even movement along ``points`` from ``wait_s`` to ``end_s``."""
    lengths = [hypot(b.x - a.x, b.y - a.y) for a, b in pairwise(points)]
    keys = [Key(0.0, points[0].x, points[0].y)]
    if wait_s > 0:
        keys.append(Key(wait_s, points[0].x, points[0].y))
    gone = 0.0
    for point, length in zip(points[1:], lengths, strict=True):
        gone += length
        keys.append(Key(wait_s + (end_s - wait_s) * gone / sum(lengths), point.x, point.y))
    return tuple(keys)


def _carry(
    cast: Cast,
    snap: Snap,
    carrier: OffensivePlayer | None,
    passer: OffensivePlayer | None,
    way: tuple[Point, ...],
) -> tuple[Motion, ...]:
    """The man who carries the ball, to the gap that the play aims at; who hands it to him meets him on his way."""
    if carrier is None or not way:
        return ()
    ball_s = _ball_s(snap)
    found = [Motion(cast.blocker_id(carrier), keys_of(way, 0.1, ball_s))]
    blocks = {m.player.key for m in snap.answer.moves}
    if passer is not None and passer.key not in (carrier.key, *blocks):
        meet = found[0].at(_mesh_s(snap, carrier))
        side = 1.0 if passer.x >= meet.x else -1.0
        at = Point(meet.x + side * MESH_YD, min(max(SNEAK_Y_YD, meet.y - 0.3), max(MESH_Y_YD, passer.y)))
        if at != Point(passer.x, passer.y):
            keys = keys_of((Point(passer.x, passer.y), at), 0.0, _mesh_s(snap, carrier))
            found.append(Motion(cast.blocker_id(passer), keys))
    return tuple(found)


def _mesh_s(snap: Snap, carrier: OffensivePlayer) -> float:
    """When the ball changes hands, in seconds after the snap: later for a man who comes from far behind."""
    return (DEEP_MESH_SHARE if carrier.y > DEEP_Y_YD else MESH_SHARE) * _ball_s(snap)


def title(snap: Snap) -> str:
    """What the picture is called: the call and the formation."""
    return f"{snap.heading}, {snap.answer.situation.formation.name}"


def describe(snap: Snap, own: str) -> str:
    """The picture before the snap and the offense's first steps in words, for those who can't see it."""
    w, fit = snap.wording, snap.find_fit(own)
    surface = snap.answer.situation.formation.surface
    line = ", ".join(w.blocker(player) for player in surface)
    parts = [
        w.say("Seen from behind your defense. On their line from your left: {line}.", line=line),
    ]
    if fit is not None:
        parts.append(w.say("You are {position}, {place}.", position=own, place=w.place(fit.man, surface)))
    if snap.ground is not Ground.AIR:
        parts += [snap.play_words, *steps(snap)]
    return " ".join(parts)


def steps(snap: Snap) -> list[str]:
    """What the blockers do, a sentence for each kind of movement."""
    w = snap.wording
    line = [m for m in snap.answer.moves if m.in_line]
    sentences = []
    for side in Side:
        stepping = [m for m in line if m.dx * side.sign >= STEP_YD]
        if len(stepping) == len(line):
            sentences.append(w.say("The whole line steps to your {side}.", side=w.side(side)))
        elif stepping:
            one, many = to_say("{who} steps to your {side}."), to_say("{who} step to your {side}.")
            template = one if len(stepping) == 1 else many
            sentences.append(w.say(template, who=w.blockers(stepping), side=w.side(side)))
    for m in snap.answer.moves:
        if m.rule.pulls and goes_somewhere(m):
            side = Side.RIGHT if m.dx > 0 else Side.LEFT
            sentences.append(w.say("{who} pulls to your {side}.", who=w.blockers([m]), side=w.side(side)))
        elif m.word:
            sentences.append(w.say("{who} comes to the line.", who=w.blockers([m])))
    return sentences
