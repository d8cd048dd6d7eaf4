"""The long form of `tests/trust/test_network.py`: python -m tests.bench.trust_network [RACES] [REQUESTS]"""

import sys
import tempfile
import time
from pathlib import Path

from tests.trust.faulty import run_faults
from tests.trust.live import MIKES, prepare, report, serving
from tests.trust.postgres import own_database
from tests.trust.racing import Races, run_races

PHONES = 8


def tell(name: str, came: Races, began: float, **more: object) -> None:
    count, took_s = came.count, round(time.monotonic() - began, 1)
    figures = {"acknowledged": count.acknowledged, "lost": count.lost, "doubled": count.doubled}
    statuses = dict(sorted(came.statuses.items()))
    report(name, **figures, changed=count.changed, wrong=len(came.wrong), statuses=statuses, took_s=took_s, **more)
    for line in came.wrong[:5]:
        print("  ", line)


def races(folder: Path, number: int, url: str) -> None:
    site = prepare(folder, players=1, sets=-(-number // len(MIKES)), database_url=url)
    with serving(site.settings) as one, serving(site.settings) as other:
        began = time.monotonic()
        tell("races, postgresql" if url else "races, sqlite", run_races(site, (one.base, other.base), number), began)


def faults(folder: Path, requests: int, url: str) -> None:
    """About 2.25 requests go through the proxy for each rep."""
    each = -(-requests // (2 * PHONES))
    site = prepare(folder, players=PHONES, sets=-(-each // len(MIKES)), database_url=url)
    with serving(site.settings) as process:
        began = time.monotonic()
        came, struck = run_faults(site, process.base, each)
    through = {"requests": sum(struck.values()), "faults": {fault.name: n for fault, n in struck.items()}}
    tell("bad network, postgresql" if url else "bad network, sqlite", came, began, **through)


def main() -> None:
    number, requests = (int(sys.argv[i]) if len(sys.argv) > i else n for i, n in ((1, 1000), (2, 5000)))
    with own_database() as database:
        for run, how_many in ((races, number), (faults, requests)):
            for url in ("", database.url):
                with tempfile.TemporaryDirectory(prefix="gapsound-network-") as folder:
                    run(Path(folder), how_many, url)


if __name__ == "__main__":
    main()
