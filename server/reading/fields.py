"""Types of form and JSON fields: bounded, unknown fields refused, no text that a database can't store."""

from __future__ import annotations

from typing import Annotated

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, StringConstraints

from server.i18n.lazy_text import LazyText


def storable(text: str) -> str:
    """The text, if it has no NUL and no lone surrogates."""
    if "\x00" in text or any("\ud800" <= sign <= "\udfff" for sign in text):
        raise ValueError(LazyText("expected text without NUL characters and without halves of characters"))
    return text


Text = Annotated[str, StringConstraints(max_length=200), AfterValidator(storable)]
Id = Annotated[str, StringConstraints(pattern=r"^[A-Za-z0-9_-]{1,64}$")]
AnswerId = Annotated[str, StringConstraints(pattern=r"^[A-Za-z0-9_-]{16,64}$")]
ChoiceId = Annotated[str, StringConstraints(pattern=r"^[A-Za-z0-9_-]{1,40}$")]
TookMs = Annotated[int, Field(ge=0, le=86_400_000)]


class Sent(BaseModel):
    """Base of every form and JSON body: extra fields are refused."""

    model_config = ConfigDict(extra="forbid")
