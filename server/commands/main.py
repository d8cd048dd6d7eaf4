"""The `gapsound` command: start, teams, coaches, database. The engine's commands are in `server/commands/football.py`.

Bad input ends with exit code 2 and one line on standard error; never a traceback. What takes long to import is imported
by the command that needs it.
"""

from __future__ import annotations

import contextlib
import gc
import json
import sys
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime
from importlib import metadata
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from quizgen.football.errors import GapsoundError
from server.commands.output import standard_output
from server.errors import BadInput, GapsoundServerError, Refusal

if TYPE_CHECKING:
    from server.database.store import Store

app = typer.Typer(
    name="gapsound",
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)
team_app = typer.Typer(help="Bring a team in, check its files, bring it up to date.", no_args_is_help=True)
app.add_typer(team_app, name="team")
coach_app = typer.Typer(help="Coaches' accounts.", no_args_is_help=True)
app.add_typer(coach_app, name="coach")
#: Commands that need no engine: what is not imported need not be waited for by a server that was killed.
WITHOUT_ENGINE = frozenset({"serve", "migrate", "backup", "restore"})
if not WITHOUT_ENGINE.intersection(sys.argv[1:2]):
    from server.commands import football, reps

    football.register(app)
    reps.register(app)

Host = Annotated[str, typer.Option(help="Address to listen on; 0.0.0.0: all of this machine's.")]
Port = Annotated[int, typer.Option(min=1, max=65_535, help="Port to listen on.")]
AsJson = Annotated[bool, typer.Option("--json", help="Print JSON with stable keys.")]
Folder = Annotated[Path, typer.Argument(help="Folder of the team's TOML files.")]


def main(arguments: Sequence[str] | None = None) -> None:
    """Run one command and end the process with its exit code."""
    sys.exit(run(sys.argv[1:] if arguments is None else list(arguments)))


def run(arguments: Sequence[str]) -> int:
    """Run one command; give its exit code."""
    try:
        code = app(args=list(arguments), prog_name="gapsound", standalone_mode=False)
    except (GapsoundError, GapsoundServerError) as error:
        return fail(error)
    except typer.Exit as end:
        return end.exit_code
    except (typer.Abort, KeyboardInterrupt):
        print("stopped", file=sys.stderr)
        return 130
    except Exception as error:
        said = getattr(error, "format_message", None)
        if said is None:
            raise
        text = str(said())
        print(text if text.startswith("Usage:") else " ".join(text.split()), file=sys.stderr)
        return 2
    return code if isinstance(code, int) else 0


def problems_of(error: Exception) -> list[str]:
    """What is wrong, a line each."""
    return [*map(str, getattr(error, "details", None) or str(error).splitlines() or [type(error).__name__])]


def fail(error: Exception) -> int:
    """Say what is wrong, a line each; give the exit code."""
    for line in problems_of(error):
        print(line, file=sys.stderr)
    return 1 if isinstance(error, Refusal) and error.status >= 500 else 2


def now() -> datetime:
    """The present moment."""
    return datetime.now(UTC)


def open_database() -> Store:
    """The database that the settings name, with this version's tables. Raises: SettingProblem, Unavailable."""
    from server.database.store import open_store
    from server.settings import load_settings

    store = open_store(load_settings())
    store.migrate()
    return store


@contextlib.contextmanager
def loading() -> Iterator[None]:
    """Imports without the garbage collector, which would go over what they bring again and again: none of it is ever
    garbage."""
    gc.disable()
    try:
        yield
    finally:
        gc.enable()


def print_json(values: Any) -> None:
    """Values under stable keys, on standard output."""
    with standard_output():
        print(json.dumps(values, indent=1, ensure_ascii=False))


def print_version(wanted: bool) -> None:
    """Print the version and end the command, when it is wanted."""
    if wanted:
        print(f"gapsound {metadata.version('gapsound')}")
        raise typer.Exit


@app.callback()
def gapsound(
    version: Annotated[
        bool, typer.Option("--version", help="Print the version and end.", is_eager=True, callback=print_version)
    ] = False,
) -> None:
    """Knowledge checks for a defense: every man's gap, worked out from the coach's own calls."""


@app.command()
def demo(
    data: Annotated[Path | None, typer.Option("--data", help="Folder to keep the demo in.")] = None,
    host: Host = "0.0.0.0",  # noqa: S104 - a demo with invented people, so that a phone can be tried
    port: Port = 8000,
    season: Annotated[bool, typer.Option(help="Fill the board with an invented season.")] = True,
) -> None:
    """Start the invented demo team on an embedded database, and print how to sign in."""
    from server.commands.demo import start_demo

    start_demo(data, host, port, with_season=season)


@app.command()
def serve(
    host: Host = "127.0.0.1",
    port: Port = 8000,
    workers: Annotated[int, typer.Option(min=1, max=64, help="Processes that answer.")] = 1,
) -> None:
    """Start the server for the teams in its database."""
    with loading():
        from server.app import make_app
        from server.commands.serving import NO_HTTPS, address_of, bind, is_without_https, run_workers
        from server.commands.serving import run as run_server
        from server.database.store import open_store
        from server.logs import set_up_logs
        from server.settings import load_settings

    settings = load_settings()
    listening = bind(host, port, may_move=False)
    store = open_store(settings)
    if settings.database_url:
        if not store.is_ready():
            raise BadInput("the database: expected the tables of this version; run gapsound migrate")
    else:
        store.migrate()
    set_up_logs()
    address = address_of(settings, host, port)
    if is_without_https(address):
        print(NO_HTTPS, file=sys.stderr)
    if workers > 1:
        store.close()
        print(f"Listening on {address} with {workers} processes", file=sys.stderr)
        run_workers(settings, listening, workers)
        return
    run_server(
        make_app(settings, store=store), settings, listening, lambda: print(f"Listening on {address}", file=sys.stderr)
    )


@team_app.command("check")
def team_check(folder: Folder, as_json: AsJson = False) -> None:
    """Say everything that is wrong with a team's files; change nothing."""
    from server.playbook.engine import Engine
    from server.team.install import check_files

    try:
        team = check_files(Engine(), read_folder(folder)).team
    except (GapsoundError, GapsoundServerError) as error:
        if not as_json:
            raise
        print_json({"team": None, "problems": problems_of(error)})
        raise typer.Exit(2) from None
    counts = {"positions": len(team.positions), "calls": len(team.pressures), "players": len(team.roster)}
    if as_json:
        print_json({"team": team.name, **counts, "problems": []})
    else:
        print(f"{team.name}: {', '.join(f'{count} {what}' for what, count in counts.items())}. No problems.")


@team_app.command("add")
def team_add(
    folder: Folder,
    owner: Annotated[str, typer.Option(help="Sign-in name of the first coach.")],
) -> None:
    """Bring a new team in, with its players and its first coach; his passphrase is asked for, or read from a pipe."""
    from server.accounts.credentials import hash_passphrase
    from server.accounts.members import add_coach
    from server.database.tables import Role
    from server.playbook.engine import Engine
    from server.team.install import add_team, check_files

    files = read_folder(folder)
    check_files(Engine(), files)
    passphrase = ask_passphrase()
    store = open_database()
    taken = add_team(store, Engine(), files, now())
    with store.write(taken.team.id) as t:
        add_coach(t, owner, Role.OWNER, hash_passphrase(passphrase), now())
    store.close()
    print(f"{taken.team.name} is in, with {taken.added} players.")
    print(f"Team id (for coaches): {taken.team.id}")
    print(f"Coaches sign in at /coach/sign-in?team={taken.team.id} as {owner}.")
    print(f"Players join at /join/{taken.team.join_code}. Make their PINs on the roster page.")


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
    taken = update_team(store, Engine(), team_id, read_folder(folder), now(), with_roster=roster)
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
    from server.accounts.sessions import COACHES

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
        coach = add_coach(t, name, known[role], secret_hash, now())
        coach.groups = list(group or [])
        t.add(coach)
    store.close()
    print(f"{name} may sign in at /coach/sign-in?team={team_id}.")


@app.command()
def migrate() -> None:
    """Bring the database's tables to this version."""
    open_database().close()
    print("The tables are those of this version.")


@app.command()
def backup(file: Annotated[Path, typer.Argument(help="File to write; must not exist yet.")]) -> None:
    """Write everything in the database to one file, as of one moment, while the server runs."""
    from server.database.backup import write_backup

    store = open_database()
    counts = write_backup(store, file, now())
    store.close()
    print(f"{sum(counts.values())} rows written to {file}.")


@app.command()
def restore(
    file: Annotated[Path, typer.Argument(help="File that gapsound backup wrote.")],
    verify: Annotated[bool, typer.Option("--verify", help="Only restore it in a scratch place and compare.")] = False,
) -> None:
    """Fill an empty database from a backup, all or nothing."""
    from server.database import backup as backups
    from server.database.store import open_store
    from server.settings import load_settings

    if verify:
        counts = backups.verify(file, now())
        print(f"{file}: {sum(counts.values())} rows, restored and compared: the same.")
        return
    store = open_store(load_settings())
    counts = backups.restore(store, file)
    store.close()
    print(f"{sum(counts.values())} rows restored.")


def read_folder(folder: Path) -> dict[str, str]:
    """The texts of a team's files. Raises: BadInput; ContentProblems."""
    from quizgen.content import read_team_dir
    from quizgen.content.files import is_folder

    if not is_folder(folder):
        raise BadInput(f"the folder: expected a folder of TOML files, found {str(folder)[:80]!r}")
    return dict(read_team_dir(folder))


def ask_passphrase() -> str:
    """A passphrase, typed twice on a terminal or one line from a pipe. Raises: BadInput."""
    from server.accounts.credentials import problems_of_passphrase

    if sys.stdin.isatty():
        passphrase = str(typer.prompt("Passphrase (15 characters or more)", hide_input=True, confirmation_prompt=True))
    else:
        passphrase = sys.stdin.readline().rstrip("\n")
    if problems := problems_of_passphrase(passphrase):
        raise BadInput(problems[0])
    return passphrase


if __name__ == "__main__":
    main()
