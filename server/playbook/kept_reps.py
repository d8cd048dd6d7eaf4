"""Reps as they were shown, kept in memory by id: they never change, so they are read from the database once.

The body that a script fetches is made and compressed once. The pictures of wrong answers, and how a player's copy of a
set is laid out, are kept beside them. It must not know who may see a rep.
"""

from __future__ import annotations

import gzip
import json
from collections import OrderedDict
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from sqlalchemy import bindparam, select

from server.database.store import TeamSession, columns_of
from server.database.tables import KeptRep, SetRep
from server.errors import NotFound

KEPT_REPS = 4000
KEPT_MISSES = 2000
KEPT_LAYOUTS = 4000
_places = columns_of(SetRep)
LAID_OUT = (
    select(_places.place, _places.rep_id, _places.again_of)
    .where(
        _places.team_id == bindparam("team_id"),
        _places.assignment_id == bindparam("set_id"),
        _places.member_id == bindparam("member_id"),
    )
    .order_by(_places.place)
)


@dataclass(frozen=True, slots=True)
class Laid:
    """A place of a player's copy as it is laid out, asked or not."""

    place: int
    rep_id: str
    again_of: int | None


@dataclass(frozen=True)
class Layout:
    """A player's copy of a set as it is laid out."""

    places: tuple[Laid, ...]

    @cached_property
    def rep_ids(self) -> frozenset[str]:
        """Its reps."""
        return frozenset(one.rep_id for one in self.places)


@dataclass(frozen=True, slots=True)
class Kept:
    """A rep and its question as JSON, plain and compressed. There is no trace of the answer in the question."""

    rep: KeptRep
    question: bytes
    question_gzip: bytes


def question_of(rep: KeptRep) -> dict[str, Any]:
    """What a player may see of a rep before he answers."""
    return {
        "id": rep.rep_id,
        "kind": rep.kind,
        "stem": rep.stem,
        "parts": [
            {"prompt": part["prompt"], "choices": [{"id": c["id"], "label": c["label"]} for c in part["choices"]]}
            for part in rep.parts
        ],
        "svg": rep.before_svg,
    }


class KeptReps:
    """The reps of all teams that were asked for lately."""

    def __init__(self) -> None:
        self._kept: OrderedDict[tuple[str, str], Kept] = OrderedDict()
        self._layouts: OrderedDict[tuple[str, str, str], Layout] = OrderedDict()
        self._misses: OrderedDict[tuple[str, str, str, str], str] = OrderedDict()

    def get(self, t: TeamSession, rep_id: str) -> KeptRep:
        """That rep of the team. Raises: NotFound."""
        return self.kept(t, rep_id).rep

    def kept(self, t: TeamSession, rep_id: str) -> Kept:
        """That rep of the team with its question's body. Raises: NotFound."""
        key = (t.team_id, rep_id)
        found = self._kept.get(key)
        if found is not None:
            self._kept.move_to_end(key)
            return found
        rep = t.get(KeptRep, rep_id, what="rep")
        t.session.expunge(rep)  # else a transaction that is undone would empty the row kept here, for everybody
        body = json.dumps(question_of(rep), ensure_ascii=False, separators=(",", ":")).encode()
        self._kept[key] = found = Kept(rep, body, gzip.compress(body, 9, mtime=0))
        while len(self._kept) > KEPT_REPS:
            self._kept.popitem(last=False)
        return found

    def find_asked(self, team_id: str, set_id: str, member_id: str, rep_id: str) -> Kept | None:
        """A rep of a player's copy of a set; None when the copy or the rep is not in memory, or has no such rep."""
        layout = self._layouts.get((team_id, set_id, member_id))
        return self._kept.get((team_id, rep_id)) if layout is not None and rep_id in layout.rep_ids else None

    def asked(self, t: TeamSession, set_id: str, member_id: str, rep_id: str) -> Kept:
        """The same, with what is not in memory read from the database. Raises: NotFound."""
        if rep_id not in self.layout(t, set_id, member_id).rep_ids:
            raise NotFound("There is no such rep in this set for you.")
        return self.kept(t, rep_id)

    def layout(self, t: TeamSession, set_id: str, member_id: str) -> Layout:
        """A player's copy of a set in order of places, empty until he opens it; once laid out, it never changes."""
        key = (t.team_id, set_id, member_id)
        found = self._layouts.get(key)
        if found is None:
            found = Layout(tuple(Laid(*row) for row in t.look(LAID_OUT, set_id=set_id, member_id=member_id)))
            if found.places:
                self._layouts[key] = found
            while len(self._layouts) > KEPT_LAYOUTS:
                self._layouts.popitem(last=False)
        return found

    def find_miss(self, team_id: str, language: str, rep_id: str, chosen: str) -> str | None:
        """The picture of what a wrong answer leads to, in a language; None when it is not in memory."""
        key = (team_id, language, rep_id, chosen)
        if key in self._misses:
            self._misses.move_to_end(key)
        return self._misses.get(key)

    def keep_miss(self, team_id: str, language: str, rep_id: str, chosen: str, svg: str) -> None:
        """Keep such a picture in memory."""
        self._misses[team_id, language, rep_id, chosen] = svg
        while len(self._misses) > KEPT_MISSES:
            self._misses.popitem(last=False)

    def forget(self, team_id: str) -> None:
        """Let go of all that is kept of a team, since its results were erased."""
        kept: tuple[OrderedDict[Any, Any], ...] = (self._kept, self._layouts, self._misses)
        for one in kept:
            for key in [key for key in one if key[0] == team_id]:
                del one[key]
