"""The long form of `tests/trust/test_backups.py`: python -m tests.bench.trust_backups [BACKUPS]"""

import statistics
import sys
import tempfile
from pathlib import Path

from tests.trust.backing_up import run_backups
from tests.trust.live import prepare, report
from tests.trust.postgres import own_database

PHONES, SETS = 4, 250


def run(name: str, folder: Path, backups: int, url: str) -> None:
    came, phones = run_backups(prepare(folder, players=PHONES, sets=SETS, database_url=url), backups, 0.3)
    report(
        name,
        backups=len(came),
        answers_first=came[0].answers,
        answers_last=came[-1].answers,
        acknowledged_while_backing_up=sum(one.meanwhile for one in came),
        backups_without_load=sum(one.meanwhile == 0 for one in came),
        problems=sum(len(one.problems) for one in came),
        wrong_replies=len(phones.wrong),
        backup_median_s=round(statistics.median(one.took_s for one in came), 2),
    )


def main() -> None:
    backups = int(sys.argv[1]) if len(sys.argv) > 1 else 20
    with own_database() as database:
        for name, url in (("backup, sqlite", ""), ("backup, postgresql", database.url)):
            with tempfile.TemporaryDirectory(prefix="gapsound-backups-") as folder:
                run(name, Path(folder), backups, url)


if __name__ == "__main__":
    main()
