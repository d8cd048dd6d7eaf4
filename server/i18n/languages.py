"""The languages that people are served in: which one a request wants, and every text of ours said in it.

English is the language of the sources; the others lie in ``locales/<code>/LC_MESSAGES/gapsound.po``, which Babel reads
and compiles in memory when a language is first wanted: nothing has to be built when it is installed, and no compiled
copy can be older than its source. It must not know pages, reps or football.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import datetime
from functools import cached_property, lru_cache
from io import BytesIO
from zoneinfo import ZoneInfo

from babel import negotiate_locale
from babel.dates import format_datetime
from babel.messages.catalog import Catalog, Message
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po
from babel.support import NullTranslations, Translations
from starlette.datastructures import Headers
from starlette.requests import cookie_parser
from starlette.types import Scope

from server.i18n.lazy_text import LazyText
from server.paths import LOCALES

DOMAIN = "gapsound"
COOKIE = "lang"
COOKIE_DAYS = 400
#: Each language with its own name for itself, and the country whose dates it is given.
LANGUAGES: Mapping[str, str] = {"en": "English", "es": "Español"}
DATES: Mapping[str, str] = {"en": "en_US", "es": "es_US"}
SOURCE = "en"
QUARTER_S = 900
ACCEPT_MAX = 500  # characters of an Accept-Language header that are looked at


class Language:
    """One language: its texts, its dates."""

    def __init__(self, code: str) -> None:
        self.code = code

    @cached_property
    def _catalog(self) -> Catalog:
        with (LOCALES / self.code / "LC_MESSAGES" / f"{DOMAIN}.po").open("rb") as file:
            return read_po(file, locale=self.code, domain=DOMAIN)

    @cached_property
    def translations(self) -> NullTranslations:
        """The texts as Jinja2 and gettext take them."""
        if self.code == SOURCE:
            return NullTranslations()
        compiled = BytesIO()
        write_mo(compiled, self._catalog)
        compiled.seek(0)
        return Translations(compiled, domain=DOMAIN)

    @cached_property
    def script_words(self) -> Mapping[str, str]:
        """The texts that the page's script says, by the English ones; empty for English."""
        if self.code == SOURCE:
            return {}
        return {str(m.id): str(m.string) for m in self._catalog if m.id and is_in_script(m)}

    def say(self, template: str) -> str:
        """A template with named slots in this language; it joins its words as the language does when it is filled."""
        if self.code == SOURCE:
            return template
        return Spoken(self.translations.gettext(template)) if template else ""

    def tell(self, text: str) -> str:
        """A whole text, such as the message of a refusal; one that is not in the catalogue stays as it is."""
        if self.code == SOURCE or not text:
            return text
        if isinstance(text, LazyText):
            slots = {name: self.tell(one) if isinstance(one, LazyText) else one for name, one in text.slots.items()}
            return self.say(text.template).format(**slots) if slots else self.translations.gettext(text.template)
        return self.translations.gettext(text)

    def moment(self, moment: datetime, zone: str) -> str:
        """A moment as people say it where the team is: Thu 26 Nov, 6:30 PM."""
        local = moment.astimezone(ZoneInfo(zone))
        if self.code == SOURCE:
            return f"{local:%a} {local.day} {local:%b}, {local:%I:%M %p}".replace(", 0", ", ")
        return format_datetime(local, "EEE d MMM, h:mm a", tzinfo=ZoneInfo(zone), locale=DATES[self.code])

    def day(self, moment: datetime | None, zone: str) -> str:
        """A day as people say it where the team is; a dash for none."""
        if moment is None:
            return "–"
        return say_day(self.code, int(moment.timestamp()) // QUARTER_S, zone)


@lru_cache(maxsize=8192)
def say_day(code: str, quarter: int, zone: str) -> str:
    """The day of a quarter of an hour since 1970: no place's clock differs from UTC by less than whole ones."""
    local = datetime.fromtimestamp(quarter * QUARTER_S, ZoneInfo(zone))
    if code == SOURCE:
        return f"{local.day} {local:%b}"
    return format_datetime(local, "d MMM", tzinfo=ZoneInfo(zone), locale=DATES[code])


class Spoken(str):
    """A Spanish template: when it is filled, words run together as they must ("de el" is "del", "y i…" is "e i…")."""

    __slots__ = ()

    def format(self, *args: object, **slots: object) -> str:
        """The template filled, its words joined."""
        text = str.format(self, *args, **slots)
        for find, put in JOINS:
            text = find.sub(put, text)
        return text


#: Spanish grammar as every school book has it: a el is al, de el is del; y before the sound i is e, o before the sound
#: o is u.
JOINS: tuple[tuple[re.Pattern[str], str], ...] = (
    (re.compile(r"\b([Dd]e|[Aa]) el\b"), r"\1l"),
    (re.compile(r"\by (?=h?[IiÍí](?![AaEeOo]))"), "e "),
    (re.compile(r"\bo (?=[Hh]?[OoÓó])"), "u "),
)


def is_in_script(message: Message) -> bool:
    """Whether a text stands in a script that browsers run."""
    return any(str(path).endswith(".js") for path, _ in message.locations)


@lru_cache
def language(code: str) -> Language:
    """The language of that code; English for one that there is not."""
    return Language(code if code in LANGUAGES else SOURCE)


@lru_cache(maxsize=512)
def negotiate(accept: str) -> str:
    """The code of the language that an Accept-Language header wants most, of those there are; English for none."""
    wanted: list[tuple[float, int, str]] = []
    for place, part in enumerate(accept[:ACCEPT_MAX].split(",")):
        name, _, weight = part.strip().partition(";q=")
        try:
            share = float(weight or "1")
        except ValueError:
            continue
        if name and 0 < share <= 1:
            wanted.append((-share, place, name.strip().lower()))
    return negotiate_locale([name for _, _, name in sorted(wanted)], LANGUAGES, sep="-") or SOURCE


def language_of(scope: Scope) -> Language:
    """The language of a request: the one chosen on this device, else the one that its browser wants."""
    headers = Headers(scope=scope)
    chosen = cookie_parser(headers.get("cookie", "")).get(COOKIE, "")
    return language(chosen if chosen in LANGUAGES else negotiate(headers.get("accept-language", "")))
