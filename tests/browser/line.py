"""A line between phone and server that can be cut, mended, or made to hang: a relay on a local port.

Playwright's own switch for being offline is one more way to lose signal; this one is the server being gone, for the
service worker too.
"""

import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress


class Line:
    """Passes bytes on between its own port and the server's."""

    def __init__(self, server: tuple[str, int]) -> None:
        self.server = server
        self.hangs = False
        self._open: list[socket.socket] = []
        self._own = socket.create_server(("127.0.0.1", 0))
        self.port = self._own.getsockname()[1]
        self._accept_on(self._own)

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def _accept_on(self, own: socket.socket) -> None:
        threading.Thread(target=self._accept, args=(own,), daemon=True).start()

    def _accept(self, own: socket.socket) -> None:
        while True:
            try:
                near, _ = own.accept()
                far = socket.create_connection(self.server)
            except OSError:
                return
            self._open += [near, far]
            for one, other in ((near, far), (far, near)):
                threading.Thread(target=self._pass_on, args=(one, other), daemon=True).start()

    def _pass_on(self, one: socket.socket, other: socket.socket) -> None:
        with suppress(OSError):
            while data := one.recv(65536):
                while self.hangs:
                    time.sleep(0.05)
                other.sendall(data)
        for end in (one, other):
            with suppress(OSError):
                end.shutdown(socket.SHUT_RDWR)

    def cut(self) -> None:
        """Nobody listens any more, and what was open is closed."""
        with suppress(OSError):
            self._own.shutdown(socket.SHUT_RDWR)
        self._own.close()
        for end in self._open:
            with suppress(OSError):
                end.shutdown(socket.SHUT_RDWR)
            end.close()
        self._open.clear()

    def mend(self) -> None:
        """Listen again at the same address."""
        self._own = socket.create_server(("127.0.0.1", self.port))
        self._accept_on(self._own)


@contextmanager
def open_line(address: str) -> Iterator[Line]:
    """A line to the server at this address for the duration of the block."""
    host, port = address.removeprefix("http://").split(":")
    line = Line((host, int(port)))
    try:
        yield line
    finally:
        line.hangs = False
        line.cut()
