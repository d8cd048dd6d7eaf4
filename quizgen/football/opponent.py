"""What an opponent runs, and what a staff has decided to live with. Knows no call's answer.

Every left and right is the defense's own, as everywhere.
"""

from __future__ import annotations

from dataclasses import dataclass

from quizgen.football.errors import FootballValueError
from quizgen.football.keys import slug
from quizgen.football.sides import Side


@dataclass(frozen=True, slots=True)
class OpponentRun:
    """How often an opponent runs one play: from one formation and to one side where these are known, else (None, empty)
    from any and to both alike. A play that the team does not have keeps the opponent's word for it."""

    play: str
    count: float
    formation: str = ""
    to: Side | None = None

    def __post_init__(self) -> None:
        if not 0 < self.count <= 100_000:
            raise FootballValueError("count", self.count, "a number above 0 and up to 100000")


@dataclass(frozen=True, slots=True)
class ChartedOpponent:
    """An opponent and everything that was counted of him; at most one of a team's opponents is the next one."""

    name: str
    runs: tuple[OpponentRun, ...] = ()
    is_next: bool = False
    key: str = ""

    def __post_init__(self) -> None:
        object.__setattr__(self, "key", self.key or slug(self.name))


@dataclass(frozen=True, slots=True)
class AcceptedLack:
    """A lack that the staff lives with: of a call, on every snap that fits what is written (empty and None: any).
    ``lack`` is the hash of what was short when it was accepted; once something else is short there, it is no longer
    accepted (empty: whatever is short)."""

    call: str
    why: str
    to: Side | None = None
    formation: str = ""
    play: str = ""
    play_to: Side | None = None
    lack: str = ""

    def covers(self, call: str, to: Side, formation: str, play: str, play_to: Side) -> bool:
        """Whether that snap is one of those that it is written for."""
        return (
            self.call == call
            and self.to in (None, to)
            and self.formation in ("", formation)
            and self.play in ("", play)
            and self.play_to in (None, play_to)
        )
