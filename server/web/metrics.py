"""Metrics in the Prometheus text format: requests by route, answers, failed sign-ins.

Off unless `GAPSOUND_METRICS` is set; then the operator's program fetches them, they are never sent. Labels are routes
of the access table, status classes and fixed words: no name, id, address or team, and a bounded number. Several
processes add up through files (see `server.commands.serving.run_workers`). With metrics on, .97 times as many requests
per second were answered in one run (`tests/bench/metrics_bench.py`).

Rejected: sending metrics out (a school's server contacts nobody); the team as a label (it shows who practices when).
"""

from __future__ import annotations

import os
import secrets

from prometheus_client import CollectorRegistry, Counter, Histogram, generate_latest, multiprocess
from prometheus_client.exposition import CONTENT_TYPE_PLAIN_0_0_4
from starlette.requests import Request

from server.accounts.permissions import ACCESS

TYPE = CONTENT_TYPE_PLAIN_0_0_4
LOOPBACK_ONLY = "loopback"
SHARED_FOLDER = "PROMETHEUS_MULTIPROC_DIR"
BUCKETS_S = (0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 2.5, 5.0)
METHODS = frozenset({"GET", "HEAD", "POST", "PUT"})
#: Labels for paths that are not in the access table.
STATIC, UNKNOWN = "/static", "unknown"

ANSWERS = frozenset({("PUT", "/api/sets/{set_id}/answers/{answer_id}"), ("POST", "/sets/{set_id}/reps/{place}")})
SIGN_INS = {("POST", "/team/{code}"): "player", ("POST", "/coach/sign-in"): "coach"}


class Metrics:
    """The metrics of one application."""

    def __init__(self) -> None:
        self.registry = CollectorRegistry()
        self.requests = self._counter("gapsound_requests", "Requests answered.", "method", "route", "status")
        self.seconds = Histogram(
            "gapsound_request_seconds",
            "Time to answer a request.",
            ("route",),
            registry=self.registry,
            buckets=BUCKETS_S,
        )
        self.answers = self._counter("gapsound_answers", "Answers that came in.", "outcome")
        self.sign_ins = self._counter("gapsound_sign_in_failures", "Tries to sign in that failed.", "who")
        self.database = self._counter("gapsound_database_errors", "Requests that the database could not serve.")
        for outcome in ("stored", "late", "refused"):
            self.answers.labels(outcome)
        for who in SIGN_INS.values():
            self.sign_ins.labels(who)

    def _counter(self, name: str, says: str, *labels: str) -> Counter:
        return Counter(name, says, labels, registry=self.registry)

    def observe(self, method: str, route: str, status: int, took_s: float, *, is_late: bool = False) -> None:
        """Count one request by its final status."""
        method = method if method in METHODS else "other"
        key = ("GET" if method == "HEAD" else method, route)
        shown = route if key in ACCESS or route == STATIC else UNKNOWN
        self.requests.labels(method, shown, f"{status // 100}xx").inc()
        self.seconds.labels(shown).observe(took_s)
        if key in ANSWERS:
            self.answers.labels("refused" if status >= 400 else "late" if is_late else "stored").inc()
        if key in SIGN_INS and status in (401, 429):
            self.sign_ins.labels(SIGN_INS[key]).inc()
        if status == 503:
            self.database.inc()

    def render(self) -> bytes:
        """All metrics as text, summed over all processes."""
        if SHARED_FOLDER not in os.environ:
            return generate_latest(self.registry)
        shared = CollectorRegistry()
        multiprocess.MultiProcessCollector(shared)
        return generate_latest(shared)


def may_read(request: Request, setting: str) -> bool:
    """Whether this request may read the metrics: with the token, or from this machine if the setting allows that.

    A request through a proxy doesn't count as from this machine, even when the proxy runs on it.
    """
    if setting == LOOPBACK_ONLY:
        is_forwarded = any(name in request.headers for name in ("forwarded", "x-forwarded-for", "x-real-ip", "via"))
        host = request.client.host if request.client else ""
        return host in ("127.0.0.1", "::1") and not is_forwarded
    kind, _, token = request.headers.get("authorization", "").partition(" ")
    return kind.lower() == "bearer" and secrets.compare_digest(token.strip().encode(), setting.encode())
