"""A rep and a play in the few plain values by which they are chosen, without pictures, words or football.

It must not know where they come from.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from server.mastery.picker import RepOption


@dataclass(frozen=True, slots=True)
class PlaySummary:
    """A run or protection of the opponents: where it stands in the teaching order; the family is empty for a pass."""

    name: str
    stage: int
    family: str


@dataclass(frozen=True, slots=True)
class RepSummary:
    """What is needed of a rep to choose it, without its pictures and words."""

    id: str
    kind: str
    stage: int
    position: str
    call: str
    to: str
    formation: str
    play: str
    picture: str
    guise: str
    scheme: str = ""


def word(value: Any) -> str:
    """A side or other name from quizgen as plain text; empty for None."""
    return "" if value is None else str(getattr(value, "value", value))


def facts(rep: Any) -> RepSummary:
    """What is needed of a rep to choose it."""
    play = f"{rep.play or ''} {word(rep.play_to)}".strip()
    to = word(rep.to)
    return RepSummary(
        id=rep.id,
        kind=rep.kind,
        stage=int(rep.stage),
        position=rep.position,
        call=rep.call,
        to=to,
        formation=rep.formation,
        play=play,
        picture=rep.picture,
        guise=rep.guise,
        scheme=rep.play or "",
    )


def option(rep: RepSummary, weight: float = 1.0) -> RepOption:
    """A rep as the picker sees it; ``weight`` among the reps of the same question."""
    return RepOption(
        rep=rep.id,
        picture=rep.picture,
        call=rep.call,
        stage=rep.stage,
        side=rep.to,
        kind=rep.kind,
        guise=f"{rep.formation}/{rep.play}",
        weight=weight,
    )
