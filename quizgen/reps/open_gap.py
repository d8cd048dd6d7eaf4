"""The rep `open-gap`: one man was beaten or ran to the spot, which gap did he leave?"""

from __future__ import annotations

from collections.abc import Mapping
from hashlib import sha256
from types import MappingProxyType

from quizgen.engine.fits import Fit, Threat
from quizgen.engine.timing import Arrival
from quizgen.engine.what_if import Loss, LossKind, beaten, to_the_spot
from quizgen.football.pressure import RunJob
from quizgen.reps import pictures
from quizgen.reps.choices import lane_part
from quizgen.reps.kind import Question, RepKind
from quizgen.reps.men import you_or
from quizgen.reps.rep import RepPart, room
from quizgen.reps.snap import Ground, Snap, is_his_alone, is_in_his_gap, owns_a_gap
from quizgen.reps.why import find_spot_lane, keepers
from quizgen.reps.wording import Wording, to_say

# Who can still close it, said to him and of him. A man who comes too late closes nothing: the engine names none.
COVERS: Mapping[Arrival, tuple[str, str]] = MappingProxyType(
    {
        Arrival.ON_TIME: (to_say("You can still get there on time."), to_say("{man} can still get there on time.")),
        Arrival.LATE: (to_say("You can get there, but late."), to_say("{man} can get there, but late.")),
    }
)


def asks(snap: Snap, position: str) -> bool:
    """Anybody who plays the run, with a man beside him who can lose his lane."""
    fit = snap.find_fit(position)
    if fit is None or (fit.man.drop is not None and fit.man.drop.run is RunJob.COVER):
        return False
    return find_loss(snap, position) is not None


def find_loss(snap: Snap, position: str) -> Loss | None:
    """The nearest other gap owner's loss that opens a lane; None where there is none.

    Where he can lose it in both ways, the call, the play and the position decide which is asked, so that a mirrored
    snap asks the same.
    """
    answer = snap.answer
    own = answer.fit(position)
    at = answer.lanes[own.lanes[0]].middle_x if own.lanes else own.man.x
    toward = answer.situation.play_to.sign
    can_lose = [f for f in answer.fits if owns_a_gap(f) and is_in_his_gap(snap, f) and is_his_alone(snap, f)]
    others = [fit for fit in can_lose if fit.man.position != position]
    near = sorted(others, key=lambda fit: (round(abs(_x(snap, fit) - at), 6), -toward * _x(snap, fit)))
    for fit in near:
        losses = [loss for loss in _losses(snap, fit) if loss.opens]
        if losses:
            s = answer.situation
            seed = f"{s.called[0]}|{s.play.name}|{s.play_to is s.called[1]}|{position}"
            return losses[sha256(seed.encode()).digest()[0] % len(losses)]
    return None


def _x(snap: Snap, fit: Fit) -> float:
    return snap.answer.lanes[fit.lanes[0]].middle_x


def _losses(snap: Snap, fit: Fit) -> list[Loss]:
    found = []
    if fit.threat in (Threat.HOOK, Threat.WASH, Threat.KICK) and fit.lost_to is not None:
        found.append(beaten(snap.answer, fit.man.position))
    if find_spot_lane(snap.answer, fit) not in (None, *fit.lanes):
        found.append(to_the_spot(snap.answer, fit.man.position))
    return found


def parts(snap: Snap, position: str) -> tuple[RepPart, ...]:
    """The lane that he left; every lane is a choice."""
    loss = find_loss(snap, position)
    assert loss is not None  # asks holds
    w = snap.wording
    prompt = w.say("Which gap did he leave?")
    right = frozenset(loss.opens)
    return (lane_part(snap.answer, w, prompt, right, lambda i: _leaves(snap, loss, i, position), named=False),)


def build(snap: Snap, position: str) -> Question:
    """How the named man loses his gap in words, without which it is."""
    answer, w = snap.answer, snap.wording
    loss = find_loss(snap, position)
    assert loss is not None  # asks holds
    (part,) = parts(snap, position)
    return Question(
        stem=f"{snap.heading}. {snap.play_words} {_story(loss, answer.fit(loss.position), w)} {part.prompt}",
        parts=(part,),
        because=_because(snap, loss, position, room((part,), snap.adjusted_head, snap.wording.length)),
        scene=pictures.question(snap, position, pictures.lane_taps(snap, part)),
        moved=pictures.moved(snap, position, loss.opens, lost=loss),
    )


def _story(loss: Loss, loser: Fit, w: Wording) -> str:
    man = loser.man.position
    if loss.how is LossKind.SPOT:
        return w.say("{man} runs to the old spot.", man=man)
    templates = {
        Threat.HOOK: to_say("{who} hooks {man}."),
        Threat.WASH: to_say("{who} washes {man} out."),
        Threat.KICK: to_say("{who} kicks {man} out."),
    }
    assert loser.threat is not None  # he was beaten by somebody
    return w.say(templates[loser.threat], man=man, who=w.blockers(loser.threats))


def _leaves(snap: Snap, loss: Loss, index: int, own: str) -> str:
    w, answer = snap.wording, snap.answer
    name = w.lane(answer.lanes[index])
    there = keepers(answer, index, loss.position)
    if index == loss.lane:
        return w.say("{man} ends up there.", man=loss.position)
    if there:
        if there == (own,):
            return w.say("You have {name}.", name=name)
        template = to_say("{owners} has {name}.") if len(there) == 1 else to_say("{owners} have {name}.")
        return w.say(template, owners=you_or(w, own, there), name=name)
    return w.say("That is open, but was not his.")


def _because(snap: Snap, loss: Loss, own: str, most: int) -> str:
    """What is his by the call and open now; who can still close it where there is room."""
    w, answer = snap.wording, snap.answer
    named = w.lanes(answer.lanes[index] for index in loss.opens)
    first = w.say("{man} leaves {opened} open.", man=loss.position, opened=named)
    if len(loss.opens) == 1:
        beside = w.lane_between(answer.lanes[loss.opens[0]])
        longer = w.say("{man} has {opened}: that is open now.", man=loss.position, opened=beside)
        first = longer if w.length(longer) <= most else first
    if not loss.covers:
        return first
    cover = loss.covers[0]
    yours, his = COVERS[cover.arrival]
    longer = f"{first} " + w.say(yours if cover.position == own else his, man=cover.position)
    return longer if w.length(longer) <= most else first


KIND = RepKind("open-gap", "Which gap is open", Ground.RUN, asks, build, parts)
