"""A device's language, chosen with a small form and kept in a cookie."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request
from pydantic import StringConstraints
from starlette.responses import Response

from server.i18n.languages import COOKIE, COOKIE_DAYS, LANGUAGES
from server.reading.fields import Sent
from server.web.deps import is_https
from server.web.responses import redirect_to

router = APIRouter()


class LanguageForm(Sent):
    """The chosen language, and the page of ours to return to."""

    lang: Annotated[str, StringConstraints(pattern=f"^({'|'.join(LANGUAGES)})$")]
    back: Annotated[str, StringConstraints(max_length=200, pattern="^/([A-Za-z0-9_-][A-Za-z0-9_./-]*)?$")] = "/"


@router.post("/language")
def choose_language(request: Request, form: Annotated[LanguageForm, Form()]) -> Response:
    """Store the language on this device, and return to the page."""
    response = redirect_to(form.back)
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
