"""The order in which setups come: always the same, and well mixed, so that the first few of any filter vary in side,
call, play and formation. A renaming does not change it. Must not know: answers, kinds, positions."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from hashlib import sha256
from typing import TypeVar

from quizgen.reps.ids import Setup

T = TypeVar("T")


def shuffled(items: Iterable[T], seed: str, key: Callable[[T], str]) -> list[T]:
    """The items in an order that depends on the seed and their keys alone."""
    return sorted(items, key=lambda item: (sha256(f"{seed}|{key(item)}".encode()).digest(), key(item)))


def interleave(rows: Sequence[Sequence[T]]) -> Iterator[T]:
    """The first of each row, then the second of each, until all rows are empty."""
    longest = max((len(row) for row in rows), default=0)
    for number in range(longest):
        for row in rows:
            if number < len(row):
                yield row[number]


def _sides(setup: Setup) -> str:
    play_to = setup.play_to
    if play_to is None:
        is_even = sha256(f"{setup.pressure.key}|{setup.formation.key}".encode()).digest()[0] % 2 == 0
        play_to = setup.to if is_even else setup.to.other
    return f"{setup.to.value}/{'same' if play_to is setup.to else 'other'}"


LAYERS: tuple[Callable[[Setup], str], ...] = (
    _sides,
    lambda setup: setup.pressure.key,
    lambda setup: setup.play.key if setup.play else "",
    lambda setup: setup.formation.key,
)


def mixed(setups: Iterable[Setup], seed: str = "", layer: int = 0) -> list[Setup]:
    """The setups taken in turn from each pair of sides, in it from each call, in it from each play, then formation."""
    if layer == len(LAYERS):
        return shuffled(setups, seed, lambda setup: setup.digest)
    groups: dict[str, list[Setup]] = {}
    for setup in setups:
        groups.setdefault(LAYERS[layer](setup), []).append(setup)
    keys = shuffled(groups, seed, lambda key: key)
    rows = [mixed(groups[key], f"{seed}|{key}", layer + 1) for key in keys]
    return list(interleave(rows))
