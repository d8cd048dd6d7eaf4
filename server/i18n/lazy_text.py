"""A text for people that can still be said in another language: plain English text that remembers how it was made.

It is a ``str`` like any other, so whoever raises or keeps it need not know that there are languages. It must not know
which ones there are.
"""

from __future__ import annotations

from collections.abc import Mapping


class LazyText(str):
    """A text made from a template with named slots. A slot may be such a text itself."""

    __slots__ = ("slots", "template")

    template: str
    slots: Mapping[str, object]

    def __new__(cls, template: str, **slots: object) -> LazyText:
        """The template with its slots filled."""
        text = super().__new__(cls, template.format(**slots) if slots else template)
        text.template, text.slots = template, slots
        return text
