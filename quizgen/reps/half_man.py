"""The rep `half-man`: which half of the blocker do you take?"""

from __future__ import annotations

from quizgen.drawing.scene import OnHalf, ScreenHalf, Tap
from quizgen.engine.protection import Half, Matchup
from quizgen.football.sides import Side
from quizgen.reps import pass_pictures
from quizgen.reps.choices import MIRROR, ids
from quizgen.reps.kind import Question, RepKind
from quizgen.reps.rep import Choice, RepPart
from quizgen.reps.snap import Ground, PassSnap


def asks(snap: PassSnap, position: str) -> bool:
    """A rusher with one blocker on him, and one half that is right by everything that counts: against the center or a
    back his rush lane and the center's turn must not speak for different halves."""
    mine = next((m for m in snap.answer.matchups if m.man.position == position), None)
    if mine is None or not mine.is_alone or mine.half is None:
        return False
    return mine.contains or is_on_a_side(mine) or right_side(mine) is mine.man.gaps[0].side


def is_on_a_side(mine: Matchup) -> bool:
    """Whether the man who blocks him is a lineman on one side of the center."""
    blocker = mine.blockers[0]
    return blocker.attached and blocker.order > 0


def right_side(mine: Matchup) -> Side:
    """The side of the blocker's body, as the defense sees him, that the man takes."""
    blocker = mine.blockers[0]
    outward = blocker.side if is_on_a_side(mine) and blocker.side else mine.man.gaps[0].side
    return outward if mine.half is Half.OUTSIDE else outward.other


def parts(snap: PassSnap, position: str) -> tuple[RepPart, ...]:
    """The two halves of the man who blocks him."""
    w = snap.wording
    mine = snap.answer.matchup(position)
    right = right_side(mine)
    names = ids(2)
    left_behind = _leaves(snap, mine)
    choices = []
    for name, side in zip(names, Side, strict=True):
        label = w.say("his half on your {side}", side=w.side(side))
        key = f"half:{side.value}"
        right_one, wrong_one = Choice(name, key, label), Choice(name, key, label, left_behind, MIRROR)
        choices.append(right_one if side is right else wrong_one)
    prompt = w.say("Which half of him is yours?")
    return (
        RepPart(prompt, tuple(choices), frozenset(n for n, side in zip(names, Side, strict=True) if side is right)),
    )


def build(snap: PassSnap, position: str) -> Question:
    """The line-up, and who blocks him; not his rush lane."""
    w = snap.wording
    mine = snap.answer.matchup(position)
    blocker, right = mine.blockers[0], right_side(mine)
    (part,) = parts(snap, position)
    man = pass_pictures.cast_of(snap).blocker_id(blocker)
    taps = [
        Tap(choice.id, choice.label, OnHalf(man, half)) for choice, half in zip(part.choices, ScreenHalf, strict=True)
    ]
    story = w.say("The {man} blocks you. {prompt}", man=w.blocker(blocker), prompt=part.prompt)
    return Question(
        stem=f"{snap.heading}. {pass_pictures.pass_words(snap)} {story}",
        parts=(part,),
        because=_because(snap, mine, right),
        scene=pass_pictures.question(snap, position, tuple(taps)),
        moved=pass_pictures.moved(snap, position, past=right),
    )


def _leaves(snap: PassSnap, mine: Matchup) -> str:
    w = snap.wording
    if mine.contains:
        return w.say("Go inside him and the quarterback gets out on your side.")
    return w.say("That takes you out of your rush lane, {gap}.", gap=w.gaps(mine.man.gaps[:1]))


def _because(snap: PassSnap, mine: Matchup, right: Side) -> str:
    w = snap.wording
    side = w.side(right)
    if mine.contains:
        return w.say("You contain, so take his half on your {side}. Keep the quarterback inside you.", side=side)
    gap = w.gaps(mine.man.gaps[:1])
    return w.say("Take his half on your {side}: it keeps you in your rush lane, {gap}.", side=side, gap=gap)


KIND = RepKind("half-man", "Half of the blocker", Ground.PASS, asks, build, parts)
