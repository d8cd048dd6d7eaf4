"""The pictures of a snap against a protection: before the answer the line-up, after it who has whom.

Must not know: pixels, or which kind of rep asks.
"""

from __future__ import annotations

from quizgen.drawing.scene import (
    End,
    Mark,
    MarkKind,
    Point,
    Scene,
    Tap,
    Tone,
    Track,
    TrackPhase,
)
from quizgen.engine.alignment import Man, spot_x
from quizgen.football.formation import OffensivePlayer, Role
from quizgen.football.scheme import Slide
from quizgen.football.sides import Side
from quizgen.reps.cast import Cast
from quizgen.reps.snap import PassSnap
from quizgen.reps.wording import Wording, to_say

SET_BACK_YD = 0.6
MEET_YD = 0.3
SECOND_YD = 0.5
RELEASE_YD = 3.0

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
    )


def moved(
    snap: PassSnap, own: str, released: tuple[OffensivePlayer, Side] | None = None, taker: str | None = None
) -> Scene:
    """The picture after the answer: each protector's block, each rusher's way, whoever comes free marked; with a
    ``released`` back his way and that of the man who takes him."""
    cast, answer = cast_of(snap), snap.answer
    blocks = [
        _block(cast, snap, m.man, player, number) for m in answer.matchups for number, player in enumerate(m.blockers)
    ]
    rushes = [track for man in _rushers(snap, taker) for track in _rush(cast, snap, man, own)]
    release = _release(cast, *released) if released else ()
    if release and taker is not None:
        release = (*release, _take(cast, snap, taker, own, release[0].points[-1]))
    return Scene(
        title=title(snap),
        description=describe(snap, own),
        blockers=cast.before(),
        defenders=cast.defenders(own),
        tracks=(*cast.motion_tracks(), *blocks, *rushes, *release),
        marks=tuple(Mark(MarkKind.FREE, cast.defender_id(position)) for position in answer.free if position != taker),
    )


def _turn(cast: Cast, snap: PassSnap) -> tuple[Track, ...]:
    s = snap.answer.situation
    if s.protection.slide is Slide.MAN:
        return ()
    center = s.formation.center
    end = Point(center.x + 0.9 * s.turn_to.sign, center.y + SET_BACK_YD)
    return (Track(f"turn-{cast.blocker_id(center)}", (Point(center.x, center.y), end)),)


def _block(cast: Cast, snap: PassSnap, man: Man, player: OffensivePlayer, number: int) -> Track:
    """A protector's way to the place where the rusher comes through; a second one sets beside the first."""
    x = spot_x(snap.answer.situation.formation, man.gaps[0])
    beside = 0.0 if number == 0 else SECOND_YD * (1 if player.x > x else -1)
    end = Point(x + beside, MEET_YD + 0.15)
    start = Point(player.x, player.y)
    if start == end:
        end = Point(end.x, end.y - 0.3)
    return Track(f"block-{cast.blocker_id(player)}-{number}", (start, end), TrackPhase.FIRST, End.T)


def _rush(cast: Cast, snap: PassSnap, man: Man, own: str) -> tuple[Track, ...]:
    """A rusher's way: to his blocker, or past the line at the quarterback where he is free."""
    formation = snap.answer.situation.formation
    start = Point(man.stands[0], -man.stands[1])
    meet = Point(spot_x(formation, man.gaps[0]), MEET_YD - 0.2)
    is_own = man.position == own
    tone = Tone.RIGHT if is_own else Tone.NEUTRAL
    points: tuple[Point, ...] = (start, meet)
    if man.position in snap.answer.free:
        passer = formation.find(Role.QUARTERBACK)
        if passer is not None:
            points = (start, meet, Point((meet.x + 4 * passer.x) / 5, passer.y * 0.8))
    return (Track(f"rush-{cast.defender_id(man.position)}", points, tone=tone, is_own=is_own),)


def _rushers(snap: PassSnap, taker: str | None) -> list[Man]:
    return [man for man in snap.answer.men if man.rush and man.gaps and man.position != taker]


def _take(cast: Cast, snap: PassSnap, taker: str, own: str, back_at: Point) -> Track:
    """The way of the man who takes the back: to where the back is going."""
    man = next(man for man in snap.answer.men if man.position == taker)
    start = Point(man.stands[0], -man.stands[1])
    end = Point(back_at.x - 0.6 * (1 if back_at.x > 0 else -1), back_at.y - 0.4)
    is_own = taker == own
    tone = Tone.RIGHT if is_own else Tone.NEUTRAL
    return Track(f"take-{cast.defender_id(taker)}", (start, end), tone=tone, is_own=is_own)


def _release(cast: Cast, back: OffensivePlayer, side: Side) -> tuple[Track, ...]:
    start = Point(back.x, back.y)
    turn = Point(back.x + RELEASE_YD * side.sign, back.y - 1.0)
    end = Point(back.x + 2 * RELEASE_YD * side.sign, -1.0)
    return (Track(f"release-{cast.blocker_id(back)}", (start, turn, end), is_curved=True),)


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
        tracks=(*cast.motion_tracks(), *_turn(cast, snap), *_release(cast, back, side)),
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
