"""The rep `edge`: kicked, led on, blocked down on, reached or left alone, which side of the block is yours?"""

from __future__ import annotations

from dataclasses import replace

from quizgen.drawing.scene import OnHalf, ScreenHalf, Tap
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
from quizgen.reps.rep import RepPart, room
from quizgen.reps.snap import Ground, Snap, is_his_alone, owns_a_gap
from quizgen.reps.why import lesson
from quizgen.reps.wording import to_say

READS = AWAY_READS | {Read.BOX, Read.SPILL, Read.CLOSE, Read.SET_EDGE, Read.INSIDE_LEAD, Read.OUTSIDE_LEAD}
SIDES = 2


def asks(snap: Snap, position: str) -> bool:
    """An edge player, or a gap owner whom a lead or trap comes through on, with a block to take a side of."""
    fit = snap.find_fit(position)
    if fit is None or not owns_a_gap(fit) or fit.read not in READS or len(fit.lanes) > 1:
        return False
    if find_kicked(snap.answer, fit):
        return False
    return is_his_alone(snap, fit) and bool(both_sides(snap, fit))


def _block(snap: Snap, fit: Fit) -> BlockerMove | None:
    """The block he takes a side of: the man who comes at him, else the last man in the line."""
    if fit.read in (Read.BOX, Read.SPILL, Read.INSIDE_LEAD, Read.OUTSIDE_LEAD):
        return fit.threats[0] if fit.threats and fit.threat in (Threat.KICK, Threat.LEAD) else None
    return _inner(snap.answer.lanes[fit.lanes[0]])


def _inner(lane: Lane) -> BlockerMove | None:
    return lane.left if lane.side is Side.RIGHT else lane.right


def both_sides(snap: Snap, fit: Fit) -> tuple[int, ...]:
    """The lanes on either side of the block, from left to right; none where he takes neither."""
    block, lanes = _block(snap, fit), snap.answer.lanes
    beside = tuple(i for i, lane in enumerate(lanes) if block is not None and block in (lane.left, lane.right))
    return beside if len(beside) == SIDES and fit.lanes[0] in beside else ()


def parts(snap: Snap, position: str) -> tuple[RepPart, ...]:
    """The two sides of the block."""
    fit, w = snap.answer.fit(position), snap.wording
    block = _block(snap, fit)
    assert block is not None  # asks holds
    part = own_lane_part(snap, fit, w.say("Which side is yours?"), named=False, only=both_sides(snap, fit))
    man, is_right = w.blocker(block.player), block.x_to > 0
    words = [to_say("Outside the {man}"), to_say("Inside the {man}")]
    labels = [w.say(template, man=man) for template in (reversed(words) if is_right else words)]
    choices = tuple(
        replace(choice, label=label, phrase=label[:1].lower() + label[1:])
        for choice, label in zip(part.choices, labels, strict=True)
    )
    return (replace(part, choices=choices),)


def build(snap: Snap, position: str) -> Question:
    """The block in words and in the picture."""
    fit, w = snap.answer.fit(position), snap.wording
    (part,), block = parts(snap, position), _block(snap, fit)
    assert block is not None  # asks holds
    man = pictures.cast_of(snap).blocker_id(block.player)
    taps = tuple(
        Tap(choice.id, choice.label, OnHalf(man, half)) for choice, half in zip(part.choices, ScreenHalf, strict=True)
    )
    return Question(
        stem=f"{snap.heading}. {snap.play_words} {_story(snap, fit)} {part.prompt}",
        parts=(part,),
        because=lesson(snap.answer, fit, w, room((part,), snap.adjusted_head, snap.wording.length)),
        scene=pictures.question(snap, position, taps),
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


KIND = RepKind("edge", "Your side of the block", Ground.RUN, asks, build, parts)
