"""Output of commands; when it can't be written, one line on standard error, never a traceback.

Knows nothing of what is printed.
"""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Annotated, Any, NoReturn

import typer

AsJson = Annotated[bool, typer.Option("--json", help="Print JSON with stable keys.")]

CLOSED = 1


@contextmanager
def standard_output() -> Iterator[None]:
    """Flush what was printed; on an error, print one line and exit."""
    try:
        yield
        sys.stdout.flush()
    except OSError as error:
        _end_output(error)
    except SystemExit:  # raised by rich when the reader has gone
        _end_output(BrokenPipeError())


def _end_output(error: OSError) -> NoReturn:
    if sys.__stdout__ is not None and sys.stdout is sys.__stdout__:  # or the interpreter would complain at exit
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.__stdout__.fileno())
    why = "it was closed" if isinstance(error, BrokenPipeError) else error.strerror
    typer.echo(f"standard output: expected to be read to its end, but {why}", err=True)
    raise typer.Exit(CLOSED)


def print_json(values: Any) -> None:
    """Print values as JSON with stable keys."""
    with standard_output():
        print(json.dumps(values, indent=1, ensure_ascii=False))


def problems_of(error: Exception) -> list[str]:
    """What is wrong, one line per problem."""
    return [*map(str, getattr(error, "details", None) or str(error).splitlines() or [type(error).__name__])]
