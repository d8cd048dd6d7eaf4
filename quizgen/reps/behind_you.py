"""The rep `behind-you`: a rusher read out, who owns what he left?"""

from __future__ import annotations

from quizgen.engine.fits import Fit
from quizgen.engine.reads import Read
from quizgen.football.pressure import RunJob
from quizgen.reps import pictures
from quizgen.reps.kind import Kind, Question
from quizgen.reps.men import man_part, man_taps, you_or
from quizgen.reps.pull_read import pull_words, pullers
from quizgen.reps.snap import Ground, Snap
from quizgen.reps.why import keepers
from quizgen.reps.wording import to_say


def asks(snap: Snap, position: str) -> bool:
    """Those whom it concerns: the man who reads out, whoever owns what he left, and support on that side."""
    fit, leaver = snap.find_fit(position), find_leaver(snap, position)
    if fit is None or leaver is None or leaver.left_lane is None:
        return False
    if fit is leaver or position in keepers(snap.answer, leaver.left_lane):
        return True
    drop, side = fit.man.drop, snap.answer.lanes[leaver.left_lane].side
    return drop is not None and drop.run in (RunJob.FOLD, RunJob.ALLEY) and side in (fit.man.side, None)


def find_leaver(snap: Snap, position: str) -> Fit | None:
    """The man who read out and whose old lane has an owner: the player himself, else the nearest; None for nobody."""
    answer = snap.answer
    found = [
        fit
        for fit in answer.fits
        if fit.read is Read.READ_OUT and fit.left_lane is not None and keepers(answer, fit.left_lane, fit.man.position)
    ]
    x, toward = answer.fit(position).man.x, answer.situation.play_to.sign
    return min(found, key=lambda fit: (round(abs(fit.man.x - x), 6), -toward * fit.man.x), default=None)


def build(snap: Snap, position: str) -> Question:
    """Everybody who may play the run is a choice, but for the man who left."""
    answer, w = snap.answer, snap.wording
    leaver = find_leaver(snap, position)
    assert leaver is not None  # asks holds
    assert leaver.left_lane is not None
    index = leaver.left_lane
    lane = w.lane(answer.lanes[index])
    right = keepers(answer, index, leaver.man.position)
    men = tuple(fit.man.position for fit in answer.fits if _may_be_asked(fit) and fit is not leaver)

    def leave(chosen: str) -> str:
        fit = answer.fit(chosen)
        if not fit.lanes:
            return w.say("{man} is pass first: {lane} would be open.", man=chosen, lane=lane)
        if not fit.owns:
            return w.say("{man} comes last: {lane} would be open.", man=chosen, lane=lane)
        own = w.lanes(answer.lanes[i] for i in fit.lanes)
        return w.say("{man} has {own}: {lane} would be open.", man=chosen, own=own, lane=lane)

    is_own = leaver.man.position == position
    prompt = w.say("Who has the gap you gave up?") if is_own else w.say("Who has the gap he gave up?")
    part = man_part(w, position, prompt, men, right, leave)
    story = w.say("You read out.") if is_own else w.say("{man} reads out.", man=leaver.man.position)
    has = you_or(w, position, right)
    because = to_say("{who} has all of {lane}, since the {puller} went out of it.")
    if right == (position,):
        because = to_say("You have all of {lane}, since the {puller} went out of it.")
    elif len(right) > 1:
        because = to_say("{who} have all of {lane}, since the {puller} went out of it.")
    puller = w.blocker(leaver.puller.player) if leaver.puller else ""
    return Question(
        stem=f"{pull_words(pullers(snap), w)} {story} {prompt}",
        parts=(part,),
        because=w.say(because, who=has, lane=lane, puller=puller),
        scene=pictures.question(snap, position, man_taps(pictures.cast_of(snap), part, men)),
        moved=pictures.moved(snap, position, answer.fit(position).lanes),
    )


def _may_be_asked(fit: Fit) -> bool:
    return fit.man.drop is None or fit.man.drop.run is not RunJob.COVER


KIND = Kind("behind-you", "Who has what he left", Ground.RUN, asks, build)
