"""Sheets for the practice field: the situations that players miss on a call, in teaching order.

Counts come from the stored answers; a situation is a rep's question, from any side and formation. Knows nothing of
football or of how a sheet looks.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from sqlmodel import col

from server.database.store import TeamSession
from server.database.tables import Answer, KeptRep, Member
from server.playbook.kept_reps import KeptReps

SITUATIONS_SHOWN = 8
CARDS_SHOWN = 8


@dataclass(frozen=True, slots=True)
class MissedSituation:
    """A situation, its most missed rep, and its counts: ``people`` are those who missed it."""

    rep: KeptRep
    missed: int
    answered: int
    people: int


def missed_situations(t: TeamSession, shown: KeptReps, call: str, members: Sequence[Member]) -> list[MissedSituation]:
    """The situations that these players miss most on a call, in teaching order."""
    seen = {member.id for member in members}
    rows = t.values(Answer, Answer.rep_id, Answer.member_id, Answer.is_right, where=(col(Answer.call) == call,))
    guises = dict(t.values(KeptRep, KeptRep.rep_id, KeptRep.guise, where=(col(KeptRep.call) == call,)))
    by_guise: dict[str, list[tuple[str, str, bool]]] = {}
    for rep_id, member_id, is_right in rows:
        if member_id in seen and rep_id in guises:
            by_guise.setdefault(guises[rep_id], []).append((rep_id, member_id, is_right))
    found = []
    for answers in by_guise.values():
        missed = [rep_id for rep_id, _, is_right in answers if not is_right]
        if missed:
            people = len({member_id for _, member_id, is_right in answers if not is_right})
            most = max(sorted(set(missed)), key=missed.count)
            found.append(MissedSituation(shown.get(t, most), len(missed), len(answers), people))
    worst = sorted(found, key=lambda one: (-one.missed, -one.people, one.rep.rep_id))[:SITUATIONS_SHOWN]
    return sorted(worst, key=lambda one: (one.rep.stage, -one.missed, one.rep.rep_id))


def plays_of(situations: Iterable[MissedSituation]) -> list[KeptRep]:
    """A rep for each play and formation of these situations; reps on air have none."""
    found: dict[tuple[str, str, str], KeptRep] = {}
    for one in situations:
        if one.rep.play:
            found.setdefault((one.rep.play, one.rep.play_to or "", one.rep.formation), one.rep)
    return list(found.values())[:CARDS_SHOWN]
