"""What may be sent, field by field: typed, bounded, unknown fields refused, text that no database chokes on."""

from __future__ import annotations

from typing import Annotated

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, StringConstraints

from server.i18n.lazy_text import LazyText


def storable(text: str) -> str:
    """Text without NUL and without halves of characters."""
    if "\x00" in text or any("\ud800" <= sign <= "\udfff" for sign in text):
        raise ValueError(LazyText("expected text without NUL characters and without halves of characters"))
    return text


Text = Annotated[str, StringConstraints(max_length=200), AfterValidator(storable)]
Id = Annotated[str, StringConstraints(pattern=r"^[A-Za-z0-9_-]{1,64}$")]
AnswerId = Annotated[str, StringConstraints(pattern=r"^[A-Za-z0-9_-]{16,64}$")]
ChoiceId = Annotated[str, StringConstraints(pattern=r"^[A-Za-z0-9_-]{1,40}$")]
TookMs = Annotated[int, Field(ge=0, le=86_400_000)]


class Sent(BaseModel):
    """Anything sent by a form or a script: no field too many."""

    model_config = ConfigDict(extra="forbid")
