"""Choices and taps on defenders, for the kinds that ask who. Must not know: lanes as choices, which kind asks."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence

from quizgen.drawing.scene import OnMan, Tap
from quizgen.reps.cast import Cast
from quizgen.reps.choices import OTHER, ids, man_key
from quizgen.reps.rep import Choice, RepPart
from quizgen.reps.snap import Snap
from quizgen.reps.wording import Wording

NAME_MAX = 8
"""The longest name of a position that stands under his letter, in characters."""


def man_part(
    snap: Snap,
    own: str,
    prompt: str,
    positions: Sequence[str],
    right: Collection[str],
    leave: Callable[[str], str],
    start: int = 0,
) -> RepPart:
    """A part answered by one of ``positions``, from left to right; the player's own is called "you"."""
    w, names = snap.wording, ids(len(positions), start)
    choices = []
    for name, position in zip(names, positions, strict=True):
        label = w.say("You ({man})", man=position) if position == own else position
        if position in right:
            choices.append(Choice(name, man_key(snap, position), label))
        else:
            choices.append(Choice(name, man_key(snap, position), label, leave(position), OTHER))
    return RepPart(prompt, tuple(choices), frozenset(n for n, p in zip(names, positions, strict=True) if p in right))


def man_taps(cast: Cast, part: RepPart, positions: Sequence[str], number: int = 1) -> tuple[Tap, ...]:
    """One tap for each of ``positions``, under the ids of a part made by ``man_part``."""
    return tuple(
        Tap(
            choice.id,
            choice.label,
            OnMan(cast.defender_id(position)),
            part=number,
            words=(position,) if len(position) <= NAME_MAX else (),
        )
        for choice, position in zip(part.choices, positions, strict=True)
    )


def you_or(w: Wording, own: str, positions: Sequence[str]) -> str:
    """Positions in words, the player's own as "you"."""
    return w.all_of(w.phrase("you") if position == own else position for position in positions)
