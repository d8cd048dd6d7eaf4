"""The rep `pull-read`: a blocker pulls, where do you go?"""

from __future__ import annotations

from quizgen.engine.movement import BlockerMove
from quizgen.football.sides import Side
from quizgen.reps import pictures
from quizgen.reps.choices import own_lane_part
from quizgen.reps.kind import Question, RepKind
from quizgen.reps.snap import Ground, Snap, owns_a_gap
from quizgen.reps.why import because
from quizgen.reps.wording import Wording, to_say


def asks(snap: Snap, position: str) -> bool:
    """Every gap owner when somebody pulls."""
    fit = snap.find_fit(position)
    return fit is not None and owns_a_gap(fit) and bool(pullers(snap))


def build(snap: Snap, position: str) -> Question:
    """The pull drawn; every lane after it is a choice."""
    fit, w = snap.answer.fit(position), snap.wording
    prompt = w.say("Where do you go?") if len(fit.lanes) == 1 else w.say("Where is one of your two fits?")
    part = own_lane_part(snap, fit, prompt, named=False)
    return Question(
        stem=f"{snap.heading}. {pull_words(pullers(snap), w)} {w.job(fit.man)} {prompt}",
        parts=(part,),
        because=because(snap.answer, fit, w),
        scene=pictures.question(snap, position, pictures.lane_taps(snap, part)),
        moved=pictures.moved(snap, position, fit.lanes),
    )


def pullers(snap: Snap) -> tuple[BlockerMove, ...]:
    """Who leaves the line behind it, from left to right as they line up."""
    return tuple(sorted((m for m in snap.answer.moves if m.rule.pulls), key=lambda m: m.player.x))


def pull_words(pulling: tuple[BlockerMove, ...], w: Wording) -> str:
    """Who pulls and to which side, as one sentence."""
    side = w.side(Side.RIGHT if pulling[0].dx > 0 else Side.LEFT)
    template = to_say("{who} pulls to your {side}.") if len(pulling) == 1 else to_say("{who} pull to your {side}.")
    return w.say(template, who=w.blockers(pulling), side=side)


KIND = RepKind("pull-read", "Read the puller", Ground.RUN, asks, build)
