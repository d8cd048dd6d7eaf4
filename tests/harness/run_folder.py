"""One scratch folder for a whole run of pytest, shared by all its workers.

The process started by hand makes and removes it; pytest-xdist's workers inherit its path in the environment. What takes
seconds to make and can be shared is made here once, under a lock.
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
    """Make the folder and publish its path to this process and its children. Readable for PostgreSQL's own user."""
    folder = Path(tempfile.mkdtemp(prefix="gapsound-tests-"))
    folder.chmod(0o711)
    os.environ[NAME] = str(folder)
    return folder


def remove_run_folder() -> None:
    """Remove it after all workers have ended."""
    shutil.rmtree(os.environ.pop(NAME))


def run_folder() -> Path:
    """The folder of this run."""
    return Path(os.environ[NAME])


@contextmanager
def one_at_a_time(name: str) -> Iterator[Path]:
    """Hold the run's lock of that name; yields the file for what its holders tell the next one."""
    with (run_folder() / f"{name}.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        yield run_folder() / f"{name}.json"
