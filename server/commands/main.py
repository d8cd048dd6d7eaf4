"""The `gapsound` command, put together from the modules beside this one.

Bad input ends with exit code 2 and a message on standard error, never a traceback. Slow imports are left to the
commands that need them.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from importlib import metadata
from typing import Annotated

import typer

from quizgen.football.errors import GapsoundError
from server.commands import database, serve
from server.commands.coach import coach_app
from server.commands.output import problems_of
from server.commands.team import team_app
from server.errors import GapsoundServerError, Refusal

app = typer.Typer(
    name="gapsound",
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)
#: Commands without the engine, so that a killed server restarts sooner. `serve` loads SciPy before it listens (see
#: `tune_for_requests`) and warms up the rest in a thread once it answers. Rejected: loading everything first (a killed
#: server would be away longer); importing at the first request (it would wait).
WITHOUT_ENGINE = frozenset({"serve", "migrate", "backup", "restore"})
if not WITHOUT_ENGINE.intersection(sys.argv[1:2]):
    from server.commands import football, reps

    football.register(app)
    reps.register(app)
serve.register(app)
database.register(app)
app.add_typer(team_app, name="team")
app.add_typer(coach_app, name="coach")


def main(arguments: Sequence[str] | None = None) -> None:
    """Run one command and exit with its code."""
    sys.exit(run(sys.argv[1:] if arguments is None else list(arguments)))


def run(arguments: Sequence[str]) -> int:
    """Run one command; return its exit code."""
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
        format_message = getattr(error, "format_message", None)
        if format_message is None:
            raise
        text = str(format_message())
        print(text if text.startswith("Usage:") else " ".join(text.split()), file=sys.stderr)
        return 2
    return code if isinstance(code, int) else 0


def fail(error: Exception) -> int:
    """Print what is wrong, one line per problem; return the exit code."""
    for line in problems_of(error):
        print(line, file=sys.stderr)
    return 1 if isinstance(error, Refusal) and error.status >= 500 else 2


def print_version(wanted: bool) -> None:
    """Print the version and exit, if wanted."""
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


if __name__ == "__main__":
    main()
