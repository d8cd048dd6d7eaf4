"""The rep `support`: where do you fit if you do not rush? To a man who is pass first also: who has force?"""

from __future__ import annotations

from dataclasses import replace
from hashlib import sha256

from quizgen.engine.fits import Fit
from quizgen.engine.reads import Read
from quizgen.football.pressure import RunJob, RushPart
from quizgen.reps import pictures
from quizgen.reps.choices import OTHER, lane_part
from quizgen.reps.kind import Question, RepKind
from quizgen.reps.men import man_part, man_taps
from quizgen.reps.rep import Choice, RepPart, room
from quizgen.reps.snap import Ground, Snap, is_his_alone
from quizgen.reps.why import keepers, leaves, lesson
from quizgen.reps.wording import to_say

MEN_ASKED = 5
LAST, PASS_FIRST = "when:last", "when:ball over the line"


def asks(snap: Snap, position: str) -> bool:
    """A dropper without a gap of his own; who has a phase of an option is asked for that alone. A man who is pass first
    is asked about force where one man has it."""
    fit = snap.find_fit(position)
    if fit is None or fit.man.gaps or fit.man.drop is None or fit.phase is not None or not is_his_alone(snap, fit):
        return False
    return not _is_about_force(snap, fit) or find_force(snap, fit) is not None


def _is_about_force(snap: Snap, fit: Fit) -> bool:
    """Whether a man who is pass first is asked who has force: in every other snap, since his own answer never
    changes; the same in a mirrored snap."""
    if fit.read is not Read.COVER:
        return False
    s = snap.answer.situation
    seed = f"{s.pressure.key}|{s.play.key}|{s.play_to is s.called[1]}|{len(s.formation.surface)}"
    return find_force(snap, fit) is not None and sha256(seed.encode()).digest()[0] % 4 > 0


def find_force(snap: Snap, fit: Fit) -> Fit | None:
    """The one man who turns the run in on his side: force, else the one who rushes the edge there; None for none or
    two, and for a man in the middle."""
    side = fit.man.side
    if side is None:
        return None
    fits = [one for one in snap.answer.fits if one is not fit]
    force = [f for f in fits if f.man.drop is not None and f.man.drop.run is RunJob.FORCE and f.man.side is side]
    edge = [
        f for f in fits if f.man.rush is not None and f.man.rush.part is RushPart.EDGE and f.man.gaps[0].side is side
    ]
    found = force or edge
    return found[0] if len(found) == 1 else None


def parts(snap: Snap, position: str) -> tuple[RepPart, ...]:
    """A man, or a lane, or none for a man who comes last or is pass first."""
    fit = snap.answer.fit(position)
    return (_who(snap, fit),) if _is_about_force(snap, fit) else (_where(snap, fit),)


def build(snap: Snap, position: str) -> Question:
    """The line where it gets to, the defense where it lined up."""
    fit, w = snap.answer.fit(position), snap.wording
    (part,) = parts(snap, position)
    most = room((part,), snap.adjusted_head, snap.wording.length)
    if _is_about_force(snap, fit):
        taps = man_taps(pictures.cast_of(snap), part, _near(snap, fit))
        because = _force_words(snap, fit)
    else:
        taps = pictures.lane_taps(snap, part)
        because = lesson(snap.answer, fit, w, most)
    return Question(
        stem=f"{snap.heading}. {snap.play_words} {part.prompt}",
        parts=(part,),
        because=because,
        scene=pictures.question(snap, position, taps),
        moved=pictures.moved(snap, position, fit.lanes if fit.owns else ()),
    )


def _where(snap: Snap, fit: Fit) -> RepPart:
    """Every lane, then the two ways of having none: the same choices to everybody, so that they tell nothing."""
    answer, w = snap.answer, snap.wording
    right = frozenset(fit.lanes if fit.owns else ())

    def leave(index: int) -> str:
        if fit.owns:
            return leaves(answer, fit, index, w)
        there = keepers(answer, index)
        name = w.lane(answer.lanes[index])
        if not there:
            return w.say("That is open, but not yours.")
        template = to_say("{owners} has {name}.") if len(there) == 1 else to_say("{owners} have {name}.")
        return w.say(template, owners=w.all_of(there), name=name)

    return lane_part(answer, w, w.say("Where do you fit?"), right, leave, named=False, none=_none(snap, fit))


def _none(snap: Snap, fit: Fit) -> tuple[Choice, Choice]:
    w, is_cover = snap.wording, fit.read is Read.COVER
    needs = w.say("A gap needs you.")
    last = Choice("", LAST, w.say("No gap: fit in last"))
    first = Choice("", PASS_FIRST, w.say("No gap: pass first"))
    if fit.owns or is_cover:
        last = replace(last, leaves=needs if fit.owns else w.say("You are pass first."), relation=OTHER)
    if not is_cover:
        first = replace(first, leaves=needs if fit.owns else w.say("You play the run here."), relation=OTHER)
    return last, first


def _near(snap: Snap, fit: Fit) -> tuple[str, ...]:
    """The men nearest to his sideline, without him, and the man who has force, from left to right."""
    assert fit.man.side is not None  # somebody has force on it
    force = find_force(snap, fit)
    assert force is not None
    others = [one.man for one in snap.answer.fits if one is not fit and one is not force]
    others.sort(key=lambda man: (-fit.man.side.sign * round(man.x, 6), man.depth_yd))  # type: ignore[union-attr]
    kept = {force.man.position, *(man.position for man in others[: MEN_ASKED - 1])}
    return tuple(one.man.position for one in snap.answer.fits if one.man.position in kept)


def _who(snap: Snap, fit: Fit) -> RepPart:
    w, force = snap.wording, find_force(snap, fit)
    assert force is not None  # asks holds
    prompt = w.say("Who has {force} on your side?", force=w.term("force"))

    def leave(chosen: str) -> str:
        other = snap.answer.fit(chosen)
        if other.man.gaps:
            return w.say("{man} has {name}.", man=chosen, name=w.gaps(other.man.gaps))
        return w.say("{man} does not have {force} there.", man=chosen, force=w.term("force"))

    return man_part(snap, fit.man.position, prompt, _near(snap, fit), {force.man.position}, leave)


def _force_words(snap: Snap, fit: Fit) -> str:
    w, force = snap.wording, find_force(snap, fit)
    assert force is not None  # asks holds
    return w.say(
        "{man} has {force} there. You are pass first: come up when the ball is over the line.",
        man=force.man.position,
        force=w.term("force"),
    )


KIND = RepKind("support", "Support", Ground.RUN, asks, build, parts)
