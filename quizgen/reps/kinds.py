"""The kinds of rep there are, by id, in teaching order. A kind whose answer the engine does not give is not here."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from quizgen.reps import (
    adjust,
    after_release,
    behind_you,
    count,
    edge,
    half_man,
    hooked,
    matchup,
    moved_gap,
    open_gap,
    option_man,
    order,
    pull_read,
    support,
    track,
)
from quizgen.reps.kind import RepKind
from quizgen.reps.snap import PassSnap, Snap

AnyKind = RepKind[Snap] | RepKind[PassSnap]

_ALL: tuple[AnyKind, ...] = (
    track.KIND,
    adjust.KIND,
    order.KIND,
    moved_gap.KIND,
    hooked.KIND,
    pull_read.KIND,
    behind_you.KIND,
    edge.KIND,
    count.KIND,
    open_gap.KIND,
    option_man.KIND,
    support.KIND,
    matchup.KIND,
    half_man.KIND,
    after_release.KIND,
)

KINDS: Mapping[str, AnyKind] = MappingProxyType({kind.id: kind for kind in _ALL})
