"""A backup under load has everything that was acknowledged before it began, and restores to the same rows.

The long form: `python -m tests.bench.trust_backups`.
"""

from pathlib import Path

import pytest

from tests.trust.backing_up import run_backups
from tests.trust.live import Site, prepare

pytestmark = pytest.mark.slow


def check(site: Site) -> None:
    came, phones = run_backups(site, backups=1, pause_s=0.5)
    assert phones.wrong == []
    assert [problem for one in came for problem in one.problems] == []
    assert came[0].answers > 0


def test_a_backup_under_load_is_whole(tmp_path: Path) -> None:
    check(prepare(tmp_path, players=3, sets=12))


def test_a_backup_under_load_is_whole_on_postgresql(tmp_path: Path, postgres_url: str) -> None:
    check(prepare(tmp_path, players=3, sets=12, database_url=postgres_url))
