"""A bad network: a proxy between phones and server that drops, delays, duplicates and reorders, by a seeded plan.

It speaks a minimum of HTTP: one request per connection, a head and a body of known length.
"""

import asyncio
import random
from collections import Counter
from collections.abc import Sequence
from contextlib import suppress
from enum import Enum

import httpx

from server.accounts.credentials import make_id
from tests.trust.live import Acknowledged, Phone, Rep, Site, settle, stands
from tests.trust.racing import Races


class Fault(Enum):
    """What happens to one request."""

    NONE = "passed on"
    BEFORE = "dropped before it reached the server"
    AFTER = "reply dropped after the commit"
    SLOW = "delayed"
    TWICE = "delivered twice at once"
    LATE = "connection dropped, request delivered later, behind its successors"


WEIGHTS = {Fault.NONE: 2, Fault.BEFORE: 2, Fault.AFTER: 2, Fault.SLOW: 1, Fault.TWICE: 2, Fault.LATE: 2}


class Proxy:
    """See the module."""

    def __init__(self, port: int, seed: int) -> None:
        self.port, self.chance = port, random.Random(seed)
        self.faults: Counter[Fault] = Counter()
        self.later: set[asyncio.Task[bytes]] = set()

    async def deliver(self, request: bytes, after_s: float = 0.0) -> bytes:
        """Send a request to the server; return its whole reply."""
        await asyncio.sleep(after_s)
        reader, writer = await asyncio.open_connection("127.0.0.1", self.port)
        writer.write(request)
        reply = await reader.read(-1)
        writer.close()
        with suppress(OSError):
            await writer.wait_closed()
        return reply

    async def treat(self, request: bytes) -> bytes:
        """What the phone gets: a reply, or nothing."""
        fault = self.chance.choices(list(WEIGHTS), list(WEIGHTS.values()))[0]
        self.faults[fault] += 1
        if fault is Fault.BEFORE:
            return b""
        if fault is Fault.LATE:
            self.later.add(asyncio.create_task(self.deliver(request, self.chance.uniform(0.01, 0.15))))
            return b""
        if fault is Fault.TWICE:
            first, second = await asyncio.gather(self.deliver(request), self.deliver(request))
            return self.chance.choice((first, second))
        reply = await self.deliver(request, self.chance.uniform(0.01, 0.1) if fault is Fault.SLOW else 0.0)
        return b"" if fault is Fault.AFTER else reply

    async def on_connection(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        with suppress(OSError, asyncio.IncompleteReadError):
            head = await reader.readuntil(b"\r\n\r\n")
            lines = head.decode("latin-1").split("\r\n")
            length = next((int(v) for n, _, v in (x.partition(":") for x in lines) if n.lower() == "content-length"), 0)
            writer.write(await self.treat(head + await reader.readexactly(length)))
            await writer.drain()
        writer.close()


async def phone_sends(
    base: str, through: int, phone: Phone, reps: Sequence[Rep], seed: int, out: Races
) -> Acknowledged:
    """Send an answer for each rep until a reply arrives, some followed by another choice under another id."""
    chance, told = random.Random(seed), {}
    headers = {**phone.headers(base), "host": base.removeprefix("http://"), "connection": "close"}
    async with httpx.AsyncClient(base_url=f"http://127.0.0.1:{through}", headers=headers, timeout=10) as client:
        for rep in reps:
            answer_id, choice = make_id() + make_id(), chance.choice("abc")
            for _ in range(200):
                if chance.random() < 0.05:
                    answer_id, choice = make_id() + make_id(), chance.choice("abc")
                with suppress(httpx.TransportError):
                    reply = await client.put(rep.path(answer_id), json=rep.body(choice))
                    out.statuses[reply.status_code] += 1
                    if reply.status_code in (200, 201, 409):
                        told[phone.member_id, rep.set_id, rep.rep_id] = stands(reply.json())
                        break
                    if reply.status_code != 503:
                        out.wrong.append(f"{reply.status_code} {reply.text[:200]}")
                        break
            else:
                out.wrong.append(f"no reply for {rep.rep_id} in 200 tries")
    return told


async def run(site: Site, base: str, reps_each: int) -> tuple[Races, Counter[Fault]]:
    proxy, out, told = Proxy(int(base.rsplit(":", 1)[1]), seed=7), Races(settle([], {}), Counter()), {}
    server = await asyncio.start_server(proxy.on_connection, "127.0.0.1", 0)
    through = server.sockets[0].getsockname()[1]
    async with server:
        sent = (phone_sends(base, through, p, p.reps[:reps_each], i, out) for i, p in enumerate(site.phones))
        for one in await asyncio.gather(*sent):
            told |= one
        await asyncio.gather(*proxy.later, return_exceptions=True)
    out.count = settle(site.rows(), told)
    return out, proxy.faults


def run_faults(site: Site, base: str, reps_each: int) -> tuple[Races, Counter[Fault]]:
    """Let every phone answer that many reps over the bad network; return the result, and how often each fault
    occurred."""
    return asyncio.run(run(site, base, reps_each))
