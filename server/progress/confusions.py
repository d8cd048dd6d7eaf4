"""Confusions for pages: where wrong answers go, as mastery finds it, with the taps on a rep's picture.

The tests need the whole team's mistakes, so they use all its answers; callers limit the findings to the positions or
the player that a coach may see. Knows nothing of how the tests work or of how a page looks.
"""

from __future__ import annotations

import threading
from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime

from cachetools import LRUCache
from sqlmodel import col, func

from server.database.store import Store, TeamSession
from server.database.tables import Answer, KeptRep
from server.i18n.languages import Language
from server.mastery.confusions import Answered, Certainty, Confusion, Scope, confusions
from server.playbook.playbooks import Playbook
from server.progress.team_state import KEPT_TEAMS, WRONG_ANSWERS, TeamState, from_row

SHOWN_ON_CALL = 6
SHOWN_ON_PLAYER = 4
SEVERAL = 2
#: Relations that don't say where a wrong answer goes.
NO_DIRECTION = ("", "other")

Tap = tuple[int, str]
"""A choice of a rep: the number of its part, from 1, and the choice's id."""


@dataclass(frozen=True, slots=True)
class TappedRep:
    """The taps on one question, shown on the rep of it that was missed most.

    ``chosen`` are the choices of that rep which the confusion is about. ``counts`` are the taps per choice over all
    misses of the same question; ``misses`` says how many answers that is. ``svg`` is None when the team's content no
    longer has that rep.
    """

    rep_id: str
    stem: str
    chosen: tuple[str, ...]
    counts: Mapping[Tap, int]
    misses: int
    svg: str | None = None


@dataclass(frozen=True, slots=True)
class ShownConfusion:
    """A confusion as pages show it. ``asked`` counts the players who answered the question; ``tapped`` is None when it
    is about a relation. Its words come from the tapped rep, when it is shown."""

    finding: Confusion
    asked: int
    last_at: datetime
    tapped: TappedRep | None
    chosen_words: str = ""
    right_words: str = ""

    @property
    def is_confirmed(self) -> bool:
        """Whether the tests rule out chance."""
        return self.finding.certainty is Certainty.CONFIRMED

    @property
    def is_by_relation(self) -> bool:
        """Whether it is pooled over all calls, by how the wrong answer relates to the right one."""
        return self.finding.scope is Scope.PLAYER_RELATION


@dataclass(frozen=True, slots=True)
class _Miss:
    rep_id: str
    chosen: tuple[str, ...]


class TeamConfusions:
    """The confusions of recently viewed teams, computed again after a new answer."""

    def __init__(self) -> None:
        self._kept: LRUCache[str, tuple[tuple[int, str], list[Confusion]]] = LRUCache(KEPT_TEAMS)
        self._working = threading.Lock()

    def of(self, store: Store, team_id: str, team_state: TeamState) -> list[Confusion]:
        """All confusions in a team's answers, the most certain first. Raises: Unavailable."""
        key = (team_state.state.answers, team_state.last_id)
        with self._working:
            kept = self._kept.get(team_id)
            if kept is None or kept[0] != key:
                with store.read(team_id) as t:
                    wrong, asked = t.look(WRONG_ANSWERS), asked_of(t)
                kept = key, confusions(map(from_row, wrong), asked)
                self._kept[team_id] = kept
            return kept[1]


def asked_of(t: TeamSession) -> list[Answered]:
    """How often each player was asked each question."""
    what = (Answer.member_id, Answer.position, Answer.call, Answer.right_key)
    return [Answered(*row) for row in t.values(Answer, *what, func.count(), group_by=what)]


def of_call(found: Iterable[Confusion], call: str, positions: Collection[str]) -> list[Confusion]:
    """The confusions of these positions on a call: those of several players first, then by certainty."""
    kept = [c for c in found if c.scope is Scope.POSITION_CALL and c.call == call and c.who in positions]
    return sorted(kept, key=lambda c: c.people < SEVERAL)[:SHOWN_ON_CALL]


def of_player(found: Iterable[Confusion], player_id: str, call: str = "") -> list[Confusion]:
    """A player's confusions, on one call if given, and over all calls by relation; the most certain first.

    Wrong answers without a clear relation to the right one are no finding over all calls.
    """
    own = [c for c in found if c.who == player_id and c.scope is not Scope.POSITION_CALL]
    kept = [
        c for c in own if (c.chosen not in NO_DIRECTION if c.scope is Scope.PLAYER_RELATION else call in ("", c.call))
    ]
    return kept[:SHOWN_ON_PLAYER]


def show(
    store: Store, team_id: str, playbook: Playbook, found: Sequence[Confusion], language: Language
) -> list[ShownConfusion]:
    """These confusions, each with its taps on a picture in that language when it is about one question. One whose
    answers were erased in between is left out."""
    with store.read(team_id) as t:
        tapped = [
            (c, None if c.scope is Scope.PLAYER_RELATION else find_tapped(t, c), count_asked(t, c)) for c in found
        ]
    drawn = playbook.counted({one.rep_id: one.counts for _, one, _ in tapped if one is not None}, language)
    return [
        ShownConfusion(
            c,
            asked,
            datetime.fromtimestamp(c.last_at, UTC),
            None if one is None else replace(one, svg=drawn.get(one.rep_id)),
        )
        for c, one, asked in tapped
        if one is not None or c.scope is Scope.PLAYER_RELATION
    ]


def count_asked(t: TeamSession, finding: Confusion) -> int:
    """How many players of a position answered a question; 1 when the finding is about one player."""
    if finding.scope is not Scope.POSITION_CALL:
        return 1
    where = (
        col(Answer.call) == finding.call,
        col(Answer.right_key) == finding.right_answer,
        col(Answer.position) == finding.who,
    )
    return len(t.values(Answer, Answer.member_id, where=where, group_by=(col(Answer.member_id),)))


def find_tapped(t: TeamSession, finding: Confusion) -> TappedRep | None:
    """The taps of a confusion, on the rep that shows it best; None when no such rep is stored."""
    where = [
        col(Answer.call) == finding.call,
        col(Answer.right_key) == finding.right_answer,
        col(Answer.is_right).is_(False),
        col(Answer.member_id if finding.scope is Scope.PLAYER_CALL else Answer.position) == finding.who,
    ]
    rows = t.values(Answer, Answer.rep_id, Answer.chosen, Answer.chosen_key, where=where, order_by=(col(Answer.id),))
    to_that = Counter(rep_id for rep_id, _, key in rows if key == finding.chosen)
    if not to_that:
        return None
    most = max(sorted(to_that), key=lambda rep_id: to_that[rep_id])
    ids = sorted({row[0] for row in rows})
    reps = t.values(KeptRep, KeptRep.rep_id, KeptRep.stem, KeptRep.parts, where=(col(KeptRep.rep_id).in_(ids),))
    stems, parts = {row[0]: row[1] for row in reps}, {row[0]: row[2] for row in reps}
    misses = [_Miss(rep_id, tuple(chosen)) for rep_id, chosen, _ in rows if rep_id in parts]
    counts, counted = count_taps(misses, parts, most)
    chosen = next(tuple(chosen) for rep_id, chosen, key in rows if (rep_id, key) == (most, finding.chosen))
    return TappedRep(most, stems[most], chosen, counts, counted)


def count_taps(misses: Sequence[_Miss], parts: Mapping[str, list], shown: str) -> tuple[dict[Tap, int], int]:
    """The taps on each choice of the rep that is shown, and the number of misses that they come from.

    A miss of another rep counts when each thing that was chosen is a choice of the rep shown too.
    """
    counts: Counter[Tap] = Counter()
    counted = 0
    here = [{choice["key"]: choice["id"] for choice in part["choices"]} for part in parts[shown]]
    for miss in misses:
        keys = [
            next((c["key"] for c in part["choices"] if c["id"] == choice), "")
            for part, choice in zip(parts[miss.rep_id], miss.chosen, strict=False)
        ]
        if len(keys) != len(here) or any(key not in at for key, at in zip(keys, here, strict=True)):
            continue
        counted += 1
        counts.update((n, at[key]) for n, (key, at) in enumerate(zip(keys, here, strict=True), start=1))
    return dict(counts), counted
