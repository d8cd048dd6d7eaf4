"""What commands print, and what happens when it can't be: one line on standard error, never a traceback.

It must not know what is printed.
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
    """Whatever is printed is out when this ends; where that can't be, one line says so."""
    try:
        yield
        sys.stdout.flush()
    except OSError as error:
        _end_output(error)
    except SystemExit:  # so rich ends a program whose reader has left
        _end_output(BrokenPipeError())


def _end_output(error: OSError) -> NoReturn:
    if sys.__stdout__ is not None and sys.stdout is sys.__stdout__:  # else the interpreter complains when it ends
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.__stdout__.fileno())
    why = "it was closed" if isinstance(error, BrokenPipeError) else error.strerror
    typer.echo(f"standard output: expected to be read to its end, but {why}", err=True)
    raise typer.Exit(CLOSED)


def print_json(values: Any) -> None:
    """Values under stable keys, on standard output."""
    with standard_output():
        print(json.dumps(values, indent=1, ensure_ascii=False))


def problems_of(error: Exception) -> list[str]:
    """What is wrong, a line each."""
    return [*map(str, getattr(error, "details", None) or str(error).splitlines() or [type(error).__name__])]
