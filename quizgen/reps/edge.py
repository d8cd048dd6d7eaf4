"""The rep `edge`: kicked, led on, blocked down on, reached or left alone, which side of the block is yours?"""

from __future__ import annotations

from quizgen.engine.fits import Fit, Threat
from quizgen.engine.lanes import Lane
from quizgen.engine.movement import BlockerMove
from quizgen.engine.reads import AWAY_READS, Read
from quizgen.engine.reasons import find_kicked
from quizgen.football.scheme import Intent
from quizgen.football.sides import Side
from quizgen.reps import pictures
from quizgen.reps.cast import STEP_YD
from quizgen.reps.choices import own_lane_part
from quizgen.reps.kind import Question, RepKind
from quizgen.reps.snap import Ground, Snap, owns_a_gap
from quizgen.reps.why import because

READS = AWAY_READS | {Read.BOX, Read.SPILL, Read.CLOSE, Read.SET_EDGE, Read.INSIDE_LEAD, Read.OUTSIDE_LEAD}
LANES_SHOWN = 3


def asks(snap: Snap, position: str) -> bool:
    """An edge player, or a gap owner whom a lead or trap comes through on, with a block to take a side of."""
    fit = snap.find_fit(position)
    if fit is None or not owns_a_gap(fit) or fit.read not in READS or len(fit.lanes) > 1:
        return False
    if find_kicked(snap.answer, fit):
        return False
    return _block(snap, fit) is not None and len(shown_lanes(snap, fit)) == LANES_SHOWN


def _block(snap: Snap, fit: Fit) -> BlockerMove | None:
    """The block he takes a side of: the man who comes at him, else the last man in the line."""
    if fit.read in (Read.BOX, Read.SPILL, Read.INSIDE_LEAD, Read.OUTSIDE_LEAD):
        return fit.threats[0] if fit.threats and fit.threat in (Threat.KICK, Threat.LEAD) else None
    return _inner(snap.answer.lanes[fit.lanes[0]])


def _inner(lane: Lane) -> BlockerMove | None:
    return lane.left if lane.side is Side.RIGHT else lane.right


def shown_lanes(snap: Snap, fit: Fit) -> tuple[int, ...]:
    """The lanes on either side of the block and the next one inside, from left to right; the same whichever is his."""
    block, lanes = _block(snap, fit), snap.answer.lanes
    side = lanes[fit.lanes[0]].side
    beside = [i for i, lane in enumerate(lanes) if block is not None and block in (lane.left, lane.right)]
    if side is None or len(beside) != LANES_SHOWN - 1:
        return ()
    inside = beside[0] - 1 if side is Side.RIGHT else beside[1] + 1
    return tuple(sorted({*beside, inside})) if 0 <= inside < len(lanes) else ()


def build(snap: Snap, position: str) -> Question:
    """The block in words and in the picture; both of its sides and the next lane inside are choices."""
    fit, w = snap.answer.fit(position), snap.wording
    only = shown_lanes(snap, fit)
    prompt = w.say("Where do you fit?")
    part = own_lane_part(snap, fit, prompt, named=False, only=only)
    return Question(
        stem=f"{snap.heading}. {snap.play_words} {_story(snap, fit)} {prompt}",
        parts=(part,),
        because=because(snap.answer, fit, w),
        scene=pictures.question(snap, position, pictures.lane_taps(snap, part, only=only)),
        moved=pictures.moved(snap, position, fit.lanes),
    )


def _story(snap: Snap, fit: Fit) -> str:
    w, block = snap.wording, _block(snap, fit)
    assert block is not None  # asks holds
    man = w.blocker(block.player)
    if fit.read in (Read.BOX, Read.SPILL):
        return w.say("The {man} comes to kick you out.", man=man)
    if fit.read in (Read.INSIDE_LEAD, Read.OUTSIDE_LEAD):
        return w.say("The {man} comes through your gap.", man=man)
    if fit.read is Read.CLOSE:
        return w.say("The {man} next to you blocks down.", man=man)
    if fit.is_read or (fit.read in AWAY_READS and fit.threat is None and abs(block.dx) >= STEP_YD):
        return w.say("No one blocks you.")
    if block.intent is Intent.REACH:
        return w.say("The {man} tries to reach you.", man=man)
    return w.say("The {man} blocks you.", man=man)


KIND = RepKind("edge", "Your side of the block", Ground.RUN, asks, build)
