"""The commands `gapsound team …`: add a team, check its files, update it."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated

import typer

from quizgen.football.errors import GapsoundError
from server.commands.coach import ask_passphrase
from server.commands.database import open_database
from server.commands.output import AsJson, print_json, problems_of
from server.errors import BadInput, GapsoundServerError

team_app = typer.Typer(help="Bring a team in, check its files, bring it up to date.", no_args_is_help=True)

Folder = Annotated[Path, typer.Argument(help="Folder of the team's TOML files.")]


@team_app.command("check")
def team_check(folder: Folder, as_json: AsJson = False) -> None:
    """Say everything that is wrong with a team's files, and which rushers get into each other's way; change nothing."""
    from quizgen.engine.report import crossing_warnings
    from server.playbook.engine import Engine
    from server.team.install import check_files

    try:
        team = check_files(Engine(), read_folder(folder)).team
    except (GapsoundError, GapsoundServerError) as error:
        if not as_json:
            raise
        print_json({"team": None, "problems": problems_of(error), "warnings": []})
        raise typer.Exit(2) from None
    counts = {"positions": len(team.positions), "calls": len(team.pressures), "players": len(team.roster)}
    warnings = crossing_warnings(team)
    if as_json:
        print_json({"team": team.name, **counts, "problems": [], "warnings": list(warnings)})
        return
    print(f"{team.name}: {', '.join(f'{count} {what}' for what, count in counts.items())}. No problems.")
    for line in warnings:
        print(f"Warning: {line}.")


@team_app.command("start")
def team_start(
    starter: Annotated[str, typer.Argument(help="What it lines up in; see team starters.")],
    folder: Annotated[Path, typer.Argument(help="New folder for the team's TOML files.")],
    name: Annotated[str, typer.Option(help="The team's name.")],
) -> None:
    """Write the files of a new team that begins with a starter; then check them and add the team."""
    from server.team.starters import write_starter

    write_starter(starter, name, folder)
    print(f"{folder}: {name.strip()} with the {starter} starter. Make it yours, then:")
    print(f"gapsound team add {folder} --owner NAME")


@team_app.command("starters")
def team_starters() -> None:
    """List the defenses that a new team can begin with."""
    from server.team.starters import starter_names

    for name in starter_names():
        print(name)


@team_app.command("add")
def team_add(
    folder: Folder,
    owner: Annotated[str, typer.Option(help="Sign-in name of the first coach.")],
) -> None:
    """Bring a new team in, with its players and its first coach; his passphrase is asked for, or read from a pipe."""
    from server.accounts.credentials import hash_passphrase
    from server.accounts.members import add_coach
    from server.database.tables import AccountRole
    from server.playbook.engine import Engine
    from server.team.install import add_team, check_files

    files = read_folder(folder)
    check_files(Engine(), files)
    passphrase = ask_passphrase()
    store = open_database()
    taken = add_team(store, Engine(), files, datetime.now(UTC))
    with store.write(taken.team.id) as t:
        add_coach(t, owner, AccountRole.OWNER, hash_passphrase(passphrase), datetime.now(UTC))
    store.close()
    print(f"{taken.team.name} is in, with {taken.added} players.")
    print(f"Team id (for coaches): {taken.team.id}")
    print(f"Coaches sign in at /coach/sign-in?team={taken.team.id} as {owner}.")
    print(f"Players sign in at /team/{taken.team.join_code}. Make their PINs on the roster page.")


@team_app.command("invite")
def team_invite(
    address: Annotated[str, typer.Option(help="The address at which people reach this server.")] = "",
) -> None:
    """Make an address at which a coach begins a new team in his browser, once, within 14 days."""
    from server.settings import load_settings
    from server.team.beginning import make_invite

    shown = address or load_settings().public_url or "http://127.0.0.1:8000"
    store = open_database()
    token = make_invite(store, datetime.now(UTC))
    store.close()
    print(f"{shown.rstrip('/')}/begin/{token}")


@team_app.command("update")
def team_update(
    team_id: Annotated[str, typer.Argument(help="The team's id; see team list.")],
    folder: Folder,
    roster: Annotated[
        bool, typer.Option("--roster", help="Make its players those of the folder's roster.toml.")
    ] = False,
) -> None:
    """Make a team's content that of these files. Its players stay unless --roster is given; answers always stay."""
    from server.playbook.engine import Engine
    from server.team.install import update_team

    store = open_database()
    taken = update_team(store, Engine(), team_id, read_folder(folder), datetime.now(UTC), with_roster=roster)
    store.close()
    print(f"{taken.team.name}: {taken.added} players added, {taken.changed} changed, {taken.removed} removed.")


@team_app.command("list")
def team_list(as_json: AsJson = False) -> None:
    """List the teams on this server."""
    store = open_database()
    teams = store.teams()
    store.close()
    if as_json:
        print_json([{"id": team.id, "join_code": team.join_code, "name": team.name} for team in teams])
        return
    for team in teams:
        print(f"{team.id}  {team.join_code}  {team.name}")


@team_app.command("export")
def team_export(
    team_id: Annotated[str, typer.Argument(help="The team's id; see team list.")],
    xapi: Annotated[Path | None, typer.Option("--xapi", help="Write all answers as xAPI statements, no names.")] = None,
    calendar: Annotated[Path | None, typer.Option("--calendar", help="Write the sets to do as iCalendar.")] = None,
    base: Annotated[str, typer.Option("--base", help="The server's address, which names accounts and questions.")] = "",
) -> None:
    """Write a team's answers or its sets that are due as files of open standards."""
    from server.commands.booklet import write_atomically
    from server.commands.export_files import calendar_of_team, statements_of_team
    from server.settings import load_settings

    if xapi is None and calendar is None:
        raise BadInput("team export: expected --xapi FILE, --calendar FILE or both, found neither")
    address = (base or load_settings().public_url).rstrip("/")
    if not address.startswith(("http://", "https://")):
        raise BadInput(f"--base: expected the server's address, https://…, found {base[:80]!r}")
    store, now = open_database(), datetime.now(UTC)
    with store.read(team_id) as t:
        team = t.team()
    if xapi is not None:
        write_atomically("--xapi", xapi, statements_of_team(store, team, address, now))
    if calendar is not None:
        write_atomically("--calendar", calendar, calendar_of_team(store, team, address, now))
    store.close()


def read_folder(folder: Path) -> dict[str, str]:
    """The texts of a team's files. Raises: BadInput; ContentProblems."""
    from quizgen.content import read_team_dir
    from quizgen.content.files import is_folder

    if not is_folder(folder):
        raise BadInput(f"the folder: expected a folder of TOML files, found {str(folder)[:80]!r}")
    return dict(read_team_dir(folder))
