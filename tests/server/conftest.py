"""What tests of the server share: a server with one team, on either database."""

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


@pytest.fixture
def postgres_house(tmp_path: Path, postgres_url: str) -> Iterator[House]:
    """A server on PostgreSQL."""
    yield from make_house(tmp_path, database_url=postgres_url)
