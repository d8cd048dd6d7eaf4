"""Free ports for servers that tests start, so that parallel workers don't take each other's."""

import secrets
import socket

#: Below the ports that the system gives to clients (from 32768 on Linux), so that a port is still free when its server
#: restarts.
FIRST, COUNT = 10_240, 22_000


def free_port() -> int:
    """A port without a listener, chosen at random because other workers choose at the same time."""
    while True:
        port = FIRST + secrets.randbelow(COUNT)
        with socket.socket() as probe:
            try:
                probe.bind(("127.0.0.1", port))
            except OSError:
                continue
            return port
