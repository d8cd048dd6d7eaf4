"""The trade's common names of plays and their short forms, and what they mean among a team's plays.

The names are data in `seed_content/library/play_names.toml`. Knows nothing of sheets or pages.
"""

from __future__ import annotations

import tomllib
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

from server.paths import SEED_CONTENT
from server.playbook.charted import UNCHARTED
from server.playbook.rep_summary import PlaySummary

FILE = SEED_CONTENT / "library" / "play_names.toml"
PASS = "pass"  # noqa: S105 - a forward pass
#: Words that say nothing of which play it is, wherever they stand.
FILLERS = frozenset({"and", "the", "to"})


@dataclass(frozen=True, slots=True)
class TradeNames:
    """Short words by what they stand for, and names (as their words) by the plays that they may mean, in order."""

    words: Mapping[str, str]
    names: Mapping[tuple[str, ...], tuple[str, ...]]

    def spell_out(self, words: Iterable[str]) -> list[str]:
        """The words with short forms spelled out, without fillers."""
        found = [part for word in words for part in self.words.get(word, word).split()]
        return [word for word in found if word not in FILLERS]

    def find_meanings(self, words: Collection[str]) -> tuple[int, tuple[str, ...]]:
        """The meanings of the longest name all of whose words are among these, and how many words it has; (0, ()) when
        there is none."""
        within = [name for name in self.names if set(name) <= set(words)]
        longest = max(within, key=lambda name: (len(name), name == tuple(words)), default=())
        return len(longest), self.names.get(longest, ())


@lru_cache(maxsize=1)
def trade_names() -> TradeNames:
    """The names as the file has them."""
    content = tomllib.loads(FILE.read_text(encoding="utf-8"))
    names = {tuple(name.split()): tuple(play["means"]) for play in content["play"] for name in play["says"]}
    return TradeNames(content["words"], names)


def find_meant(meanings: Iterable[str], plays: Sequence[PlaySummary]) -> str | None:
    """The key of the first of these plays that the team has, by name or else by family; None when it has none."""
    names = {plain(play.name): play.key for play in reversed(plays)}
    families = {plain(play.family): play.key for play in reversed(plays) if play.family}
    for meaning in meanings:
        found = UNCHARTED if meaning == PASS else names.get(plain(meaning)) or families.get(plain(meaning))
        if found:
            return found
    return None


def plain(name: str) -> str:
    """A name without fillers, for comparing."""
    return " ".join(word for word in name.casefold().split() if word not in FILLERS)
