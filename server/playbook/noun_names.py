"""What a team calls its positions, calls, formations and plays today, by their keys.

Rows and pages hold keys; names are only shown. A noun that was deleted keeps its last name here, so that old answers
still say what they are about. Knows nothing of quizgen.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Protocol

from server.database.store import TeamSession
from server.database.tables import NounName


class NounKind(StrEnum):
    """The kinds of nouns that rows refer to."""

    POSITION = "position"
    CALL = "call"
    FORMATION = "formation"
    PLAY = "play"


class KeyedNoun(Protocol):
    """A noun of a team's content."""

    @property
    def name(self) -> str:
        """What the team calls it."""

    @property
    def key(self) -> str:
        """What it is known by for good."""


@dataclass(frozen=True, slots=True)
class NounNames:
    """Names by kind and key. A key without a name (of a row older than the team's first install) is shown as it is."""

    names: Mapping[tuple[str, str], str] = field(default_factory=dict)

    def name(self, kind: NounKind, key: str) -> str:
        """The name of a noun."""
        return self.names.get((kind.value, key), key)

    def call(self, key: str) -> str:
        """The name of a call."""
        return self.name(NounKind.CALL, key)

    def position(self, key: str) -> str:
        """The name of a position."""
        return self.name(NounKind.POSITION, key)

    def positions(self, keys: Iterable[str]) -> str:
        """The names of positions, with commas between."""
        return ", ".join(map(self.position, keys))

    def formation(self, key: str) -> str:
        """The name of a formation."""
        return self.name(NounKind.FORMATION, key)

    def play(self, key: str) -> str:
        """The name of a run or protection."""
        return self.name(NounKind.PLAY, key)


def read_names(t: TeamSession) -> NounNames:
    """The team's names as stored."""
    return NounNames({(row.kind, row.key): row.name for row in t.rows(NounName)})


def store_names(t: TeamSession, nouns: Mapping[NounKind, Iterable[KeyedNoun]]) -> None:
    """Store the names of the content's nouns; those of nouns that are gone stay."""
    stored = {(row.kind, row.key): row for row in t.rows(NounName)}
    for kind, some in nouns.items():
        for noun in some:
            row = stored.get((kind.value, noun.key))
            if row is None:
                t.add(NounName(team_id=t.team_id, kind=kind.value, key=noun.key, name=noun.name))
            elif row.name != noun.name:
                row.name = noun.name
                t.add(row)
