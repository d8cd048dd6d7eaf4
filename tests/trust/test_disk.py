"""A full or read-only disk: 503 with a clear message, nothing acknowledged is lost, it recovers."""

import os
import resource
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import httpx
import pytest

from server.accounts.credentials import make_id
from tests.trust.live import Acknowledged, Phone, Process, Site, prepare, serving, settle, stands

pytestmark = pytest.mark.slow
MESSAGE = "cannot reach or write its database right now. Nothing was changed"


def answer(client: httpx.Client, phone: Phone, index: int, told: Acknowledged) -> httpx.Response:
    """Send the answer of one rep; record the one that the reply says is stored."""
    rep = phone.reps[index]
    reply = client.put(rep.path(make_id() + make_id()), json=rep.body("a"))
    if reply.status_code in (200, 201, 409):
        told[phone.member_id, rep.set_id, rep.rep_id] = stands(reply.json())
    return reply


def check_refused(reply: httpx.Response) -> None:
    assert reply.status_code == 503, reply.text
    assert MESSAGE in reply.json()["error"]["message"]
    assert int(reply.headers["retry-after"]) > 0


@contextmanager
def full_disk(process: Process, folder: Path) -> Iterator[None]:
    """Limit that server's files to the size of the largest one in the folder now."""
    largest = max(path.stat().st_size for path in folder.iterdir())
    before = resource.prlimit(process.pid, resource.RLIMIT_FSIZE, (largest, resource.RLIM_INFINITY))
    try:
        yield
    finally:
        resource.prlimit(process.pid, resource.RLIMIT_FSIZE, before)


def test_a_full_disk_refuses_keeps_and_recovers(tmp_path: Path) -> None:
    site = prepare(tmp_path, players=1, sets=8)
    phone, told, refused = site.phones[0], {}, 0
    with (
        serving(site.settings, log=tmp_path / "log") as process,
        httpx.Client(base_url=process.base, headers=phone.headers(process.base), timeout=30) as client,
    ):
        assert [answer(client, phone, i, told).status_code for i in range(4)] == [201] * 4
        with full_disk(process, tmp_path):
            for i in range(4, 60):
                reply = answer(client, phone, i, told)
                if reply.status_code != 201:
                    check_refused(reply)
                    refused += 1
            assert refused > 0, "the disk was never full"
            assert client.get("/healthz").status_code == 200
            assert client.get(f"/api/sets/{phone.reps[0].set_id}").status_code == 200
        for i in range(60):
            assert answer(client, phone, i, told).status_code in (201, 409)
    assert len(told) == 60
    assert settle(site.rows(), told).is_clean


@contextmanager
def read_only(folder: Path) -> Iterator[None]:
    """Make the database's files and their folder read-only."""
    paths = [folder, *folder.iterdir()]
    before = [path.stat().st_mode for path in paths]
    try:
        for path in paths:
            path.chmod(0o555 if path.is_dir() else 0o444)
        yield
    finally:
        for path, mode in zip(paths, before, strict=True):
            if path.exists():
                path.chmod(mode)


def give_to_nobody(site: Site) -> None:
    """Root may write anything, so the server runs as nobody."""
    if os.geteuid() == 0:
        subprocess.run(("chown", "-R", "nobody", str(site.settings.data_dir)), check=True)


@pytest.fixture
def open_folder() -> Iterator[Path]:
    """A folder that every user can reach, unlike pytest's own."""
    with tempfile.TemporaryDirectory(prefix="gapsound-disk-") as name:
        Path(name).chmod(0o755)
        yield Path(name)


def test_a_file_that_may_not_be_written_refuses_keeps_and_recovers(open_folder: Path) -> None:
    site = prepare(open_folder / "data", players=1, sets=1)
    give_to_nobody(site)
    phone, told = site.phones[0], {}
    process = Process(site.settings, options=["--as-nobody"])

    def with_server(indexes: range) -> list[httpx.Response]:
        process.start()
        try:
            with httpx.Client(base_url=process.base, headers=phone.headers(process.base), timeout=30) as client:
                return [answer(client, phone, i, told) for i in indexes]
        finally:
            process.stop()

    assert [reply.status_code for reply in with_server(range(2))] == [201, 201]
    with read_only(site.settings.data_dir):
        for reply in with_server(range(1, 4)):
            check_refused(reply)
    assert [reply.status_code for reply in with_server(range(1, 5))] == [409, 201, 201, 201]
    assert settle(site.rows(), told).is_clean
