"""The metrics for the operator; the route exists only when the settings enable it."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.responses import Response

from server.errors import NotFound
from server.web.deps import AppServices

router = APIRouter()


@router.get("/metrics")
def metrics(request: Request, services: AppServices) -> Response:
    """All metrics as text; without permission the route looks missing. Raises: NotFound."""
    from server.web.metrics import TYPE, Metrics, may_read

    figures: Metrics = request.app.state.metrics
    if not may_read(request, services.settings.metrics):
        raise NotFound("There is no page at this address.")
    return Response(figures.render(), media_type=TYPE)
