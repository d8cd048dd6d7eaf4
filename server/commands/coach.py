"""The commands `gapsound coach …`: coaches' accounts."""

from __future__ import annotations

import sys
from datetime import UTC, datetime
from typing import Annotated

import typer

from server.commands.database import open_database
from server.errors import BadInput

coach_app = typer.Typer(help="Coaches' accounts.", no_args_is_help=True)


@coach_app.command("add")
def coach_add(
    team_id: Annotated[str, typer.Argument(help="The team's id; see team list.")],
    name: Annotated[str, typer.Argument(help="Sign-in name.")],
    role: Annotated[str, typer.Option(help="owner, coach or position coach.")] = "coach",
    group: Annotated[
        list[str] | None, typer.Option(help="A position coach's group; may be given several times.")
    ] = None,
) -> None:
    """Give a coach an account; his passphrase is asked for (or read from a pipe)."""
    from server.accounts.credentials import hash_passphrase
    from server.accounts.members import add_coach
    from server.accounts.permissions import COACHES

    known = {one.value: one for one in COACHES}
    if role not in known:
        raise BadInput(f"--role: expected one of {', '.join(sorted(known))}, found {role!r}")
    if (role == "position coach") != bool(group):
        raise BadInput("--group: expected one or more for a position coach, none for others")
    store = open_database()
    with store.read(team_id) as t:
        t.team()
    secret_hash = hash_passphrase(ask_passphrase())
    with store.write(team_id) as t:
        coach = add_coach(t, name, known[role], secret_hash, datetime.now(UTC))
        coach.groups = list(group or [])
        t.add(coach)
    store.close()
    print(f"{name} may sign in at /coach/sign-in?team={team_id}.")


def ask_passphrase() -> str:
    """A passphrase, typed twice on a terminal or read as one line from a pipe. Raises: BadInput."""
    from server.accounts.credentials import passphrase_problems

    if sys.stdin.isatty():
        passphrase = str(typer.prompt("Passphrase (15 characters or more)", hide_input=True, confirmation_prompt=True))
    else:
        passphrase = sys.stdin.readline().rstrip("\n")
    if problems := passphrase_problems(passphrase):
        raise BadInput(problems[0])
    return passphrase
