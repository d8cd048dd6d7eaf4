"""The rep `count`: how many gaps to the play side once a blocker has come over, and how many of us?"""

from __future__ import annotations

from quizgen.football.pressure import RunJob
from quizgen.reps import pictures
from quizgen.reps.choices import word_part
from quizgen.reps.kind import Question, RepKind
from quizgen.reps.rep import RepPart, room
from quizgen.reps.snap import Ground, Snap

NUMBERS = range(2, 7)
"""The same five whatever is right, so that their order tells nothing."""


def asks(snap: Snap, position: str) -> bool:
    """Whoever plays the run, when a blocker adds a gap to the play side and no lane lies across the center."""
    fit = snap.find_fit(position)
    if fit is None or (fit.man.drop is not None and fit.man.drop.run is RunJob.COVER):
        return False
    answer = snap.answer
    adds = any(m.word and m.gap and m.gap.side is answer.situation.play_to for m in answer.moves)
    are_shown = answer.frontside.lanes in NUMBERS and answer.frontside.defenders in NUMBERS
    return adds and are_shown and all(lane.side is not None for lane in answer.lanes)


def _there(snap: Snap) -> list[int]:
    """The lanes to the play side."""
    side = snap.answer.situation.play_to
    return [i for i, lane in enumerate(snap.answer.lanes) if lane.side is side]


def parts(snap: Snap, position: str) -> tuple[RepPart, ...]:
    """Two numbers: gaps to the play side, and men who own one of them."""
    answer, w = snap.answer, snap.wording
    side, numbers = answer.situation.play_to, answer.frontside
    before = sum(gap.side is side for gap in answer.situation.formation.gaps)
    gaps_left = w.say("They start with {before} there.", before=before)
    men_left = w.say("Count those who get there in time.")
    gaps = word_part(
        w.say("How many gaps are there now to your {side}?", side=w.side(side)),
        [(f"count:{number}", str(number), gaps_left) for number in NUMBERS],
        [NUMBERS.index(numbers.lanes)],
    )
    ours = word_part(
        w.say("How many of us have one of them?"),
        [(f"count:{number}", str(number), men_left) for number in NUMBERS],
        [NUMBERS.index(numbers.defenders)],
        start=len(NUMBERS),
    )
    return gaps, ours


def build(snap: Snap, position: str) -> Question:
    """The moved picture marks just these gaps, those that nobody has as open."""
    answer, w = snap.answer, snap.wording
    side, there, both = answer.situation.play_to, _there(snap), parts(snap, position)
    return Question(
        stem=w.say(
            "{call}. {play} Count the gaps to your {side}, then our men in them.",
            call=snap.heading,
            play=snap.play_words,
            side=w.side(side),
        ),
        parts=both,
        because=_because(snap, room(both, snap.adjusted_head, snap.wording.length)),
        scene=pictures.question(snap, position, ()),
        moved=pictures.numbered(pictures.moved(snap, position, [i for i in there if answer.owners(i)], there)),
    )


def _because(snap: Snap, most: int) -> str:
    """Their gaps and our men by name; the gaps as a number where the names are too long."""
    answer, w = snap.answer, snap.wording
    there, numbers = _there(snap), answer.frontside
    in_time = [
        fit.man.position for fit in answer.fits if fit.is_on_time and any(fit in answer.owners(i) for i in there)
    ]
    us = w.all_of(in_time) or w.phrase("no one")
    longer = w.say(
        "They have {lanes}: that is {gaps}. We have {men}: that is {ours}.",
        lanes=w.all_of(w.sideless(answer.lanes[i]) for i in there),
        gaps=numbers.lanes,
        men=us,
        ours=numbers.defenders,
    )
    if w.length(longer) <= most:
        return longer
    return w.say(
        "They have {gaps} gaps there. We have {men}: that is {ours}.",
        gaps=numbers.lanes,
        men=us,
        ours=numbers.defenders,
    )


KIND = RepKind("count", "Count the gaps", Ground.RUN, asks, build, parts)
