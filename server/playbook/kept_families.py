"""What takes seconds to work out of a team's content, in the database: families of calls, and the reps worth asking."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from typing import Any

from server.database.store import Store, TeamSession
from server.database.tables import CallFamilies
from server.database.write_queue import WriteQueue
from server.errors import Unavailable


@dataclass(frozen=True, slots=True)
class KeptFamilies:
    """A team's families of calls in the database, as made from one content by this version of the engine."""

    store: Store
    writes: WriteQueue
    team_id: str
    made_from: str

    def find(self) -> Mapping[str, Mapping[str, str]] | None:
        """The stored families; None when there are none, or others. Raises: Unavailable."""
        with self.store.read(self.team_id) as t:
            row = t.find(CallFamilies)
        return row.families if row is not None and row.made_from == self.made_from else None

    def find_drill(self) -> Mapping[str, Any] | None:
        """The stored drill; None when there is none, or another. Raises: Unavailable."""
        with self.store.read(self.team_id) as t:
            row = t.find(CallFamilies)
        return row.drill if row is not None and row.made_from == self.made_from and row.drill else None

    def keep(self, families: Mapping[str, Mapping[str, str]], drill: Mapping[str, Any] | None = None) -> None:
        """Store families, and the drill, in place of others; a database that can't be written now gets them at the next
        start."""

        def store(t: TeamSession) -> None:
            row = t.find(CallFamilies) or CallFamilies(team_id=t.team_id, made_from="")
            row.made_from, row.families = self.made_from, {name: dict(own) for name, own in families.items()}
            row.drill = dict(drill or {})
            t.add(row)

        with suppress(Unavailable):
            self.writes.write(self.team_id, store)
