"""Extract all texts to translate from the sources, and update the catalogues.

After changing a text: `python -m tests.i18n.texts`, then translate the empty entries in server/i18n/locales.
"""

import tomllib
from collections.abc import Iterator
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.extract import DEFAULT_KEYWORDS, extract_from_file
from babel.messages.pofile import read_po, write_po
from babel.util import pathmatch

from server.i18n.languages import DOMAIN, LANGUAGES, SOURCE
from server.paths import LOCALES

ROOT = Path(__file__).parents[2]
# Functions whose first argument is a text to translate, by package. Pages and scripts use Babel's own keywords (_,
# ngettext, …).
KEYWORDS = {
    "quizgen": ["say", "_say", "phrase", "_plain", "to_say"],
    "server": [
        *("LazyText", "BadInput", "NeedsSignIn", "WrongSecret", "NotAllowed", "NotFound", "WrongMethod", "Conflict"),
        *("Expired", "TooLarge", "TooManyTries", "Unavailable", "Unexpected"),
    ],
}


def mappings() -> list[dict[str, str]]:
    """The extraction mappings in `pyproject.toml`."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    return list(project["tool"]["babel"]["mappings"])


def found_texts() -> Iterator[tuple[str, str | tuple[str, ...]]]:
    """(path, text) of everything to translate; the text is a (singular, plural) pair where there is a plural."""
    for mapping in mappings():
        options = {name: value for name, value in mapping.items() if name not in ("method", "pattern")}
        for path in sorted(ROOT.glob(mapping["pattern"].replace("**.", "**/*."))):
            name = path.relative_to(ROOT).as_posix()
            assert pathmatch(mapping["pattern"], name)
            is_python = mapping["method"] == "python"
            keywords = dict.fromkeys(KEYWORDS[name.split("/")[0]]) if is_python else DEFAULT_KEYWORDS
            for _, text, _, _ in extract_from_file(mapping["method"], path, keywords, (), options):
                yield name, text


def template() -> Catalog:
    """All texts, untranslated."""
    catalog = Catalog(project="Gapsound", charset="utf-8")
    for path, text in found_texts():
        catalog.add(text, locations=[(path, None)])
    return catalog


def po_path(code: str) -> Path:
    """The path of a language's catalogue."""
    return LOCALES / code / "LC_MESSAGES" / f"{DOMAIN}.po"


def read_catalog(code: str) -> Catalog:
    """The catalogue of a language."""
    with po_path(code).open("rb") as file:
        return read_po(file, locale=code, domain=DOMAIN, abort_invalid=True)


def empty(code: str) -> Catalog:
    """A catalogue without texts."""
    return Catalog(
        locale=code,
        project="Gapsound",
        version="1",
        header_comment=f"# The texts of Gapsound: {LANGUAGES[code]}. See tests/i18n/texts.py.",
        msgid_bugs_address="the maintainers",
        last_translator="the maintainers",
        language_team="Gapsound",
        fuzzy=False,
    )


def update(code: str) -> list[str]:
    """Update a catalogue: add new texts empty, drop old ones. Return the texts without a translation."""
    old, new = read_catalog(code), template()
    catalog = empty(code)
    catalog.creation_date = old.creation_date
    for message in new:
        if message.id:
            known = old.get(message.id)
            paths = sorted(set(message.locations))
            catalog.add(message.id, known.string if known else None, locations=paths, flags=message.flags)
    with po_path(code).open("wb") as file:
        write_po(file, catalog, width=118, omit_header=False, sort_output=True, include_lineno=False)
    return [str(message.id) for message in catalog if message.id and not message.string]


if __name__ == "__main__":
    for language in LANGUAGES:
        if language != SOURCE:
            print(f"{language}: {len(lacking := update(language))} without translation", *lacking, sep="\n  ")
