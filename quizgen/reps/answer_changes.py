"""What new content makes of each man's answers: on how many snaps he is told something else than before, and what.

Must not know: players, what they answered, pages.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from quizgen.football.errors import NoRule
from quizgen.reps.catalogue import Catalogue
from quizgen.reps.ids import Setup
from quizgen.reps.snap import PassSnap, Snap
from quizgen.reps.wording import Wording, to_say

NO_LANE = to_say("no lane of his own")
NOBODY_HAS = to_say("nobody has him")

SnapKey = tuple[str, str, str, str, str]
"""A snap by keys: call, its side, formation, play (empty: on air), the play's side."""


@dataclass(frozen=True, slots=True)
class ManChange:
    """One man's answers: on ``count`` snaps another than before, most often from ``was`` to ``now``, as on ``when``."""

    position: str
    name: str
    count: int
    when: str
    was: str
    now: str


@dataclass(frozen=True, slots=True)
class AnswerChanges:
    """Who is told something else, those with most first, and ``unchanged`` the names of all others.

    ``looked_at`` of the ``touched`` snaps were compared. ``asked`` are the snaps and positions whose answer changed.
    """

    changes: tuple[ManChange, ...]
    unchanged: tuple[str, ...]
    touched: int
    looked_at: int
    asked: frozenset[tuple[SnapKey, str]]

    @property
    def count(self) -> int:
        """How many answers change."""
        return sum(one.count for one in self.changes)


def answer_changes(before: Catalogue, after: Catalogue, most: int) -> AnswerChanges:
    """Compare what everybody is told on the snaps that both contents have and that the new one touches, at most
    ``most`` of them. Nouns are told apart by their keys, so that a renaming changes nothing."""
    olds = {_key(setup): setup for digest, setup in before.setups.items() if digest not in after.setups}
    touched = [setup for digest, setup in after.setups.items() if digest not in before.setups and _key(setup) in olds]
    told: dict[str, Counter[tuple[str, str]]] = {}
    examples: dict[tuple[str, str, str], str] = {}
    asked = set()
    looked_at = touched[:most]
    for setup in looked_at:
        was, now = _told(before, olds[_key(setup)]), _told(after, setup)
        for position in now.keys() & was.keys():
            if was[position] != now[position]:
                pair = was[position], now[position]
                told.setdefault(position, Counter())[pair] += 1
                examples.setdefault((position, *pair), _when(after, setup))
                asked.add((_key(setup), position))
    names = {position.key: position.name for position in after.team.positions}
    changes = []
    for position, pairs in told.items():
        (old, new), _ = pairs.most_common(1)[0]
        when = examples[position, old, new]
        changes.append(ManChange(position, names[position], pairs.total(), when, old, new))
    changes.sort(key=lambda one: (-one.count, one.name))
    unchanged = tuple(name for key, name in names.items() if key not in told)
    return AnswerChanges(tuple(changes), unchanged, len(touched), len(looked_at), frozenset(asked))


def _key(setup: Setup) -> SnapKey:
    play = (setup.play.key, setup.play_to.value if setup.play_to else "") if setup.play else ("", "")
    return (setup.pressure.key, setup.to.value, setup.formation.key, *play)


def _told(catalogue: Catalogue, setup: Setup) -> dict[str, str]:
    """What each man has on this snap, by the keys of positions; empty where the engine has no answer."""
    try:
        snap = catalogue.find_snap(setup)
    except NoRule:
        return {}
    keys = {position.name: position.key for position in catalogue.team.positions}
    if isinstance(snap, Snap):
        return {keys[position]: has for position, has in _lanes(snap)}
    return {keys[position]: has for position, has in _blockers(snap)} if snap else {}


def _lanes(snap: Snap) -> Iterator[tuple[str, str]]:
    w, answer = snap.wording, snap.answer
    for fit in answer.fits:
        yield fit.man.position, w.lanes(answer.lanes[i] for i in fit.lanes) if fit.owns else w.phrase(NO_LANE)


def _blockers(snap: PassSnap) -> Iterator[tuple[str, str]]:
    w = snap.wording
    for matchup in snap.answer.matchups:
        has = w.all_of(w.blocker(player) for player in matchup.blockers)
        yield matchup.man.position, has or w.phrase(NOBODY_HAS)


def _when(catalogue: Catalogue, setup: Setup) -> str:
    """Which snap it is: the call and its side, the play and its side, the formation."""
    w: Wording = catalogue.wording
    call = w.call(setup.pressure.name, setup.to)
    parts = [call, setup.formation.name]
    if setup.play and setup.play_to:
        parts.insert(1, f"{setup.play.name} {w.side(setup.play_to)}")
    return ", ".join(parts)
