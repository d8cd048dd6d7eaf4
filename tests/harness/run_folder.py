"""One scratch folder for a whole run of pytest, shared by all of its workers, and who makes and removes it.

The process that was started by hand makes it and removes it; the workers that pytest-xdist starts find it by the
environment, which they inherit. What costs seconds to make and may be shared is made here once, under a lock.
"""

import fcntl
import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

NAME = "GAPSOUND_TEST_RUN_FOLDER"


def make_run_folder() -> Path:
    """A new folder, known to this process and to those it starts. PostgreSQL's user gets through it to its own."""
    folder = Path(tempfile.mkdtemp(prefix="gapsound-tests-"))
    folder.chmod(0o711)
    os.environ[NAME] = str(folder)
    return folder


def remove_run_folder() -> None:
    """Remove it, when all workers have ended."""
    shutil.rmtree(os.environ.pop(NAME))


def run_folder() -> Path:
    """The folder of this run."""
    return Path(os.environ[NAME])


@contextmanager
def one_at_a_time(name: str) -> Iterator[Path]:
    """Hold the run's lock of that name; gives the file in which its holders keep what the next should know."""
    with (run_folder() / f"{name}.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        yield run_folder() / f"{name}.json"
