"""The rep `behind-you`: a rusher went over the top, who owns what he left?"""

from __future__ import annotations

from collections.abc import Collection

from quizgen.engine.alignment import spot_x
from quizgen.engine.fits import Fit
from quizgen.engine.movement import BlockerMove
from quizgen.engine.reads import Read
from quizgen.football.pressure import RunJob
from quizgen.reps import pictures
from quizgen.reps.kind import Question, RepKind
from quizgen.reps.men import man_part, man_taps
from quizgen.reps.pull_read import pull_words, pullers
from quizgen.reps.rep import RepPart
from quizgen.reps.snap import Ground, Snap
from quizgen.reps.why import keepers
from quizgen.reps.wording import to_say

MEN_ASKED = 5


def asks(snap: Snap, position: str) -> bool:
    """Those whom it concerns: the man who goes over the top, whoever owns what he left, and support on that side."""
    fit, leaver = snap.find_fit(position), find_leaver(snap, position)
    if fit is None or leaver is None or leaver.left_lane is None:
        return False
    if fit is leaver or position in keepers(snap.answer, leaver.left_lane):
        return True
    drop, side = fit.man.drop, snap.answer.lanes[leaver.left_lane].side
    return drop is not None and drop.run in (RunJob.FOLD, RunJob.ALLEY) and side in (fit.man.side, None)


def find_leaver(snap: Snap, position: str) -> Fit | None:
    """The man who went over the top from a lane that has one owner: the player himself, else the nearest; None for
    nobody."""
    answer = snap.answer
    found = [
        fit
        for fit in answer.fits
        if fit.read is Read.OVER_THE_TOP
        and fit.left_lane is not None
        and len(keepers(answer, fit.left_lane, fit.man.position)) == 1
    ]
    x, toward = answer.fit(position).man.x, answer.situation.play_to.sign
    return min(found, key=lambda fit: (round(abs(fit.man.x - x), 6), -toward * fit.man.x), default=None)


def parts(snap: Snap, position: str) -> tuple[RepPart, ...]:
    """Who has the gap: those near it who may play the run are choices, but for the man who left."""
    answer, w = snap.answer, snap.wording
    leaver = find_leaver(snap, position)
    assert leaver is not None  # asks holds
    assert leaver.left_lane is not None
    right = keepers(answer, leaver.left_lane, leaver.man.position)
    men = _near(snap, leaver, (*right, position))

    def leave(chosen: str) -> str:
        fit, is_you = answer.fit(chosen), chosen == position
        if not fit.lanes:
            template = to_say("You are pass first.") if is_you else to_say("{man} is pass first.")
            return w.say(template, man=chosen)
        if not fit.owns:
            template = to_say("You come last.") if is_you else to_say("{man} comes last.")
            return w.say(template, man=chosen)
        own = w.lanes(answer.lanes[i] for i in fit.lanes)
        template = to_say("You have {name}.") if is_you else to_say("{man} has {name}.")
        return w.say(template, man=chosen, name=own)

    is_own = leaver.man.position == position
    prompt = w.say("Who has the gap you gave up?") if is_own else w.say("Who has the gap he gave up?")
    return (man_part(snap, position, prompt, men, right, leave),)


def build(snap: Snap, position: str) -> Question:
    """The pull, and who went over the top; not which gap he had."""
    answer, w = snap.answer, snap.wording
    leaver = find_leaver(snap, position)
    assert leaver is not None  # asks holds
    assert leaver.left_lane is not None
    index = leaver.left_lane
    lane = w.lane(answer.lanes[index])
    right = keepers(answer, index, leaver.man.position)
    men = _near(snap, leaver, (*right, position))
    (part,) = parts(snap, position)
    is_own = leaver.man.position == position
    story = to_say("You go over the top.") if is_own else to_say("{man} goes over the top.")
    because = to_say("{who} has all of {lane}, since {gone} pulled.")
    if right == (position,):
        because = to_say("You have all of {lane}, since {gone} pulled.")
    told = w.say(story, man=leaver.man.position)
    return Question(
        stem=f"{snap.heading}. {pull_words(pullers(snap), w)} {told} {part.prompt}",
        parts=(part,),
        because=w.say(because, who=w.all_of(right), lane=lane, gone=w.blockers(_gone(snap, leaver))),
        scene=pictures.question(snap, position, man_taps(pictures.cast_of(snap), part, men)),
        moved=pictures.moved(snap, position, (index,)),
    )


def _near(snap: Snap, leaver: Fit, always: Collection[str]) -> tuple[str, ...]:
    """The men who are choices: ``always`` some, then those who line up nearest to the gap, from left to right."""
    answer = snap.answer
    assert leaver.left_lane is not None
    middle, toward = answer.lanes[leaver.left_lane].middle_x, answer.situation.play_to.sign
    may = [fit.man for fit in answer.fits if _may_be_asked(fit) and fit is not leaver]
    others = [man for man in may if man.position not in always]
    room = MEN_ASKED - (len(may) - len(others))
    others.sort(key=lambda man: (round(abs(man.x - middle), 6), man.depth_yd, -toward * man.x))
    kept = {*always, *(man.position for man in others[: max(0, room)])}
    return tuple(man.position for man in may if man.position in kept)


def _gone(snap: Snap, leaver: Fit) -> tuple[BlockerMove, ...]:
    """Who pulled out of the gap that the man left: the pullers who lined up between the gaps that are one now."""
    assert leaver.left_lane is not None
    assert leaver.puller is not None  # nobody goes over the top without one
    formation = snap.answer.situation.formation
    xs = [spot_x(formation, gap) for gap in snap.answer.lanes[leaver.left_lane].gaps]
    return tuple(m for m in pullers(snap) if min(xs) < m.player.x < max(xs)) or (leaver.puller,)


def _may_be_asked(fit: Fit) -> bool:
    return fit.man.drop is None or fit.man.drop.run is not RunJob.COVER


KIND = RepKind("behind-you", "Who has what he left", Ground.RUN, asks, build, parts)
