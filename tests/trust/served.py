"""A server process of its own: the made-up football, the real clock, logs on standard error as in earnest.

Run with a data folder and a port; the database's address comes from GAPSOUND_DATABASE_URL as for any server.
`--as-nobody` gives up root's rights once everything is imported, so that the file's own rights hold.
"""

import os
import pwd
import sys
from pathlib import Path

from server.app import make_app
from server.logs import set_up_logs
from server.serving import bind, run
from server.settings import load_settings
from server.store import open_store
from tests.server.fake_football import FakeFootball


def main() -> None:
    folder, port = Path(sys.argv[1]), int(sys.argv[2])
    settings = load_settings(data_dir=folder)
    if "--as-nobody" in sys.argv and os.geteuid() == 0:
        nobody = pwd.getpwnam("nobody")
        os.setgroups([])
        os.setgid(nobody.pw_gid)
        os.setuid(nobody.pw_uid)
    set_up_logs()
    app = make_app(settings, store=open_store(settings), football=FakeFootball())
    run(app, settings, bind("127.0.0.1", port, may_move=False), lambda: print("ready", flush=True))


if __name__ == "__main__":
    main()
