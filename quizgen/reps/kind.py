"""What a kind of rep is: when it is asked, and how it is made from a snap. Knows no kind in particular."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Generic, TypeVar

from quizgen.drawing.scene import Scene
from quizgen.reps.rep import RepPart
from quizgen.reps.snap import Ground, PassSnap, Snap

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
    be called where ``asks`` holds.
    """

    id: str
    title: str
    ground: Ground
    asks: Callable[[S, str], bool]
    build: Callable[[S, str], Question]
