"""Why a rep was picked for a player, from what he had answered on that call, stage and side when his set was laid out.

The reason is stored in a short form, a word and for some a number: `new`, `missed`, `once 1`, `old 16`. Pages word it.
Knows nothing of pages or football.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from sqlmodel import col

from server.database.store import TeamSession
from server.database.tables import KeptRep, SetRep
from server.mastery.replay import MasteryState
from server.mastery.values import DAY_S
from server.playbook.rep_summary import RepSummary

#: A right answer this old is about to fade: the first gap after which being right again makes an answer hold longer.
OLD_DAYS = 7


class PickReason(StrEnum):
    """Why a rep was picked: never asked, missed last, right so often and not proven, last right so many days ago."""

    NEW = "new"
    MISSED = "missed"
    FEW = "few"
    OLD = "old"


@dataclass(frozen=True, slots=True)
class Pick:
    """What a player was asked and why; ``number`` is the times he had it right (few) or the days since (old).
    ``times``: how many reps of his set have these same values."""

    call: str
    stage: int
    side: str
    reason: PickReason | None
    number: int
    times: int


def why_picked(state: MasteryState, player: str, rep: RepSummary, now_s: float) -> str:
    """The reason for asking him this rep now (seconds), in the stored form."""
    own = state.records.get(player, {}).get((rep.position, rep.call))
    shown = own.select(rep.stage, rep.to) if own else []
    if not shown:
        return PickReason.NEW
    if not shown[-1].right:
        return PickReason.MISSED
    days = int((now_s - shown[-1].at) // DAY_S)
    if days >= OLD_DAYS:
        return f"{PickReason.OLD} {days}"
    return f"{PickReason.FEW} {sum(one.right for one in shown)}"


def parse_why(why: str) -> tuple[PickReason | None, int]:
    """A stored reason and its number (0: none); None when no reason is known."""
    word, _, number = why.partition(" ")
    return (PickReason(word), int(number) if number.isdecimal() else 0) if word in tuple(PickReason) else (None, 0)


def picks_of(t: TeamSession, set_id: str, order: Sequence[str]) -> dict[str, list[Pick]]:
    """What each player who has opened a set was given, and why; his calls in ``order``."""
    rows = t.rows(SetRep, col(SetRep.assignment_id) == set_id, col(SetRep.again_of).is_(None))
    about = (KeptRep.rep_id, KeptRep.call, KeptRep.stage, KeptRep.to)
    wanted = sorted({row.rep_id for row in rows})
    known = {one[0]: one[1:] for one in t.values(KeptRep, *about, where=(col(KeptRep.rep_id).in_(wanted),))}
    counted: defaultdict[str, Counter[tuple[str, int, str, str]]] = defaultdict(Counter)
    for row in rows:
        call, stage, side = known[row.rep_id]
        counted[row.member_id][str(call), int(stage), str(side), row.why] += 1
    place = {call: n for n, call in enumerate(order)}
    return {
        member_id: [
            Pick(call, stage, side, *parse_why(why), times)
            for (call, stage, side, why), times in sorted(
                own.items(), key=lambda one: (place.get(one[0][0], len(place)), one[0])
            )
        ]
        for member_id, own in counted.items()
    }
