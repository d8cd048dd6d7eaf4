"""A text for users that can be translated later: an English ``str`` that remembers its template and slots.

Code that raises or stores it needs no knowledge of languages, and this module doesn't know which ones there are. A
message formatted in advance is in no catalogue and would silently stay English; a test checks the syntax tree for such
messages.
"""

from __future__ import annotations

from collections.abc import Mapping


class LazyText(str):
    """A text made from a template with named slots. Slots may be lazy texts too."""

    __slots__ = ("slots", "template")

    template: str
    slots: Mapping[str, object]

    def __new__(cls, template: str, **slots: object) -> LazyText:
        """The template in English, its slots filled."""
        text = super().__new__(cls, template.format(**slots) if slots else template)
        text.template, text.slots = template, slots
        return text
