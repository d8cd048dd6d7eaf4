"""What a rep is: a question with its picture, its choices, its right answers and the reason. Knows no football rule."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import IntEnum

from quizgen.drawing.scene import Scene
from quizgen.football.errors import FootballValueError, GapsoundError
from quizgen.football.sides import Side
from quizgen.reps.miss import missed


class Stage(IntEnum):
    """The teaching order; each stage is opened by the one before it."""

    TRACK = 1
    RUNS = 2
    PULLS = 3
    OPTION = 4
    PASS = 5

    @property
    def title(self) -> str:
        """The stage in a few words."""
        return {
            1: "Entry gaps and order",
            2: "Fits without pullers",
            3: "Pulls",
            4: "Option and the perimeter",
            5: "Pass",
        }[self.value]


@dataclass(frozen=True, slots=True)
class Choice:
    """Something a player may choose: an opaque id ("a", "b" … as they stand from left to right), its key, its words,
    the sentence of what it would leave (empty when right), its relation to the right answer ("mirror side",
    "one gap in", "one gap out", "other"), the band of the moved picture that it stands for (empty: none), the man of
    the picture whom nobody would have then (empty: no one man), and its words within a sentence, as after "or" (empty:
    the same as its words by themselves).

    ``key`` is the same for the same thing in every rep, language and team's vocabulary: what kind of thing, then
    which ("lane:right C inside the kick", "man:mike", "blocker:left guard", "phase:dive"). Answers are counted and
    said in other languages by it."""

    id: str
    key: str
    label: str
    leaves: str = ""
    relation: str = ""
    band: str = ""
    free: str = ""
    phrase: str = ""


@dataclass(frozen=True, slots=True)
class RepPart:
    """One decision of a rep: its prompt, its choices and the ids that are right."""

    prompt: str
    choices: tuple[Choice, ...]
    right: frozenset[str]

    def __post_init__(self) -> None:
        ids = [choice.id for choice in self.choices]
        if len(ids) < 2 or len(set(ids)) != len(ids):
            raise FootballValueError("choices", ids, "at least two choices, each id once")
        keys = [choice.key for choice in self.choices]
        if len(set(keys)) != len(keys):
            raise FootballValueError("choices", keys, "each key once")
        if not self.right or not self.right < set(ids):
            raise FootballValueError("right", sorted(self.right), "some of the choices, not all")

    def choice(self, choice_id: str) -> Choice:
        """The choice of that id; raises BadAnswer."""
        for choice in self.choices:
            if choice.id == choice_id:
                return choice
        known = ", ".join(choice.id for choice in self.choices)
        raise BadAnswer(f"answer: expected one of {known}, found {choice_id!r}")


class BadAnswer(GapsoundError):
    """An answer that is none of a rep's choices."""


LESSON_MAX = 140
"""The most letters, in English, of what is read after an answer: what a wrong choice leaves, then the reason."""


def room(parts: Sequence[RepPart], head: str, length: Callable[[str], int]) -> int:
    """How many letters are left for the reason, after the longest sentence of what a choice leaves and ``head``."""
    leaves = [choice.leaves for part in parts for choice in part.choices if choice.leaves]
    return LESSON_MAX - max((length(text) + 1 for text in leaves), default=0) - length(head)


@dataclass(frozen=True, slots=True)
class RepKeys:
    """A rep's nouns by their keys, and ``job``: a hash of what is asked of the man, and what is right, in them.

    A renaming changes none of these; an edit that gives the man another answer changes ``job``.
    """

    position: str
    call: str
    formation: str
    play: str | None
    job: str


@dataclass(frozen=True, slots=True)
class Rep:
    """One question for one position. ``id`` is a hash of everything that decides it.

    ``to`` is the side of the call: the side under which mastery is kept; ``picture`` is equal for reps that show the
    same picture; ``guise`` is equal for reps that ask the same thing from another side or formation. An answer is one
    choice id for each part. Nouns are named as the team calls them; ``keys`` holds what outlives a renaming.
    """

    id: str
    kind: str
    stage: Stage
    position: str
    call: str
    to: Side
    formation: str
    play: str | None
    play_to: Side | None
    stem: str
    parts: tuple[RepPart, ...]
    because: str
    picture: str
    guise: str
    scene: Scene
    moved: Scene
    keys: RepKeys

    def is_right(self, answer: Sequence[str]) -> bool:
        """Whether every part is answered right.

        Raises:
            BadAnswer: too few or too many parts, or a choice that the rep does not have.
        """
        if len(answer) != len(self.parts):
            raise BadAnswer(f"answer: expected {len(self.parts)} choices, found {len(answer)}")
        chosen = [part.choice(choice_id).id for part, choice_id in zip(self.parts, answer, strict=True)]
        return all(choice_id in part.right for part, choice_id in zip(self.parts, chosen, strict=True))

    def after(self, answer: Sequence[str]) -> Scene:
        """The moved picture; on a miss with where his answer leaves him.

        Raises:
            BadAnswer: as ``is_right``.
        """
        if self.is_right(answer):
            return self.moved
        chosen = [part.choice(choice_id) for part, choice_id in zip(self.parts, answer, strict=True)]
        wrong = [one for one, part in zip(chosen, self.parts, strict=True) if one.id not in part.right]
        targets = {tap.id: tap.target for tap in self.scene.taps}
        rights = [targets[choice_id] for part in self.parts for choice_id in part.right if choice_id in targets]
        taken = [targets[choice.id] for choice in wrong if choice.id in targets and not choice.band]
        bands = tuple(choice.band for choice in wrong if choice.band)
        men = tuple(one for one in dict.fromkeys(taken) if one not in rights)
        words = tuple(choice.label for choice in wrong if choice.id not in targets)
        return missed(self.moved, bands, men, words, tuple(choice.free for choice in wrong if choice.free))

    def explain(self, answer: Sequence[str]) -> str:
        """What a wrong answer would leave, then why the right one is right; only the reason when it was right.

        Raises:
            BadAnswer: as ``is_right``.
        """
        if self.is_right(answer):
            return self.because
        left = [
            part.choice(choice_id).leaves
            for part, choice_id in zip(self.parts, answer, strict=True)
            if choice_id not in part.right and part.choice(choice_id).leaves
        ]
        return " ".join([*left[:1], self.because])
