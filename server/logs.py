"""Logs as JSON lines on standard error: what happened in which request, never a name, a PIN or an address.

Errors are logged by type and traceback, without their messages: a library's message may quote stored or sent data. A
test makes every route fail with personal data in the message. Rejected: trusting that no message quotes; redacting
known names (a log would need the roster).
"""

from __future__ import annotations

import logging
import sys
import traceback
from collections.abc import Iterator, MutableMapping
from typing import Any

import structlog


def set_up_logs(*, as_json: bool = True) -> None:
    """Send all log lines, including those of libraries, to standard error: as JSON, or readable on a terminal."""
    shared: list[structlog.typing.Processor] = [
        structlog.contextvars.merge_contextvars,
        structlog.processors.add_log_level,
        structlog.processors.TimeStamper(fmt="iso", utc=True),
        strip_error_messages,
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


def strip_error_messages(_: object, __: str, line: MutableMapping[str, Any]) -> MutableMapping[str, Any]:
    """Replace an error with its types and tracebacks. The event keeps only its first line, since libraries repeat the
    error below it."""
    exc_info = line.pop("exc_info", None)
    error = exc_info
    if isinstance(exc_info, tuple):
        error = exc_info[1]
    elif not isinstance(exc_info, BaseException):
        error = sys.exc_info()[1]
    if exc_info and error is not None:
        line["exception"] = "".join(describe_error(error))
        line["event"] = str(line.get("event", "")).partition("\n")[0]
    return line


def describe_error(error: BaseException) -> Iterator[str]:
    """The causes of an error, then the error itself: the traceback and the type of each."""
    before = error.__cause__ or (None if error.__suppress_context__ else error.__context__)
    if before is not None:
        yield from describe_error(before)
    for one in getattr(error, "exceptions", ()):
        yield from describe_error(one)
    yield from traceback.format_list(traceback.extract_tb(error.__traceback__))
    yield f"{type(error).__module__}.{type(error).__qualname__}\n"
