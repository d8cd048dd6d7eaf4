"""The rep `moved-gap`: they move the line, where is your gap now?"""

from __future__ import annotations

from quizgen.reps import pictures
from quizgen.reps.cast import STEP_YD
from quizgen.reps.choices import own_lane_part
from quizgen.reps.kind import Question, RepKind
from quizgen.reps.rep import RepPart, room
from quizgen.reps.snap import STEADY, Ground, Snap, is_his_alone, owns_a_gap
from quizgen.reps.why import lesson


def asks(snap: Snap, position: str) -> bool:
    """A man who keeps his gap against a run without pullers, where a blocker beside it moves."""
    fit = snap.find_fit(position)
    if fit is None or not owns_a_gap(fit) or fit.read not in STEADY or snap.answer.situation.play.pulls:
        return False
    if not is_his_alone(snap, fit):
        return False
    beside = [m for index in fit.lanes for m in (snap.answer.lanes[index].left, snap.answer.lanes[index].right) if m]
    return any(abs(m.dx) >= STEP_YD for m in beside)


def parts(snap: Snap, position: str) -> tuple[RepPart, ...]:
    """His lane; every lane between the blockers is a choice."""
    fit, w = snap.answer.fit(position), snap.wording
    prompt = w.say("Where is your gap now?") if len(fit.lanes) == 1 else w.say("Where is one of your gaps now?")
    return (own_lane_part(snap, fit, prompt, named=False),)


def build(snap: Snap, position: str) -> Question:
    """The line where it gets to, the defense where it lined up."""
    fit, w = snap.answer.fit(position), snap.wording
    (part,) = parts(snap, position)
    return Question(
        stem=f"{snap.heading}. {snap.play_words} {part.prompt}",
        parts=(part,),
        because=lesson(snap.answer, fit, w, room((part,), snap.adjusted_head, snap.wording.length)),
        scene=pictures.question(snap, position, pictures.lane_taps(snap, part)),
        moved=pictures.moved(snap, position, fit.lanes),
    )


KIND = RepKind("moved-gap", "Your gap moves", Ground.RUN, asks, build, parts)
