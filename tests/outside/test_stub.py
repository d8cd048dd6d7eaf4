"""Outside checks can fail: an engine that only repeats the call fails nearly all of them.

The stub answers "your call's gap, no reads, no threats" (``expecting.stub``). A row that holds for it tests nothing of
the engine; those few are kept since the page solver is held to them too.

source: named in each row (``test_published_rows``, ``test_published_protections``)
"""

from __future__ import annotations

from tests.outside.expecting import failures, stub, unblocked
from tests.outside.test_published_protections import ROWS as PROTECTIONS
from tests.outside.test_published_protections import found
from tests.outside.test_published_rows import ROWS

LEAST_ROWS, LEAST_FAILING = 60, 55
MOST_COMMON_PRACTICE = 0.1


def test_the_stub_fails_most_published_rows() -> None:
    failing = [row.key for row in ROWS if failures(row, stub)]
    assert len(failing) >= LEAST_FAILING, [row.key for row in ROWS if row.key not in failing]
    assert len(ROWS) >= LEAST_ROWS
    assert len(failing) >= 0.8 * len(ROWS)


def test_the_stub_fails_every_published_protection() -> None:
    held = [key for key, (*_, blocked, free) in PROTECTIONS.items() if found(key, unblocked) == (blocked, free)]
    assert not held


def test_a_row_that_the_stub_fails_fails_by_its_own_words() -> None:
    # Each line of a row names a man of its own situation, so that none fails by a slip in the row.
    for row in ROWS:
        names = [line.split(",")[0].strip() for line in row.defenders.strip().splitlines()]
        for line in row.expected.splitlines():
            plain = line.split()[0] in ("lanes", "parts", "open", "sound")
            assert plain or any(line.startswith(f"{name} ") for name in names), (row.key, line)


def test_each_row_has_its_own_key_and_its_source() -> None:
    keys = [row.key for row in ROWS]
    assert len(set(keys)) == len(keys)
    assert all(len(row.source) > 20 for row in ROWS if not row.source.startswith("same"))


def test_few_rows_are_common_practice() -> None:
    common = [row.key for row in ROWS if row.source.startswith("C:")]
    assert len(common) <= MOST_COMMON_PRACTICE * len(ROWS)
