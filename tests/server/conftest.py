"""What tests of the server share: a server with one team, on an embedded database."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.server.house import House, make_house


@pytest.fixture
def house(tmp_path: Path) -> Iterator[House]:
    """A server on SQLite."""
    yield from make_house(tmp_path)
