"""Choices a player has: lanes, men, words. Ids are letters from left to right and tell nothing.

Must not know: which kind of rep asks, or pictures.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import replace
from string import ascii_lowercase, ascii_uppercase

from quizgen.engine.fits import Fit
from quizgen.engine.lanes import Lane
from quizgen.engine.verdict import RunAnswer
from quizgen.football.formation import OffensivePlayer
from quizgen.football.sides import Gap
from quizgen.reps.rep import Choice, RepPart
from quizgen.reps.snap import PassSnap, Snap
from quizgen.reps.why import leaves
from quizgen.reps.wording import Wording, first_up

MIRROR = "mirror side"
ONE_IN = "one gap in"
ONE_OUT = "one gap out"
OTHER_CALL = "his gap on another call"
OTHER = "other"
RELATIONS = (MIRROR, OTHER_CALL, ONE_IN, ONE_OUT, OTHER)
NOBODY = "man:nobody"
"""The key of the choice "no one"."""


def ids(count: int, start: int = 0) -> tuple[str, ...]:
    """``count`` choice ids, the first of them ``start`` letters on: no two parts of a rep share one."""
    return tuple(ascii_lowercase[start : start + count])


def lane_key(lane: Lane) -> str:
    """The key of a lane as a choice: its plain name, whatever the team calls it and however the choice shows it."""
    return f"lane:{lane.name}"


def man_key(snap: Snap | PassSnap, position: str) -> str:
    """The key of a defender as a choice: that of his position, whatever it is called today."""
    return f"man:{next(one.key for one in snap.answer.situation.positions if one.name == position)}"


def blocker_key(player: OffensivePlayer) -> str:
    """The key of an offensive man as a choice: side, role, and his number where several are alike."""
    number = player.key.lstrip(ascii_uppercase)
    return f"blocker:{player.word} {number}".rstrip()


def band_id(index: int) -> str:
    """The id of a lane's band in a picture."""
    return f"lane-{index}"


def relation(lanes: Sequence[Lane], right: Iterable[int], chosen: int, elsewhere: Collection[Gap] = frozenset()) -> str:
    """How a chosen lane lies to the right ones: the mirror side comes first, then a gap that he has on another call
    (``elsewhere``), then what the nearest of the right ones says."""
    rights = tuple(right)
    if any(set(lanes[chosen].gaps) == {gap.mirrored for gap in lanes[i].gaps} for i in rights if lanes[i].side):
        return MIRROR
    if not set(elsewhere).isdisjoint(lanes[chosen].gaps):
        return OTHER_CALL
    if not rights:
        return OTHER
    near = min(rights, key=lambda i: abs(i - chosen))
    side = lanes[near].side
    if abs(near - chosen) != 1 or side is None:
        return OTHER
    return ONE_OUT if (chosen - near) * side.sign > 0 else ONE_IN


def lane_part(
    answer: RunAnswer,
    w: Wording,
    prompt: str,
    right: frozenset[int],
    leave: Callable[[int], str],
    *,
    named: bool,
    start: int = 0,
    only: Sequence[int] | None = None,
    elsewhere: Collection[Gap] = frozenset(),
    none: Sequence[Choice] = (),
) -> RepPart:
    """A part answered by a lane: every lane is a choice, from left to right (``only`` some, where given), then the ways
    of having ``none``; one without a relation to the right ones is right.

    ``named`` says that choices carry the gaps' names; otherwise the blockers beside them, so that a name can't give a
    moved lane away. ``leave`` gives the sentence of what a wrong lane leaves; ``elsewhere`` are his gaps on other
    calls.
    """
    shown = tuple(range(len(answer.lanes))) if only is None else tuple(only)
    names = dict(zip(shown, ids(len(shown), start), strict=True))
    choices = []
    for index in shown:
        lane = answer.lanes[index]
        phrase = w.phrase("{lane}", lane=w.lane(lane)) if named else w.between(lane)
        choice = Choice(names[index], lane_key(lane), first_up(phrase), band=band_id(index), phrase=phrase)
        if index not in right:
            choice = replace(choice, leaves=leave(index), relation=relation(answer.lanes, right, index, elsewhere))
        choices.append(choice)
    more = [replace(one, id=name) for name, one in zip(ids(len(none), start + len(shown)), none, strict=True)]
    rights = {names[index] for index in shown if index in right} | {one.id for one in more if not one.relation}
    return RepPart(prompt, (*choices, *more), frozenset(rights))


def own_lane_part(snap: Snap, fit: Fit, prompt: str, *, named: bool, only: Sequence[int] | None = None) -> RepPart:
    """A part that asks for a man's own lane; each of his lanes is right."""
    answer, w = snap.answer, snap.wording
    elsewhere = snap.elsewhere.get(fit.man.position, frozenset()) - set(fit.man.gaps)
    return lane_part(
        answer,
        w,
        prompt,
        frozenset(fit.lanes),
        lambda index: leaves(answer, fit, index, w),
        named=named,
        only=only,
        elsewhere=elsewhere,
    )


def word_part(
    prompt: str, options: Sequence[tuple[str, str, str]], right: Iterable[int], start: int = 0, free: Sequence[str] = ()
) -> RepPart:
    """A part answered by words: (key, label, what it leaves), in the order given; ``right`` are indices. ``free`` is
    whom each one would leave to nobody (empty: no one man)."""
    names = ids(len(options), start)
    rights = frozenset(right)
    choices = tuple(
        Choice(name, key, label)
        if index in rights
        else Choice(name, key, label, left, OTHER, free=free[index] if free else "")
        for index, (name, (key, label, left)) in enumerate(zip(names, options, strict=True))
    )
    return RepPart(prompt, choices, frozenset(names[index] for index in rights))
