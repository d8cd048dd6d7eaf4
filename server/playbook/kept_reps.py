"""Stored reps in memory by id: they never change, so each is read from the database once.

A question's JSON body is made and compressed once. Pictures of wrong answers and the reps of players' copies are cached
beside them. Knows nothing of who may see a rep.
"""

from __future__ import annotations

import gzip
import json
import threading
from dataclasses import dataclass
from typing import Any

from cachetools import LRUCache
from sqlmodel import col

from server.database.store import TeamSession
from server.database.tables import KeptRep, SetRep
from server.errors import NotFound

KEPT_REPS = 4000
KEPT_MISSES = 2000
KEPT_COPIES = 4000


@dataclass(frozen=True, slots=True)
class KeptQuestion:
    """A rep and its question as JSON, plain and compressed. The question holds nothing of the answer."""

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
    """The recently used reps of all teams."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._kept: LRUCache[tuple[str, str], KeptQuestion] = LRUCache(KEPT_REPS)
        self._copies: LRUCache[tuple[str, str, str], frozenset[str]] = LRUCache(KEPT_COPIES)
        self._misses: LRUCache[tuple[str, str, str, str], str] = LRUCache(KEPT_MISSES)

    def get(self, t: TeamSession, rep_id: str) -> KeptRep:
        """The team's rep with this id. Raises: NotFound."""
        return self.kept(t, rep_id).rep

    def kept(self, t: TeamSession, rep_id: str) -> KeptQuestion:
        """The team's rep with its question's body. Raises: NotFound."""
        key = (t.team_id, rep_id)
        with self._lock:
            found = self._kept.get(key)
        if found is not None:
            return found
        rep = t.get(KeptRep, rep_id, what="rep")
        t.session.expunge(rep)  # or a rollback would expire the row kept here for everybody
        body = json.dumps(question_of(rep), ensure_ascii=False, separators=(",", ":")).encode()
        found = KeptQuestion(rep, body, gzip.compress(body, 9, mtime=0))
        with self._lock:
            return self._kept.setdefault(key, found)

    def find_asked(self, team_id: str, set_id: str, member_id: str, rep_id: str) -> KeptQuestion | None:
        """A rep of a player's copy of a set, if both are in memory; else None."""
        with self._lock:
            reps = self._copies.get((team_id, set_id, member_id))
            return self._kept.get((team_id, rep_id)) if reps is not None and rep_id in reps else None

    def asked(self, t: TeamSession, set_id: str, member_id: str, rep_id: str) -> KeptQuestion:
        """A rep of a player's copy of a set, from memory or the database. Raises: NotFound."""
        if rep_id not in self._reps_of_copy(t, set_id, member_id):
            raise NotFound("There is no such rep in this set for you.")
        return self.kept(t, rep_id)

    def _reps_of_copy(self, t: TeamSession, set_id: str, member_id: str) -> frozenset[str]:
        """The reps of a player's copy of a set: empty until he opens it, then never changed."""
        key = (t.team_id, set_id, member_id)
        with self._lock:
            found = self._copies.get(key)
        if found is None:
            copy = (col(SetRep.assignment_id) == set_id, col(SetRep.member_id) == member_id)
            found = frozenset(rep_id for (rep_id,) in t.values(SetRep, SetRep.rep_id, where=copy))
            if found:
                with self._lock:
                    self._copies[key] = found
        return found

    def find_miss(self, team_id: str, language: str, rep_id: str, chosen: str) -> str | None:
        """The picture of where a wrong answer leads, in a language; None when it is not in memory."""
        with self._lock:
            return self._misses.get((team_id, language, rep_id, chosen))

    def keep_miss(self, team_id: str, language: str, rep_id: str, chosen: str, svg: str) -> None:
        """Keep a picture in memory."""
        with self._lock:
            self._misses[team_id, language, rep_id, chosen] = svg

    def forget(self, team_id: str) -> None:
        """Drop everything of a team, because its results were erased."""
        with self._lock:
            caches: tuple[LRUCache[Any, Any], ...] = (self._kept, self._copies, self._misses)
            for cache in caches:
                for key in [key for key in cache if key[0] == team_id]:
                    del cache[key]
