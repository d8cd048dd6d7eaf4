"""The rep `track`: where do you enter on this call to this side?"""

from __future__ import annotations

from quizgen.engine.fits import Fit
from quizgen.football.pressure import Path
from quizgen.reps import pictures
from quizgen.reps.choices import own_lane_part
from quizgen.reps.kind import Question, RepKind
from quizgen.reps.snap import Ground, Snap
from quizgen.reps.wording import Wording, to_say

PATHS: dict[Path, str] = {
    Path.STRAIGHT: to_say("straight ahead"),
    Path.SLANT: to_say("on a slant"),
    Path.TWO_GAP_SLANT: to_say("on a slant across two gaps"),
    Path.CROSS: to_say("on a cross"),
    Path.LOOP: to_say("on a loop"),
    Path.LOOP_EDGE: to_say("on a loop round the edge"),
    Path.HOLD: to_say("and hold it"),
}
HOLD_BOTH = to_say("and hold both")


def asks(snap: Snap, position: str) -> bool:
    """Every man whom the call gives a gap, and not every gap there is."""
    fit = snap.find_fit(position)
    return fit is not None and bool(fit.man.gaps) and set(fit.lanes) < set(range(len(snap.answer.lanes)))


def build(snap: Snap, position: str) -> Question:
    """The line-up; every gap before the snap is a choice."""
    fit, w = snap.answer.fit(position), snap.wording
    part = own_lane_part(snap, fit, _prompt(fit, w), named=True)
    return Question(
        stem=f"{snap.heading}. {part.prompt}",
        parts=(part,),
        because=_because(fit, w, snap.heading),
        scene=pictures.question(snap, position, pictures.lane_taps(snap, part, named=True)),
        moved=pictures.moved(snap, position, fit.lanes),
    )


def _prompt(fit: Fit, w: Wording) -> str:
    if len(fit.lanes) > 1:
        return w.say("You have two gaps. Tap one of them.")
    return w.say("Which gap do you rush?") if fit.man.rush else w.say("Which gap is yours if they run?")


def _because(fit: Fit, w: Wording, heading: str) -> str:
    gaps = w.gaps(fit.man.gaps)
    if fit.man.rush is None:
        return w.say("On {call} you have {gaps} if they run.", call=heading, gaps=gaps)
    is_both = fit.man.rush.path is Path.HOLD and len(fit.man.gaps) > 1
    how = w.phrase(HOLD_BOTH if is_both else PATHS[fit.man.rush.path])
    if fit.man.order > 1:
        order = w.order(fit.man.order)
        return w.say("On {call} you go {order} to {gaps}, {how}.", call=heading, order=order, gaps=gaps, how=how)
    return w.say("On {call} you go to {gaps}, {how}.", call=heading, gaps=gaps, how=how)


KIND = RepKind("track", "Track on air", Ground.AIR, asks, build)
