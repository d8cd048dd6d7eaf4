"""The end of a set in a few words."""

from types import SimpleNamespace
from typing import Any

import pytest

from server.sets.player_sets import PlaceAnswer, SetPlace, SetProgress
from server.sets.set_summary import MissPattern, find_pattern, summarize


def miss(kind: str, relation: str = "", place: int = 1, *, is_right: bool = False) -> Any:
    return SimpleNamespace(kind=kind, relation=relation, place=place, is_right=is_right)


@pytest.mark.parametrize(
    ("misses", "expected"),
    [
        ([], None),
        ([miss("track")], None),
        ([miss("track"), miss("order")], None),
        ([miss("track"), miss("track"), miss("order")], MissPattern(2, 3, "track", "")),
        (
            [miss("track", "one gap in"), miss("track", "one gap in"), miss("track", "other"), miss("order")],
            MissPattern(2, 4, "track", "one gap in"),
        ),
        ([miss("track", "mirror side"), miss("order", "mirror side")], MissPattern(2, 2, "", "mirror side")),
        ([miss("track", "other"), miss("order", "other")], None),
    ],
)
def test_the_one_pattern(misses: list[Any], expected: MissPattern | None) -> None:
    assert find_pattern(misses) == expected


def test_each_own_rep_is_at_once_missed_then_got_or_still_open() -> None:
    rights = {1: True, 2: False, 3: False, 5: True, 6: False}
    again = {5: 2, 6: 3}
    places = tuple(
        SetPlace(n, f"r{n}", again.get(n), PlaceAnswer(f"a{n}", right, is_late=False, side="left", received_at=None))
        for n, right in rights.items()
    )
    done = SetProgress(SimpleNamespace(purpose="set", length=4), SimpleNamespace(finished_at=None), places)  # type: ignore[arg-type]
    results = [(miss("track", place=n, is_right=right), None) for n, right in rights.items()]
    found = summarize(done, results)  # type: ignore[arg-type]
    assert (found.at_once, found.got, found.open) == ((0,), (1,), (2,))
    assert found.pattern == MissPattern(3, 3, "track", "")
