"""A stop waits for requests in progress, but not for idle connections."""

import http.client
import signal
import socket
import ssl
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
import trustme

ROOT = Path(__file__).resolve().parent.parent.parent
STOP_WITHIN_S = 60
SOON_S = 15
#: A request is still being read when the server is told to stop: it says so, and ends after the stop.
PROGRAM = """
import asyncio, sys
from fastapi import FastAPI
from server.commands.serving import bind, run
from server.settings import load_settings

app = FastAPI()

@app.get("/long")
async def long():
    print("begun", flush=True)
    await asyncio.sleep(2)
    return "x" * 300_000

folder, port, within, *tls = sys.argv[1:]
settings = load_settings(data_dir=folder, stop_within_s=int(within), **dict(zip(("tls_cert", "tls_key"), tls)))
run(app, settings, bind("127.0.0.1", int(port), may_move=False), lambda: print("ready", flush=True))
"""
Connect = Callable[[], http.client.HTTPConnection]


class Running:
    """A server process and how to connect to it."""

    def __init__(self, process: subprocess.Popen[str], connect: Connect) -> None:
        self.process, self.connect = process, connect

    def line(self) -> str:
        assert self.process.stdout is not None
        return self.process.stdout.readline().strip()

    def stop(self) -> int:
        """Stop it and return its exit code. Raises: TimeoutExpired when it doesn't end soon."""
        self.process.send_signal(signal.SIGTERM)
        return self.process.wait(timeout=SOON_S)


@pytest.fixture(params=["http", "https"])
def running(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Running]:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = int(probe.getsockname()[1])
    command = [sys.executable, "-c", PROGRAM, str(tmp_path), str(port), str(STOP_WITHIN_S)]

    def connect() -> http.client.HTTPConnection:
        return http.client.HTTPConnection("127.0.0.1", port, timeout=SOON_S)

    if request.param == "https":
        authority = trustme.CA()
        own = authority.issue_cert("127.0.0.1")
        own.cert_chain_pems[0].write_to_path(tmp_path / "cert.pem")
        own.private_key_pem.write_to_path(tmp_path / "key.pem")
        command += [str(tmp_path / "cert.pem"), str(tmp_path / "key.pem")]
        context = ssl.create_default_context()
        authority.configure_trust(context)

        def connect() -> http.client.HTTPConnection:
            return http.client.HTTPSConnection("127.0.0.1", port, timeout=SOON_S, context=context)

    process = subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
    one = Running(process, connect)
    try:
        assert one.line() == "ready"
        yield one
    finally:
        process.kill()
        process.wait()
        assert process.stdout is not None
        process.stdout.close()


def test_idle_connections_do_not_delay_a_stop(running: Running) -> None:
    used, unused = running.connect(), running.connect()
    used.request("GET", "/nowhere")
    assert used.getresponse().read()
    unused.connect()
    assert running.stop() in (0, -signal.SIGTERM)
    used.close()
    unused.close()


def test_requests_in_progress_at_a_stop_are_finished(running: Running) -> None:
    read: list[bytes] = []
    client = running.connect()

    def ask() -> None:
        client.request("GET", "/long")
        read.append(client.getresponse().read())

    asking = threading.Thread(target=ask)
    asking.start()
    assert running.line() == "begun"
    assert running.stop() in (0, -signal.SIGTERM)
    asking.join(timeout=SOON_S)
    assert [len(body) for body in read] == [300_002]
    client.close()
