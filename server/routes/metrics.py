"""The figures for whoever runs the server; this route is there only where the settings ask for it."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.responses import Response

from server.errors import NotFound
from server.web.deps import AppServices

router = APIRouter()


@router.get("/metrics")
def metrics(request: Request, services: AppServices) -> Response:
    """All figures as text; to anybody who may not have them, nothing is here. Raises: NotFound."""
    from server.web.metrics import TYPE, Metrics, may_read

    figures: Metrics = request.app.state.metrics
    if not may_read(request, services.settings.metrics):
        raise NotFound("There is no page at this address.")
    return Response(figures.render(), media_type=TYPE)
