"""Server and database killed in the middle of writes: acknowledged answers are there, once, unchanged.

The long form: `python -m tests.bench.trust_kills`.
"""

from datetime import UTC, datetime
from pathlib import Path

import pytest

from tests.trust.killing import WRITERS, database_kill, run_kills, server_kill
from tests.trust.live import Count, prepare, serving, settle
from tests.trust.postgres import own_database

pytestmark = pytest.mark.slow


def test_a_killed_server_comes_back_with_everything_acknowledged(tmp_path: Path) -> None:
    site = prepare(tmp_path, players=WRITERS, sets=4)
    with serving(site.settings) as process:
        outcome = run_kills(site, process, [server_kill(process)] * 2)
    assert outcome.wrong == []
    assert outcome.count.is_clean, outcome.count


@pytest.mark.postgres
def test_a_killed_database_comes_back_with_everything_acknowledged(tmp_path: Path) -> None:
    with own_database() as database:
        site = prepare(tmp_path, players=WRITERS, sets=4, database_url=database.url)
        with serving(site.settings) as process:
            outcome = run_kills(site, process, [database_kill(database), server_kill(process)])
    assert outcome.wrong == []
    assert outcome.count.is_clean, outcome.count


def test_the_count_sees_what_is_lost_doubled_and_changed() -> None:
    """Worked by hand: of four acknowledged, one is missing, one is stored twice, one differs."""
    from server.database.tables import Answer

    def row(member: str, answer_id: str, chosen: str, rep: str = "r") -> Answer:
        return Answer.model_construct(
            member_id=member,
            assignment_id="s",
            rep_id=rep,
            id=answer_id,
            chosen=[chosen],
            received_at=datetime.now(UTC),
        )

    rows = [row("kept", "1", "a"), row("doubled", "2", "a"), row("doubled", "3", "a"), row("changed", "4", "b")]
    told = {
        ("kept", "s", "r"): ("1", ("a",)),
        ("doubled", "s", "r"): ("2", ("a",)),
        ("changed", "s", "r"): ("4", ("a",)),
        ("lost", "s", "r"): ("5", ("a",)),
    }
    assert settle(rows, told) == Count(acknowledged=4, lost=1, doubled=1, changed=1)
