"""Any request to any route, in any role: no 500, no undocumented status.

source: the requests are made by schemathesis, a general-purpose tool that knows more ways to break a schema than we
would think of. The long form, ten thousand requests: `python -m tests.bench.trust_api`.
"""

from collections import Counter
from pathlib import Path

import pytest

from server.accounts.permissions import ACCESS
from server.database.tables import AccountRole
from tests.harness.house import House, make_house
from tests.trust.asking import WORDS, Heard, ask_everything, ask_schema, open_site
from tests.trust.documented import OWN, UNLISTED, WITHOUT_DATABASE, schema_of, statuses

pytestmark = pytest.mark.xdist_group("asking")  # one worker makes what draws the requests
FORM, JSON = "application/x-www-form-urlencoded", "application/json"
#: Bodies that no tool makes from a schema.
WILD = (
    (JSON, b""),
    (JSON, b"{"),
    (JSON, b"null"),
    (JSON, b"[]"),
    (JSON, b'"text"'),
    (JSON, b'{"rep_id": "a", "chosen": ["a"], "took_ms": NaN}'),
    (JSON, b'{"rep_id": "a", "chosen": ["a"], "took_ms": 1e999}'),
    (JSON, b'{"rep_id": "a", "chosen": ["a"], "took_ms": %s}' % (b"9" * 5000)),
    (JSON, b'{"rep_id": "\\ud800", "chosen": ["\\u0000"]}'),
    (JSON, b'{"rep_id": "a", "rep_id": "b", "chosen": ["a"]}'),
    (JSON, b'{"rep_id": "\xff\xfe", "chosen": ["a"]}'),
    (JSON, b"[" * 30_000),
    (JSON, b'{"a":' * 9_000),
    (FORM, b""),
    (FORM, b"&&&===%%%"),
    (FORM, b"number=%FF%FE&pin=%ED%A0%80"),
    (FORM, b"a=1&" * 3_000),
    ("multipart/form-data", b"--x"),
    ("multipart/form-data; boundary=x", b"--x\r\nContent-Disposition: form-data\r\n\r\n--x--"),
    (
        "multipart/form-data; boundary=x",
        b'--x\r\nContent-Disposition: form-data; name="due"; filename="f"\r\n\r\nz\r\n--x--',
    ),
    ("text/plain", b"hello"),
    ("application/xml", b"<a/>"),
    ("nonsense", b"\x00" * 50),
    ("", b"number=1"),
)


def problems(heard: Heard) -> list[str]:
    return [f"{count} x {line}: {heard.examples[line]}" for line, count in heard.wrong.most_common()]


def test_no_route_breaks_or_returns_an_undocumented_status() -> None:
    heard = ask_everything(300, each=2, first_seed=5)
    assert problems(heard) == []
    assert len(heard.statuses) == len(set(ACCESS) - UNLISTED)
    replies = sum(heard.statuses.values(), Counter())
    assert min(replies[status] for status in (200, 303, 401, 403, 404, 422)) > 0, replies


@pytest.mark.slow
def test_no_route_breaks_on_postgresql(postgres_url: str) -> None:
    heard = ask_everything(1, each=1, first_seed=9, database_url=postgres_url)
    assert problems(heard) == []


def test_no_route_breaks_on_a_body_that_no_schema_makes() -> None:
    with open_site() as site:
        for method, path in (route for route in ACCESS if route[0] not in ("GET", "HEAD")):
            allowed = ACCESS[method, path]
            role = next(r for r in (AccountRole.PLAYER, AccountRole.OWNER, AccountRole.NOBODY) if r in allowed)
            for kind, body in WILD if path != "/sign-out" else ():
                names = {n: str(v[0]) for n, v in site.real.items()}
                url = path.format_map(Known(names))
                reply = site.devices[role].request(
                    method, url, content=body, headers={"content-type": kind, "accept": JSON}, follow_redirects=False
                )
                assert reply.status_code in statuses(method, path), (method, url, kind, body[:60], reply.text[:200])


class Known(dict):
    """An unknown name stands for something that doesn't exist."""

    def __missing__(self, key: str) -> str:
        return "nothing-of-the-kind"


def test_a_wrong_method_is_405_and_names_the_allowed_ones(tmp_path: Path) -> None:
    house = next(make_house(tmp_path))
    client, paths = house.client(), {path for _, path in ACCESS}
    for path in paths:
        taken = {method for method, known in ACCESS if known == path}
        for method in {"DELETE", "PATCH", "OPTIONS", "POST", "PUT", "TRACE"} - taken:
            reply = client.request(method, path.replace("{", "").replace("}", ""), headers={"accept": JSON})
            if reply.status_code != 405:  # a neighbour with a wider pattern accepted it
                assert reply.status_code in (401, 404, 422), (method, path)
            else:
                assert reply.headers["allow"]


def test_documented_routes_exist(house: House) -> None:
    assert set(OWN) | WITHOUT_DATABASE | UNLISTED <= set(ACCESS)
    paths = schema_of(house.app)["paths"]
    assert {(method.upper(), path) for path, methods in paths.items() for method in methods} == set(ACCESS) - UNLISTED
    assert WORDS


def test_a_500_and_an_undocumented_status_would_be_found(monkeypatch: pytest.MonkeyPatch) -> None:
    """The tool itself, against a server that breaks and a table without a status."""
    monkeypatch.setattr("server.routes.health.json_response", lambda _: 1 / 0)
    monkeypatch.setitem(OWN, ("GET", "/"), {200})
    heard = Heard()
    with open_site() as site:
        schema = schema_of(site.house.app)
        schema["paths"] = {path: schema["paths"][path] for path in ("/", "/healthz")}
        ask_schema(site, schema, 1, 0, heard)
    assert heard.wrong["GET /healthz: 500"] > 0
    assert heard.wrong["GET /: UndefinedStatusCode 303"] > 0
