"""One snap for a whole room: a rep for each man, the picture on the wall, the front as the room filled it, and what if.

The wall's pictures have no man of one's own. Must not know: players, how many answered, pages.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

from quizgen.drawing.scene import Scene
from quizgen.engine.fits import Threat
from quizgen.engine.what_if import beaten
from quizgen.football.errors import CannotRun
from quizgen.football.sides import Side
from quizgen.reps import pictures
from quizgen.reps.catalogue import Catalogue, Filter, UnknownRep, make
from quizgen.reps.choices import lane_key
from quizgen.reps.ids import Setup
from quizgen.reps.kinds import KINDS
from quizgen.reps.rep import Rep
from quizgen.reps.snap import Ground, Snap, owns_a_gap
from quizgen.reps.wording import to_say

#: The kinds that ask a man for his own fit, the first that asks him is taken; after them any other.
OWN_FIT = ("pull-read", "moved-gap", "option-man", "edge", "support", "hooked")
#: A snap is worth the room's time when this many men have a question.
FEWEST_ASKED = 6
WHAT_IFS = 2
LOSSES = {
    Threat.HOOK: to_say("What if {man} is hooked?"),
    Threat.WASH: to_say("What if {man} is washed out?"),
    Threat.KICK: to_say("What if {man} is kicked out?"),
}


@dataclass(frozen=True, slots=True)
class MeetingLane:
    """A lane of the snap: its key as a choice, its name, and the keys of the positions that own it."""

    key: str
    name: str
    owners: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class WhatIf:
    """A question that the coach may ask the room, and its picture: what opens."""

    words: str
    scene: Scene


@dataclass(frozen=True, slots=True)
class MeetingSnap:
    """One snap for the room. ``offense`` says what they do; ``reps`` are by the key of the position, ``own_fit`` those
    of them that ask the man's own fit; ``question`` is the wall's picture before the fits. Nouns are in keys."""

    digest: str
    heading: str
    offense: str
    to: Side
    formation: str
    play: str
    play_to: Side
    question: Scene
    reps: Mapping[str, Rep]
    own_fit: frozenset[str]
    lanes: tuple[MeetingLane, ...]
    what_ifs: tuple[WhatIf, ...]


def find_snaps(catalogue: Catalogue, call: str, sides: Collection[Side], most: int) -> list[MeetingSnap]:
    """Up to ``most`` runs against a call that the room can be asked about, the first few as unlike as can be.

    A snap that the call doesn't fit soundly is left out: nobody could say who has the open lane.
    Raises: UnknownName when the team has no such call.
    """
    found: list[MeetingSnap] = []
    plays: set[tuple[str, Side, Side]] = set()
    for setup in catalogue.wanted(Filter(calls=[call], sides=sides)):
        if len(found) == most:
            break
        if setup.play is None or setup.play_to is None or (setup.play.key, setup.play_to, setup.to) in plays:
            continue
        snap = catalogue.find_listed(setup)
        if not isinstance(snap, Snap) or snap.ground is not Ground.RUN or snap.answer.open or snap.answer.late:
            continue
        if len(_kinds(catalogue, setup)) >= FEWEST_ASKED:
            plays.add((setup.play.key, setup.play_to, setup.to))
            found.append(_meeting_snap(catalogue, setup, snap))
    return found


def meeting_snap(catalogue: Catalogue, digest: str) -> MeetingSnap:
    """The snap of that digest. Raises: UnknownRep when the team has no such snap against a run."""
    setup = catalogue.setups.get(digest)
    snap = catalogue.find_listed(setup) if setup else None
    if setup is None or not isinstance(snap, Snap) or snap.ground is not Ground.RUN:
        raise UnknownRep(digest)
    return _meeting_snap(catalogue, setup, snap)


def filled(catalogue: Catalogue, digest: str, missing: Collection[str]) -> Scene:
    """The snap in motion as the room filled it: the men at the ``missing`` positions (keys) stay where they lined up,
    dim, and a lane that only they own is open.

    Raises: UnknownRep as `meeting_snap`.
    """
    setup = catalogue.setups.get(digest)
    snap = catalogue.find_listed(setup) if setup else None
    if not isinstance(snap, Snap):
        raise UnknownRep(digest)
    keys = _keys_of(snap)
    lanes = range(len(snap.answer.lanes))
    owners = [[keys[fit.man.position] for fit in snap.answer.owners(index)] for index in lanes]
    opened = [index for index in lanes if set(owners[index]) <= set(missing)]
    scene = pictures.moved(snap, "", (), opened)
    cast = pictures.cast_of(snap)
    ghosts = {cast.defender_id(fit.man.position) for fit in snap.answer.fits if keys[fit.man.position] in missing}
    return replace(
        scene,
        shows_all=True,
        defenders=tuple(replace(one, is_dim=one.id in ghosts) for one in scene.defenders),
        tracks=tuple(one for one in scene.tracks if one.of not in ghosts),
        motions=tuple(one for one in scene.motions if one.of not in ghosts),
    )


def _meeting_snap(catalogue: Catalogue, setup: Setup, snap: Snap) -> MeetingSnap:
    if setup.play is None or setup.play_to is None:
        raise CannotRun(setup.pressure.name, setup.front.name, "on air", "nothing is run")
    answer, keys = snap.answer, _keys_of(snap)
    made = {
        keys[position]: make(KINDS[kind], setup, snap, position) for position, kind in _kinds(catalogue, setup).items()
    }
    lanes = tuple(
        MeetingLane(
            lane_key(lane), snap.wording.lane(lane), tuple(keys[fit.man.position] for fit in answer.owners(index))
        )
        for index, lane in enumerate(answer.lanes)
    )
    return MeetingSnap(
        setup.digest,
        snap.heading,
        snap.play_words,
        setup.to,
        setup.formation.key,
        setup.play.key,
        setup.play_to,
        replace(pictures.question(snap, "", ()), shows_all=True),
        made,
        frozenset(position for position, rep in made.items() if rep.kind in OWN_FIT),
        lanes,
        _what_ifs(snap),
    )


def _kinds(catalogue: Catalogue, setup: Setup) -> Mapping[str, str]:
    """The kind that each position is asked on a snap, by the position's name."""
    rank = {kind: n for n, kind in enumerate(OWN_FIT)}
    found: dict[str, str] = {}
    for kind, position in sorted(catalogue.asked(setup), key=lambda pair: rank.get(pair[0].id, len(rank))):
        found.setdefault(position, kind.id)
    return found


def _keys_of(snap: Snap) -> Mapping[str, str]:
    return {one.name: one.key for one in snap.answer.situation.positions}


def _what_ifs(snap: Snap) -> tuple[WhatIf, ...]:
    found = []
    for fit in snap.answer.fits:
        if not owns_a_gap(fit) or fit.threat not in LOSSES or fit.lost_to is None:
            continue
        loss = beaten(snap.answer, fit.man.position)
        if loss.opens:
            words = snap.wording.say(LOSSES[fit.threat], man=fit.man.position)
            moved = pictures.moved(snap, "", (), loss.opens, lost=loss)
            found.append(WhatIf(words, replace(moved, shows_all=True)))
    return tuple(_unlike(found)[:WHAT_IFS])


def _unlike(found: Sequence[WhatIf]) -> list[WhatIf]:
    """The first and the last first: they stand on different sides."""
    return [*found[:1], *found[:0:-1]]
