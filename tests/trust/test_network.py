"""Parallel phones and bad networks: one winner for each rep, and phones are told what is stored.

The long form: `python -m tests.bench.trust_network`.
"""

from pathlib import Path

import pytest

from tests.trust.faulty import Fault, run_faults
from tests.trust.live import Site, prepare, serving
from tests.trust.racing import RACERS, run_races

pytestmark = pytest.mark.slow
RACES = 8


def races(site: Site) -> None:
    with serving(site.settings) as one, serving(site.settings) as other:
        came = run_races(site, (one.base, other.base), RACES)
    assert came.wrong == []
    assert came.count.is_clean, came.count
    assert dict(came.statuses) == {201: RACES, 409: RACES * (RACERS - 1)}


def test_of_eight_phones_on_two_servers_one_wins(tmp_path: Path) -> None:
    races(prepare(tmp_path, players=1, sets=2))


def test_of_eight_phones_on_two_servers_one_wins_on_postgresql(tmp_path: Path, postgres_url: str) -> None:
    races(prepare(tmp_path, players=1, sets=2, database_url=postgres_url))


def bad_network(site: Site) -> None:
    with serving(site.settings) as process:
        came, faults = run_faults(site, process.base, reps_each=12)
    assert came.wrong == []
    assert came.count.is_clean, came.count
    assert came.count.acknowledged == 4 * 12
    assert min(faults[fault] for fault in Fault) > 0


def test_over_a_bad_network_each_answer_is_stored_once_as_the_phone_was_told(tmp_path: Path) -> None:
    bad_network(prepare(tmp_path, players=4, sets=2))


def test_over_a_bad_network_the_same_on_postgresql(tmp_path: Path, postgres_url: str) -> None:
    bad_network(prepare(tmp_path, players=4, sets=2, database_url=postgres_url))
