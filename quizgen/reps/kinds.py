"""The kinds of rep there are, by id, in teaching order. A kind whose answer the engine does not give is not here."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from quizgen.reps import moved_gap, open_gap, pull_read, track
from quizgen.reps.kind import Kind
from quizgen.reps.snap import PassSnap, Snap

AnyKind = Kind[Snap] | Kind[PassSnap]

_ALL: tuple[AnyKind, ...] = (track.KIND, moved_gap.KIND, pull_read.KIND, open_gap.KIND)

KINDS: Mapping[str, AnyKind] = MappingProxyType({kind.id: kind for kind in _ALL})
