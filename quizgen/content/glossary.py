"""The glossary, made from the nouns' docstrings and from what each word of a fixed list means.

``python -m quizgen.content.glossary`` prints it as Markdown. A word has one meaning within its group.
"""

from __future__ import annotations

import importlib
import inspect
import pkgutil
import re
import sys
from collections.abc import Mapping
from dataclasses import is_dataclass

import quizgen.football
from quizgen.football.coverage import COVERAGES
from quizgen.football.terms import Term

NOUNS = "nouns"


def glossary() -> Mapping[str, Mapping[str, str]]:
    """Group -> word -> what it means: the nouns first, then the shipped coverages and each list of words, by name."""
    classes = sorted(_football_classes(), key=lambda one: one.__name__)
    nouns = {_spaced(one.__name__): _first_sentence(one) for one in classes if is_dataclass(one)}
    lists = [one for one in classes if issubclass(one, Term) and one is not Term]
    shipped = {row.name: row.meaning for row in COVERAGES.values()}
    return {
        NOUNS: nouns,
        "coverages": shipped,
        **{_spaced(one.__name__): {m.value: m.meaning for m in one} for one in lists},
    }


def glossary_page() -> str:
    """The glossary as Markdown."""
    groups = []
    for group, words in glossary().items():
        rows = "\n".join(f"- **{word}**: {meaning}" for word, meaning in words.items())
        groups.append(f"### {group.capitalize()}\n{rows}\n")
    return "## Glossary\n\n" + "\n".join(groups)


def _football_classes() -> list[type]:
    names = [f"{quizgen.football.__name__}.{info.name}" for info in pkgutil.iter_modules(quizgen.football.__path__)]
    return [
        value
        for module in map(importlib.import_module, names)
        for name, value in vars(module).items()
        if inspect.isclass(value) and value.__module__ == module.__name__ and not name.startswith("_")
    ]


def _spaced(name: str) -> str:
    """A class name as words: CallGap -> call gap."""
    return re.sub(r"(?<=[a-z])(?=[A-Z])", " ", name).lower()


def _first_sentence(noun: type) -> str:
    text = " ".join((inspect.getdoc(noun) or "").split())
    sentence = re.split(r"(?<=[.])\s", text.replace("``", "`"))[0].rstrip(".")
    return sentence[0].lower() + sentence[1:] if sentence else ""


if __name__ == "__main__":
    sys.stdout.write(glossary_page())
