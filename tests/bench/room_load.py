"""The meeting room with many phones: python -m tests.bench.room_load [--phones 60] [--rounds 3] [options]

Every phone asks once a second where the meeting is and answers each snap at a random moment within eight seconds; the
wall looks twice a second. Prints how long it takes from an answer's reply until the wall's count has it, how long
answers take, and whether every answer that was acknowledged is stored.
"""

import argparse
import asyncio
import contextlib
import random
import re
import tempfile
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

import httpx
from sqlmodel import col

from server.accounts.credentials import cookie_name, make_token, token_hash
from server.accounts.members import add_coach, players
from server.database.store import open_store
from server.database.tables import AccountRole, Answer, SignIn
from tests.bench.load_report import Phone, Site, percentiles, prepare, served
from tests.trust.live import report
from tests.trust.postgres import own_database

POSITIONS = ("nose", "rake", "jack", "pick", "mike", "will", "sam", "kite", "hawk", "left-corner", "right-corner")
WITHIN_S, LOOK_S, PHONE_LOOKS_S = 8.0, 0.5, 1.0
CHOICES = re.compile(r'name="(choice_\d)" value="([^"]+)"')
ANSWER_ID = re.compile(r'name="answer_id" value="([^"]+)"')


def sign_in_coach(site: Site) -> str:
    """Store a coach's session, and spread the players over all positions; return the coach's token."""
    store, now, token = open_store(site.settings), datetime.now(UTC), make_token(site.team.id)
    with store.write(site.team.id) as t:
        coach = add_coach(t, "bench", AccountRole.OWNER, "no", now)
        t.add(coach)
        for n, player in enumerate(players(t)):
            player.positions = [POSITIONS[n % len(POSITIONS)]]
            t.add(player)
        own = {"team_id": t.team_id, "token_hash": token_hash(token), "member_id": coach.id}
        t.add(SignIn(**own, created_at=now, seen_at=now, ends_at=now + timedelta(days=1)))
    store.close()
    return token


def client(base: str, token: str) -> httpx.AsyncClient:
    cookies = {cookie_name(False): token}  # a header of our own would not follow a redirect
    headers = {"accept": "text/html", "origin": base}
    return httpx.AsyncClient(base_url=base, headers=headers, cookies=cookies, timeout=30, follow_redirects=True)


class Room:
    """What the phones have answered and what the wall has shown, by the clock."""

    def __init__(self) -> None:
        self.answered: list[float] = []
        self.took: list[float] = []
        self.counts: list[tuple[float, int]] = []
        self.is_over = False

    def waits(self) -> list[float]:
        """From each answer's reply until the wall's count had it, in seconds."""
        found = []
        for n, at in enumerate(sorted(self.answered), start=1):
            seen = next((when for when, count in self.counts if count >= n and when >= at), None)
            found.append(float("inf") if seen is None else seen - at)
        return found


async def play(phone: Phone, base: str, room_id: str, place: int, room: Room) -> None:
    """A phone for one snap: it looks, answers once, and looks on."""
    async with client(base, phone.token) as http:
        page = await http.get("/room")
        if "I am in" in page.text:
            page = await http.post(f"/room/{room_id}/join")
        answer_at = time.monotonic() + random.uniform(0.5, WITHIN_S)
        has_answered = not ANSWER_ID.search(page.text)  # his position may have no question on this snap
        while not room.is_over:
            if not has_answered and time.monotonic() >= answer_at:
                form = dict(CHOICES.findall(page.text)) | {"answer_id": ANSWER_ID.findall(page.text)[0]}
                began = time.monotonic()
                reply = await http.post(f"/room/{room_id}/{place}", data=form)
                assert reply.status_code == 200, reply.text[:200]
                room.took.append(time.monotonic() - began)
                room.answered.append(time.monotonic())
                has_answered = True
            await http.get("/api/room", headers={"accept": "application/json"})
            await asyncio.sleep(PHONE_LOOKS_S)


async def watch(http: httpx.AsyncClient, room_id: str, room: Room) -> None:
    while not room.is_over:
        state = await http.get(f"/coach/room/{room_id}/state")
        assert state.status_code == 200, state.text[-900:]
        room.counts.append((time.monotonic(), state.json()["answered"]))
        await asyncio.sleep(LOOK_S)


async def meet(site: Site, base: str, token: str, rounds: int) -> tuple[Room, int]:
    """A meeting of some snaps; returns what was seen of all of them and the number of acknowledged answers."""
    whole = Room()
    async with client(base, token) as wall:
        page = (await wall.get("/coach/room", params={"call": "Kettle"})).text
        snaps = re.findall(r'name="snaps" value="([0-9a-f]+)"', page)[:rounds]
        started = await wall.post("/coach/room", data={"call": "Kettle", "snaps": snaps})
        assert started.url.path.startswith("/coach/room/"), (started.url, started.text[-1500:])
        room_id = started.url.path.rsplit("/", 1)[1]
        for place in range(1, len(snaps) + 1):
            room = Room()
            looking = asyncio.create_task(watch(wall, room_id, room))
            playing = [asyncio.create_task(play(one, base, room_id, place, room)) for one in site.phones]
            await asyncio.sleep(WITHIN_S + 6.0)
            room.is_over = True
            await asyncio.gather(looking, *playing)
            whole.answered += room.answered
            whole.took += room.took
            whole.counts += [(wait, 0) for wait in room.waits()]
            for action in ("fits", "next"):
                await wall.post(f"/coach/room/{room_id}", data={"action": action, "place": place})
    return whole, len(whole.answered)


def main() -> None:
    wanted = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    wanted.add_argument("--phones", type=int, default=60)
    wanted.add_argument("--rounds", type=int, default=3, help="snaps")
    wanted.add_argument("--databases", nargs="+", default=["sqlite", "postgresql"])
    given = wanted.parse_args()
    for name in given.databases:
        with contextlib.ExitStack() as opened:
            url = opened.enter_context(own_database()).url if name == "postgresql" else ""
            folder = Path(opened.enter_context(tempfile.TemporaryDirectory(prefix="gapsound-room-")))
            site = prepare(folder, given.phones, 1, url)
            token = sign_in_coach(site)
            workers = 2 if url else 1
            with served(site, workers) as base:
                room, acknowledged = asyncio.run(meet(site, base, token, given.rounds))
            store = open_store(site.settings)
            with store.read(site.team.id) as t:
                stored = t.count(Answer, col(Answer.kind) != "")
            store.close()
            waits = [wait for wait, _ in room.counts]
            report(
                "room",
                database=name,
                workers=workers,
                phones=given.phones,
                answers=acknowledged,
                lost=acknowledged - stored,
                never_shown=waits.count(float("inf")),
                answer_ms=percentiles(room.took),
                until_counted_ms=percentiles([wait for wait in waits if wait != float("inf")]),
            )


if __name__ == "__main__":
    main()
