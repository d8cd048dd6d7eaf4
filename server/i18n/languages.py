"""The languages on offer: which one a request gets, and translations, dates and times in it.

English is the language of the sources; others are in ``locales/<code>/LC_MESSAGES/gapsound.po``. Babel compiles them in
memory on first use: nothing to build at install, and no compiled copy that is older than its source. Rejected: ``.mo``
files in the repository; compiling in the wheel build (a source tree would lack them). Knows nothing of pages, reps or
football.
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
#: Each language by its own name, and the locale for its dates.
LANGUAGES: Mapping[str, str] = {"en": "English", "es": "Español"}
DATES: Mapping[str, str] = {"en": "en_US", "es": "es_US"}
SOURCE = "en"
QUARTER_S = 900
ACCEPT_MAX = 500  # characters of an Accept-Language header that are parsed


class Language:
    """One language: its texts and dates."""

    def __init__(self, code: str) -> None:
        self.code = code

    @cached_property
    def _catalog(self) -> Catalog:
        with (LOCALES / self.code / "LC_MESSAGES" / f"{DOMAIN}.po").open("rb") as file:
            return read_po(file, locale=self.code, domain=DOMAIN)

    @cached_property
    def translations(self) -> NullTranslations:
        """The catalogue for Jinja2 and gettext."""
        if self.code == SOURCE:
            return NullTranslations()
        compiled = BytesIO()
        write_mo(compiled, self._catalog)
        compiled.seek(0)
        return Translations(compiled, domain=DOMAIN)

    @cached_property
    def script_words(self) -> Mapping[str, str]:
        """Translations of the texts in scripts, by the English text; empty for English."""
        if self.code == SOURCE:
            return {}
        return {str(m.id): str(m.string) for m in self._catalog if m.id and is_in_script(m)}

    def translate_template(self, template: str) -> str:
        """A template with named slots in this language; filling it also applies the language's contractions."""
        if self.code == SOURCE:
            return template
        return Spoken(self.translations.gettext(template)) if template else ""

    def translate(self, text: str) -> str:
        """A whole text, such as an error message; unchanged when it isn't in the catalogue."""
        if self.code == SOURCE or not text:
            return text
        if isinstance(text, LazyText):
            if not text.slots:
                return self.translations.gettext(text.template)
            slots = {name: self.translate(v) if isinstance(v, LazyText) else v for name, v in text.slots.items()}
            return self.translate_template(text.template).format(**slots)
        return self.translations.gettext(text)

    def moment(self, moment: datetime, zone: str) -> str:
        """A moment in the team's time zone: Thu 26 Nov, 6:30 PM."""
        local = moment.astimezone(ZoneInfo(zone))
        if self.code == SOURCE:
            return f"{local:%a} {local.day} {local:%b}, {local:%I:%M %p}".replace(", 0", ", ")
        return format_datetime(local, "EEE d MMM, h:mm a", tzinfo=ZoneInfo(zone), locale=DATES[self.code])

    def day(self, moment: datetime | None, zone: str) -> str:
        """A day in the team's time zone; a dash for None."""
        if moment is None:
            return "–"
        return format_day(self.code, int(moment.timestamp()) // QUARTER_S, zone)


@lru_cache(maxsize=8192)
def format_day(code: str, quarter: int, zone: str) -> str:
    """The day of a quarter hour, counted from 1970. All UTC offsets are whole quarter hours, so few are cached."""
    local = datetime.fromtimestamp(quarter * QUARTER_S, ZoneInfo(zone))
    if code == SOURCE:
        return f"{local.day} {local:%b}"
    return format_datetime(local, "d MMM", tzinfo=ZoneInfo(zone), locale=DATES[code])


class Spoken(str):
    """A Spanish template: filling it applies contractions ("de el" is "del", "y i…" is "e i…")."""

    __slots__ = ()

    def format(self, *args: object, **slots: object) -> str:
        """The filled template with contractions."""
        text = str.format(self, *args, **slots)
        for pattern, replacement in CONTRACTIONS:
            text = pattern.sub(replacement, text)
        return text


#: Spanish grammar (common practice): a el is al, de el is del; y before the sound i is e, o before the sound o is u.
CONTRACTIONS: tuple[tuple[re.Pattern[str], str], ...] = (
    (re.compile(r"\b([Dd]e|[Aa]) el\b"), r"\1l"),
    (re.compile(r"\by (?=h?[IiÍí](?![AaEeOo]))"), "e "),
    (re.compile(r"\bo (?=[Hh]?[OoÓó])"), "u "),
)


def is_in_script(message: Message) -> bool:
    """Whether a text is used in a browser script."""
    return any(str(path).endswith(".js") for path, _ in message.locations)


@lru_cache
def language(code: str) -> Language:
    """The language with this code; English for an unknown one."""
    return Language(code if code in LANGUAGES else SOURCE)


@lru_cache(maxsize=512)
def negotiate(accept: str) -> str:
    """The code of the best available language for an Accept-Language header; English when none matches."""
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
    """The language of a request: the one chosen on this device, else by its Accept-Language header."""
    state = scope.setdefault("state", {})
    found: Language | None = state.get("language")
    if found is None:
        headers = Headers(scope=scope)
        chosen = cookie_parser(headers.get("cookie", "")).get(COOKIE, "")
        found = language(chosen if chosen in LANGUAGES else negotiate(headers.get("accept-language", "")))
        state["language"] = found
    return found
