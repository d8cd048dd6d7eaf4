"""The rep `order`: who goes first, who comes second?"""

from __future__ import annotations

from quizgen.engine.alignment import Man
from quizgen.engine.crossing import Crossing, crossings
from quizgen.reps import pictures
from quizgen.reps.kind import Question, RepKind
from quizgen.reps.men import man_part, man_taps
from quizgen.reps.rep import RepPart
from quizgen.reps.snap import Ground, Snap
from quizgen.reps.wording import Wording

MEN_ASKED = 4


def asks(snap: Snap, position: str) -> bool:
    """A rusher who crosses with one other rusher, one called before the other."""
    return len(find_crossings(snap, position)) == 1


def find_crossings(snap: Snap, position: str) -> list[Crossing]:
    """The crossings that a position is in, where the call says who goes first."""
    s = snap.answer.situation
    men = {fit.man.position: fit.man for fit in snap.answer.fits}
    found = crossings(tuple(men.values()), s.formation, s.rules.timing)
    return [c for c in found if position in (c.first, c.second) and men[c.first].order != men[c.second].order]


def _crossing(snap: Snap, position: str) -> tuple[Man, Man]:
    """Who goes first, and who second."""
    crossing = find_crossings(snap, position)[0]
    men = {fit.man.position: fit.man for fit in snap.answer.fits}
    return men[crossing.first], men[crossing.second]


def parts(snap: Snap, position: str) -> tuple[RepPart, ...]:
    """The rushers near the cross are choices, once as the first and once as the second."""
    w = snap.wording
    first, second = _crossing(snap, position)
    rushers = _near(snap, first, second)

    def leave(chosen: str) -> str:
        return _leaves(w, chosen, first, second)

    return (
        man_part(snap, position, w.say("Who goes first?"), rushers, {first.position}, leave),
        man_part(snap, position, w.say("Who comes second?"), rushers, {second.position}, leave, len(rushers)),
    )


def build(snap: Snap, position: str) -> Question:
    """The line-up."""
    w = snap.wording
    first, second = _crossing(snap, position)
    rushers, both = _near(snap, first, second), parts(snap, position)
    cast = pictures.cast_of(snap)
    taps = (*man_taps(cast, both[0], rushers), *man_taps(cast, both[1], rushers, 2))
    return Question(
        stem=w.say("{call}. You cross with one man. Who goes first, who comes second?", call=snap.heading),
        parts=both,
        because=w.say(
            "{first} goes first to {gap}. {second} comes second, off his hip, to {other}.",
            first=first.position,
            gap=w.gaps(first.gaps),
            second=second.position,
            other=w.gaps(second.gaps),
        ),
        scene=pictures.question(snap, position, taps),
        moved=pictures.moved(snap, position),
    )


def _near(snap: Snap, first: Man, second: Man) -> tuple[str, ...]:
    """The two who cross and the rushers nearest to them, from left to right: each of them is two things to tap."""
    toward = first.gaps[0].side.sign
    middle = (first.x + second.x) / 2
    rushers = [fit.man for fit in snap.answer.fits if fit.man.rush]
    others = [man for man in rushers if man.position not in (first.position, second.position)]
    others.sort(key=lambda man: (round(abs(man.x - middle), 6), man.depth_yd, -toward * man.x))
    kept = {first.position, second.position, *(man.position for man in others[: MEN_ASKED - 2])}
    return tuple(man.position for man in rushers if man.position in kept)


def _leaves(w: Wording, chosen: str, first: Man, second: Man) -> str:
    if chosen in (first.position, second.position):
        return w.say(
            "If {second} goes before {first}, they run into each other.", first=first.position, second=second.position
        )
    return w.say("{man} is not in this cross.", man=chosen)


KIND = RepKind("order", "Who goes first", Ground.AIR, asks, build, parts, is_once=True)
