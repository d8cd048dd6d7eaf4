"""The outermost middleware: headers, origin, limits, and one clear message for every failure."""

import json

import pytest
import structlog
from opentelemetry import _logs, metrics, trace

from server.database import engine, store
from server.database.tables import Member
from server.settings import load_settings
from server.web.middleware import CONTENT_POLICY, find_host_problem
from tests.harness.house import PAGE, PIN, House, TestClient, answer_url, chosen

JSON = {"accept": "application/json"}


@pytest.mark.parametrize(
    ("method", "path", "status"),
    [
        ("GET", "/team", 200),
        ("GET", "/nowhere", 404),
        ("DELETE", "/team", 405),
        ("GET", "/home", 303),
        ("GET", "/static/nothing.css", 404),
        ("GET", "/team?code=%00", 422),
        ("GET", "/healthz", 200),
        ("GET", "/sw.js", 200),
    ],
)
def test_every_reply_has_the_headers(house: House, method: str, path: str, status: int) -> None:
    reply = house.client().request(method, path, headers=PAGE, follow_redirects=False)
    assert reply.status_code == status
    assert reply.headers["content-security-policy"] == CONTENT_POLICY
    assert reply.headers["x-content-type-options"] == "nosniff"
    assert reply.headers["referrer-policy"] == "same-origin"
    assert reply.headers["cache-control"] in ("no-store", "no-cache")
    assert len(reply.headers["x-request-id"]) == 16
    assert "strict-transport-security" not in reply.headers


def test_the_content_policy_allows_nothing_inline_and_nobody_else() -> None:
    """The policy written out by hand, so that a change shows."""
    assert CONTENT_POLICY.split("; ") == [
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' data:",
        "font-src 'self'",
        "connect-src 'self'",
        "manifest-src 'self'",
        "worker-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "object-src 'none'",
        "frame-ancestors 'none'",
    ]


@pytest.mark.parametrize(
    ("headers", "allowed"),
    [
        ({"origin": "http://testserver"}, True),
        ({"origin": "http://TESTSERVER"}, True),
        ({"origin": "http://testserver", "sec-fetch-site": "same-origin"}, True),
        ({"sec-fetch-site": "none"}, True),
        ({"origin": "https://testserver"}, False),
        ({"origin": "http://testserver:81"}, False),
        ({"origin": "http://elsewhere"}, False),
        ({"origin": "null"}, False),
        ({"origin": ""}, False),
        ({"origin": "", "sec-fetch-site": "same-origin"}, True),
        ({"origin": "http://testserver", "sec-fetch-site": "cross-site"}, False),
        ({"origin": "http://testserver", "sec-fetch-site": "same-site"}, False),
        ({}, False),
    ],
)
def test_a_write_must_come_from_a_page_of_ours(house: House, headers: dict, allowed: bool) -> None:
    phone = house.player()
    del phone.headers["origin"]
    reply = phone.post("/sign-out", headers={**JSON, **headers}, follow_redirects=False)
    assert reply.status_code == (303 if allowed else 403)
    assert phone.get("/home", headers=JSON).status_code == (401 if allowed else 200)


@pytest.mark.parametrize(
    ("hosts", "public_url", "is_ours"),
    [
        # source: RFC 9112, section 3.2: a request without exactly one valid Host is answered with 400
        ([], "", False),
        ([b""], "", False),
        ([b"a.example", b"a.example"], "", False),
        ([b"a.example"], "", True),
        ([b"[::1"], "", False),
        ([b"a.example/x"], "https://a.example", True),
        ([b"a.example"], "https://a.example", True),
        ([b"A.example:443"], "https://a.example", True),
        ([b"b.example"], "https://a.example", False),
        ([b"a.example@b.example"], "https://a.example", False),
        ([b"127.0.0.1:8000"], "https://a.example", True),
    ],
)
def test_the_host_must_be_there_once_and_ours(hosts: list[bytes], public_url: str, is_ours: bool) -> None:
    scope = {"type": "http", "headers": [(b"host", one) for one in hosts]}
    assert (find_host_problem(scope, public_url) is None) == is_ours


def test_another_host_is_refused_with_400(house: House) -> None:
    reply = house.client().get("/team", headers={"host": ""})
    assert reply.status_code == 400


def test_a_body_too_large_is_refused_however_it_is_sent(house: House) -> None:
    phone = house.player()
    size = house.settings.body_limit_kb * 1024 + 1

    def pieces():
        for _ in range(size // 1024 + 1):
            yield b"x" * 1024

    for content in (b"x" * size, pieces()):
        reply = phone.put(answer_url("set"), content=content, headers={"content-type": "application/json", **JSON})
        assert reply.status_code == 413
        assert reply.json()["error"]["code"] == "TooLarge"
    form = {"number": "5" * size, "pin": PIN}
    assert house.client().post(f"/team/{house.team.join_code}", data=form, headers=PAGE).status_code == 413


@pytest.mark.parametrize("length", ["9" * 19, "9" * 5000, "-1", "1e3", ""])
def test_an_invalid_length_is_refused(house: House, length: str) -> None:
    reply = house.client().post("/language", headers={"content-length": length}, content=b"lang=es")
    assert reply.status_code == 413


def test_a_form_with_a_field_too_many_is_refused(house: House) -> None:
    form = {"number": "54", "pin": PIN, "role": "owner"}
    reply = house.client().post(f"/team/{house.team.join_code}", data=form, headers=PAGE)
    assert reply.status_code == 422
    assert "role: expected no such field" in reply.text


def test_nul_and_halves_of_characters_are_refused(house: House) -> None:
    client = house.client()
    for value in ("5\x004", "5%004"):
        reply = client.post(
            f"/team/{house.team.join_code}",
            content=f"number={value}&pin=1",
            headers={**JSON, "content-type": "application/x-www-form-urlencoded"},
        )
        assert reply.status_code == 422
    assert client.get("/team/%00", headers=JSON).status_code == 422
    assert client.get("/coach/call?name=%ED%A0%80", headers=JSON).status_code == 401
    assert house.coach().get("/coach/call?name=%ED%A0%80", headers=JSON).status_code == 422


def test_an_unknown_call_names_the_known_ones(house: House) -> None:
    coach = house.coach()
    for path in ("/coach/call?name=Mallet", "/coach/board?call=Mallet", "/coach/assign?call=Mallet"):
        reply = coach.get(path, headers=PAGE)
        assert reply.status_code == 422
        assert "call: expected one of Hammer, Anvil, found" in reply.text


def test_pages_for_browsers_and_json_for_programs(house: House) -> None:
    client = house.client()
    assert client.get("/nowhere", headers=PAGE).headers["content-type"].startswith("text/html")
    for path, headers in (("/nowhere", JSON), ("/api/nowhere", PAGE)):
        reply = client.get(path, headers=headers)
        assert reply.headers["content-type"] == "application/json"
        assert set(reply.json()["error"]) == {"code", "message", "details", "request_id"}


def test_a_bug_shows_one_sentence_with_a_number(house: House, monkeypatch: pytest.MonkeyPatch) -> None:
    coach = house.coach()
    monkeypatch.setattr(house.app.state.services, "team_states", None)
    for headers in (PAGE, JSON):
        reply = coach.get("/coach/board", headers=headers)
        assert reply.status_code == 500
        assert reply.headers["x-request-id"] in reply.text
        assert "Traceback" not in reply.text
        assert "NoneType" not in reply.text


def test_a_database_that_is_held_by_another_is_503_and_the_answer_can_be_sent_again(
    house: House, monkeypatch: pytest.MonkeyPatch
) -> None:
    set_id = house.send_set()
    phone = house.player()
    [first, *_] = house.open_set(phone, set_id)
    body, url = {"rep_id": first["rep_id"], "chosen": chosen(first["rep_id"])}, answer_url(set_id)
    house.store.close()
    monkeypatch.setattr(engine, "BUSY_TIMEOUT_MS", 50)
    impatient = store.open_store(house.settings)
    house.store.engine, house.store._for_writing = impatient.engine, impatient._for_writing
    other = engine.sqlite_module().connect(house.settings.data_dir / "gapsound.db", isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    refused = phone.put(url, json=body)
    assert refused.status_code == 503
    assert refused.headers["retry-after"] == "5"
    assert "Nothing was changed" in refused.json()["error"]["message"]
    other.execute("ROLLBACK")
    other.close()
    assert phone.put(url, json=body).status_code == 201


def test_a_database_that_is_gone_is_503_and_not_ready(postgres_house: House) -> None:
    phone = postgres_house.player()
    assert postgres_house.client().get("/readyz").status_code == 200
    postgres_house.store.close()
    broken = store.open_store(load_settings(database_url="postgresql://gapsound@127.0.0.1:9/none"))
    vars(postgres_house.store).update(vars(broken))
    assert phone.get("/home", headers=JSON).status_code == 503
    assert postgres_house.client().get("/readyz").status_code == 503
    assert postgres_house.client().get("/healthz").status_code == 200


def test_logs_hold_no_name_no_pin_and_no_id_of_people(house: House) -> None:
    with structlog.testing.capture_logs() as lines:
        house.coach().get(f"/coach/players/{house.member().id}", headers=PAGE)
        house.player()
        house.client().get(f"/team/{house.team.join_code}", headers=PAGE)
    text = json.dumps(lines)
    with house.store.read(house.team.id) as t:
        for member in t.rows(Member):
            assert member.number is None or member.name not in text
            assert member.id not in text
    for secret in (PIN, house.team.join_code, house.team.id):
        assert secret not in text
    assert {line["route"] for line in lines} >= {"/coach/players/{player_id}", "/team/{code}"}


def test_static_files_are_revalidated_each_time(house: House) -> None:
    reply = house.client().get("/sw.js")
    assert reply.headers["content-type"].startswith("text/javascript")
    assert reply.headers["cache-control"] == "no-cache"


def test_fonts_are_kept_for_a_week_and_have_their_type(house: House) -> None:
    reply = house.client().get("/static/fonts/gap-head.woff2")
    assert reply.headers["content-type"] == "font/woff2"  # source: RFC 8081, 4.4.6
    assert reply.headers["cache-control"] == "public, max-age=604800"
    assert house.client().get("/static/fonts/none.woff2").headers["cache-control"] == "no-cache"


def test_https_gets_hsts(house: House) -> None:
    with TestClient(house.app, base_url="https://testserver") as client:
        assert "max-age=" in client.get("/team").headers["strict-transport-security"]


def test_telemetry_stays_off_in_any_environment(house: House, monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[str] = []

    class Listening:
        """A provider as an operator's environment would set it up."""

        def get_tracer(self, *_: object, **__: object) -> None:
            asked.append("tracer")

        def get_meter(self, *_: object, **__: object) -> None:
            asked.append("meter")

        def get_logger(self, *_: object, **__: object) -> None:
            asked.append("logger")

    for module, name in (
        (trace, "get_tracer_provider"),
        (metrics, "get_meter_provider"),
        (_logs, "get_logger_provider"),
    ):
        monkeypatch.setattr(module, name, Listening)
    assert house.client().post("/team/NOSUCH", data={"number": "x" * 300, "pin": "1"}).status_code == 422
    assert asked == []
