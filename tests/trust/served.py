"""A separate server process: the made-up football, the real clock, logs on standard error as in production.

Run with a data folder and a port; the database's address comes from GAPSOUND_DATABASE_URL as for any server.
`--as-nobody` gives up root's rights after all imports, so that file permissions apply. `--broken` makes every route
fail with an error that contains all its data.
"""

import os
import pwd
import sys
from pathlib import Path
from typing import Any

import fastapi.routing
from fastapi import Request

from server.app import make_app
from server.commands.serving import bind, run
from server.database.store import open_store
from server.logs import set_up_logs
from server.routes.api import QUESTION_ROUTE
from server.settings import load_settings
from server.web.deps import load_viewer
from tests.harness.fake_football import FakeFootball


async def broken(*, values: dict[str, Any], **_: object) -> None:
    """Replaces every route: an error whose message has the viewer and everything that was sent."""
    viewers = [one.state.viewer for one in values.values() if isinstance(one, Request)]
    try:
        raise KeyError(values)
    except KeyError as error:
        raise LookupError(f"{[vars(v.member) | vars(v.team) for v in viewers if v]} {values}") from error


async def broken_question(request: Request) -> None:
    """The same for the question's route, which is Starlette's own."""
    request.scope["route"] = QUESTION_ROUTE
    await load_viewer(request)
    await broken(values={"request": request, **request.path_params})


def main() -> None:
    folder, port = Path(sys.argv[1]), int(sys.argv[2])
    settings = load_settings(data_dir=folder)
    if "--as-nobody" in sys.argv and os.geteuid() == 0:
        nobody = pwd.getpwnam("nobody")
        os.setgroups([])
        os.setgid(nobody.pw_gid)
        os.setuid(nobody.pw_uid)
    set_up_logs()
    if "--broken" in sys.argv:
        fastapi.routing.run_endpoint_function = broken
        QUESTION_ROUTE.endpoint = broken_question
    app = make_app(settings, store=open_store(settings), football=FakeFootball())
    run(app, settings, bind("127.0.0.1", port, may_move=False), lambda: print("ready", flush=True))


if __name__ == "__main__":
    main()
