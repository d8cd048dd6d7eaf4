"""The file of an SQLite database: whether it is still the one that was opened, can be written, and has room.

SQLite goes on writing to a file that was renamed or deleted, and says that all went well: what it acknowledges is then
in no file that anybody finds.
"""

from __future__ import annotations

import contextlib
import os
from pathlib import Path

from server.errors import Unavailable

#: Less free room than this counts as a full disk, in bytes: SQLite needs some for its log.
ROOM = 8 * 1024 * 1024


class DatabaseFile:
    """One database's file, as it was when it was first opened."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._opened: tuple[int, int] | None = None

    def make_private(self) -> None:
        """Make the file if it is missing; only its owner may read it, as it holds names and hashes."""
        with contextlib.suppress(OSError):  # what can't be made is said when it is connected to
            self.path.touch(mode=0o600)
            self.path.chmod(0o600)

    def remember(self) -> None:
        """Remember which file was opened, the first time."""
        if self._opened is None:
            self._opened = self._now()

    def check(self) -> None:
        """Raises: Unavailable when another file, or none, is at its path now."""
        if self._opened is not None and self._now() != self._opened:
            raise Unavailable(
                "The database file was moved or replaced while the server ran. Nothing was changed. Put it back, or "
                "start the server again.",
                retry_after_s=30,
            )

    def check_writable(self) -> None:
        """Raises: Unavailable when the file may not be written, or its disk is full."""
        if not os.access(self.path, os.W_OK) or not os.access(self.path.parent, os.W_OK):
            raise Unavailable("The database file can't be written: look at its rights.", retry_after_s=30)
        disk = os.statvfs(self.path.parent)
        if disk.f_flag & os.ST_RDONLY:
            raise Unavailable("The database file can't be written: look at its rights.", retry_after_s=30)
        if disk.f_bavail * disk.f_frsize < ROOM:
            raise Unavailable("The disk of the database is full.", retry_after_s=30)

    def _now(self) -> tuple[int, int] | None:
        try:
            found = self.path.stat()
        except OSError:
            return None
        return found.st_dev, found.st_ino
