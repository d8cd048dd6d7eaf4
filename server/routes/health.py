"""Health checks, and the service worker, which must be served from the top."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.responses import FileResponse, Response
from starlette.staticfiles import NotModifiedResponse, StaticFiles

from server.errors import Unavailable
from server.paths import STATIC
from server.web.deps import AppServices
from server.web.responses import json_response

router = APIRouter()


@router.get("/healthz")
async def healthz() -> Response:
    """The process answers, whatever its threads wait for."""
    return json_response({"status": "ok"})


@router.get("/readyz")
def readyz(services: AppServices) -> Response:
    """The database answers and has this version's tables. Raises: Unavailable."""
    if not services.store.is_ready():
        raise Unavailable("The database has the tables of another version: run gapsound migrate.", retry_after_s=30)
    return json_response({"status": "ready"})


@router.get("/sw.js")
def service_worker(request: Request) -> Response:
    """The service worker, at the top because it serves only addresses below its own. 304 if the browser has it."""
    path, headers = STATIC / "sw.js", {"Cache-Control": "no-cache"}
    whole = FileResponse(path, media_type="text/javascript", headers=headers, stat_result=path.stat())
    if StaticFiles(directory=STATIC).is_not_modified(whole.headers, request.headers):
        return NotModifiedResponse(whole.headers)
    return whole
