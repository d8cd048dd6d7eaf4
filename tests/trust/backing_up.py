"""Backups made while phones keep answering, each restored into its own database and compared."""

import random
import tempfile
import threading
import time
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path

import httpx

from server.accounts.credentials import make_id
from server.database.backup import checksum, read_backup, restore, write_backup
from server.database.store import Store, open_store
from server.settings import load_settings
from tests.trust.live import Phone, Site, Stands, serving, stands

FIRST_ANSWER_WITHIN_S = 60.0


@dataclass
class Phones:
    """Phones that answer until they are stopped; the replies in order."""

    base: str
    phones: Sequence[Phone]
    told: list[tuple[str, Stands]] = field(default_factory=list)
    wrong: list[str] = field(default_factory=list)
    stop: threading.Event = field(default_factory=threading.Event)

    def answer_all(self, phone: Phone) -> None:
        with httpx.Client(base_url=self.base, headers=phone.headers(self.base), timeout=30) as client:
            for rep in phone.reps:
                if self.stop.is_set():
                    return
                reply = client.put(rep.path(make_id() + make_id()), json=rep.body(random.choice("abc")))
                if reply.status_code == 201:
                    self.told.append((phone.member_id, stands(reply.json())))
                elif reply.status_code != 503:
                    self.wrong.append(f"{reply.status_code} {reply.text[:200]}")


@dataclass(frozen=True, slots=True)
class Compared:
    """One backup: its answers, how many were acknowledged while it was made, and what doesn't match."""

    answers: int
    meanwhile: int
    took_s: float
    problems: tuple[str, ...]


def compare(path: Path, must: set[tuple[str, Stands]], folder: Path) -> list[str]:
    """Restore a file; return what doesn't match: different rows, and acknowledged answers missing from it."""
    store = open_store(load_settings(data_dir=folder / "restored", database_url=""))
    try:
        restore(store, path)
        write_backup(store, folder / "again", datetime.now(UTC))
    finally:
        store.close()
    problems = [] if checksum(folder / "again") == checksum(path) else ["the restored rows are not those of the file"]
    missing = must - set(answers_in(path))
    return [*problems, *(f"acknowledged before, but not in the file: {one}" for one in sorted(missing))]


def answers_in(path: Path) -> list[tuple[str, Stands]]:
    rows = [row for name, row in read_backup(path) if name == "answer"]
    return [(row["member_id"], (row["id"], tuple(row["chosen"]))) for row in rows]


def back_up_once(store: Store, phones: Phones) -> Compared:
    with tempfile.TemporaryDirectory(prefix="gapsound-backup-") as name:
        path = Path(name) / "backup"
        before, began = len(phones.told), time.monotonic()
        write_backup(store, path, datetime.now(UTC))
        took_s, after = time.monotonic() - began, len(phones.told)
        problems = compare(path, set(phones.told[:before]), Path(name))
        return Compared(len(answers_in(path)), after - before, took_s, tuple(problems))


def run_backups(site: Site, backups: int, pause_s: float) -> tuple[list[Compared], Phones]:
    """Make that many backups one after another while all phones answer."""
    with serving(site.settings) as process:
        phones, store = Phones(process.base, site.phones), open_store(site.settings)
        threads = [threading.Thread(target=phones.answer_all, args=(p,), daemon=True) for p in site.phones]
        for thread in threads:
            thread.start()
        came, deadline = [], time.monotonic() + FIRST_ANSWER_WITHIN_S
        try:
            while not phones.told and time.monotonic() < deadline:
                time.sleep(0.05)
            for _ in range(backups):
                time.sleep(pause_s)
                came.append(back_up_once(store, phones))
        finally:
            phones.stop.set()
            for thread in threads:
                thread.join(timeout=60)
            store.close()
    return came, phones
