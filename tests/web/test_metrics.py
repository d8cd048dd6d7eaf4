"""Metrics: off by default, bounded, nameless, and only for those whom the setting allows."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from server.accounts.permissions import ACCESS
from server.errors import SettingProblem
from server.settings import load_settings
from server.web.metrics import STATIC, UNKNOWN, Metrics
from tests.harness.house import PAGE, PIN, House, answer_url, chosen, make_house

TOKEN = "t" * 24
AUTH = {"authorization": f"Bearer {TOKEN}"}


@pytest.fixture
def counted(tmp_path: Path) -> Iterator[House]:
    """A server with metrics on."""
    yield from make_house(tmp_path, metrics=TOKEN)


def figures(client: TestClient) -> dict[str, float]:
    reply = client.get("/metrics", headers=AUTH)
    assert reply.status_code == 200
    assert reply.headers["content-type"].startswith("text/plain")
    lines = [line.rsplit(" ", 1) for line in reply.text.splitlines() if not line.startswith("#")]
    return {name: float(value) for name, value in lines}


def looks_missing(client: TestClient, **headers: str) -> bool:
    """Whether /metrics answers exactly like a missing address, except for the request id."""
    replies = [client.request(m, p, headers=headers) for p in ("/metrics", "/nothing") for m in ("GET", "POST", "HEAD")]
    seen = [
        (r.status_code, re.sub(r"[0-9a-f]{16}", "", r.text), sorted(set(r.headers) - {"x-request-id"})) for r in replies
    ]
    return seen[:3] == seen[3:] and replies[0].status_code == 404


def test_off_means_the_route_is_missing(house: House) -> None:
    assert looks_missing(house.client(), **AUTH)


def test_without_the_token_the_route_looks_missing(counted: House) -> None:
    for headers in (
        {},
        {"authorization": "Bearer " + "x" * 24},
        {"authorization": f"Basic {TOKEN}"},
        {"authorization": "Bearer é"},
    ):
        raw = {name: value.encode("latin-1") for name, value in headers.items()}
        reply = counted.client().get("/metrics", headers=raw)
        assert reply.status_code == 404
        assert "gapsound_" not in reply.text


@pytest.mark.parametrize(
    ("host", "headers", "status"),
    [
        ("127.0.0.1", {}, 200),
        ("::1", {}, 200),
        ("10.0.0.7", {}, 404),
        ("127.0.0.1", {"x-forwarded-for": "127.0.0.1"}, 404),
        ("127.0.0.1", {"forwarded": "for=10.0.0.7"}, 404),
    ],
)
def test_for_this_machine_means_not_through_a_proxy(
    tmp_path: Path, host: str, headers: dict[str, str], status: int
) -> None:
    for house in make_house(tmp_path, metrics="loopback"):
        with TestClient(house.app, client=(host, 5)) as client:
            assert client.get("/metrics", headers=headers).status_code == status


def test_what_is_counted(counted: House) -> None:
    set_id, phone = counted.send_set(hours=1), counted.player()
    places = [place for place in counted.open_set(phone, set_id) if place.get("again_of") is None]
    before = figures(phone)
    for n, place in enumerate(places[:3]):
        if n == 2:
            counted.clock.move(hours=2)
        phone.put(answer_url(set_id), json={"rep_id": place["rep_id"], "chosen": chosen(place["rep_id"])})
    phone.put(answer_url(set_id), json={"rep_id": "nonesuch", "chosen": ["a"]})
    phone.put(answer_url(set_id), json={"nonsense": 1})
    counted.client().post(f"/team/{counted.team.join_code}", data={"number": "54", "pin": "000000"}, headers=PAGE)
    counted.client().post("/coach/sign-in", data={"name": "owner", "passphrase": "not the right one"}, headers=PAGE)
    counted.client().get("/no/such/address")
    after = figures(phone)
    grown = {name: after[name] - before.get(name, 0) for name in after if "_total" in name}
    answers = {
        outcome: grown[f'gapsound_answers_total{{outcome="{outcome}"}}'] for outcome in ("stored", "late", "refused")
    }
    assert answers == {"stored": 2, "late": 1, "refused": 2}
    assert [grown[f'gapsound_sign_in_failures_total{{who="{who}"}}'] for who in ("player", "coach")] == [1, 1]
    assert grown['gapsound_requests_total{method="GET",route="unknown",status="4xx"}'] == 1
    put = "/api/sets/{set_id}/answers/{answer_id}"
    assert grown[f'gapsound_requests_total{{method="PUT",route="{put}",status="2xx"}}'] == 3
    assert after[f'gapsound_request_seconds_count{{route="{put}"}}'] == 5


def test_no_label_names_anybody_and_all_are_bounded(counted: House) -> None:
    phone = counted.player()
    phone.get(f"/sets/{counted.member().id}", headers=PAGE)
    for n in range(30):
        phone.request(f"ODD{n}", f"/odd/{n}", headers=PAGE)
    text = phone.get("/metrics", headers=AUTH).text
    for secret in (
        "Dale",
        "Made-up",
        counted.team.id,
        counted.team.join_code,
        counted.member().id,
        PIN,
        TOKEN,
        "testclient",
    ):
        assert secret not in text
    routes = set(re.findall(r'route="([^"]*)"', text))
    assert routes <= {path for _, path in ACCESS} | {STATIC, UNKNOWN}
    assert set(re.findall(r'method="([^"]*)"', text)) <= {"GET", "HEAD", "POST", "PUT", "other"}


def test_a_database_that_fails_is_counted() -> None:
    metrics = Metrics()
    metrics.observe("GET", "/home", 503, 0.1)
    metrics.observe("GET", "/home", 200, 0.1)
    assert b"gapsound_database_errors_total 1.0" in metrics.render()


@pytest.mark.parametrize("value", ["on", "x" * 23, "with a space in it, and long enough"])
def test_a_token_that_is_easily_guessed_stops_the_start(value: str) -> None:
    with pytest.raises(SettingProblem, match="GAPSOUND_METRICS: expected nothing, loopback, or a token"):
        load_settings(metrics=value)
