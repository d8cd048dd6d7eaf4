"""The rep `hooked`: who can hook or wash you out of your gap, and where would you end up?"""

from __future__ import annotations

from quizgen.drawing.scene import OnMan, Tap
from quizgen.engine.fits import Fit, Threat
from quizgen.engine.lanes import at_surface
from quizgen.engine.movement import BlockerMove
from quizgen.reps import pictures
from quizgen.reps.choices import OTHER, blocker_key, ids, lane_part
from quizgen.reps.kind import Question, RepKind
from quizgen.reps.rep import Choice, RepPart
from quizgen.reps.snap import Ground, Snap, is_his_alone, is_in_his_gap, owns_a_gap
from quizgen.reps.why import threat_sentence

BESIDE = 2


def asks(snap: Snap, position: str) -> bool:
    """A man in his own gap whom one blocker may hook or wash into another lane."""
    fit = snap.find_fit(position)
    if fit is None or not owns_a_gap(fit) or len(fit.lanes) > 1 or fit.lost_to is None:
        return False
    if not is_in_his_gap(snap, fit) or not is_his_alone(snap, fit):
        return False
    return fit.threat in (Threat.HOOK, Threat.WASH) and len(fit.threats) == 1


def _near(snap: Snap, fit: Fit) -> tuple[tuple[BlockerMove, ...], tuple[int, ...]]:
    """The blockers and the lanes that are choices: two on either side of his gap. All of them would hide the two that
    count."""
    assert fit.lost_to is not None  # asks holds
    index, lanes = fit.lanes[0], len(snap.answer.lanes)
    blockers = at_surface(snap.answer.moves)[max(0, index - BESIDE) : index + BESIDE]
    near = range(max(0, index - BESIDE), min(lanes, index + BESIDE + 1))
    return blockers, tuple(sorted({*near, fit.lost_to}))


def parts(snap: Snap, position: str) -> tuple[RepPart, ...]:
    """Two decisions: the blocker, and the lane he would push the man into. Hook or wash is not said: which of them it
    is says which blocker."""
    answer, w = snap.answer, snap.wording
    fit = answer.fit(position)
    assert fit.lost_to is not None  # asks holds
    blockers, lanes = _near(snap, fit)
    who = _blocker_part(snap, fit, blockers, w.say("Who can take your gap from you?"))
    where = lane_part(
        answer,
        w,
        w.say("Where would you end up?"),
        frozenset({fit.lost_to}),
        lambda index: _leaves_lane(snap, fit, index),
        named=False,
        start=len(blockers),
        only=lanes,
    )
    return who, where


def build(snap: Snap, position: str) -> Question:
    """The line where it gets to, the defense where it lined up."""
    answer, w = snap.answer, snap.wording
    fit = answer.fit(position)
    assert fit.lost_to is not None  # asks holds
    blockers, lanes = _near(snap, fit)
    who, where = parts(snap, position)
    cast = pictures.cast_of(snap)
    taps = tuple(
        Tap(choice.id, choice.label, OnMan(cast.blocker_id(m.player)))
        for choice, m in zip(who.choices, blockers, strict=True)
    )
    ask = w.say("Who can take your gap from you, and where would you end up?")
    return Question(
        stem=f"{snap.heading}. {snap.play_words} {ask}",
        parts=(who, where),
        because=threat_sentence(answer, fit, w),
        scene=pictures.question(snap, position, (*taps, *pictures.lane_taps(snap, where, 2, lanes))),
        moved=pictures.moved(snap, position, (fit.lost_to,), ends_in=fit.lost_to),
    )


def _blocker_part(snap: Snap, fit: Fit, blockers: tuple[BlockerMove, ...], prompt: str) -> RepPart:
    w = snap.wording
    names = ids(len(blockers))
    right = {m.player.key for m in fit.threats}
    choices = []
    for name, m in zip(names, blockers, strict=True):
        label = w.say("the {man}", man=w.blocker(m.player))
        if m.player.key in right:
            choices.append(Choice(name, blocker_key(m.player), label))
        else:
            choices.append(Choice(name, blocker_key(m.player), label, _leaves_blocker(snap, fit, m), OTHER))
    return RepPart(
        prompt, tuple(choices), frozenset(n for n, m in zip(names, blockers, strict=True) if m.player.key in right)
    )


def _leaves_blocker(snap: Snap, fit: Fit, m: BlockerMove) -> str:
    w = snap.wording
    lane = snap.answer.lanes[fit.lanes[0]]
    man = w.blocker(m.player)
    if m.player.key in {beside.player.key for beside in (lane.left, lane.right) if beside}:
        return w.say("The {man} moves away from you.", man=man)
    return w.say("The {man} is not next to your gap.", man=man)


def _leaves_lane(snap: Snap, fit: Fit, index: int) -> str:
    w = snap.wording
    if index in fit.lanes:
        return w.say("That is your gap: beaten, you leave it.")
    return w.say("He does not send you there.")


KIND = RepKind("hooked", "Hooked or washed", Ground.RUN, asks, build, parts)
