"""Logs as JSON lines on standard error: what happened to which request, and never a name, a PIN or an address."""

from __future__ import annotations

import logging
import sys

import structlog


def set_up_logs(*, as_json: bool = True) -> None:
    """Send every log line, ours and those of libraries, to standard error: as JSON, or readable on a terminal."""
    shared: list[structlog.typing.Processor] = [
        structlog.contextvars.merge_contextvars,
        structlog.processors.add_log_level,
        structlog.processors.TimeStamper(fmt="iso", utc=True),
        structlog.processors.format_exc_info,
    ]
    last: structlog.typing.Processor = structlog.processors.JSONRenderer()
    if not as_json:
        last = structlog.dev.ConsoleRenderer(
            colors=sys.stderr.isatty(), exception_formatter=structlog.dev.plain_traceback
        )
        shared.pop()
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
