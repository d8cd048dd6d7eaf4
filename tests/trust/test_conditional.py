"""Conditional and range requests of browsers.

source: RFC 9110: 13.1.2 If-None-Match (a list, any, weak comparison), 13.1.3 If-Modified-Since (ignored when the other
is there, or when it is no date), 13.2.2 precedence, 14.2 Range, 15.4.5 what a 304 carries.
"""

from collections.abc import Iterator
from datetime import timedelta
from email.utils import format_datetime, parsedate_to_datetime

import httpx

from server.accounts.permissions import ACCESS
from server.database.tables import AccountRole
from server.paths import STATIC
from server.web.middleware import HEADERS
from tests.harness.house import PAGE, House, TestClient
from tests.trust.documented import statuses
from tests.trust.marked import QUERIES, addresses, devices_of, fill

FILES = ["/sw.js", *(f"/static/{path.relative_to(STATIC).as_posix()}" for path in STATIC.rglob("*") if path.is_file())]
#: Wrong tags, in valid and invalid forms.
OTHERS = ('"another"', 'W/"another"', '"a", "b"', "another", '"', "", ",,,", "W/", "\xff", "x" * 5000)
RANGES = (
    "bytes=0-9",
    "bytes=-5",
    "bytes=2-",
    "bytes=0-1,4-5",
    "bytes=99999999-",
    "bytes=5-2",
    "bytes=-",
    "lines=1-2",
    "x",
)
RANGES += ("bytes=" + "0-1," * 2000, "bytes=" + "9" * 5000 + "-")


def ask(device: TestClient, path: str, **headers: str) -> httpx.Response:
    sent = {k.replace("_", "-").encode(): v.encode("latin-1") for k, v in (PAGE | headers).items()}
    return device.get(path, headers=sent, follow_redirects=False)


def check_unchanged(device: TestClient, path: str, whole: httpx.Response) -> None:
    """304 for a client that has the current version, and for no other."""
    tag = whole.headers["etag"]
    for known in (tag, f"W/{tag}", f'"another", {tag}', f'W/"another" , W/{tag}', "*", f" {tag} "):
        reply = ask(device, path, if_none_match=known)
        assert (reply.status_code, reply.content) == (304, b""), (path, known)
        assert reply.headers["etag"].removeprefix("W/") == tag.removeprefix("W/")
        assert reply.headers["cache-control"] == whole.headers["cache-control"]
        for name, value in HEADERS:
            assert reply.headers[name.decode()] == value.decode()
    for other in OTHERS:
        assert ask(device, path, if_none_match=other).status_code == 200, (path, other)


def pages(house: House) -> Iterator[tuple[tuple[str, str], TestClient, str]]:
    """Every page, for everybody who may see it."""
    ids, devices = fill(house, house.team), devices_of(house, house.team)
    for method, pattern in sorted(ACCESS):
        for role, device in devices.items():
            if method == "GET" and role in ACCESS[method, pattern]:
                for path in addresses(pattern, ids, house.team.join_code):
                    yield (method, pattern), device, path + QUERIES.get(pattern, "")


def test_every_page_with_a_tag_answers_304_when_unchanged(house: House) -> None:
    tagged = set()
    for route, device, path in pages(house):
        whole = device.get(path, headers=PAGE, follow_redirects=False)
        if "etag" in whole.headers:
            tagged.add(route)
            check_unchanged(device, path, whole)
        else:
            assert "last-modified" not in whole.headers
            assert ask(device, path, if_none_match="*").status_code != 304, path
    assert tagged == {route for route in ACCESS if 304 in statuses(*route)}


def test_a_tag_shows_nothing_without_access_to_the_page(house: House) -> None:
    owner, player, path = house.coach(), house.player(), "/coach/board"
    tag = owner.get(path, headers=PAGE).headers["etag"]
    assert ask(player, path, if_none_match=tag).status_code == 403
    assert ask(player, path, if_none_match="*").status_code == 403
    nobody = house.client().get(path, headers=PAGE | {"if-none-match": tag}, follow_redirects=False)
    assert nobody.status_code == 303
    assert ask(house.coach(AccountRole.POSITION_COACH), path, if_none_match=tag).status_code == 200


def test_every_file_answers_304_when_unchanged(house: House) -> None:
    device = house.client()
    for path in FILES:
        whole = ask(device, path)
        check_unchanged(device, path, whole)
        written = parsedate_to_datetime(whole.headers["last-modified"])
        for moved_s, status in ((-1, 200), (0, 304), (3600, 304)):
            since = format_datetime(written + timedelta(seconds=moved_s), usegmt=True)
            assert ask(device, path, if_modified_since=since).status_code == status, path
            assert ask(device, path, if_modified_since=since, if_none_match='"another"').status_code == 200, path
        for no_date in ("nonsense", "", "2026-11-26", "9" * 400):
            assert ask(device, path, if_modified_since=no_date).status_code == 200, (path, no_date)


def test_whatever_range_of_a_file_is_asked_for_the_whole_is_sent(house: House) -> None:
    device = house.client()
    for path in FILES:
        content = (STATIC / path.removeprefix("/static").removeprefix("/")).read_bytes()
        for part in ("bytes=0-9", "bytes=-5", f"bytes={len(content)}-", *RANGES):
            reply = ask(device, path, range=part)
            assert (reply.status_code, reply.content) == (200, content), (path, part)
            assert all(name.decode() in reply.headers for name, _ in HEADERS)
