"""The pictures of a snap against a protection: before the answer the line-up, after it who has whom.

Must not know: pixels, or which kind of rep asks.
"""

from __future__ import annotations

from itertools import pairwise
from math import hypot

from quizgen.drawing.scene import (
    End,
    Mark,
    MarkKind,
    Motion,
    Point,
    Scene,
    Tap,
    Tone,
    Track,
)
from quizgen.engine.alignment import Man, spot_x
from quizgen.football.formation import OffensivePlayer, Role
from quizgen.football.scheme import Slide
from quizgen.football.sides import Side
from quizgen.reps.cast import Cast
from quizgen.reps.pictures import captions, keys_of
from quizgen.reps.snap import PassSnap
from quizgen.reps.wording import Wording, to_say

SET_BACK_YD = 0.8
TURN_YD = 1.6
SET_YD = 1.5
"""How deep a protector sets, and how far short of him his rusher is drawn."""
SECOND_YD = 1.1
RELEASE_YD = 3.0
SNAP_S = 0.3
SET_S = 0.2
DROP_YD = 5.5
DROP_DEEPER_YD = 1.0
ROLL_YD = 4.0
ASIDE_YD = 1.7
"""How far a passer keeps aside of a back who stands right behind him."""
BESIDE_YD = 1.0
AT_PASSER_YD = 1.7
PAST_YD = 0.7
COVER_YD = 3.0
SPEED_YD_S = 4.0
"""How fast a passer drops and a back goes out (common practice: a back's jog into his route)."""

PROTECTION_SENTENCES: dict[Slide, str] = {
    Slide.FULL: to_say("The whole line slides to your {side}."),
    Slide.HALF: to_say("The center turns to your {side}."),
    Slide.MAN: to_say("They block man on man."),
    Slide.SPRINT: to_say("The quarterback sprints out to your {side}."),
    Slide.BOOT: to_say("The quarterback boots out to your {side}."),
}


def pass_words(snap: PassSnap) -> str:
    """What the offense does, as one sentence; a motion before it as another one."""
    s, w = snap.answer.situation, snap.wording
    return w.motion(s.formation) + w.say(PROTECTION_SENTENCES[s.protection.slide], side=w.side(s.turn_to))


def cast_of(snap: PassSnap) -> Cast:
    """The men of a snap with their ids."""
    return Cast(snap.answer.situation.formation, snap.answer.men)


def question(snap: PassSnap, own: str, taps: tuple[Tap, ...]) -> Scene:
    """The picture before the answer: the line-up, and the way that the center turns where he does."""
    cast = cast_of(snap)
    return Scene(
        title=title(snap),
        description=describe(snap, own),
        blockers=cast.before(),
        defenders=cast.defenders(own),
        tracks=(*cast.motion_tracks(), *_turn(cast, snap)),
        taps=taps,
        ball=cast.ball(),
        captions=captions(snap.wording),
    )


def moved(
    snap: PassSnap,
    own: str,
    released: tuple[OffensivePlayer, Side] | None = None,
    taker: str | None = None,
    past: Side | None = None,
) -> Scene:
    """The picture after the answer, in motion: the passer drops, each protector sets, each rusher comes, whoever is
    free is marked; with a ``released`` back his way and that of the man who takes him; ``past`` is the half of his
    blocker that his own man takes, on his way to the passer."""
    cast, answer = cast_of(snap), snap.answer
    timing = answer.situation.rules.timing
    tracks, motions = list(cast.motion_tracks()), []

    def add(track: Track | None, start_s: float, speed_yd_s: float) -> None:
        if track is None:
            return
        tracks.append(track)
        motions.append(Motion(track.of, keys_of(track.points, start_s, start_s + _yards(track.points) / speed_yd_s)))

    set_at = _set_points(snap)
    for key, (player, end) in set_at.items():
        add(_set(cast, player, end, key in {p.key for m in answer.matchups for p in m.blockers}), SET_S,
            timing.puller_yd_s)  # fmt: skip
    for man in _rushers(snap, taker):
        pace = timing.rush[man.player_class]
        way = _rush_way(snap, man, set_at, past if man.position == own else None)
        start_s = pace.reaction_s + (man.order - 1) * timing.order_delay_s
        add(_way_of(cast, man, own, way), start_s, pace.speed_yd_s)
    dropper = next((man for man in answer.men if man.position == own and man.rush is None and own != taker), None)
    if dropper is not None:
        start = Point(dropper.stands[0], -dropper.stands[1])
        pace = timing.read[dropper.player_class]
        end = Point(start.x, start.y - COVER_YD)
        add(_way_of(cast, dropper, own, (start, end)), pace.reaction_s, pace.speed_yd_s)
    passer = answer.situation.formation.find(Role.QUARTERBACK)
    if passer is not None:
        add(_drop(cast, snap, passer), SNAP_S, SPEED_YD_S)
    if released:
        out = _release(cast, *released)
        add(out, SNAP_S, SPEED_YD_S)
        if taker is not None:
            man = next(man for man in answer.men if man.position == taker)
            pace = timing.read[man.player_class]
            add(_take(cast, man, own, out.points[-1]), pace.reaction_s, pace.speed_yd_s)
    return Scene(
        title=title(snap),
        description=describe(snap, own),
        blockers=cast.before(),
        defenders=cast.defenders(own),
        tracks=tuple(tracks),
        marks=tuple(Mark(MarkKind.FREE, cast.defender_id(position)) for position in answer.free if position != taker),
        motions=tuple(motions),
        ball=cast.ball((SNAP_S, passer)),
        captions=captions(snap.wording),
    )


def _yards(points: tuple[Point, ...]) -> float:
    return sum(hypot(b.x - a.x, b.y - a.y) for a, b in pairwise(points))


def _set_points(snap: PassSnap) -> dict[str, tuple[OffensivePlayer, Point]]:
    """Where every protector sets: before his rusher, a second one beside the first; who has nobody steps back."""
    formation = snap.answer.situation.formation
    found = {p.key: (p, Point(p.x, SET_YD)) for p in snap.answer.protectors if p.attached}
    for m in snap.answer.matchups:
        x = spot_x(formation, m.man.gaps[0])
        for number, player in enumerate(m.blockers):
            beside = 0.0 if number == 0 else SECOND_YD * (1 if player.x > x else -1)
            found[player.key] = player, Point(x + beside, SET_YD)
    return found


def _set(cast: Cast, player: OffensivePlayer, end: Point, blocks: bool) -> Track | None:
    start, man = Point(player.x, player.y), cast.blocker_id(player)
    if start == end:
        return None
    return Track(f"block-{man}", (start, end), end=End.T if blocks else End.PLAIN, of=man)


def _drop(cast: Cast, snap: PassSnap, passer: OffensivePlayer) -> Track:
    man = cast.blocker_id(passer)
    return Track(f"drop-{man}", (Point(passer.x, passer.y), _drop_point(snap, passer)), end=End.PLAIN, of=man)


def _drop_point(snap: PassSnap, passer: OffensivePlayer) -> Point:
    """Where the passer drops to: straight back, aside of a back who stands behind him, or out to the side."""
    s = snap.answer.situation
    rolls = s.protection.slide in (Slide.SPRINT, Slide.BOOT)
    backs = (p for p in s.formation.players if p.key != passer.key and not p.attached)
    is_behind = any(abs(p.x - passer.x) < BESIDE_YD and p.y > passer.y for p in backs)
    x = passer.x + s.turn_to.sign * (ROLL_YD if rolls else ASIDE_YD if is_behind else 0.0)
    return Point(x, max(DROP_YD, passer.y + DROP_DEEPER_YD))


def _turn(cast: Cast, snap: PassSnap) -> tuple[Track, ...]:
    s = snap.answer.situation
    if s.protection.slide is Slide.MAN:
        return ()
    center = s.formation.center
    end = Point(center.x + TURN_YD * s.turn_to.sign, center.y + SET_BACK_YD)
    return (Track(f"turn-{cast.blocker_id(center)}", (Point(center.x, center.y), end)),)


def _rush_way(
    snap: PassSnap, man: Man, set_at: dict[str, tuple[OffensivePlayer, Point]], past: Side | None
) -> tuple[Point, ...]:
    """A rusher's way: up to his blocker; past the line to the quarterback where he is free, or past the half of his
    blocker that is his."""
    formation = snap.answer.situation.formation
    start = Point(man.stands[0], -man.stands[1])
    meet = Point(spot_x(formation, man.gaps[0]), 0.0)
    passer = formation.find(Role.QUARTERBACK)
    if passer is None or (past is None and man.position not in snap.answer.free):
        return start, meet
    way = [start, meet]
    if past is not None:
        blocker = snap.answer.matchup(man.position).blockers[0]
        beside = set_at[blocker.key][1]
        way = [start, Point(beside.x + PAST_YD * past.sign, beside.y)]
    drop = _drop_point(snap, passer)
    side = 1.0 if way[-1].x >= drop.x else -1.0
    return (*way, Point(drop.x + side * AT_PASSER_YD, drop.y))


def _way_of(cast: Cast, man: Man, own: str, points: tuple[Point, ...]) -> Track:
    """A defender's way as a track, his own marked as right."""
    is_own, name = man.position == own, cast.defender_id(man.position)
    tone = Tone.RIGHT if is_own else Tone.NEUTRAL
    return Track(f"rush-{name}", points, tone=tone, is_curved=len(points) > 2, is_own=is_own, of=name)


def _rushers(snap: PassSnap, taker: str | None) -> list[Man]:
    return [man for man in snap.answer.men if man.rush and man.gaps and man.position != taker]


def _take(cast: Cast, man: Man, own: str, back_at: Point) -> Track:
    """The way of the man who takes the back: to where the back is going."""
    start = Point(man.stands[0], -man.stands[1])
    end = Point(back_at.x - 0.9 * (1 if back_at.x > 0 else -1), back_at.y - 0.8)
    return _way_of(cast, man, own, (start, end))


def _release(cast: Cast, back: OffensivePlayer, side: Side) -> Track:
    start = Point(back.x, back.y)
    turn = Point(back.x + RELEASE_YD * side.sign, back.y - 1.0)
    end = Point(back.x + 2 * RELEASE_YD * side.sign, -1.0)
    man = cast.blocker_id(back)
    return Track(f"release-{man}", (start, turn, end), is_curved=True, of=man)


def released_question(snap: PassSnap, own: str, back: OffensivePlayer, side: Side) -> Scene:
    """The line-up with a back on his way out."""
    cast = cast_of(snap)
    w = snap.wording
    out = w.say("The {back} goes out to your {side}.", back=w.blocker(back), side=w.side(side))
    return Scene(
        title=title(snap),
        description=f"{describe(snap, own)} {out}",
        blockers=cast.before(),
        defenders=cast.defenders(own),
        tracks=(*cast.motion_tracks(), *_turn(cast, snap), _release(cast, back, side)),
        ball=cast.ball(),
        captions=captions(snap.wording),
    )


def title(snap: PassSnap) -> str:
    """What the picture is called: the call and the formation."""
    return f"{snap.heading}, {snap.answer.situation.formation.name}"


def describe(snap: PassSnap, own: str) -> str:
    """The picture before the snap and the protection in words, for those who can't see it."""
    w, answer = snap.wording, snap.answer
    surface = answer.situation.formation.surface
    man = next(man for man in answer.men if man.position == own)
    line = ", ".join(w.blocker(player) for player in surface)
    backs = [p for p in answer.protectors if not p.attached]
    parts = [
        w.say("Seen from behind your defense. On their line from your left: {line}.", line=line),
        w.say("You are {position}, {place}.", position=man.position, place=w.place(man, surface)),
        pass_words(snap),
    ]
    if backs:
        parts.append(w.say("Staying in to block: {backs}.", backs=_names(w, backs)))
    return " ".join(parts)


def _names(w: Wording, players: list[OffensivePlayer]) -> str:
    return w.all_of(w.blocker(player) for player in players)
