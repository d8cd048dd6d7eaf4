"""Every error the football rooms raise, in one tree.

Two kinds stand apart: content that its author can fix (file, key, what was expected; all of it at once) and a situation
the engine has no rule for (it raises; it never guesses).

GapsoundError
├── FootballValueError   a noun was built from values that cannot be
├── ContentProblems      one or more problems in a team's files
├── UnknownName          a call, formation, play or position that the team does not have
├── WrongSide            a call to a side that its own rule does not let it go to
└── NoRule               the engine has no rule for this situation
    └── CannotRun        the formation lacks a man whom the play needs
"""

from __future__ import annotations

from dataclasses import dataclass


class GapsoundError(Exception):
    """Base of every error that quizgen raises on purpose."""


class FootballValueError(GapsoundError):
    """A noun was given values it cannot have.

    ``key`` is the field at fault, ``expected`` says in plain words what would have been right.
    """

    def __init__(self, key: str, found: object, expected: str) -> None:
        self.key = key
        self.found = found
        self.expected = expected
        super().__init__(f"{key}: expected {expected}, found {found!r}")


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing an author can fix: where it stands, what stands there, what was expected."""

    file: str
    key: str
    expected: str
    found: str = ""

    def __str__(self) -> str:
        found = f", found {self.found}" if self.found else ""
        return f"{self.file}: {self.key}: expected {self.expected}{found}"


class ContentProblems(GapsoundError):
    """Everything that is wrong with a team's files, at once."""

    def __init__(self, problems: tuple[Problem, ...]) -> None:
        self.problems = problems
        super().__init__("\n".join(str(problem) for problem in problems))


class UnknownName(GapsoundError):
    """The team has nothing of that name; ``known`` lists what it has."""

    def __init__(self, kind: str, name: str, known: tuple[str, ...]) -> None:
        self.kind = kind
        self.name = name
        self.known = known
        super().__init__(f"{kind}: expected one of {', '.join(known) or 'none defined'}, found {name!r}")


class WrongSide(GapsoundError):
    """A call was sent to a side that its own rule does not let it go to; ``right`` is the side it goes to."""

    def __init__(self, call: str, goes_to: str, formation: str, right: str, found: str) -> None:
        self.call = call
        self.right = right
        rule = goes_to if goes_to.startswith("away") else f"to the {goes_to}"
        super().__init__(
            f"to: expected {right!r}, since {call!r} goes {rule} (formation {formation!r}), found {found!r}"
        )


class NoRule(GapsoundError):
    """The engine has no rule for this situation, and says which one is missing."""

    def __init__(self, call: str, front: str, scheme: str, missing: str) -> None:
        self.call = call
        self.front = front
        self.scheme = scheme
        self.missing = missing
        super().__init__(f"no rule for call {call!r} from front {front!r} against {scheme!r}: {missing}")


class CannotRun(NoRule):
    """The offense cannot run this play from this formation: a man it needs is not there."""
