"""Eight phones at once for one rep, over two server processes on one database."""

import asyncio
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field

import httpx

from server.accounts.credentials import make_id
from tests.trust.live import Acknowledged, Count, Phone, Rep, Site, settle, stands

RACERS = 8


@dataclass
class Races:
    """The results of a run of races: the number of 201, 409 and other replies, and all problems."""

    count: Count
    statuses: Counter[int]
    wrong: list[str] = field(default_factory=list)


async def race(clients: Sequence[httpx.AsyncClient], phone: Phone, rep: Rep) -> tuple[Counter[int], set]:
    """Let all clients send their own answer at once; return the statuses and the answers said to be stored."""

    async def send(client: httpx.AsyncClient, choice: str) -> httpx.Response:
        for _ in range(40):  # "try again in a moment" is an allowed reply, and phones do
            reply = await client.put(rep.path(make_id() + make_id()), json=rep.body(choice))
            if reply.status_code != 503:
                break
            await asyncio.sleep(0.05)
        return reply

    replies = await asyncio.gather(*(send(client, "abc"[i % 3]) for i, client in enumerate(clients)))
    statuses = Counter(reply.status_code for reply in replies)
    return statuses, {stands(reply.json()) for reply in replies if reply.status_code in (200, 201, 409)}


async def run(site: Site, bases: Sequence[str], phone: Phone, reps: Sequence[Rep]) -> Races:
    statuses: Counter[int] = Counter()
    told: Acknowledged = {}
    wrong: list[str] = []
    every = [bases[i % len(bases)] for i in range(RACERS)]
    clients = [httpx.AsyncClient(base_url=base, headers=phone.headers(base), timeout=30) for base in every]
    try:
        for rep in reps:
            said, winners = await race(clients, phone, rep)
            statuses += said
            if said != Counter({201: 1, 409: RACERS - 1}) or len(winners) != 1:
                wrong.append(f"{rep.rep_id}: {dict(said)}, {len(winners)} said to stand")
            for winner in winners:
                told[phone.member_id, rep.set_id, rep.rep_id] = winner
    finally:
        for client in clients:
            await client.aclose()
    return Races(settle(site.rows(), told), statuses, wrong)


def run_races(site: Site, bases: Sequence[str], races: int) -> Races:
    """Run that many races, one after another, for reps of the first phone."""
    phone = site.phones[0]
    assert races <= len(phone.reps)
    return asyncio.run(run(site, bases, phone, phone.reps[:races]))
