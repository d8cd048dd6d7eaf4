"""What the tests of trust share: a server with one team, and log lines that cost nothing to write."""

from collections.abc import Iterator
from pathlib import Path

import pytest
import structlog

from tests.server.house import House, make_house


@pytest.fixture(autouse=True, scope="session")
def plain_logs() -> None:
    """Log lines without pictures of the stack, which take seconds to draw."""
    structlog.configure(processors=[structlog.processors.KeyValueRenderer()])


@pytest.fixture
def house(tmp_path: Path) -> Iterator[House]:
    """A server on SQLite."""
    yield from make_house(tmp_path)
