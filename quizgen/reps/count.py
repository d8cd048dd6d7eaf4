"""The rep `count`: how many gaps to the play side once a blocker has come over, and how many of us?"""

from __future__ import annotations

from quizgen.football.pressure import RunJob
from quizgen.reps import pictures
from quizgen.reps.choices import word_part
from quizgen.reps.kind import Question, RepKind
from quizgen.reps.snap import Ground, Snap


def asks(snap: Snap, position: str) -> bool:
    """Whoever plays the run, when a blocker adds a gap to the play side and no lane lies across the center."""
    fit = snap.find_fit(position)
    if fit is None or (fit.man.drop is not None and fit.man.drop.run is RunJob.COVER):
        return False
    answer = snap.answer
    adds = any(m.word and m.gap and m.gap.side is answer.situation.play_to for m in answer.moves)
    return adds and all(lane.side is not None for lane in answer.lanes)


def build(snap: Snap, position: str) -> Question:
    """Two numbers: gaps to the play side, and men who own one of them. The moved picture marks just these gaps, those
    that nobody has as open."""
    answer, w = snap.answer, snap.wording
    side = answer.situation.play_to
    numbers = answer.frontside
    there = [i for i, lane in enumerate(answer.lanes) if lane.side is side]
    men = [fit.man.position for fit in answer.fits if fit.is_on_time and any(fit in answer.owners(i) for i in there)]
    before = sum(gap.side is side for gap in answer.situation.formation.gaps)
    options = range(
        max(0, min(before - 1, numbers.defenders)), max(before + 3, numbers.lanes + 1, numbers.defenders + 1)
    )
    lanes = w.all_of(w.sideless(answer.lanes[i]) for i in there)
    us = w.all_of(men) or w.phrase("no one")
    gaps_left = w.say(
        "They start with {before} there; each man who comes adds one, each who goes takes one away.", before=before
    )
    men_left = w.say("To the {side} we have {men}.", side=w.side(side), men=us)
    gaps = word_part(
        w.say("How many gaps are there now to your {side}?", side=w.side(side)),
        [(f"count:{number}", str(number), gaps_left) for number in options],
        [list(options).index(numbers.lanes)],
    )
    ours = word_part(
        w.say("How many of us have one of them?"),
        [(f"count:{number}", str(number), men_left) for number in options],
        [list(options).index(numbers.defenders)],
        start=len(options),
    )
    return Question(
        stem=w.say(
            "{call}. {play} Count the gaps to your {side}, then our men in them.",
            call=snap.heading,
            play=snap.play_words,
            side=w.side(side),
        ),
        parts=(gaps, ours),
        because=w.say(
            "They have {lanes}: that is {gaps}. We have {men}: that is {ours}.",
            lanes=lanes,
            gaps=numbers.lanes,
            men=us,
            ours=numbers.defenders,
        ),
        scene=pictures.question(snap, position, ()),
        moved=pictures.numbered(pictures.moved(snap, position, [i for i in there if answer.owners(i)], there)),
    )


KIND = RepKind("count", "Count the gaps", Ground.RUN, asks, build)
