"""The rep `moved-gap`: they move the line, where is your gap now?"""

from __future__ import annotations

from quizgen.reps import pictures
from quizgen.reps.cast import STEP_YD
from quizgen.reps.choices import own_lane_part
from quizgen.reps.kind import Question, RepKind
from quizgen.reps.snap import STEADY, Ground, Snap, owns_a_gap
from quizgen.reps.why import because


def asks(snap: Snap, position: str) -> bool:
    """A man who keeps his gap against a run without pullers, where a blocker beside it moves."""
    fit = snap.find_fit(position)
    if fit is None or not owns_a_gap(fit) or fit.read not in STEADY or snap.answer.situation.play.pulls:
        return False
    beside = [m for index in fit.lanes for m in (snap.answer.lanes[index].left, snap.answer.lanes[index].right) if m]
    return any(abs(m.dx) >= STEP_YD for m in beside)


def build(snap: Snap, position: str) -> Question:
    """The line where it gets to, the defense where it lined up; every lane between the blockers is a choice."""
    fit, w = snap.answer.fit(position), snap.wording
    prompt = w.say("Where is your gap now?") if len(fit.lanes) == 1 else w.say("Where is one of your gaps now?")
    part = own_lane_part(snap, fit, prompt, named=False)
    return Question(
        stem=f"{snap.play_words} {w.job(fit.man)} {prompt}",
        parts=(part,),
        because=because(snap.answer, fit, w),
        scene=pictures.question(snap, position, pictures.lane_taps(snap, part)),
        moved=pictures.moved(snap, position, fit.lanes),
    )


KIND = RepKind("moved-gap", "Your gap moves", Ground.RUN, asks, build)
