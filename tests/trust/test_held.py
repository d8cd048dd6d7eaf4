"""While the database is locked or stopped, no request waits for it to return, and nothing acknowledged is lost.

Short: `python -m tests.bench.loop_waits` holds it for longer and prints how long every kind of request took.
"""

from __future__ import annotations

from contextlib import AbstractContextManager
from functools import partial
from pathlib import Path

import pytest

from tests.trust.held import Held, ask_while_held, locked, prepare_site, stopped
from tests.trust.live import Site
from tests.trust.postgres import own_database

HELD_S = 8.0
#: The bench's figure is some milliseconds; a machine that runs other tests beside this one makes all requests wait.
HEALTH_WITHIN_S = 2.0


def check(found: Held, kinds: set[str], may_be: frozenset[str] = frozenset()) -> None:
    refused = {kind for kind, statuses in found.statuses.items() if statuses[503]}
    assert refused & kinds == kinds
    assert refused - kinds <= may_be
    assert found.without_retry_after == 0
    assert {status for statuses in found.statuses.values() for status in statuses} <= {200, 201, 303, 503}
    assert {kind: max(took) for kind, took in found.took_s.items() if max(took) >= HELD_S} == {}
    assert found.health_s[0] < HEALTH_WITHIN_S
    assert found.count is not None
    assert found.count.is_clean


def test_sqlite_locked_by_another_process(tmp_path: Path) -> None:
    """Reads are served all the time."""
    site = prepare_site(tmp_path, players=4)
    check(ask_while_held(site, partial(locked, site.settings), HELD_S), {"answer", "sign-in"})


@pytest.mark.postgres
def test_postgresql_stopped(tmp_path: Path) -> None:
    with own_database() as database:
        site: Site = prepare_site(tmp_path, players=4, database_url=database.url)
        hold: partial[AbstractContextManager[None]] = partial(stopped, database)
        check(ask_while_held(site, hold, HELD_S), {"answer", "sign-in", "page"}, frozenset({"question"}))
