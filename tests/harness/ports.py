"""Ports of this machine for servers that tests start, so that workers beside one another don't take each other's."""

import secrets
import socket

#: Below what the system hands to clients (from 32768 on Linux): so a port is still free when its server comes back.
FIRST, COUNT = 10_240, 22_000


def free_port() -> int:
    """A port on which nobody listens. Chosen by chance, since other workers choose at the same time."""
    while True:
        port = FIRST + secrets.randbelow(COUNT)
        with socket.socket() as probe:
            try:
                probe.bind(("127.0.0.1", port))
            except OSError:
                continue
            return port
