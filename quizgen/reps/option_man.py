"""The rep `option-man`: dive, quarterback or pitch, which is yours?"""

from __future__ import annotations

from dataclasses import replace

from quizgen.drawing.scene import Mark, MarkKind, Note, Scene, Tone
from quizgen.football.formation import Role
from quizgen.football.scheme import Phase
from quizgen.reps import pictures
from quizgen.reps.choices import word_part
from quizgen.reps.kind import Question, RepKind
from quizgen.reps.men import you_or
from quizgen.reps.rep import RepPart, room
from quizgen.reps.snap import Ground, Snap

NOTE_MAX = 24
"""The longest words beside a man, in characters: about half of the picture's width."""


def asks(snap: Snap, position: str) -> bool:
    """Whoever has one of several phases."""
    return find_phase(snap, position) is not None and len(_choices(snap)) > 1


def _choices(snap: Snap) -> list[Phase]:
    """The phases to choose from: those that this snap has, and no others."""
    here = {owner.phase for owner in snap.answer.phases}
    return [phase for phase in Phase if phase in here]


def find_phase(snap: Snap, position: str) -> Phase | None:
    """The phase that a position has, or None."""
    return next((owner.phase for owner in snap.answer.phases if owner.position == position), None)


def parts(snap: Snap, position: str) -> tuple[RepPart, ...]:
    """The phases of this play are the choices."""
    w, answer = snap.wording, snap.answer
    mine = find_phase(snap, position)
    assert mine is not None  # asks holds
    owners = {owner.phase: owner.position for owner in answer.phases}
    phases = _choices(snap)
    words = [w.term(phase.value) for phase in phases]
    part = word_part(
        w.say("Which one is yours: {words}?", words=w.any_of(words)),
        [
            (
                f"phase:{phase.value}",
                _the(snap, phase),
                w.say("{man} has the {word}.", man=owners[phase], word=w.term(phase.value)),
            )
            for phase in phases
        ],
        [phases.index(mine)],
        free=[_left_free(snap, mine) if phase is not mine else "" for phase in phases],
    )
    return (part,)


def build(snap: Snap, position: str) -> Question:
    """The play, with its option in words."""
    answer = snap.answer
    mine = find_phase(snap, position)
    assert mine is not None  # asks holds
    owners = {owner.phase: owner.position for owner in answer.phases}
    (part,) = parts(snap, position)
    fit = answer.fit(position)
    after = pictures.moved(snap, position, fit.lanes if fit.owns else (), marks=_read_mark(snap))
    return Question(
        stem=f"{snap.heading}. {snap.play_words} {part.prompt}",
        parts=(part,),
        because=_because(snap, position, mine, owners, room((part,), snap.adjusted_head, snap.wording.length)),
        scene=pictures.question(snap, position, ()),
        moved=_told(snap, position, mine, after),
    )


def _the(snap: Snap, phase: Phase) -> str:
    return snap.wording.say("the {word}", word=snap.wording.term(phase.value))


def _left_free(snap: Snap, mine: Phase) -> str:
    """Whom nobody would have if this phase were left: the quarterback. Who gets the dive or the pitch, no play says."""
    passer = snap.answer.situation.formation.find(Role.QUARTERBACK)
    return pictures.cast_of(snap).blocker_id(passer) if mine is Phase.QUARTERBACK and passer is not None else ""


def _told(snap: Snap, own: str, mine: Phase, after: Scene) -> Scene:
    """The moved picture with his phase in words beside his own man, where a picture has room for the words."""
    if any(len(_the(snap, phase)) > NOTE_MAX for phase in _choices(snap)):
        return after
    return replace(after, notes=(Note(_the(snap, mine), pictures.cast_of(snap).defender_id(own), Tone.RIGHT),))


def _read_mark(snap: Snap) -> tuple[Mark, ...]:
    """A sign on the man whom the quarterback reads."""
    option = snap.answer.option
    assert option is not None  # the play has phases
    if not option.read:
        return ()
    return (Mark(MarkKind.READ, pictures.cast_of(snap).defender_id(option.read)),)


def _because(snap: Snap, position: str, mine: Phase, owners: dict[Phase, str], most: int) -> str:
    w, fit = snap.wording, snap.answer.fit(position)
    word, told = w.term(mine.value), {mine}
    read = next((other for other in snap.answer.fits if other.is_read and other.phase is not None), None)
    if fit.is_read:
        first = w.say("They leave you alone to read you, and our rule gives you the {word}.", word=word)
    elif read is not None and read.phase is not None and mine is not Phase.PITCH:
        told.add(read.phase)
        first = w.say(
            "{man} takes the {his}, so the {word} is yours.",
            man=read.man.position,
            his=w.term(read.phase.value),
            word=word,
        )
    elif mine is Phase.PITCH:
        first = w.say("You are the outside man, so the {word} is yours.", word=word)
    else:
        first = w.say("By our rule the {word} is yours.", word=word)
    others = [
        w.phrase("{man} has the {word}", man=you_or(w, position, [man]), word=w.term(phase.value))
        for phase, man in owners.items()
        if phase not in told
    ]
    if not others:
        return first
    rest = w.say("{others}.", others=w.all_of(others))
    longer = f"{first} {rest}"
    return longer if w.length(longer) <= most else first


KIND = RepKind("option-man", "Your man on the option", Ground.RUN, asks, build, parts)
