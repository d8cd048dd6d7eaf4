"""Reps and plays as the few plain values needed to choose them, without pictures, words or football.

Knows nothing of where they come from.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from server.mastery.picker import RepOption


@dataclass(frozen=True, slots=True)
class PlaySummary:
    """A run or protection of the opponents, with its place in the teaching order; ``family`` is empty for a pass."""

    key: str
    name: str
    stage: int
    family: str


@dataclass(frozen=True, slots=True)
class FormationSummary:
    """A formation as it may stand at the snap: ``mirror`` is the key of its twin (empty: none), ``strong`` our side of
    its strength (empty: neither)."""

    key: str
    name: str
    mirror: str = ""
    strong: str = ""


@dataclass(frozen=True, slots=True)
class RepSummary:
    """What choosing a rep needs, without its pictures and words; nouns by their keys. ``worth`` is how far the call
    decides its answer, 1 on average."""

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
    worth: float = 1.0


@dataclass(frozen=True, slots=True)
class KeptSituation:
    """The situation that a kept rep asked about, by keys, and the hash of what was right in it."""

    rep_id: str
    kind: str
    position: str
    call: str
    to: str
    formation: str
    play: str | None
    play_to: str | None
    job: str


def word(value: Any) -> str:
    """A side or other name from quizgen as text; empty for None."""
    return "" if value is None else str(getattr(value, "value", value))


def facts(rep: Any) -> RepSummary:
    """Summarize a rep."""
    keys = rep.keys
    play = f"{keys.play or ''} {word(rep.play_to)}".strip()
    to = word(rep.to)
    return RepSummary(
        id=rep.id,
        kind=rep.kind,
        stage=int(rep.stage),
        position=keys.position,
        call=keys.call,
        to=to,
        formation=keys.formation,
        play=play,
        picture=rep.picture,
        guise=rep.guise,
        scheme=keys.play or "",
    )


def option(rep: RepSummary, weight: float = 1.0) -> RepOption:
    """A rep for the picker; ``weight`` is among the reps of the same question."""
    return RepOption(
        rep=rep.id,
        picture=rep.picture,
        call=rep.call,
        stage=rep.stage,
        side=rep.to,
        kind=rep.kind,
        guise=f"{rep.formation}/{rep.play}",
        weight=weight,
        worth=rep.worth,
    )
