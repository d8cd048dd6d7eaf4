"""The rep `pull-read`: a blocker pulls, where do you go?"""

from __future__ import annotations

from quizgen.engine.movement import BlockerMove
from quizgen.football.sides import Side
from quizgen.reps import pictures
from quizgen.reps.choices import own_lane_part
from quizgen.reps.kind import Question, RepKind
from quizgen.reps.rep import RepPart, room
from quizgen.reps.snap import Ground, Snap, is_his_alone, owns_a_gap
from quizgen.reps.why import lesson
from quizgen.reps.wording import Wording, to_say


def asks(snap: Snap, position: str) -> bool:
    """Every gap owner when somebody pulls."""
    fit = snap.find_fit(position)
    return fit is not None and owns_a_gap(fit) and is_his_alone(snap, fit) and bool(pullers(snap))


def parts(snap: Snap, position: str) -> tuple[RepPart, ...]:
    """His lane; every lane after the pull is a choice."""
    fit, w = snap.answer.fit(position), snap.wording
    prompt = w.say("Where do you go?") if len(fit.lanes) == 1 else w.say("Where is one of your two fits?")
    return (own_lane_part(snap, fit, prompt, named=False),)


def build(snap: Snap, position: str) -> Question:
    """The pull drawn."""
    fit, w = snap.answer.fit(position), snap.wording
    (part,) = parts(snap, position)
    return Question(
        stem=f"{snap.heading}. {pull_words(pullers(snap), w)} {part.prompt}",
        parts=(part,),
        because=lesson(snap.answer, fit, w, room((part,), snap.adjusted_head, snap.wording.length)),
        scene=pictures.question(snap, position, pictures.lane_taps(snap, part)),
        moved=pictures.moved(snap, position, fit.lanes),
    )


def pullers(snap: Snap) -> tuple[BlockerMove, ...]:
    """Who of the line leaves it and runs behind it, from left to right as they line up; a back who leads is none."""
    found = (m for m in snap.answer.moves if m.rule.pulls and m.player.attached)
    return tuple(sorted(found, key=lambda m: m.player.x))


def pull_words(pulling: tuple[BlockerMove, ...], w: Wording) -> str:
    """Who pulls and to which side, as one sentence."""
    side = w.side(Side.RIGHT if pulling[0].dx > 0 else Side.LEFT)
    template = to_say("{who} pulls to your {side}.") if len(pulling) == 1 else to_say("{who} pull to your {side}.")
    return w.say(template, who=w.blockers(pulling), side=side)


KIND = RepKind("pull-read", "Read the puller", Ground.RUN, asks, build, parts)
