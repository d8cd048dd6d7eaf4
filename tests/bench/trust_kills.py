"""The long form of `tests/trust/test_kills.py`: python -m tests.bench.trust_kills [SQLITE_KILLS] [POSTGRES_KILLS]

On PostgreSQL every second kill ends the database, the others the server.
"""

import statistics
import sys
import tempfile
from pathlib import Path

from tests.trust.killing import WRITERS, Outcome, database_kill, run_kills, server_kill
from tests.trust.live import prepare, report, serving
from tests.trust.postgres import own_database


def tell(name: str, kills: int, outcome: Outcome) -> None:
    ready = sorted(outcome.ready_s)
    report(
        name,
        kills=kills,
        replies=outcome.replies,
        acknowledged=outcome.count.acknowledged,
        lost=outcome.count.lost,
        doubled=outcome.count.doubled,
        changed=outcome.count.changed,
        wrong_replies=len(outcome.wrong),
        ready_median_s=round(statistics.median(ready), 2),
        ready_longest_s=round(ready[-1], 2),
    )
    for line in outcome.wrong[:5]:
        print("  ", line)


def main() -> None:
    sqlite_kills, postgres_kills = (int(sys.argv[i]) if len(sys.argv) > i else n for i, n in ((1, 200), (2, 50)))
    with tempfile.TemporaryDirectory(prefix="gapsound-kills-") as folder:
        site = prepare(Path(folder), players=WRITERS, sets=sqlite_kills)
        with serving(site.settings) as process:
            tell("sqlite", sqlite_kills, run_kills(site, process, [server_kill(process)] * sqlite_kills))
    with tempfile.TemporaryDirectory(prefix="gapsound-kills-") as folder, own_database() as database:
        site = prepare(Path(folder), players=WRITERS, sets=postgres_kills, database_url=database.url)
        with serving(site.settings) as process:
            kills = [database_kill(database) if i % 2 else server_kill(process) for i in range(postgres_kills)]
            tell("postgresql", postgres_kills, run_kills(site, process, kills))


if __name__ == "__main__":
    main()
