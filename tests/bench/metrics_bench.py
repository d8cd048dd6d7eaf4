"""The cost of metrics: the same requests to two applications, metrics on and off, in alternation in one process.

Run: python -m tests.bench.metrics_bench. Prints a ratio, since the machine's speed changes from second to second.
"""

import asyncio
import statistics
import tempfile
import time
from pathlib import Path

import structlog
from fastapi import FastAPI
from starlette.types import Message, Scope

from server.app import make_app
from server.settings import load_settings
from tests.harness.fake_football import FakeFootball

ROUNDS, REQUESTS = 30, 300


def application(folder: Path, metrics: str) -> FastAPI:
    settings = load_settings(data_dir=folder, metrics=metrics)
    return make_app(settings, football=FakeFootball())


def scope() -> Scope:
    return {
        "type": "http",
        "http_version": "1.1",
        "method": "GET",
        "path": "/healthz",
        "raw_path": b"/healthz",
        "query_string": b"",
        "headers": [(b"host", b"localhost")],
        "scheme": "http",
        "server": ("localhost", 80),
        "client": ("127.0.0.1", 1),
        "state": {},
    }


async def receive() -> Message:
    return {"type": "http.request", "body": b"", "more_body": False}


async def send(_: Message) -> None:
    return None


async def seconds(app: FastAPI) -> float:
    began = time.perf_counter()
    for _ in range(REQUESTS):
        await app(scope(), receive, send)
    return time.perf_counter() - began


async def compare(folder: Path) -> None:
    off, on = application(folder, ""), application(folder, "t" * 24)
    pairs = []
    for n in range(ROUNDS + 1):
        first = await seconds(off), await seconds(on)
        if n:  # the first round warms both up
            pairs.append(first)
    ratios = [one / two for one, two in pairs]
    low, _, high = statistics.quantiles(ratios, n=4)
    print(f"requests a second, figures on against off: {statistics.median(ratios):.3f} ({low:.3f} to {high:.3f})")


if __name__ == "__main__":
    structlog.configure(wrapper_class=structlog.make_filtering_bound_logger(50))
    with tempfile.TemporaryDirectory() as scratch:
        asyncio.run(compare(Path(scratch)))
