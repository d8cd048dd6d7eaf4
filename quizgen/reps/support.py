"""The rep `support`: you are not rushing, when and where do you fit?"""

from __future__ import annotations

from quizgen.engine.fits import Fit
from quizgen.engine.reads import Read
from quizgen.football.pressure import RunJob
from quizgen.reps import pictures
from quizgen.reps.choices import lane_part, word_part
from quizgen.reps.kind import Question, RepKind
from quizgen.reps.rep import RepPart
from quizgen.reps.snap import Ground, Snap
from quizgen.reps.why import because, keepers, kept_apart, leaves, with_left_open
from quizgen.reps.wording import to_say


def asks(snap: Snap, position: str) -> bool:
    """A dropper without a gap of his own who plays the run; who has a phase of an option is asked for that alone."""
    fit = snap.find_fit(position)
    return fit is not None and not fit.man.gaps and fit.man.drop is not None and fit.phase is None


def build(snap: Snap, position: str) -> Question:
    """Where, for a man who has a lane; when, for everybody."""
    answer, w = snap.answer, snap.wording
    fit = answer.fit(position)
    where = _where(snap, fit)
    when = _when(snap, fit, len(where.choices) if where else 0)
    ask = w.say("Where do you fit, and when?") if where else w.say("When do you come?")
    story = w.say("You do not rush.")
    return Question(
        stem=f"{snap.heading}. {snap.play_words} {story} {ask}",
        parts=(where, when) if where else (when,),
        because=_because(snap, fit, has_lane=where is not None),
        scene=pictures.question(snap, position, pictures.lane_taps(snap, where) if where else ()),
        moved=pictures.moved(snap, position, fit.lanes if where else ()),
    )


def _because(snap: Snap, fit: Fit, *, has_lane: bool) -> str:
    w = snap.wording
    if fit.owns or not has_lane:
        return because(snap.answer, fit, w)
    if apart := kept_apart(snap.answer, fit, w):
        return apart
    lane = w.lane(snap.answer.lanes[fit.lanes[0]])
    last = w.say("Each gap you may fill has a man, so come last and turn the ball in at {lane}.", lane=lane)
    return with_left_open(last, snap.answer, w)


def _where(snap: Snap, fit: Fit) -> RepPart | None:
    """The lane: the open one that he fills, or the outermost on his side for force when every lane has a man."""
    answer, w = snap.answer, snap.wording
    is_force = fit.man.drop is not None and fit.man.drop.run is RunJob.FORCE
    if not fit.lanes or not (fit.owns or is_force):
        return None

    def leave(index: int) -> str:
        if fit.owns:
            return leaves(answer, fit, index, w)
        there = keepers(answer, index)
        name, own = w.lane(answer.lanes[index]), w.lane(answer.lanes[fit.lanes[0]])
        if not there:
            return w.say("You are {force}: stay outside, at {own}.", force=w.term("force"), own=own)
        template = to_say("{men} has {name}: no one would turn the ball in at {own}.")
        plural = to_say("{men} have {name}: no one would turn the ball in at {own}.")
        return w.say(template if len(there) == 1 else plural, men=w.all_of(there), name=name, own=own)

    return lane_part(answer, w, w.say("Where do you fit?"), frozenset(fit.lanes), leave, named=False)


def _when(snap: Snap, fit: Fit, start: int) -> RepPart:
    w = snap.wording
    mine = w.lane(snap.answer.lanes[fit.lanes[0]]) if fit.owns else ""
    early = w.say("Go at the snap and your pass job is open.")
    late = w.say("Wait that long and {mine} stays open.", mine=mine) if mine else w.say("The ball is past you by then.")
    options = [
        ("when:at the snap", w.say("At the snap, like a rusher"), early),
        ("when:gap open", w.say("When you see your gap is open"), w.say("No gap needs you alone.")),
        (
            "when:last",
            w.say("Last: no gap needs you"),
            w.say("One gap still needs you: {mine}.", mine=mine) if mine else late,
        ),
        ("when:ball over the line", w.say("When the ball is over the line"), late),
    ]
    right = 1 if fit.owns else 3 if fit.read is Read.COVER else 2
    if fit.read is Read.COVER:
        options[2] = (*options[2][:2], w.say("You are pass first: make sure that it is a run."))
    return word_part(w.say("When do you come?"), options, [right], start)


KIND = RepKind("support", "Support", Ground.RUN, asks, build)
