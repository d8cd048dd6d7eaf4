"""A server process of its own for tests that kill it: the made-up football, the real clock.

Run with a data folder and a port; the database's address comes from GAPSOUND_DATABASE_URL as for any server.
"""

import sys
from pathlib import Path

from server.app import make_app
from server.commands.serving import bind, run
from server.database.store import open_store
from server.settings import load_settings
from tests.harness.fake_football import FakeFootball


def main() -> None:
    folder, port = Path(sys.argv[1]), int(sys.argv[2])
    settings = load_settings(data_dir=folder)
    store = open_store(settings)
    app = make_app(settings, store=store, football=FakeFootball())
    run(app, settings, bind("127.0.0.1", port, may_move=False), lambda: print("ready", flush=True))


if __name__ == "__main__":
    main()
