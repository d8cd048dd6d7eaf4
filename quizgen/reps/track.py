"""The rep `track`: where do you enter on this call to this side?"""

from __future__ import annotations

from quizgen.engine.fits import Fit
from quizgen.football.pressure import Path
from quizgen.reps import pictures
from quizgen.reps.choices import own_lane_part
from quizgen.reps.kind import Question, RepKind
from quizgen.reps.rep import RepPart, room
from quizgen.reps.snap import Ground, Snap, is_his_alone
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
    if fit is None or not fit.man.gaps or not is_his_alone(snap, fit):
        return False
    return set(fit.lanes) < set(range(len(snap.answer.lanes)))


def parts(snap: Snap, position: str) -> tuple[RepPart, ...]:
    """His gap, of all there are before the snap."""
    fit = snap.answer.fit(position)
    return (own_lane_part(snap, fit, _prompt(fit, snap.wording), named=True),)


def build(snap: Snap, position: str) -> Question:
    """The line-up; every gap before the snap is a choice."""
    fit = snap.answer.fit(position)
    (part,) = parts(snap, position)
    return Question(
        stem=f"{snap.heading}. {part.prompt}",
        parts=(part,),
        because=_because(snap, fit, room((part,), snap.adjusted_head, snap.wording.length)),
        scene=pictures.question(snap, position, pictures.lane_taps(snap, part, named=True)),
        moved=pictures.moved(snap, position, fit.lanes),
    )


def _prompt(fit: Fit, w: Wording) -> str:
    if len(fit.lanes) > 1:
        return w.say("You have two gaps. Tap one of them.")
    return w.say("Which gap do you rush?") if fit.man.rush else w.say("Which gap is yours if they run?")


def _because(snap: Snap, fit: Fit, most: int) -> str:
    """What the call gives him, and which gap that is in this formation; how he gets there where there is room."""
    w = snap.wording
    letters = w.gaps(fit.man.gaps)
    where = w.all_of(w.between(snap.answer.lanes[index]) for index in fit.lanes)
    here = w.say("You have {gaps}: in this formation {between}.", gaps=letters, between=where)
    if w.length(here) > most:
        here = w.say("You have {gaps} in this formation too.", gaps=letters)
    if fit.man.rush is None:
        return here
    is_both = fit.man.rush.path is Path.HOLD and len(fit.man.gaps) > 1
    how = w.phrase(HOLD_BOTH if is_both else PATHS[fit.man.rush.path])
    order = w.order(fit.man.order)
    go = w.say("Go {order}, {how}.", order=order, how=how) if fit.man.order > 1 else w.say("Go {how}.", how=how)
    longer = f"{here} {go}"
    return longer if w.length(longer) <= most else here


KIND = RepKind("track", "Track on air", Ground.AIR, asks, build, parts)
