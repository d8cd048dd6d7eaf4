"""What a kind of rep is: when it is asked, and how it is made from a snap. Knows no kind in particular."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Generic, TypeVar

from quizgen.drawing.scene import Scene
from quizgen.reps.rep import RepPart
from quizgen.reps.snap import Ground, PassSnap, Snap
from quizgen.reps.wording import SILENT

S = TypeVar("S", Snap, PassSnap)


@dataclass(frozen=True, slots=True)
class Question:
    """One rep before it has an id: stem, parts, reason, the picture before the answer and the one after it."""

    stem: str
    parts: tuple[RepPart, ...]
    because: str
    scene: Scene
    moved: Scene


@dataclass(frozen=True, slots=True)
class RepKind(Generic[S]):
    """One kind of rep: its id, what a coach calls it, the ground it is asked on.

    ``asks`` says cheaply whether there is something to learn for a position; ``build`` makes the question and may only
    be called where ``asks`` holds, as ``parts``, its decisions without stem and pictures. A kind that ``is_once`` shows
    the same before any formation, so each call has it once; one that ``tells_change`` says itself what their formation
    makes of the call.
    """

    id: str
    title: str
    ground: Ground
    asks: Callable[[S, str], bool]
    build: Callable[[S, str], Question]
    parts: Callable[[S, str], tuple[RepPart, ...]] | None = None
    is_once: bool = False
    tells_change: bool = False

    def right_keys(self, snap: S, position: str) -> tuple[frozenset[str], ...]:
        """The keys that are right in each part, worked out without words and pictures where the kind can."""
        parts = self.decisions(snap, position)
        return tuple(frozenset(choice.key for choice in part.choices if choice.id in part.right) for part in parts)

    def decisions(self, snap: S, position: str) -> tuple[RepPart, ...]:
        """The parts without their words, and without pictures where the kind can."""
        silent = replace(snap, wording=SILENT)
        return self.parts(silent, position) if self.parts else self.build(silent, position).parts
