"""Logs as JSON lines on standard error: what happened to which request, and never a name, a PIN or an address.

Of an error its kinds and places are logged and not its words: those may hold whatever somebody stored or sent.
"""

from __future__ import annotations

import logging
import sys
import traceback
from collections.abc import Iterator, MutableMapping
from typing import Any

import structlog


def set_up_logs(*, as_json: bool = True) -> None:
    """Send every log line, ours and those of libraries, to standard error: as JSON, or readable on a terminal."""
    shared: list[structlog.typing.Processor] = [
        structlog.contextvars.merge_contextvars,
        structlog.processors.add_log_level,
        structlog.processors.TimeStamper(fmt="iso", utc=True),
        without_words,
    ]
    last: structlog.typing.Processor = structlog.processors.JSONRenderer()
    if not as_json:
        last = structlog.dev.ConsoleRenderer(colors=sys.stderr.isatty())
    structlog.configure(
        processors=[*shared, last],
        wrapper_class=structlog.make_filtering_bound_logger(logging.INFO),
        logger_factory=structlog.PrintLoggerFactory(sys.stderr),
        cache_logger_on_first_use=True,
    )
    handler = logging.StreamHandler(sys.stderr)
    handler.setFormatter(structlog.stdlib.ProcessorFormatter(processor=last, foreign_pre_chain=shared))
    root = logging.getLogger()
    root.handlers[:] = [handler]
    root.setLevel(logging.WARNING)
    for name in ("uvicorn", "uvicorn.error", "uvicorn.access", "alembic"):
        logger = logging.getLogger(name)
        logger.handlers.clear()
        logger.propagate = True


def without_words(_: object, __: str, line: MutableMapping[str, Any]) -> MutableMapping[str, Any]:
    """A log line whose error, if it has one, is said by its kinds and places; and of a message only the first line,
    since what follows in those of libraries is the error once more."""
    given = line.pop("exc_info", None)
    found = given[1] if isinstance(given, tuple) else given if isinstance(given, BaseException) else sys.exc_info()[1]
    if given and found is not None:
        line["exception"] = "".join(places(found))
        line["event"] = str(line.get("event", "")).partition("\n")[0]
    return line


def places(error: BaseException) -> Iterator[str]:
    """What led to an error, then the error: where each was raised, in lines of our code, and what kind it is."""
    before = error.__cause__ or (None if error.__suppress_context__ else error.__context__)
    if before is not None:
        yield from places(before)
    for one in getattr(error, "exceptions", ()):
        yield from places(one)
    yield from traceback.format_list(traceback.extract_tb(error.__traceback__))
    yield f"{type(error).__module__}.{type(error).__qualname__}\n"
