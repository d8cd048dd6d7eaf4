"""A disk that is really full, a small one in memory: 503, nothing acknowledged is lost, it recovers. Both databases.

Mounting it takes root; otherwise these tests are skipped. `test_disk.py` has one that everybody can run.
"""

import os
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import httpx
import pytest

from tests.harness.postgres import find_postgres_programs
from tests.trust.live import Acknowledged, Phone, Site, prepare, serving, settle
from tests.trust.postgres import Database
from tests.trust.test_disk import MESSAGE, answer

pytestmark = pytest.mark.slow
ANSWERS = 112
LEFT_B = 48 * 1024


@pytest.fixture
def disk() -> Iterator[Path]:
    """A disk of 96 MB, in a folder that PostgreSQL's user can reach."""
    folder = Path(tempfile.mkdtemp(prefix="gapsound-disk-"))
    mounted = (
        os.geteuid() == 0
        and not subprocess.run(
            ("mount", "-t", "tmpfs", "-o", "size=96m,mode=0755", "tmpfs", folder), capture_output=True, check=False
        ).returncode
    )
    if not mounted:
        folder.rmdir()
        pytest.skip("needs root, who may mount a small disk in memory")
    try:
        yield folder
    finally:
        subprocess.run(("umount", "--lazy", folder), check=True)
        folder.rmdir()


@contextmanager
def full(disk: Path) -> Iterator[None]:
    """Fill the disk except for a few pages."""
    filler = disk / "filler"
    free = os.statvfs(disk)
    with filler.open("wb") as file:
        os.posix_fallocate(file.fileno(), 0, free.f_bavail * free.f_frsize - LEFT_B)
    try:
        yield
    finally:
        filler.unlink()


def send(base: str, phone: Phone, indexes: range, told: Acknowledged) -> list[httpx.Response]:
    with httpx.Client(base_url=base, headers=phone.headers(base), timeout=60) as client:
        return [answer(client, phone, i, told) for i in indexes]


def fill_and_recover(site: Site, disk: Path, heal: object) -> None:
    """Answer until the disk is full and beyond; make room; send everything again."""
    phone, told = site.phones[0], {}
    with serving(site.settings) as process:
        assert {reply.status_code for reply in send(process.base, phone, range(4), told)} == {201}
        with full(disk):
            replies = send(process.base, phone, range(4, ANSWERS), told)
            refused = [reply for reply in replies if reply.status_code != 201]
            assert refused, "the disk was never full"
            assert {reply.status_code for reply in refused} == {503}, refused[0].text
            assert all(reply.headers["retry-after"] for reply in refused)
            assert any(MESSAGE in reply.json()["error"]["message"] for reply in refused)
        if callable(heal):
            heal()
        again = send(process.base, phone, range(ANSWERS), told)
        assert {reply.status_code for reply in again} <= {201, 409}
    assert len(told) == ANSWERS
    assert settle(site.rows(), told).is_clean


def test_a_full_disk_under_sqlite(disk: Path) -> None:
    fill_and_recover(prepare(disk / "data", players=1, sets=8), disk, None)


@pytest.mark.postgres
def test_a_full_disk_under_postgresql(disk: Path, tmp_path: Path) -> None:
    programs = find_postgres_programs()
    assert programs is not None, "the mark `postgres` should have skipped this test"
    folder = disk / "postgres"
    folder.mkdir()
    database = Database(folder, programs)
    database.start()

    def start_if_it_gave_up() -> None:
        """Without room for its log PostgreSQL stops altogether, and its operator restarts it."""
        assert database.running is not None
        if database.running.poll() is not None:
            database.start()

    try:
        site = prepare(tmp_path / "data", players=1, sets=8, database_url=database.url)
        fill_and_recover(site, disk, start_if_it_gave_up)
    finally:
        database.stop()
