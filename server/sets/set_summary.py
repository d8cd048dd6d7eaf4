"""The end of a set in a few words: what was right at once, missed and then got, or is still open, and the one pattern
in the misses.

Knows nothing of football or of a page's wording.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from server.database.tables import GradedAnswer, KeptRep
from server.sets.player_sets import SetProgress

SEVERAL = 2  # misses of one kind that make a pattern


@dataclass(frozen=True, slots=True)
class MissPattern:
    """``count`` of ``misses`` wrong answers have this kind of rep (empty: they differ in it) and this relation to the
    right answer (empty: they differ in it)."""

    count: int
    misses: int
    kind: str
    relation: str


@dataclass(frozen=True, slots=True)
class SetSummary:
    """Places of the results, from 0: right at once, missed and right when it came back, still open; each own rep of the
    set once. ``pattern`` is None without a pattern."""

    at_once: tuple[int, ...]
    got: tuple[int, ...]
    open: tuple[int, ...]
    pattern: MissPattern | None


def summarize(done: SetProgress, results: Sequence[tuple[GradedAnswer, KeptRep]]) -> SetSummary:
    """A set's summary; `results` are its answers in order with their reps."""
    at = {answer.place: n for n, (answer, _) in enumerate(results)}
    came_right = {one.again_of for one in done.places if one.again_of is not None and one.is_right}
    own = [one for one in done.places if one.again_of is None and one.place in at]
    return SetSummary(
        tuple(at[one.place] for one in own if one.is_right),
        tuple(at[one.place] for one in own if not one.is_right and one.place in came_right),
        tuple(at[one.place] for one in own if not one.is_right and one.place not in came_right),
        find_pattern([answer for answer, _ in results if not answer.is_right]),
    )


def find_pattern(misses: Sequence[GradedAnswer]) -> MissPattern | None:
    """What most misses have in common: their kind, and within it where they went; else only where they went."""
    kinds = Counter(one.kind for one in misses)
    kind, count = max(kinds.items(), key=lambda one: one[1], default=("", 0))
    if count >= SEVERAL:
        relation, same = most_common_relation([one for one in misses if one.kind == kind])
        is_both = same >= SEVERAL
        return MissPattern(same if is_both else count, len(misses), kind, relation if is_both else "")
    relation, same = most_common_relation(misses)
    return MissPattern(same, len(misses), "", relation) if same >= SEVERAL else None


def most_common_relation(misses: Sequence[GradedAnswer]) -> tuple[str, int]:
    """The relation of most of these misses, and of how many; those without one are left out."""
    found = Counter(one.relation for one in misses if one.relation and one.relation != "other")
    return max(found.items(), key=lambda one: one[1], default=("", 0))
