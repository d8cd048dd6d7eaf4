"""The rep `matchup`: who has you in this protection, and who comes free?"""

from __future__ import annotations

from quizgen.drawing.scene import OnMan, Tap
from quizgen.engine.protection import Matchup
from quizgen.football.formation import OffensivePlayer
from quizgen.reps import pass_pictures
from quizgen.reps.choices import NOBODY, OTHER, blocker_key, ids, man_key
from quizgen.reps.kind import Question, RepKind
from quizgen.reps.men import you_or
from quizgen.reps.rep import Choice, RepPart
from quizgen.reps.snap import Ground, PassSnap
from quizgen.reps.wording import Wording, to_say


def asks(snap: PassSnap, position: str) -> bool:
    """Every rusher."""
    return any(m.man.position == position for m in snap.answer.matchups)


def parts(snap: PassSnap, position: str) -> tuple[RepPart, ...]:
    """Two decisions: the protector who has him, or nobody; the rusher who comes free, or nobody."""
    who = _who(snap, snap.answer.matchup(position))
    return who, _free(snap, position, len(who.choices))


def build(snap: PassSnap, position: str) -> Question:
    """The line-up, and the way the center turns."""
    w, answer = snap.wording, snap.answer
    mine = answer.matchup(position)
    who, free = parts(snap, position)
    cast = pass_pictures.cast_of(snap)
    taps = [
        Tap(choice.id, choice.label, OnMan(cast.blocker_id(player)))
        for choice, player in zip(who.choices, answer.protectors, strict=False)
    ]
    taps += [
        Tap(choice.id, choice.label, OnMan(cast.defender_id(m.man.position)), part=2)
        for choice, m in zip(free.choices, answer.matchups, strict=False)
    ]
    prompt = w.say("Who has you, and who comes free?")
    return Question(
        stem=f"{snap.heading}. {pass_pictures.pass_words(snap)} {prompt}",
        parts=(who, free),
        because=f"{_mine(w, mine)} {_others(w, snap, position)}",
        scene=pass_pictures.question(snap, position, tuple(taps)),
        moved=pass_pictures.moved(snap, position),
    )


def _who(snap: PassSnap, mine: Matchup) -> RepPart:
    w, protectors = snap.wording, snap.answer.protectors
    names = ids(len(protectors) + 1)
    right = {player.key for player in mine.blockers}
    choices = []
    for name, player in zip(names, protectors, strict=False):
        label = w.say("the {man}", man=w.blocker(player))
        if player.key in right:
            choices.append(Choice(name, blocker_key(player), label))
        else:
            choices.append(Choice(name, blocker_key(player), label, _has(snap, player), OTHER))
    nobody = w.say("No one")
    if mine.is_free:
        choices.append(Choice(names[-1], NOBODY, nobody))
    else:
        choices.append(Choice(names[-1], NOBODY, nobody, _mine(w, mine), OTHER))
    rights = frozenset(n for n, p in zip(names, protectors, strict=False) if p.key in right)
    return RepPart(w.say("Who has you?"), tuple(choices), rights or frozenset({names[-1]}))


def _has(snap: PassSnap, player: OffensivePlayer) -> str:
    """Whom a protector blocks, in words."""
    w = snap.wording
    men = [m.man.position for m in snap.answer.matchups if player.key in {p.key for p in m.blockers}]
    if men:
        return w.say("The {man} blocks {rusher}.", man=w.blocker(player), rusher=w.all_of(men))
    return w.say("The {man} has no one to block.", man=w.blocker(player))


def _free(snap: PassSnap, position: str, start: int) -> RepPart:
    w, answer = snap.wording, snap.answer
    rushers = [m.man.position for m in answer.matchups]
    names = ids(len(rushers) + 1, start)
    choices = []
    for name, rusher in zip(names, rushers, strict=False):
        label = w.say("You ({man})", man=rusher) if rusher == position else rusher
        if rusher in answer.free:
            choices.append(Choice(name, man_key(snap, rusher), label))
        else:
            blockers = w.all_of(w.phrase("the {man}", man=w.blocker(p)) for p in answer.matchup(rusher).blockers)
            many = len(answer.matchup(rusher).blockers) > 1
            if rusher == position:
                template = to_say("{blockers} block you.") if many else to_say("{blockers} blocks you.")
            else:
                template = to_say("{blockers} block {rusher}.") if many else to_say("{blockers} blocks {rusher}.")
            left = w.say(template, blockers=blockers, rusher=rusher)
            choices.append(Choice(name, man_key(snap, rusher), label, left, OTHER))
    if answer.free:
        left = w.say("They have too few to block {free}.", free=you_or(w, position, answer.free))
        choices.append(Choice(names[-1], NOBODY, w.say("No one"), left, OTHER))
    else:
        choices.append(Choice(names[-1], NOBODY, w.say("No one")))
    rights = frozenset(n for n, r in zip(names, rushers, strict=False) if r in answer.free)
    return RepPart(w.say("Who comes free?"), tuple(choices), rights or frozenset({names[-1]}))


def _mine(w: Wording, mine: Matchup) -> str:
    if mine.is_free:
        return w.say("No one has you.")
    blockers = w.all_of(w.phrase("the {man}", man=w.blocker(player)) for player in mine.blockers)
    return w.say("{who} has you.", who=blockers) if mine.is_alone else w.say("{who} have you.", who=blockers)


def _others(w: Wording, snap: PassSnap, position: str) -> str:
    free = snap.answer.free
    if not free:
        return w.say("They have a man for each rusher.")
    if free == (position,):
        return w.say("You come free.")
    template = to_say("{who} comes free.") if len(free) == 1 else to_say("{who} come free.")
    return w.say(template, who=you_or(w, position, free))


KIND = RepKind("matchup", "Who has you", Ground.PASS, asks, build, parts)
