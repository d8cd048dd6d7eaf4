"""The language that a device is served in: chosen by a small form, kept in a cookie."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request
from starlette.responses import Response

from server.inputs import LanguageForm
from server.languages import COOKIE, COOKIE_DAYS
from server.parts import is_https
from server.replies import go

router = APIRouter()


@router.post("/language")
async def choose_language(request: Request, form: Annotated[LanguageForm, Form()]) -> Response:
    """Keep the chosen language on this device, and go back to the page that asked."""
    response = go(form.back)
    response.set_cookie(
        COOKIE,
        form.lang,
        max_age=COOKIE_DAYS * 86_400,
        path="/",
        secure=is_https(request),
        httponly=True,
        samesite="lax",
    )
    return response
