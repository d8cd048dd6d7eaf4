"""What the server says while its database is locked or stopped: python -m tests.bench.loop_waits [options]

Another process holds SQLite's write lock, or PostgreSQL's processes are stopped, while phones ask, answer and sign in.
Prints the longest wait of /healthz (and of a bare server beside it, which shows the machine's own delays), the longest
of every other request, the replies, and whether everything acknowledged is stored.
"""

import argparse
import tempfile
from functools import partial
from pathlib import Path

from tests.trust.held import ask_while_held, locked, prepare_site, stopped
from tests.trust.live import report
from tests.trust.postgres import own_database


def main() -> None:
    wanted = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    wanted.add_argument("--seconds", type=float, default=15.0)
    wanted.add_argument("--phones", type=int, default=12)
    wanted.add_argument("--databases", nargs="+", default=["sqlite", "postgresql"])
    given = wanted.parse_args()
    for name in given.databases:
        with tempfile.TemporaryDirectory(prefix="gapsound-held-") as folder:
            if name == "sqlite":
                site = prepare_site(Path(folder), given.phones)
                found = ask_while_held(site, partial(locked, site.settings), given.seconds)
            else:
                with own_database() as database:
                    site = prepare_site(Path(folder), given.phones, database.url)
                    found = ask_while_held(site, partial(stopped, database), given.seconds)
            report("held", database=name, seconds=given.seconds, phones=given.phones, **found.figures())


if __name__ == "__main__":
    main()
